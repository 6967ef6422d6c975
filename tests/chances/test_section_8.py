"""What must hold of a plan for the spread, and the test functions that hold it to it.

1. without a spread it is the plain winter: test_one_winter_is_the_plain_winter,
   test_without_a_spread_it_is_the_plain_winter
2. known ≤ planned for ≤ not planned for: test_knowing_and_shutting,
   test_knowing_planning_and_not_planning
3. knowing more is never dearer: test_knowing_and_shutting, test_answer,
   test_more_is_known_and_nothing_shut_on_random_farms
4. shutting an action is never cheaper: test_knowing_and_shutting,
   test_more_is_known_and_nothing_shut_on_random_farms, test_a_farms_actions_on_random_farms
5. cost grows with the spread: test_cost_grows_with_the_spread_of_stock
6. the reserve grows with the spread: test_held_plan_risk_is_counted_on_other_draws
7. two sets of draws agree: test_two_sets_of_draws_agree, test_a_reserve_is_counted_again,
   test_late_buying_is_counted_on_fresh_draws, test_it_agrees_with_draws_that_are_all_solved,
   test_a_share_asked_for_is_tuned_on_one_set_and_counted_on_another
8. taken apart it costs the same: test_winters_apart_cost_what_the_tree_says
9. a cap of all is none, a tighter one never cheaper: test_caps_and_tails
10. a heavier tail, a dearer mean and a cheaper tail: test_caps_and_tails
11. any number of workers, any order: test_the_same_bytes_from_one_process_and_from_two,
    test_order_of_winters_and_balance
12. tonnes close in every winter: test_order_of_winters_and_balance,
    test_knowing_planning_and_not_planning
13. a winter without an answer is not dropped: test_a_winter_without_an_answer_is_not_dropped
14. the mean winter costs no more: test_cost_grows_with_the_spread_of_stock
"""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from math import sqrt
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1] / "model"))

from random_winters import KINDS, random_winter
from scarce import EXAMPLES, scarce_stocks, scarce_template, solved

from rationlp.chances.course import Wish, solve_course
from rationlp.chances.data import chance_rows
from rationlp.chances.layout import TreeLayout
from rationlp.chances.market import make_market
from rationlp.chances.risk import COUNTED, SAFE, held_risk, share_lasting
from rationlp.chances.spread_answer import SpreadAsked
from rationlp.chances.spread_plan import plan_for_spread
from rationlp.chances.template import make_template
from rationlp.chances.tree import make_tree
from rationlp.chances.unfed import unfed_winters
from rationlp.chances.winters import (
    ListedWinter,
    farm_spreads,
    listed_winters,
    stage_days,
)
from rationlp.planned import WinterPlan
from rationlp.read.farm import read_farm
from rationlp.report.chances import unfed_lines
from rationlp.report.tables.chances import practice_table, spreads_table
from rationlp.stock.dry_matter import farm_stocks
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

CLOSE = 1e-6
FRESH_SEEDS = (11, 12, 13)
"""Seeds of draws on which nothing was tuned."""


@pytest.fixture(scope="module")
def held() -> WinterPlan:
    """The cheapest plan of the small example, to be held as it is."""
    return solve_winter(read_farm(EXAMPLES / "few"), WinterOptions(prove=False))


def _error(share: float) -> float:
    """Three binomial errors of the difference of two shares, each counted on its own draws."""
    return 3.0 * sqrt(2.0 * share * (1.0 - share) / COUNTED)


def test_every_number_has_its_tests() -> None:
    """Fourteen numbers, each with functions that are there."""
    (head, *rest) = re.split(r"\n(?=\d+\. )", __doc__ or "")
    assert head
    assert [int(one.split(".")[0]) for one in rest] == list(range(1, 15))
    written = "".join(
        path.read_text(encoding="utf-8") for path in Path(__file__).parent.glob("test_*.py")
    )
    for one in rest:
        names = re.findall(r"\btest_\w+", one)
        assert names, one
        for name in names:
            assert f"def {name}(" in written, name


@pytest.mark.parametrize("width", [0.5, 1.0])
def test_two_sets_of_draws_agree(held: WinterPlan, width: float) -> None:
    """Shares in which a store runs out, on the first draws and on three fresh sets."""
    spreads = farm_spreads(held.farm, farm_stocks(held.farm)).times(width)
    first = held_risk(held, spreads).runs_out
    assert 0.05 < first < 0.95, "a share near none or all would show little"
    for seed in FRESH_SEEDS:
        again = 1.0 - share_lasting(held, spreads, {}, seed)
        assert abs(again - first) <= _error(first)


