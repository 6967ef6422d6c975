"""Actions later in the winter by the farm's own figures: off without them, never dearer with them,
and what they come to by other ways of reckoning.
"""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from scarce import EXAMPLES, scarce_stocks, solved

from rationlp.chances.actions import SIGNED, sale_name
from rationlp.chances.course import Course
from rationlp.chances.courses import Courses
from rationlp.chances.done_later import contract_now
from rationlp.chances.layout import TreeLayout
from rationlp.chances.market import make_market
from rationlp.chances.risk import HeldRisk
from rationlp.chances.spread_answer import SOME_T_DM, Costs, SpreadAsked, SpreadPlan
from rationlp.chances.spread_plan import plan_for_spread
from rationlp.chances.template import Template, make_template
from rationlp.chances.to_keep import plan_to_keep, sold_now
from rationlp.chances.tree import make_tree
from rationlp.chances.winters import ListedWinter, farm_spreads, listed_winters, stage_days
from rationlp.farm.farm import Farm
from rationlp.farm.later import EarlyGrass, EarlySale, LaterActions, LaterPrice
from rationlp.farm.store import Outlet
from rationlp.read.farm import read_farm
from rationlp.report.chances import chances_lines
from rationlp.report.chances_actions import action_lines
from rationlp.stock.dry_matter import farm_stocks
from rationlp.wintering.links import KG_PER_T, Yard
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

CLOSE = 1e-6
FEW = read_farm(EXAMPLES / "few")
HEAD = FEW.group("cows").head
Laid = tuple[Template, tuple[ListedWinter, ...]]


def _laid(later: LaterActions, farm: Farm = FEW, bales: float = 90.0) -> Laid:
    """Nine winters of the small example short of forage, with actions. bales: price a tonne DM."""
    farm = replace(farm, later=later)
    stocks = scarce_stocks(farm)
    spreads = farm_spreads(farm, stocks)
    market = make_market(farm, stage_days(farm, farm.start), spreads, bales)
    template = make_template(market, stocks)
    assert template is not None
    return template, listed_winters(spreads, 3, 3)


def _sale(*by_stage: float | None, turnout: float, most: int | None = None) -> LaterActions:
    now, turn, late = by_stage
    return LaterActions(sales=(EarlySale("cows", (now, turn, late), turnout, most),))


def _kept(course: Course) -> dict[str, float]:
    return {key[-1]: value for key, value in course.values.items() if key[0] == "kept"}


@pytest.fixture(scope="module")
def plain() -> Course:
    """The course without any action."""
    return solved(_laid(LaterActions()))


def test_what_never_pays_changes_nothing(plain: Course) -> None:
    """Animals sold for nothing, a contract dearer than any spot price, grass dearer than all."""
    grass = EarlyGrass(FEW.feeds["grazed_grass_spring"], ("cows",), 10.0, 50_000.0)
    dear = LaterPrice("barley", contract=9_000.0)
    sale = EarlySale("cows", (0.0, 0.0, 0.0), 50_000.0)
    for later in (LaterActions((dear,)), LaterActions(sales=(sale,)), LaterActions(grass=(grass,))):
        course = solved(_laid(later))
        assert course.certificate.passed
        assert course.mean == pytest.approx(plain.mean, rel=CLOSE)


def test_animals_sold_at_once_leave_a_smaller_herd() -> None:
    """Sold in autumn for what they are worth at turnout, as many as may go: the cost is that of a
    farm with fewer animals from the first day on.
    """
    sold = 4
    course = solved(_laid(_sale(1000.0, None, None, turnout=1000.0, most=sold)))
    fewer = FEW.with_group(replace(FEW.group("cows"), head=HEAD - sold))
    for share in _kept(course).values():
        assert share == pytest.approx(1.0 - sold / HEAD)
    assert course.mean == pytest.approx(solved(_laid(LaterActions(), fewer)).mean, rel=1e-4)


def test_a_loss_a_head_is_paid_once() -> None:
    """The same with 50 less a head: dearer by 50 for each that goes."""
    sold = 4
    even = solved(_laid(_sale(1000.0, None, None, turnout=1000.0, most=sold)))
    loss = solved(_laid(_sale(995.0, None, None, turnout=1000.0, most=sold)))
    assert loss.mean - even.mean == pytest.approx(5.0 * sold, abs=0.01)


