"""The price of a promise in a group: corners against independent solves, ends, promises kept."""

from __future__ import annotations

import itertools
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from ask_farm import small_farm
from paper_farm import forage_kg, least_cost, paper_farm

from rationlp.ask.measures import (
    MEAL,
    MEASURES,
    METHANE,
    NITROGEN,
    SOYA,
    Amounts,
    Measure,
    Promise,
    amounts_of,
    measures_named,
    promises_typed,
)
from rationlp.ask.promise import (
    ON_A_CURVE,
    GroupQuestion,
    feed_cost,
    price_of_promises,
    question_of,
)
from rationlp.ask.standards import with_standard
from rationlp.errors import InputError
from rationlp.farm.farm import Farm
from rationlp.farm.group import CSIRO, NRC
from rationlp.model.block_ration import Optimum, optimum_of
from rationlp.model.lp import Program
from rationlp.model.ration import make_blocks
from rationlp.model.rows import build
from rationlp.model.rows.block import Block
from rationlp.needs.calendar import farm_on
from rationlp.needs.nrc import nrc_figures
from rationlp.read.farm import read_farm

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
GROUPS = [("beef", "bulls"), ("hill", "twins")]


@cache
def example(name: str) -> Farm:
    """An example farm on its first day."""
    return farm_on(read_farm(EXAMPLES / name))


def question(farm: Farm, group: str) -> GroupQuestion:
    """The question of one group."""
    (block,) = make_blocks(farm, [group])
    asked = question_of(block)
    assert asked is not None
    return asked


def of(asked: GroupQuestion, measure: Measure) -> Amounts:
    """A measure of a question's block."""
    return amounts_of(measure, asked.block, asked.cheapest.level)


def apart(asked: GroupQuestion, amounts: Amounts, weight: float) -> Optimum:
    """The cheapest ration with the weight put on the prices of the offers themselves, the block
    built anew, in place of the costs of its columns."""
    block = asked.block
    offers = tuple(
        replace(
            offer,
            price_per_t_fresh=offer.price_per_t_fresh
            + weight * amounts.per_kg_dm.get(offer.id, 0.0) * offer.feed.dm_g_per_kg,
        )
        for offer in block.offers
    )
    dear = replace(block, offers=offers)
    answer = optimum_of(dear, Program(build([dear]).columns, asked.program.rows))
    assert answer is not None
    return answer


@pytest.mark.parametrize(("farm", "group"), GROUPS)
@pytest.mark.parametrize("measure", [METHANE, NITROGEN], ids=lambda one: one.name)
def test_corners_against_independent_solves_at_24_weights(
    farm: str, group: str, measure: Measure
) -> None:
    """Neither the corners nor the independent solve is below the other's proven bound."""
    asked = question(example(farm), group)
    amounts = of(asked, measure)
    frontier = asked.frontier(amounts)
    assert len(frontier.corners) > 1
    size = asked.cheapest.objective / abs(frontier.corners[0].amount)
    for n in range(24):
        weight = 0.0 if n == 0 else size * 10.0 ** (n / 6.0 - 1.0)
        best = min(place.at(weight) for place in frontier.corners)
        solved = apart(asked, amounts, weight)
        fixed = weight * amounts.fixed
        slack = 1e-5 * asked.cheapest.objective
        assert best >= solved.lower_bound + fixed - slack
        gap = max(frontier.gap(place) for place in frontier.corners)
        assert best <= solved.objective + fixed + slack + gap