@pytest.mark.parametrize("width", [0.5, 1.0])
def test_a_reserve_is_counted_again(held: WinterPlan, width: float) -> None:
    """The reserve tuned to last in nine of ten on one set of draws: on fresh ones as many do, no
    fewer and no more; with half of it clearly fewer.
    """
    spreads = farm_spreads(held.farm, farm_stocks(held.farm)).times(width)
    risk = held_risk(held, spreads)
    assert risk.reserve_t_dm > 0.0
    reserves = {one.store: one.reserve_t_dm for one in risk.stores}
    half = {store: 0.5 * t for store, t in reserves.items()}
    assert abs(risk.lasts_with - SAFE) <= _error(SAFE)
    for seed in FRESH_SEEDS:
        assert abs(share_lasting(held, spreads, reserves, seed) - SAFE) <= _error(SAFE)
        assert share_lasting(held, spreads, half, seed) < SAFE - _error(SAFE)


def test_winters_apart_cost_what_the_tree_says() -> None:
    """Where all is known at the turn of the year, an autumn that is held leaves every winter on its
    own: the mean of nine programmes of one winter is the cost of the tree.
    """
    template, winters = scarce_template()
    seen = {"stock": 1, "turnout": 1, "price": 1}
    plan = solved((template, winters), seen=seen)
    kinds = ("feed", "buy", "sold")
    autumn = {k: v for k, v in plan.values.items() if k[-1] == "n0" and k[0] in kinds}
    apart = []
    for one in winters:
        alone = ListedWinter(0, 1.0, one.stock, one.late_days, one.price)
        apart.append(one.weight * solved((template, (alone,)), Wish(held=autumn)).mean)
    assert sum(apart) == pytest.approx(plan.mean, rel=10.0 * CLOSE)


@pytest.mark.parametrize("kind", KINDS)
def test_more_is_known_and_nothing_shut_on_random_farms(kind: str) -> None:
    """Stock known in autumn, or turnout at the turn of the year, never costs more; bales shut in
    autumn, until late winter or for good never less.
    """
    compared = 0
    for seed in range(2):
        farm, stocks = random_winter(seed, kind)
        spreads = farm_spreads(farm, stocks)
        market = make_market(farm, stage_days(farm, farm.start), spreads, 120.0)
        template = make_template(market, stocks)
        if template is None:
            continue
        winters = listed_winters(spreads, 3, 3)
        plan = solve_course(TreeLayout(template, make_tree(winters)))
        if plan is None:
            continue
        slack = CLOSE * max(abs(plan.mean), 1.0)
        for seen in ({"stock": 0}, {"turnout": 1}):
            course = solve_course(TreeLayout(template, make_tree(winters, seen)))
            assert course is not None, "what can be fed unknown can be fed known"
            assert course.mean <= plan.mean + slack
        for last in range(3):
            shut = frozenset(("big_bales", stage) for stage in range(last + 1))
            closed = solve_course(TreeLayout(template, make_tree(winters), shut))
            assert closed is None or closed.mean >= plan.mean - slack
        compared += 1
    assert compared > 0


def test_a_winter_without_an_answer_is_not_dropped() -> None:
    """Where no more bales are to be had than the winter as thought takes, a spring very late cannot
    be fed: there is no plan through the other winters, and that one is named.
    """
    farm = read_farm(EXAMPLES / "few")
    stocks = scarce_stocks(farm, 0.03)
    spreads = farm_spreads(farm, stocks)
    market = make_market(farm, stage_days(farm, farm.start), spreads, 90.0)
    template = make_template(market, stocks)
    assert template is not None
    mean = solved((template, (ListedWinter(0, 1.0, 0.0, 0, 0.0),)))
    bought = sum(t for key, t in mean.values.items() if key[:2] == ("buy", "big_bales"))
    offers = tuple(
        replace(one, most_t=1.0001 * bought) if one.id == "big_bales" else one
        for one in market.farm.offers
    )
    scant = replace(market.farm, offers=offers)
    asked = SpreadAsked(points=(1, 3, 1), width=3.0)
    assert plan_for_spread(scant, asked, stocks) is None
    unfed = unfed_winters(scant, asked, stocks, scant.start)
    assert [one.late_days for one in unfed] == [78]
    assert unfed[0].share == pytest.approx(1.0 / 6.0)
    assert "17 of 100 winters could not be fed" in " ".join(unfed_lines(unfed))
    assert unfed_winters(market.farm, asked, stocks, farm.start) == ()


def test_published_practice_stands_beside_it(held: WinterPlan) -> None:
    """Ten per cent and a month in hand come to tonnes of this plan; each row has its status and
    source, and the table of spreads holds no practice.
    """
    risk = held_risk(held)
    used = sum(sum(store.used_t_dm) for store in held.stores)
    assert risk.used_t_dm == pytest.approx(used, rel=0.02)
    assert risk.days == (held.farm.turnout - held.farm.start).days
    table = practice_table(risk, None)
    asks = [row[1] for row in table.rows]
    assert asks[:2] == [f"{0.1 * used:.0f} t DM", f"{30.0 / risk.days * used:.0f} t DM"]
    assert all(str(row[3]).startswith("(a) ") for row in table.rows)
    assert not {row[0] for row in table.rows} & {row[0] for row in spreads_table().rows}
    assert len(table.rows) + len(spreads_table().rows) == len(chance_rows())