def test_animals_are_sold_where_stores_are_light_and_not_before() -> None:
    """At a loss that pays in light winters only: in autumn none, at the turn of the year the more
    the less there is; what is gone does not come back.
    """
    template, winters = _laid(_sale(900.0, 900.0, 700.0, turnout=1000.0))
    for loss in (20.0, 40.0, 80.0, 120.0, 160.0):
        later = _sale(1000.0 - loss, 1000.0 - loss, 0.0, turnout=1000.0)
        moved = replace(template, yard=_with(template, later))
        course = solved((moved, winters))
        kept = _kept(course)
        by_stock = [kept[f"n{number}"] for number in (1, 2, 3)]
        if min(by_stock) < kept["n0"] - 0.01:
            break
    assert by_stock == sorted(by_stock)
    assert all(share <= kept["n0"] + CLOSE for share in kept.values())
    later_on = [kept[f"n{number}"] for number in range(4, 13)]
    assert max(later_on) <= max(by_stock) + CLOSE
    shut = frozenset((sale_name("cows"), stage) for stage in range(3))
    assert solved((moved, winters), shut=shut).mean > course.mean + 1.0


def _with(template: Template, later: LaterActions) -> Yard:
    farm = replace(template.yard.farm, later=later)
    return replace(template.yard, farm=farm)


@pytest.mark.parametrize(("feed", "bales"), [("barley", 900.0), ("big_bales", 90.0)])
def test_a_contract_pays_below_later_prices_and_not_above(feed: str, bales: float) -> None:
    """A feed twice as dear after autumn: bought forward below that and not above; no more is called
    off than was signed or eaten; shut, it costs what it does without.
    """
    template, _ = _laid(LaterActions(), bales=bales)
    price = template.yard.farm.offer(feed).price_per_t_fresh
    dearer = LaterPrice(feed, turn_of_year=2.0 * price, late_winter=2.0 * price, left=0.0)
    without = solved(_laid(LaterActions((dearer,)), bales=bales))
    for times, pays in ((0.9, True), (2.01, False)):
        laid = _laid(LaterActions((replace(dearer, contract=times * price),)), bales=bales)
        course = solved(laid)
        assert course.certificate.passed
        signed = course.values["contract", feed, "n0"]
        assert (signed > 0.1) is pays
        layout = TreeLayout(laid[0], make_tree(laid[1]))
        per_t = KG_PER_T / template.yard.farm.offer(feed).feed.dm_g_per_kg
        for winter in laid[1]:
            way = layout.tree.way(winter)
            called = [course.values["call", feed, node.mark] for node in way if node.stage > 0]
            assert sum(called) <= signed + CLOSE
            eaten = [layout.put_out_t_dm(feed, course.values, node) * per_t for node in way]
            if feed == "barley":
                assert all(c <= e + CLOSE for c, e in zip(called, eaten[1:], strict=True))
            else:
                bought = sum(course.values["buy", feed, node.mark] for node in way)
                assert sum(eaten) <= bought + sum(called) + 1e-5
        if pays:
            assert course.mean < without.mean - 0.1 * signed
            shut = solved(laid, shut=frozenset({(feed, SIGNED)}))
            assert shut.mean == pytest.approx(without.mean, rel=CLOSE)
        else:
            assert course.mean == pytest.approx(without.mean, rel=CLOSE)


def test_what_is_not_called_off_is_resold() -> None:
    """Signed far below the price and resold at nearly that: as much as the hungriest winter calls
    off, the rest resold in every other.
    """
    sign = LaterPrice("barley", contract=100.0, most_t=5.0, resold=99.0)
    laid = _laid(LaterActions((sign,)), bales=900.0)
    course = solved(laid)
    signed = course.values["contract", "barley", "n0"]
    called = []
    for winter in laid[1]:
        way = make_tree(laid[1]).way(winter)
        called.append(sum(course.values["call", "barley", n.mark] for n in way if n.stage > 0))
        unused = course.values["unused", "barley", f"w{winter.number}"]
        assert unused == pytest.approx(signed - called[-1], abs=1e-5)
    assert 0.1 < signed <= 5.0 + CLOSE
    assert max(called) == pytest.approx(signed, abs=1e-5)
    assert course.mean < solved(_laid(LaterActions(), bales=900.0)).mean


