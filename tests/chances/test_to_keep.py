"""The plan for the spread as a plan that can be kept in force."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

sys.path.insert(0, str(Path(__file__).parent))

from scarce import scarce_stocks

from rationlp.chances.market import make_market
from rationlp.chances.spread_answer import SpreadAsked, SpreadPlan
from rationlp.chances.spread_plan import plan_for_spread
from rationlp.chances.to_keep import plan_to_keep
from rationlp.chances.winters import farm_spreads, stage_days
from rationlp.cli.app import app
from rationlp.planned import WinterPlan
from rationlp.read.farm import read_farm
from rationlp.wintering.links import KeptBack
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

FEW = Path(__file__).parents[2] / "examples" / "few"


@pytest.fixture(scope="module")
def scarce() -> tuple[WinterPlan, SpreadPlan]:
    """The small example with a third of its forage and bales at a price of its own: its cheapest
    plan and the plan for the spread.
    """
    farm = read_farm(FEW)
    stocks = scarce_stocks(farm)
    spreads = farm_spreads(farm, stocks)
    farm = make_market(farm, stage_days(farm, farm.start), spreads, 90.0).farm
    plan = replace(solve_winter(farm, WinterOptions(prove=False), stocks), stocks=stocks)
    spread = plan_for_spread(farm, SpreadAsked(0.1, points=(3, 3, 1)), stocks)
    assert spread is not None
    return plan, spread


def _put_out(plan: WinterPlan, spread: SpreadPlan, store: str) -> float:
    """What a plan puts out of a store in autumn [t DM]."""
    (one,) = (one for one in plan.stores if one.store == store)
    return sum(
        eaten + wasted
        for period, eaten, wasted in zip(plan.periods, one.eaten_t_dm, one.wasted_t_dm, strict=True)
        if period.first < spread.stages[1]
    )


def test_the_plan_kept_leaves_what_the_plan_for_the_spread_leaves(
    scarce: tuple[WinterPlan, SpreadPlan],
) -> None:
    """Of no store more is put out until the turn of the year, though the cheapest plan does; it
    feeds all, passes its own check, and says what to keep, buy and do then.
    """
    plan, spread = scarce
    assert not spread.asks_for_nothing
    kept = plan_to_keep(plan, spread)
    assert kept is not None
    assert kept.feeds_all
    assert kept.proof is not None
    assert kept.proof.passed
    more = 0
    for one in spread.stores:
        assert _put_out(kept, spread, one.store) <= one.put_out_t_dm * 1.002 + 0.011
        more += _put_out(plan, spread, one.store) > one.put_out_t_dm * 1.002 + 0.011
    assert more > 0, "a cheapest plan that puts out no more would show nothing"
    told = " ".join(kept.remarks)
    assert "of Big bales, bought before" in told
    assert "measure what is in store and log it" in told


def test_nothing_is_kept_that_rests_on_a_price_of_ours(
    scarce: tuple[WinterPlan, SpreadPlan],
) -> None:
    """Forage advised at our default price: no plan to keep."""
    plan, spread = scarce
    ours = tuple(replace(one, ours=True, spread_t_dm=5.0) for one in spread.forages)
    assert plan_to_keep(plan, replace(spread, forages=ours)) is None


def test_what_must_be_left_binds_a_plan() -> None:
    """A winter's plan with less allowed out of a store by a day: that much is left, and the cost
    does not fall.
    """
    farm = read_farm(FEW)
    free = solve_winter(farm, WinterOptions(prove=False))
    day = free.periods[4].first
    before = max(free.stores, key=lambda store: sum(store.used_t_dm[:4]))
    most = 0.5 * sum(before.used_t_dm[:4])
    assert most > 0.5
    options = WinterOptions(kept_back=KeptBack(day, {before.store: most}))
    bound = solve_winter(farm, options)
    (after,) = (store for store in bound.stores if store.store == before.store)
    assert sum(after.used_t_dm[:4]) <= most * (1.0 + 1e-6)
    assert bound.proof is not None
    assert free.proof is not None
    assert bound.proof.passed
    assert bound.proof.cost >= free.proof.cost * (1.0 - 1e-6)


def test_keep_of_a_farm_that_needs_nothing_else(tmp_path: Path) -> None:
    """`--keep --safe` where the cheapest plan is as good: that one is kept, and it is told."""
    runner = CliRunner()
    farm = tmp_path / "farm"
    assert runner.invoke(app, ["new", str(farm), "--like", "few"]).exit_code == 0
    told = runner.invoke(app, ["winter", str(farm), "--safe", "mean", "--keep"])
    assert told.exit_code == 0, told.output
    assert "the cheapest plan is kept" in told.output
    assert "the way on from 25 December for stores" in " ".join(told.output.split())
    assert (farm / "plan.json").is_file()


def test_keep_of_a_farm_that_sells_animals_now(tmp_path: Path) -> None:
    """Cows that fetch more now than at turnout: first they are sold and logged, nothing is kept."""
    runner = CliRunner()
    farm = tmp_path / "farm"
    assert runner.invoke(app, ["new", str(farm), "--like", "few"]).exit_code == 0
    text = (farm / "farm.toml").read_text(encoding="utf-8")
    sale = '\n[[early_sales]]\ngroup = "cows"\nnow_per_head = 1000\nturnout_per_head = 900\n'
    (farm / "farm.toml").write_text(f"{text}{sale}most_head = 5\n", encoding="utf-8")
    told = runner.invoke(app, ["winter", str(farm), "--safe", "mean", "--keep"])
    assert told.exit_code == 0, told.output
    assert "Not kept: sell 5 of Eleven suckler cows first and log it" in told.output
    assert not (farm / "plan.json").exists()