@pytest.mark.parametrize(
    ("standard", "farm", "group", "measure", "share"),
    [
        (CSIRO, "beef", "bulls", METHANE, 2e-4),
        (CSIRO, "hill", "twins", NITROGEN, 2e-4),
        (NRC, "dairy", "dry", METHANE, ON_A_CURVE),
        (NRC, "dairy", "late", NITROGEN, ON_A_CURVE),
    ],
    ids=lambda one: getattr(one, "name", None),
)
def test_corners_by_the_second_standards_against_solves_from_nothing(
    standard: str, farm: str, group: str, measure: Measure, share: float
) -> None:
    """Corners are found from one another, the solves apart begin anew: neither is below the other's
    proven bound, to as near as corners of a curve are told.
    """
    asked = question(with_standard(example(farm), standard), group)
    amounts = of(asked, measure)
    frontier = asked.frontier(amounts)
    assert len(frontier.corners) > 1
    size = asked.cheapest.objective / abs(frontier.corners[0].amount)
    for weight in (0.0, 0.1 * size, 0.5 * size, 2.0 * size):
        best = min(place.at(weight) for place in frontier.corners)
        solved = apart(asked, amounts, weight)
        fixed = weight * amounts.fixed
        slack = share * (asked.cheapest.objective + weight * abs(frontier.corners[0].amount))
        assert best >= solved.lower_bound + fixed - 1e-6 * slack
        assert best <= solved.objective + fixed + slack


@pytest.mark.parametrize(("farm", "group"), GROUPS)
def test_the_way_falls_rises_and_bends_one_way(farm: str, group: str) -> None:
    """Amounts fall, costs rise, the price of the next kilogram never falls (convex); no corner lies
    below what is proved; the cheapest ration is the first."""
    answer = price_of_promises(example(farm), [group], [METHANE, NITROGEN, MEAL])
    asked = question(example(farm), group)
    (told,) = answer.groups
    for way in told.ways:
        pairs = list(itertools.pairwise(way.corners))
        assert all(a.amount > b.amount and a.cost <= b.cost + 1e-9 for a, b in pairs)
        prices = [corner.next_price for corner in way.corners[:-1]]
        assert prices == sorted(prices)
        assert way.corners[-1].next_price is None
        assert all(corner.lower_bound <= corner.cost + 1e-9 for corner in way.corners)
        assert way.corners[0].cost == pytest.approx(asked.cheapest.objective, rel=1e-6)


@pytest.mark.parametrize("measure", [METHANE, NITROGEN, MEAL], ids=lambda one: one.name)
def test_the_last_corner_has_the_least_there_is(measure: Measure) -> None:
    """Minimised by itself, money left out, the measure is no smaller than at the last corner."""
    asked = question(example("beef"), "bulls")
    amounts = of(asked, measure)
    columns = tuple(
        replace(column, cost=amounts.of_column(column.key)) for column in asked.program.columns
    )
    alone = optimum_of(asked.block, Program(columns, asked.program.rows))
    assert alone is not None
    last = asked.frontier(amounts).corners[-1]
    scale = max(abs(alone.objective), 1.0)
    assert last.amount - amounts.fixed == pytest.approx(alone.objective, abs=1e-4 * scale)
    assert last.amount - amounts.fixed >= alone.lower_bound - 1e-6 * scale


def test_a_promise_between_corners_is_kept_and_lies_on_or_above_the_line() -> None:
    """Half way to the next corner: no more than promised, no cheaper than the corners' line."""
    asked = question(example("beef"), "bulls")
    amounts = of(asked, METHANE)
    left, right = asked.frontier(amounts).corners[:2]
    most = 0.5 * (left.amount + right.amount)
    answer = asked.capped(amounts, most)
    assert isinstance(answer, Optimum)
    assert amounts.of(answer.values) <= most * (1.0 + 2e-6)
    line = 0.5 * (left.cost + right.cost)
    assert answer.objective >= line - 2e-4 * line
    assert answer.objective <= right.cost + 2e-4 * line


def test_a_promise_that_no_ration_keeps_is_told_and_one_kept_anyway_costs_nothing() -> None:
    """No methane at all, and more than there is."""
    promises = [Promise(METHANE, 0.0)]
    (group,) = price_of_promises(example("beef"), ["bulls"], [], promises).groups
    (none,) = group.promised
    assert (none.corner, none.extra, none.none_proved) == (None, None, True)
    (group,) = price_of_promises(example("beef"), ["bulls"], [], [Promise(METHANE, 1e5)]).groups
    (kept,) = group.promised
    assert kept.extra == pytest.approx(0.0, abs=1e-6)