def test_grass_is_eaten_in_late_winter_only_and_no_more_than_there_is() -> None:
    """Nearly free grass: all of it in the longest winters, none before late winter."""
    grass = EarlyGrass(FEW.feeds["grazed_grass_spring"], ("cows",), 2.0, 1.0)
    laid = _laid(LaterActions(grass=(grass,)))
    course = solved(laid)
    eaten = {
        key[-1]: value
        for key, value in course.values.items()
        if key[:2] == ("feed", "early_grass_1")
    }
    assert all(value <= CLOSE for mark, value in eaten.items() if int(mark[1:]) < 4)
    assert max(eaten.values()) > 0.5
    layout = TreeLayout(laid[0], make_tree(laid[1]))
    for node in layout.tree.nodes:
        if node.stage == 2:
            assert layout.put_out_t_dm("early_grass_1", course.values, node) <= 2.0 + 1e-6


def test_own_prices_after_autumn_take_the_place_of_ours(plain: Course) -> None:
    """Bales as dear later as now: nothing is bought in autumn beyond what is eaten then; left at
    turnout for nothing, it is dearer than with a worth.
    """
    template, _ = _laid(LaterActions())
    price = next(o for o in template.yard.farm.offers if o.id == "big_bales").price_per_t_fresh
    same = LaterPrice("big_bales", turn_of_year=price, late_winter=price)
    course = solved(_laid(LaterActions((same,))))
    assert course.mean < plain.mean
    bought = course.values["buy", "big_bales", "n0"]
    assert bought < plain.values["buy", "big_bales", "n0"]
    nothing = solved(_laid(LaterActions((LaterPrice("big_bales", left=0.0),))))
    assert nothing.mean >= plain.mean - CLOSE * plain.mean


@pytest.fixture(scope="module")
def told() -> SpreadPlan:
    """The plan for the spread of the small example short of forage, with all three actions."""
    later = LaterActions(
        (LaterPrice("barley", turn_of_year=400.0, late_winter=400.0, contract=220.0),),
        (EarlySale("cows", (850.0, 900.0, 700.0), 1000.0, 6),),
        (EarlyGrass(FEW.feeds["grazed_grass_spring"], ("cows",), 2.0, 30.0),),
    )
    farm = replace(FEW, later=later)
    asked = SpreadAsked(points=(3, 3, 1), bales_per_t_dm=160.0)
    plan = plan_for_spread(farm, asked, scarce_stocks(farm))
    assert plan is not None
    return plan


def test_actions_are_told_in_farm_words(told: SpreadPlan) -> None:
    """Forward or month by month, which animals and by when, grass: each with whose price it is."""
    text = " ".join(action_lines(told))
    assert "a tonne (your price;" in text
    assert re.search(r"Eleven suckler cows, at your prices: sell (none|\d+ of 11) now", text)
    assert "at your cost graze" in text
    assert not re.search(r"[A-Z]{3} -\d", text)
    (sale,) = told.sales
    assert 0.0 <= sale.now <= 6.0 + CLOSE
    assert all(0.0 < one.head <= 6.0 + CLOSE for one in sale.later)
    (grass,) = told.grass
    assert 0.0 <= grass.most_grazed_t_dm <= 2.0 + CLOSE
    assert grass.most_t_dm == pytest.approx(2.0)


def test_animals_to_be_sold_now_are_sold_before_a_plan_is_kept(told: SpreadPlan) -> None:
    """A plan with animals that are gone is not kept while they are there."""
    (sale,) = told.sales
    selling = replace(told, sales=(replace(sale, now=4.0, waits=(Costs(900.0, 0.0),) * 2),))
    assert not selling.asks_for_nothing
    assert sold_now(selling) == {"Eleven suckler cows": 4.0}
    assert plan_to_keep(solve_winter(FEW, WinterOptions(prove=False)), selling) is None


