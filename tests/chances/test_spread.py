"""The plan made for the spread: what must hold whatever the farm, on a small example."""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from itertools import pairwise
from math import sqrt
from pathlib import Path

import pytest
from typer.testing import CliRunner

sys.path.insert(0, str(Path(__file__).parent))

from scarce import EXAMPLES, scarce_stocks, scarce_template, solved

from rationlp.chances.course import Wish, solve_course
from rationlp.chances.layout import TreeLayout
from rationlp.chances.market import make_market
from rationlp.chances.risk import FIRST_SEED, TUNED, HeldRisk, held_risk
from rationlp.chances.spread_answer import SOME_T_DM, Costs, SpreadAsked, SpreadPlan
from rationlp.chances.spread_plan import plan_for_spread, turns_at
from rationlp.chances.template import Template, make_template
from rationlp.chances.tree import make_tree
from rationlp.chances.winters import (
    ListedWinter,
    Spreads,
    farm_spreads,
    listed_winters,
    normal_points,
    stage_days,
)
from rationlp.chances.without_late import without_late
from rationlp.cli.app import app
from rationlp.read.farm import read_farm
from rationlp.report.chances import chances_lines, chances_parts
from rationlp.report.story import Words
from rationlp.stock.dry_matter import farm_stocks
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

CLOSE = 1e-6


@pytest.fixture(scope="module")
def laid() -> tuple[Template, tuple[ListedWinter, ...]]:
    """The template and nine winters."""
    return scarce_template()


def test_points_have_mean_and_spread() -> None:
    """Gauss-Hermite points: weights 1, mean 0, variance 1, fourth moment 3 from three on."""
    for count in (3, 5):
        points = normal_points(count)
        moments = [sum(w * z**power for z, w in points) for power in (0, 1, 2, 4)]
        assert moments == pytest.approx([1.0, 0.0, 1.0, 3.0], abs=1e-9)


@pytest.mark.parametrize("example", ["few", "short"])
def test_one_winter_is_the_plain_winter(example: str) -> None:
    """Without any spread the cost is that of the winter's own programme, same actions."""
    farm = read_farm(EXAMPLES / example)
    stocks = farm_stocks(farm)
    spreads = farm_spreads(farm, stocks).times(0.0)
    market = make_market(farm, stage_days(farm, farm.start), spreads)
    template = make_template(market, stocks)
    assert template is not None
    (only,) = listed_winters(spreads)
    course = solve_course(TreeLayout(template, make_tree((only,))))
    assert course is not None
    assert course.mean == pytest.approx(template.mean.cost, rel=CLOSE)
    plain = solve_winter(market.farm, WinterOptions(tidy=False, prove=False, faces="off"), stocks)
    assert plain.proof is not None
    assert plain.proof.cost == pytest.approx(course.mean, rel=CLOSE)


def test_knowing_and_shutting(laid: tuple[Template, tuple[ListedWinter, ...]]) -> None:
    """WS ≤ RP ≤ EEV; more knowledge is never dearer; an action shut is never cheaper."""
    plan = solved(laid)
    bought = sum(value for key, value in plan.values.items() if key[0] == "buy")
    assert bought > 1.0, "a farm that buys nothing would show little"
    known = solved(laid, seen={"stock": 0, "turnout": 0, "price": 0})
    single = solve_course(TreeLayout(laid[0], make_tree((ListedWinter(0, 1.0, 0.0, 0, 0.0),))))
    assert single is not None
    autumn = {k: v for k, v in single.values.items() if k[-1] == "n0" and k[0] in ("feed", "buy")}
    again = solved(laid, Wish(held=autumn))
    slack = CLOSE * abs(plan.mean)
    assert known.mean <= plan.mean + slack
    assert plan.mean <= again.mean + slack
    for seen in ({"stock": 0}, {"turnout": 1}):
        assert solved(laid, seen=seen).mean <= plan.mean + slack
    for stage in range(3):
        shut = frozenset({("big_bales", stage)})
        assert solved(laid, shut=shut).mean >= plan.mean - slack


def test_caps_and_tails(laid: tuple[Template, tuple[ListedWinter, ...]]) -> None:
    """A cap of all winters is none, a tighter one never cheaper and always kept; with a growing
    weight of the dearest tenth the mean never falls and the tail never rises.
    """
    plan = solved(laid)
    slack = 2e-4 * abs(plan.mean)
    before = plan.mean
    for share in (1.0, 0.5, 0.2, 0.05):
        capped = solved(laid, Wish(most_late=share))
        assert capped.late_share <= share + 1e-6
        assert capped.mean >= before - slack
        assert capped.gap <= 1e-3
        if share == 1.0:
            assert capped.mean == pytest.approx(plan.mean, rel=2e-4)
        before = capped.mean
    tails = [solved(laid, Wish(tail=weight)) for weight in (0.05, 0.3, 0.8)]
    for less, more in zip([plan, *tails], tails, strict=False):
        assert more.mean >= less.mean - CLOSE * abs(plan.mean)
        assert more.dearest_tenth <= less.dearest_tenth + CLOSE * abs(plan.mean)