def test_less_is_not_bought_by_shortage() -> None:
    """What is priced and no money is nowhere more than in the cheapest ration, though the nitrogen
    of these bullocks would fall a fifth further by going short in the rumen."""
    asked = question(example("dairy"), "finishers")
    amounts = of(asked, NITROGEN)
    shortest = asked.cheapest.objective - feed_cost(asked.block, asked.cheapest.values)
    corners = asked.frontier(amounts).corners
    for place in corners:
        penalty = place.cost - feed_cost(asked.block, place.answer.values)
        assert penalty <= shortest + 1e-6
    free = optimum_of_least(asked.block, amounts)
    assert amounts.of(free.values) < 0.9 * corners[-1].amount


def optimum_of_least(block: Block, amounts: Amounts) -> Optimum:
    """The least of a measure with shortages at their price only."""
    columns = tuple(
        replace(column, cost=column.cost + 0.1 * amounts.of_column(column.key))
        for column in build([block]).columns
    )
    answer = optimum_of(block, Program(columns, build([block]).rows))
    assert answer is not None
    return answer


def no_soya(farm: Farm, group: str) -> tuple[float | None, list[float]]:
    """What no soya costs more a head a day, and the soya of every corner [kg]."""
    (told,) = price_of_promises(farm, [group], [SOYA], [Promise(SOYA, 0.0)]).groups
    ((promised,), (way,)) = told.promised, told.ways
    if promised.corner is not None:
        assert promised.corner.amount <= 2e-6
        price = way.corners[-1].cost - way.corners[0].cost
        assert promised.extra == pytest.approx(price, abs=1e-3)
    return promised.extra, [corner.amount for corner in way.corners]


def without(farm: Farm, *feeds: str) -> Farm:
    """The farm without these feeds."""
    return replace(farm, offers=tuple(o for o in farm.offers if o.feed.key not in feeds))


def test_no_soya_costs_nothing_has_its_price_or_cannot_be(tmp_path: Path) -> None:
    """Cows with rapeseed meal eat none; without it "no soya" has its price; growing cattle on hay,
    straw and barley have no ration without soya."""
    dairy = example("dairy")
    assert no_soya(dairy, "high") == (pytest.approx(0.0, abs=1e-6), [0.0])
    extra, amounts = no_soya(without(dairy, "rapeseed_meal_extracted"), "high")
    assert extra is not None
    assert extra > 0.1
    assert amounts[0] > 1.0
    assert amounts[-1] == pytest.approx(0.0, abs=1e-9)
    farm = farm_on(read_farm(small_farm(tmp_path)))
    extra, amounts = no_soya(without(farm, "grass_silage_1st_typical"), "stores")
    assert extra is None
    assert amounts[-1] > 0.1


def test_a_group_without_a_ration_says_so() -> None:
    """A group that nothing feeds has no ways, and a reason."""
    farm = example("short")
    bare = replace(farm, offers=tuple(o for o in farm.offers if o.feed.kind == "straw"))
    answer = price_of_promises(bare, [farm.groups[0].id], [SOYA])
    assert answer.groups[0].ways == ()
    assert "no ration" in answer.groups[0].reason


def test_a_group_of_stated_needs_has_soya_only(tmp_path: Path) -> None:
    """What it breathes out and keeps is not known; soya is counted all the same."""
    farm = farm_on(read_farm(paper_farm(tmp_path / "paper")))
    answer = price_of_promises(
        farm, None, [METHANE, NITROGEN, SOYA], [Promise(NITROGEN, 5.0), Promise(MEAL, 1e3)]
    )
    for told in answer.groups:
        assert [way.measure for way in told.ways] == ["soya"]
        assert [kept.measure for kept in told.promised] == ["meal"]
        assert "not known" in told.reason


