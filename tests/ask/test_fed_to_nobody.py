"""Stores that nobody is fed from: told with the reason, also where nothing is bought; and what is
held against what would be eaten: roots count, what nobody may have and what is set aside do not.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from ask_plans import plan_of_example

from rationlp.ask.held import held_against_appetite
from rationlp.ask.lying import NOT_ALLOWED, NOT_ASKED, LyingForage, _pays_even, forage_left_lying
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed, Offer
from rationlp.farm.feed_table import packaged_feeds
from rationlp.farm.group import Bedding
from rationlp.farm.store import Outlet
from rationlp.folders import examples_folder
from rationlp.planned import WinterPlan
from rationlp.read.farm import read_farm
from rationlp.report.held import crop_words, enough_line, held_table, not_counted_lines
from rationlp.report.winter_so_far import lying_line
from rationlp.stock.dry_matter import farm_stocks


def _few() -> Farm:
    return read_farm(examples_folder() / "few")


def _barred(farm: Farm, store: str) -> Farm:
    groups = tuple(replace(group, barred=group.barred | {store}) for group in farm.groups)
    return replace(farm, groups=groups)


def _with_feed(farm: Farm, store: str, feed: Feed) -> Farm:
    """The farm with other feed in a store."""
    offers = tuple(
        replace(offer, feed=feed) if offer.id == store else offer for offer in farm.offers
    )
    return replace(farm, offers=offers)


def _straw_untouched(plan: WinterPlan) -> WinterPlan:
    """A plan that buys nothing and feeds no straw."""
    stores = tuple(
        replace(store, eaten_t_dm=(0.0,) * len(plan.periods), left_t_dm=store.held_t_dm.typical)
        if store.store == "straw"
        else store
        for store in plan.stores
    )
    return replace(plan, stores=stores, purchases=())


def test_a_store_that_no_group_may_be_given_is_told_so() -> None:
    """Though nothing is bought: before, such a store lay there without a word."""
    plan = _straw_untouched(plan_of_example("few"))
    (straw,) = forage_left_lying(replace(plan, farm=_barred(plan.farm, "straw")))
    assert (straw.store, straw.fed, straw.allowed, straw.reason) == (
        "straw", False, False, NOT_ALLOWED,
    )  # fmt: skip
    assert lying_line((straw,), "GBP") == (
        f"Fed to nobody: Barley straw {straw.left_t_fresh:,.0f} t fresh (no group may be given it:"
        " barred, kept for others or not for these animals)."
    )


def _lying(**facts: object) -> LyingForage:
    base = LyingForage(
        store="swedes", name="Swedes", left_t_fresh=60.0, price=25.0, worth=1500.0,
        more_below=None, more_if_free_t=0.0, bought_t=0.0, bought_cost=0.0, fed=False,
    )  # fmt: skip
    return replace(base, **facts)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("facts", "why"),
    [
        (
            {"more_below": 14.6},
            "(other feeds come cheaper: it is put at GBP 25 a tonne, fed below 15).",
        ),
        ({}, "(it would not be fed even if free)."),
        (
            {"reason": "whole loads"},
            "(at what price it would be fed was not worked out: whole loads).",
        ),
        ({"reason": NOT_ASKED}, "(why: `--full`)."),
    ],
)
def test_why_a_store_is_fed_to_nobody(facts: dict[str, object], why: str) -> None:
    """A price, or none at all."""
    assert lying_line((_lying(**facts),), "GBP") == f"Fed to nobody: Swedes 60 t fresh {why}"


def test_a_buyer_who_would_take_more_is_named() -> None:
    """Maize left while the digester takes more at the price that it is put at."""
    told = lying_line((_lying(fed=True, buyers=("The digester",)),), "GBP")
    assert told == (
        "Left at turnout (t fresh) while feed is bought: Swedes 60. The digester would take more of"
        " Swedes."
    )


def test_a_buyer_who_pays_what_it_counts_for_leaves_the_choice() -> None:
    """Sold or kept comes to the same: the plan sells nothing, and says why."""
    told = lying_line(
        (_lying(fed=True, buyers=("Digester", "Neighbour"), even=("Digester",)),), "GBP"
    )
    assert (
        "Neighbour would take more of Swedes. Digester pays for Swedes what it counts for" in told
    )
    assert "(GBP 25.00 a tonne): sold or kept comes to the same" in told


@pytest.mark.parametrize(("more", "even"), [(0.0, True), (-1.0, False), (1.0, False)])
def test_who_pays_even(more: float, even: bool) -> None:
    """Forage that counts for 40 a tonne fresh, and the same price a tonne of dry matter."""
    offer = Offer("maize", "Maize", packaged_feeds()["maize_silage_typical"], False, 40.0)
    fresh = 40.0 + more
    dry = fresh * 1000.0 / offer.feed.dm_g_per_kg
    for price in ({"price_per_t_fresh": fresh}, {"price_per_t_dm": dry}):
        assert _pays_even(Outlet("digester", "Digester", ("maize",), **price), offer) is even


def test_roots_count_in_what_is_held() -> None:
    """Swedes in a store: a crop of their own, and in the total."""
    farm = _with_feed(_few(), "bales", packaged_feeds()["swedes"])
    held = held_against_appetite(farm)
    roots = next(crop for crop in held.crops if crop.crop == "roots and kale")
    assert roots.stores == ("bales",)
    typical = farm_stocks(farm)["bales"].edible_t_dm.typical
    assert roots.held_t_dm.typical == pytest.approx(typical)
    assert held.whole.stores == tuple(store for crop in held.crops for store in crop.stores)
    assert "bales" in held.whole.stores


def test_roots_have_one_name_wherever_they_are_added_up() -> None:
    """As a kind of feed and as a crop."""
    assert crop_words("root") == crop_words("roots and kale") == "roots and kale"
    assert crop_words("grass_silage") == "grass silage"


def test_what_nobody_may_have_or_is_set_aside_is_not_held() -> None:
    """Straw that is barred counts for nothing; bedding and promises come off what is held."""
    farm = _few()
    stocks = farm_stocks(farm)
    barred = held_against_appetite(_barred(farm, "straw"))
    assert barred.not_allowed == ("Barley straw",)
    assert "straw" not in barred.whole.stores
    assert any("Barley straw" in line for line in not_counted_lines(barred))
    aside = replace(
        farm,
        beddings=(Bedding("straw", "cows", 2.0),),
        outlets=(Outlet("neighbour", "A neighbour", ("bales",), 40.0, least_t_fresh=5.0),),
    )
    held = held_against_appetite(aside)
    days = (farm.turnout - farm.start).days
    bedded = 2.0 * 11 * days * farm.offer("straw").feed.dm_g_per_kg / 1e6
    promised = 5.0 * farm.offer("bales").feed.dm_g_per_kg / 1000.0
    assert dict(held.aside) == pytest.approx({"Barley straw": bedded, "Big bales": promised})
    whole = sum(stock.edible_t_dm.typical for stock in stocks.values())
    assert held.whole.held_t_dm.typical == pytest.approx(whole - bedded - promised)


def test_more_than_a_year_is_no_count_of_days() -> None:
    """1,760 days of straw help nobody."""
    farm = _few()
    held = held_against_appetite(farm)
    long = replace(held, whole=replace(held.whole, days=400.0))
    assert "at that rate it lasts more than a year." in enough_line(farm, long)
    assert held_table(long).rows[-1][-1] is None
    assert held_table(replace(held, whole=replace(held.whole, days=120.4))).rows[-1][-1] == 120.4