def test_order_of_winters_and_balance(laid: tuple[Template, tuple[ListedWinter, ...]]) -> None:
    """Winters in another order cost the same; tonnes close in each: nothing is eaten that is not
    there.
    """
    template, winters = laid
    turned = tuple(
        ListedWinter(n, one.weight, one.stock, one.late_days, one.price)
        for n, one in enumerate(reversed(winters))
    )
    plan, other = solved(laid), solved((template, turned))
    assert other.mean == pytest.approx(plan.mean, rel=CLOSE)
    layout = TreeLayout(template, make_tree(winters))
    for one in plan.winters:
        for store in template.yard.farm.stores:
            used = layout.used_t_dm(store.id, one.winter, plan.values)
            lacking = plan.values["rescue", store.id, f"w{one.winter.number}"]
            assert used <= layout.free_t_dm(store.id, one.winter) + lacking + 1e-6
        assert one.left_t_dm >= -1e-6


def test_cost_grows_with_the_spread_of_stock() -> None:
    """RP by quarters of the spread of stock alone, prices fixed: the mean winter is a
    lower bound (Jensen). With turnout it need not be: early ends spare dearer days than late ones
    add, where the last days' ration is another.
    """
    farm = read_farm(EXAMPLES / "few")
    stocks = scarce_stocks(farm)
    costs = []
    for width in (0.0, 0.25, 0.5, 0.75, 1.0):
        of_farm = farm_spreads(farm, stocks).times(width)
        spreads = Spreads(of_farm.stock, 0.0, of_farm.price)
        market = make_market(farm, stage_days(farm, farm.start), spreads, 90.0)
        template = make_template(market, stocks)
        assert template is not None
        costs.append(solved((template, listed_winters(spreads, 3, 1))).mean)
        assert template.mean.cost <= costs[-1] * (1.0 + CLOSE)
    for narrower, wider in pairwise(costs):
        assert narrower <= wider * (1.0 + CLOSE)


@pytest.fixture(scope="module")
def asked() -> SpreadPlan:
    """The answer of the small example."""
    plan = plan_for_spread(read_farm(EXAMPLES / "few"), SpreadAsked(points=(3, 3, 1)))
    assert plan is not None
    return plan


def test_answer(asked: SpreadPlan) -> None:
    """The answer's figures agree with one another; what is proved has a closed gap."""
    weights = sum(one.winter.weight for one in asked.course.winters)
    assert weights == pytest.approx(1.0, abs=1e-9)
    assert asked.course.gap <= 1e-3
    assert asked.know_stock.compared >= -CLOSE * asked.mean_cost
    assert asked.know_turnout.compared >= -CLOSE * asked.mean_cost
    assert asked.read_marks.compared >= -CLOSE * asked.mean_cost
    for one in asked.course.winters:
        assert 0.0 <= one.priced <= one.cost
    for choice in asked.choices:
        assert choice.both >= max(choice.light, choice.late) - CLOSE * asked.mean_cost


def test_the_price_at_which_the_advice_turns(
    laid: tuple[Template, tuple[ListedWinter, ...]],
) -> None:
    """At a price in autumn a little below the one at which the advice turns, later prices as they
    are, more than half a tonne is bought; a little above, less.
    """
    template, winters = laid
    layout = TreeLayout(template, make_tree(winters))
    (offer,) = layout.forages
    times = turns_at(layout, offer) / offer.price_per_t_fresh
    assert 0.5 < times < 5.0
    least = SOME_T_DM * 1000.0 / offer.feed.dm_g_per_kg
    for share, some in ((0.99, True), (1.01, False)):
        by_stage = (times * share, *template.market.by_stage[1:])
        moved = replace(template, market=replace(template.market, by_stage=by_stage))
        bought = solved((moved, winters)).values["buy", offer.id, "n0"]
        assert (bought > least) is some


def test_late_buying_is_counted_on_fresh_draws(
    laid: tuple[Template, tuple[ListedWinter, ...]],
) -> None:
    """A course asked to buy late in few of the listed winters: on 2,000 fresh draws the share that
    can be fed without is no less than was asked, within three binomial errors; after an autumn
    that buys nothing it is smaller. The same each time.
    """
    template, _ = laid
    winters = listed_winters(template.market.spreads)
    course = solved((template, winters), Wish(most_late=0.1))
    autumn = {k: v for k, v in course.values.items() if k[-1] == "n0" and k[0] in ("feed", "buy")}
    counted = without_late(template, autumn)
    assert counted.share >= 0.9 - 3.0 * sqrt(0.9 * 0.1 / counted.draws)
    bare = solved((template, winters), shut=frozenset({("big_bales", 0)}))
    none = {k: v for k, v in bare.values.items() if k[-1] == "n0" and k[0] in ("feed", "buy")}
    assert without_late(template, none).share < counted.share
    assert counted == without_late(template, autumn)


