"""Forage left lying while feed is bought: when it is told, and the price set against whole plans at
that price.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from ask_plans import plan_of_example

from rationlp.ask.lying import LEAST_T, LyingForage, forage_left_lying
from rationlp.folders import examples_folder
from rationlp.planned import WinterPlan
from rationlp.read.changed import begin, changed, parse_change
from rationlp.report.winter_so_far import lying_sentences
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions


@pytest.fixture(scope="module")
def lying() -> dict[str, LyingForage]:
    """What the dairy example leaves lying, by store id."""
    return {one.store: one for one in forage_left_lying(plan_of_example("dairy"))}


def _straw_left(price: float) -> float:
    """t fresh of straw that a whole plan leaves when it costs so much, solved on its own; the
    question leaves faces alone.
    """
    other = changed(
        begin(examples_folder() / "dairy"), [parse_change(f"straw.cost_per_t_fresh={price}")]
    )
    plan = solve_winter(
        other.farm, WinterOptions(faces="off", prove=False, tidy=False), other.stocks
    )
    dm = next(offer.feed.dm_g_per_kg for offer in other.farm.offers if offer.id == "straw")
    return next(store.left_t_dm for store in plan.stores if store.store == "straw") * 1000.0 / dm


def test_what_is_left_and_what_is_bought(lying: dict[str, LyingForage]) -> None:
    """Straw, maize and hay of the dairy example, each against all that is bought but minerals."""
    plan = plan_of_example("dairy")
    assert set(lying) == {"hay", "maize", "straw"}
    minerals = {offer.id for offer in plan.farm.offers if offer.feed.kind == "mineral"}
    bought = [one for one in plan.purchases if one.offer not in minerals]
    straw = lying["straw"]
    assert straw.bought_t == pytest.approx(sum(sum(one.t_fresh) for one in bought))
    assert straw.bought_cost == pytest.approx(sum(one.cost for one in bought))
    left = next(store for store in plan.stores if store.store == "straw")
    assert straw.left_t_fresh == pytest.approx((left.left_t_dm - left.reserve_t_dm) / 0.865)
    # The farm says what it would fetch: 90 a tonne.
    assert straw.worth == pytest.approx(90.0 * straw.left_t_fresh)


def test_the_price_at_which_more_would_be_fed_by_whole_plans(lying: dict[str, LyingForage]) -> None:
    """Below it a plan of its own leaves less straw, well above it no less; and free straw is fed as
    told.
    """
    below = lying["straw"].more_below
    more = lying["straw"].more_if_free_t
    assert below is not None
    assert more is not None
    now = _straw_left(80.0)
    assert now - _straw_left(below - 0.5) > 0.5
    assert abs(_straw_left(below + 1.5) - now) < 0.5
    assert now - _straw_left(0.0) == pytest.approx(more, rel=0.05)


def test_a_forage_that_is_wanted_at_no_price_is_told_so(lying: dict[str, LyingForage]) -> None:
    """A forage of which no price brings more in."""
    told = list(
        lying_sentences((replace(lying["maize"], more_below=None, more_if_free_t=0.0),), "GBP")
    )
    assert told[0].endswith("even if it were free.")


def test_sentences_say_tonnes_worth_and_price(lying: dict[str, LyingForage]) -> None:
    """What the person decides by."""
    (told,) = lying_sentences((lying["straw"],), "GBP")
    for words in (
        "85 t are left at turnout",
        "worth GBP 7,6",
        "t of feed are bought for GBP",
        "a tonne (priced at 80.00 now)",
    ):
        assert words in told


def _changed_left(plan: WinterPlan, t_fresh: float) -> WinterPlan:
    """The plan with so much left of every store [t fresh] over its reserve."""
    dry = {offer.id: offer.feed.dm_g_per_kg / 1000.0 for offer in plan.farm.offers}
    stores = tuple(
        replace(one, left_t_dm=one.reserve_t_dm + t_fresh * dry[one.store]) for one in plan.stores
    )
    return replace(plan, stores=stores)


def test_nothing_is_told_where_little_is_left_or_nothing_is_bought() -> None:
    """Just below the least tonnes; no purchases; no plan."""
    plan = plan_of_example("dairy")
    assert forage_left_lying(_changed_left(plan, LEAST_T - 0.1)) == ()
    assert forage_left_lying(replace(plan, purchases=())) == ()
    assert forage_left_lying(replace(plan, proof=None)) == ()