def test_meal_on_paper(tmp_path: Path) -> None:
    """Maize silage at 0.02 a kg DM needs 1.5625 kg DM of meal with it and costs 0.6375; grass and
    maize without meal (s = 2/7) cost 0.7714; by hand nothing lies between."""
    farm = farm_on(read_farm(paper_farm(tmp_path / "paper")))
    offers = (
        replace(offer, price_per_t_fresh=10.0) if offer.id == "maize" else offer
        for offer in farm.offers
    )
    cheap = replace(farm, offers=tuple(offers))
    (told,) = price_of_promises(cheap, None, [MEAL], [Promise(MEAL, 0.0)]).groups
    (way,), (kept,) = told.ways, told.promised
    first, last = way.corners
    meal = 10.0 - forage_kg(1.0)
    assert (first.amount, last.amount) == (pytest.approx(meal / 0.9), pytest.approx(0.0, abs=1e-9))
    assert first.cost == pytest.approx(least_cost(1.0, 0.02))
    assert last.cost == pytest.approx(least_cost(2.0 / 7.0, 0.02))
    assert first.next_price == pytest.approx((last.cost - first.cost) / (meal / 0.9))
    assert kept.extra == pytest.approx(last.cost - first.cost, abs=1e-5)


def test_what_is_typed() -> None:
    """Measures and promises by name; all faults at once, each with its code."""
    assert measures_named(None) == (METHANE, NITROGEN, SOYA)
    assert measures_named(["meal", "meal"]) == (MEAL,)
    assert promises_typed(["soya=0", "methane=450"]) == (
        Promise(SOYA, 0.0),
        Promise(METHANE, 450.0),
    )
    with pytest.raises(InputError) as refused:
        promises_typed(["soja=0", "soya", "meal=-1", "methane=nan", "soya=1", "soya=2"])
    codes = [finding.code for finding in refused.value.findings]
    assert codes == ["IN550", "IN551", "IN551", "IN551", "IN551"]
    with pytest.raises(InputError) as refused:
        measures_named(["metane", "water"])
    assert [finding.code for finding in refused.value.findings] == ["IN550", "IN550"]
    assert set(MEASURES) == {"methane", "nitrogen", "soya", "meal"}


@pytest.mark.parametrize(
    ("standard", "farm", "group"), [(CSIRO, "beef", "bulls"), (NRC, "dairy", "dry")]
)
def test_methane_is_held_at_the_standards_own_level(standard: str, farm: str, group: str) -> None:
    """0.046 DOMD − 0.113 EE − 2.47 (L − 1) g a kg DM (Bell and others 2016, a), L the ration's own
    by the standard: by CSIRO (2007) ME over E0/km + 0.09 ME, by NRC (2001) TDN over 0.035 (0.96
    W)^0.75 kg.
    """
    asked = question(with_standard(example(farm), standard), group)
    block, level = asked.block, asked.cheapest.level
    assert block.needs.standard == standard
    fed = [(offer.feed, kg) for offer, kg in block.fed(asked.cheapest.values)]
    dm = sum(kg for _, kg in fed)
    need = block.needs.energy
    assert need is not None
    assert level is not None
    if standard == CSIRO:
        me = sum(kg * (feed.value("me_mj_per_kg_dm") or 0.0) for feed, kg in fed)
        own = need.terms(me / dm / 18.8)[0]
        assert level == pytest.approx(own / (need.em / (0.5 + 0.02 * me / dm) + 0.09 * own))
    else:
        weight = block.group.number("live_weight_kg")
        tdn = sum(kg * nrc_figures(feed).tdn for feed, kg in fed)
        assert level == pytest.approx(tdn / (0.035 * (0.96 * weight) ** 0.75), rel=1e-5)
    at_rest = amounts_of(METHANE, block, 1.0).of(asked.cheapest.values)
    lower = at_rest - 2.47 * (level - 1.0) * dm
    assert of(asked, METHANE).of(asked.cheapest.values) == pytest.approx(lower, rel=2e-3)