def test_held_plan_risk_is_counted_on_other_draws() -> None:
    """The share with the reserve tuned on one set of draws, counted on another, within three
    binomial errors; the reserve grows with the spread.
    """
    farm = read_farm(EXAMPLES / "few")
    plan = solve_winter(farm, WinterOptions(prove=False))
    spreads = farm_spreads(farm, farm_stocks(farm))
    reserves = []
    for width in (0.25, 0.5, 1.0):
        risk = held_risk(plan, spreads.times(width))
        reserves.append(risk.reserve_t_dm)
        error = 3.0 * sqrt(2.0 * 0.9 * 0.1 / TUNED)
        assert risk.lasts_with >= 0.9 - error
        assert risk == held_risk(plan, spreads.times(width)), (
            f"draws of seed {FIRST_SEED} are fixed"
        )
    assert reserves == sorted(reserves)
    assert held_risk(plan, spreads.times(0.0)).runs_out == 0.0


def test_words_on_what_waiting_costs_and_knowing_is_worth(asked: SpreadPlan) -> None:
    """What knowing spares in shortages counts less, what waiting adds counts more; what is worth no
    money is never an amount below nothing.
    """
    dear = asked.worth_a_word + 70.0
    forages = tuple(
        replace(one, waits=(Costs(dear, 300.0), Costs(dear, 300.0))) for one in asked.forages
    )
    plan = replace(
        asked, forages=forages, know_stock=Costs(-4.0, dear), know_turnout=Costs(-4.0, 0.0)
    )
    risk = HeldRisk(2000, 0.0, 0.0, 1.0, ())
    text = " ".join(chances_lines(plan, risk))
    shortages = "minerals short and energy above need count GBP"
    waiting = f"waiting until 25 December costs GBP {dear:.0f} ({shortages} 300 more, which"
    assert waiting in text
    assert f"(cores) is worth no money ({shortages} {dear:.0f} less, which nobody pays)" in text
    assert "knowing turnout by then nothing." in text


@pytest.mark.parametrize("example", ["few", "short", "calving", "beef", "hill", "dairy"])
def test_first_lines_say_what_to_do_today(example: str) -> None:
    """`winter --safe` tells the risk of the plan held, then what to do now, what can wait and when
    to look, before it says what is proved; never an amount below nothing.
    """
    told = CliRunner().invoke(app, ["winter", str(EXAMPLES / example), "--safe", "mean"])
    text = " ".join(told.output.split())
    risk, _, rest = text.partition("Held as it is, a store runs short before turnout in")
    assert risk
    lines, _, proved = rest.partition("Proved on the 15 listed winters")
    assert proved
    today = re.search(r"buy (\d+ t DM|none) now at|Today nothing has to be done otherwise", lines)
    wait = re.search(r"[Cc]an wait|can wait until|That cannot wait", lines)
    look = re.search(r"Look at the stores on \d+ \w+", lines)
    assert today is not None
    assert wait is not None
    assert look is not None
    assert today.start() < look.start()
    assert not re.search(r"[A-Z]{3} -\d", lines)


def test_a_hint_without_safe_and_a_share_that_is_none() -> None:
    """Plain `winter` says in how many winters one is short and where more is told; `11in10` is no
    share.
    """
    runner, few = CliRunner(), str(EXAMPLES / "few")
    plain = " ".join(runner.invoke(app, ["winter", few]).output.split())
    assert "of 100 winters one is short: `--safe mean`." in plain
    assert "Proved on" not in plain
    assert runner.invoke(app, ["winter", few, "--safe", "11in10"]).exit_code == 2


def test_a_winter_that_cannot_be_fed_is_not_insured() -> None:
    """Asked for safety where there is not enough: that is told, and nothing else."""
    (told,) = chances_parts(None, None, asked=True)
    assert isinstance(told.content, Words)
    assert "There is not enough to insure" in told.content.lines[0]
    assert not list(chances_parts(None, None, asked=False))


def test_a_late_spring_counts_however_long_the_steps_are() -> None:
    """In two steps, neither of which begins in late winter: the dearest winters are still the late
    ones.
    """
    farm = read_farm(EXAMPLES / "few")
    middle = farm.start + (farm.turnout - farm.start) / 2
    farm = replace(farm, periods=((farm.start, middle), (middle, farm.turnout)))
    stocks = scarce_stocks(farm)
    spreads = farm_spreads(farm, stocks)
    market = make_market(farm, stage_days(farm, farm.start), spreads, 90.0)
    template = make_template(market, stocks)
    assert template is not None
    course = solved((template, listed_winters(spreads, 1, 3)))
    late = {one.winter.late_days: one.money for one in course.winters}
    assert late[max(late)] > late[0] > late[min(late)]