def test_the_price_on_contract_at_which_it_turns() -> None:
    """A little below the price told some is signed, a little above none."""
    price = 2.0 * FEW.offer("barley").price_per_t_fresh
    one = LaterPrice("barley", turn_of_year=price, late_winter=price, contract=0.6 * price)
    laid = _laid(LaterActions((one,)), bales=900.0)
    courses = Courses(*laid)
    base = courses.of()
    assert base is not None
    turns = contract_now(courses, one, base, base).turns
    assert turns > 0.4 * price
    for share, some in ((0.995, True), (1.005, False)):
        moved = replace(one, contract=share * turns)
        signed = solved(_laid(LaterActions((moved,)), bales=900.0)).values[
            "contract", "barley", "n0"
        ]
        assert (signed > SOME_T_DM - CLOSE) is some


def test_whose_later_prices_are_and_where_they_turn() -> None:
    """Bales at our prices after autumn: below the price told for the turn of the year nothing is
    bought now, above it some is; at prices of the farm's own nothing of that is told.
    """
    farm, stocks = FEW, scarce_stocks(FEW)
    plan = plan_for_spread(farm, SpreadAsked(points=(3, 3, 1), bales_per_t_dm=90.0), stocks)
    assert plan is not None
    (bales,) = plan.forages
    assert bales.later.ours
    assert bales.later.turn_of_year == pytest.approx(1.25 * 90.0)
    told = " ".join(chances_lines(plan, HeldRisk(2000, 0.0, 0.0, 1.0, ())))
    assert "Its prices after autumn are ours too, GBP 112 and 153" in told
    assert bales.later.turns is None or 90.0 <= bales.later.turns <= 1.25 * 90.0
    own = LaterActions((LaterPrice("big_bales", turn_of_year=30.0, late_winter=40.0),))
    stated = plan_for_spread(
        replace(farm, later=own), SpreadAsked(points=(3, 3, 1), bales_per_t_dm=90.0), stocks
    )
    assert stated is not None
    assert not stated.forages[0].later.ours
    assert "ours too" not in " ".join(chances_lines(stated, HeldRisk(2000, 0.0, 0.0, 1.0, ())))


def test_forage_to_sell_now_and_after_looking_and_loads(told: SpreadPlan) -> None:
    """With plenty in store and somebody who buys: what is sold now is sold in every winter, and no
    more in all than the lightest holds; a purchase is told in whole loads.
    """
    outlet = Outlet("digester", "the digester", ("wide_clamp",), None, 60.0, None, None)
    farm = replace(FEW, outlets=(outlet,))
    plan = plan_for_spread(farm, SpreadAsked(points=(3, 3, 1), bales_per_t_dm=0.0))
    assert plan is not None
    (sold,) = plan.sold
    held = farm_stocks(farm)["wide_clamp"].edible_t_dm.typical
    assert sold.price == pytest.approx(60.0)
    assert 0.0 < sold.now_t_dm + sold.later_t_dm < 1.6 * held
    words = " ".join(action_lines(plan))
    assert "for the digester, GBP 60 a tonne of DM (your price): sell" in words
    (bales,) = told.forages
    offer = replace(FEW.offer("barley"), id="big_bales", load_t=10.0)
    buying = replace(
        told,
        farm=replace(FEW, offers=(*FEW.offers, offer)),
        forages=(replace(bales, spread_t_dm=9.0, price_per_t_dm=160.0, price_per_t_fresh=64.0),),
    )
    lines = " ".join(chances_lines(buying, HeldRisk(2000, 0.0, 0.0, 1.0, ())))
    assert "buy 9 t DM now at GBP 160 a tonne of DM" in lines
    assert ", 3 loads of 10 t" in lines
    small = (Costs(0.0, 0.0), Costs(5_000.0, 0.0))
    slow = replace(buying, forages=(replace(buying.forages[0], waits=small, lead_days=14),))
    later = " ".join(chances_lines(slow, HeldRisk(2000, 0.0, 0.0, 1.0, ())))
    assert "It can wait until 11 December; until 23 February it would cost GBP 5,000" in later
    assert "days of ordering, 14 days before delivery" in later
