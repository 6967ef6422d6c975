"""Rations made fit to mix, and what a practitioner would remark: each sign shown both ways."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import inf
from typing import Any

import pytest
from random_groups import random_block, tables
from toys import solve_group, toy_block

from rationlp.farm.farm import Farm, Margins
from rationlp.farm.feed import Offer
from rationlp.farm.group import FeedLimit, Group, QuantityLimit
from rationlp.model.block_ration import NoOptimum, solve_block
from rationlp.model.lines import Eaten
from rationlp.model.ration import NOTHING_KG, eat, solve_rations
from rationlp.model.rows.block import TODAY, Block
from rationlp.model.tidy import faults, least_useful_kg_dm, tidy
from rationlp.model.words import better_forage_below, sentences
from rationlp.needs import group_needs
from rationlp.result import Amount, GroupRation
from rationlp.rules.limits import practice_figure

COW = {
    "live_weight_kg": 650.0,
    "milk_kg_per_day": 28.0,
    "milk_fat_g_per_kg": 41.0,
    "milk_protein_g_per_kg": 33.0,
    "week_of_lactation": 20.0,
}
SUCKLER = {"live_weight_kg": 650.0, "days_to_calving": 60.0}


def block(animal_class: str, facts: dict[str, Any], *feeds: str, **group: Any) -> Block:
    """A block of a class with feeds of the packaged tables at 100 a tonne, forages from store."""
    animals = Group("g", "Group", animal_class, 20, "to_appetite", facts, **group)
    offers = tuple(
        Offer(key, tables()[key].name, tables()[key], not tables()[key].is_forage, 100.0)
        for key in feeds
    )
    return Block(animals, TODAY, group_needs(animals, Margins()), offers, {}, 0.1)


def found(block_: Block, **kg_dm: float) -> list[str]:
    """Ids of the feeds at fault, in order."""
    return [fault.offer.id for fault in faults(block_, kg_dm)]


def test_too_little_to_weigh() -> None:
    """0.3 kg of barley for a cow is a fault, 2 kg is none; half a kilo fresh and 2.5 % of DM are
    the least.
    """
    b = block("dairy_cow_milking", COW, "grass_silage_2nd", "barley")
    assert found(b, grass_silage_2nd=15.0, barley=0.3) == ["barley"]
    assert found(b, grass_silage_2nd=15.0, barley=2.0) == []
    assert least_useful_kg_dm(b, b.offers[1], 10.0) == pytest.approx(0.5 * 0.86)
    assert least_useful_kg_dm(b, b.offers[1], 20.0) == pytest.approx(0.5)


def test_a_second_silage_needs_a_face_of_its_own() -> None:
    """Below a fifth of the forage it is a fault; the larger one never is."""
    b = block("dairy_cow_milking", COW, "grass_silage_2nd", "maize_silage_typical")
    assert found(b, grass_silage_2nd=13.0, maize_silage_typical=2.0) == ["maize_silage_typical"]
    assert found(b, grass_silage_2nd=11.0, maize_silage_typical=4.0) == []


def test_wet_feeds_and_roots_come_in_loads() -> None:
    """A kilo of draff fresh is a fault, four kilos are none."""
    b = block("dairy_cow_milking", COW, "grass_silage_2nd", "draff")
    assert found(b, grass_silage_2nd=15.0, draff=0.23) == ["draff"]
    assert found(b, grass_silage_2nd=15.0, draff=0.92) == []


def test_a_little_silage_beside_hay_heats_before_it_is_eaten() -> None:
    """A kilo fresh a head is a fault although it is the only silage, four kilos are none."""
    b = block("suckler_cow_dry", SUCKLER, "hay_average", "grass_silage_big_bale")
    assert found(b, hay_average=9.0, grass_silage_big_bale=0.4) == ["grass_silage_big_bale"]
    assert found(b, hay_average=7.0, grass_silage_big_bale=1.8) == []


def test_two_protein_meals_a_handful_of_each_are_one_too_many() -> None:
    """0.3 kg fresh of soya and of rapeseed meal: the smaller goes. A handful beside a kilo of the
    other may stay, and a handful of barley beside a handful of meal.
    """
    soya, rape = "soya_meal_48", "rapeseed_meal_extracted"
    b = block("suckler_cow_dry", SUCKLER, "hay_average", "barley", soya, rape)
    assert found(b, hay_average=8.0, **{soya: 0.26, rape: 0.27}) == [soya]
    assert found(b, hay_average=8.0, **{soya: 0.26, rape: 1.0}) == []
    assert found(b, hay_average=8.0, **{soya: 0.26}, barley=0.27) == []


def test_one_source_of_non_protein_nitrogen() -> None:
    """Urea beside ammonia-treated straw: the smaller goes; urea without starch and sugar goes
    too.
    """
    b = block("suckler_cow_dry", SUCKLER, "straw_ammonia_treated", "feed_urea", "barley")
    assert found(b, straw_ammonia_treated=5.0, feed_urea=0.03, barley=3.0)[0] == "feed_urea"
    assert found(b, feed_urea=0.03, barley=3.0) == []
    poor = block("suckler_cow_dry", SUCKLER, "straw_barley", "feed_urea")
    assert found(poor, straw_barley=8.0, feed_urea=0.03) == ["feed_urea"]


def test_one_mineral_mix_to_a_ration() -> None:
    """Suckler minerals with some of the cattle minerals beside them: the smaller goes. Limestone is
    no mix (common practice, c).
    """
    suckler, cattle = "minerals_suckler_high_mg", "minerals_cattle_general"
    b = block("suckler_cow_dry", SUCKLER, "grass_silage_2nd", suckler, cattle, "limestone")
    fed = {"grass_silage_2nd": 10.0, suckler: 0.07, "limestone": 0.03}
    assert found(b, **fed) == []
    assert found(b, **fed, **{cattle: 0.03}) == [cattle]
    assert found(b, **(fed | {suckler: 0.03}), **{cattle: 0.07}) == [suckler]


def test_more_feeds_than_a_yard_would_mix() -> None:
    """Four bought feeds for suckler cows are one too many: the smallest goes; minerals are not
    counted.
    """
    keys = ("hay_average", "barley", "soya_hulls", "rapeseed_meal_extracted", "maize_gluten_feed")
    b = block("suckler_cow_dry", SUCKLER, *keys, "minerals_suckler_high_mg")
    four = {
        "barley": 1.0,
        "soya_hulls": 0.9,
        "rapeseed_meal_extracted": 0.7,
        "maize_gluten_feed": 0.8,
    }
    assert found(b, hay_average=6.0, minerals_suckler_high_mg=0.1, **four) == [
        "rapeseed_meal_extracted"
    ]
    assert found(b, hay_average=6.0, barley=1.0, soya_hulls=0.9, maize_gluten_feed=0.8) == []


def test_a_feed_that_the_farm_wants_in_is_left_alone() -> None:
    """A floor of the farm's own says that a little is wanted."""
    b = block(
        "dairy_cow_milking",
        COW,
        "grass_silage_2nd",
        "barley",
        feed_limits=(FeedLimit("barley", min_kg_fresh=0.2),),
    )
    assert found(b, grass_silage_2nd=15.0, barley=0.2) == []


@pytest.mark.parametrize("seed", range(12))
def test_a_tidy_ration_has_no_fault_and_meets_its_need(seed: int) -> None:
    """On random rations: no fault that could be put right is left, the need is met, and it is never
    cheaper.
    """
    b = random_block(seed)
    optimum = solve_block(b)
    if isinstance(optimum, NoOptimum):
        assert solve_group(b).amounts == ()
        return
    tidied = tidy(b, optimum)
    answer = solve_group(b)
    kept = {amount.offer: amount.kg_dm for amount in answer.amounts}
    assert all(kg > NOTHING_KG for kg in kept.values())
    if tidied is None:
        assert list(faults(b, optimum.values)) == []
        assert answer.tidy is None
        return
    stays = {step.split(" stays:")[0] for step in tidied.steps if " stays:" in step}
    assert [fault for fault in faults(b, tidied.values) if fault.offer.name not in stays] == []
    assert answer.tidy is not None
    assert answer.tidy.passed
    assert answer.tidy.extra_cost + answer.tidy.extra_penalty >= -1e-6
    eaten = eat(b, kept, {})
    assert b.needs.energy is not None
    assert eaten.supply.me_mj >= b.needs.energy.required_mj(eaten.q) * (1 - 1e-6)


def said(b: Block, over: float = 0.0, **kg_dm: float) -> str:
    """All sentences on a ration."""
    return " ".join(sentences(b, over, eat(b, kg_dm, {})))


COWS = block(
    "dairy_cow_milking",
    COW,
    "grass_silage_2nd",
    "barley",
    "wheat",
    "maize_grain",
    "minerals_cattle_general",
)
DRY = block(
    "suckler_cow_dry", SUCKLER, "straw_barley", "grass_silage_1st_early", "barley", "soya_meal_48"
)
STEERS = block(
    "finishing_cattle",
    {
        "live_weight_kg": 500.0,
        "gain_kg_per_day": 1.0,
        "sex": "steer",
        "maturity": "late",
        "system": "silage_based",
    },
    "grass_silage_2nd",
    "barley",
)
OWN = block(
    "dairy_cow_milking",
    COW,
    "grass_silage_2nd",
    "wheat",
    feed_limits=(FeedLimit("wheat", max_kg_fresh=6.0),),
)
STARCH = block(
    "dairy_cow_milking", COW, "grass_silage_2nd", "wheat",
    quantity_limits=(QuantityLimit("starch_g_per_kg_dm", "kg_dm", at_most=320.0),),
)  # fmt: skip
SIGNS: dict[str, tuple[str, Callable[[], str], Callable[[], str]]] = {
    "meals": ("more than 2 meals of 4 kg", lambda: said(COWS, grass_silage_2nd=8.0, barley=8.0),
    lambda: said(COWS, barley=6.0)),
    "cake for milk": ("kg of concentrates a litre", lambda: said(COWS, barley=12.0),
    lambda: said(COWS, barley=8.0)),
    "no minerals": (
        "No mineral feed",
        lambda: said(COWS, grass_silage_2nd=12.0),
        lambda: said(COWS, grass_silage_2nd=12.0, minerals_cattle_general=0.1),
    ),
    "three cereals": (
        "Three cereals",
        lambda: said(COWS, barley=1.0, wheat=1.0, maize_grain=1.0),
        lambda: said(COWS, barley=2.0, wheat=1.0),
    ),
    "starving on straw": (
        "too little for the rumen",
        lambda: said(DRY, straw_barley=10.0),
        lambda: said(DRY, straw_barley=8.0, soya_meal_48=1.5),
    ),
    "cake beside good silage": (
        "seldom need concentrates",
        lambda: said(DRY, grass_silage_1st_early=9.0, barley=1.0),
        lambda: said(DRY, grass_silage_1st_early=9.0),
    ),
    "fattening": ("above 110 % of the need", lambda: said(DRY, 5.0, straw_barley=9.0),
    lambda: said(DRY, straw_barley=9.0)),
    "own limit over the printed one": (
        "passes the printed limit",
        lambda: said(OWN, grass_silage_2nd=12.0, wheat=4.5),
        lambda: said(OWN, grass_silage_2nd=12.0, wheat=1.5),
    ),
    "own share over the printed one": (
        "is above the printed limit of 250",
        lambda: said(STARCH, grass_silage_2nd=10.0, wheat=8.0),
        lambda: said(STARCH, grass_silage_2nd=12.0, wheat=2.0),
    ),
    "filled by a default": (
        "the usual value for such feeds was used",
        lambda: said(DRY, straw_barley=9.0),
        lambda: said(DRY, grass_silage_1st_early=9.0),
    ),
    "expected gain": (
        "Gain to expect of this energy",
        lambda: said(STEERS, grass_silage_2nd=9.0, barley=2.0),
        lambda: said(COWS, barley=2.0),
    ),
    "nothing needed": ("needs nothing", lambda: said(COWS), lambda: said(COWS, barley=1.0)),
}  # fmt: skip


@pytest.mark.parametrize("sign", SIGNS)
def test_a_sign_is_said_where_it_shows_and_only_there(sign: str) -> None:
    """Each sentence both ways."""
    words, shows, hidden = SIGNS[sign]
    assert words in shows()
    assert words not in hidden()


def test_the_price_of_filling_a_group_is_said_where_the_floor_binds() -> None:
    """A positive price of the appetite row is told with the floor and its default; none,
    nothing.
    """
    fed = {"straw_barley": 9.0}
    priced = " ".join(sentences(DRY, 0.0, eat(DRY, fed, {DRY.key("appetite"): 0.05})))
    assert (
        "filled to at least 9.8 kg DM (common practice): the last kg of dry matter costs 0.050"
        in priced
    )
    assert "Fed to appetite" not in " ".join(
        sentences(DRY, 0.0, eat(DRY, fed, {DRY.key("appetite"): 0.0}))
    )


def test_the_honest_gain_is_said_first() -> None:
    """The gain to expect, put right by trials, is lower than by the equations as printed, and both
    are said in that order.
    """
    text = said(STEERS, grass_silage_2nd=9.0, barley=2.0)
    honest, printed = (
        float(text.split(mark)[1].split()[0].rstrip("."))
        for mark in ("this energy: ", "as printed give ")
    )
    assert 0.0 < honest < printed
    assert "give or take 0.15" in text


def fresh_cow(milk: float, weeks: float, change: float = 0.0) -> Farm:
    """A farm with one group of cows soon after calving."""
    from datetime import date

    facts: dict[str, float | str] = {**COW, "milk_kg_per_day": milk, "week_of_lactation": weeks}
    facts["live_weight_change_kg_per_day"] = change
    b = block(
        "dairy_cow_milking",
        facts,
        "grass_silage_1st_early",
        "maize_silage_typical",
        "wheat",
        "soya_meal_48",
    )
    return Farm(
        "",
        "Test",
        "GBP",
        date(2026, 10, 1),
        date(2027, 4, 1),
        Margins(),
        "cost",
        0.1,
        b.offers,
        (),
        (b.group,),
        {},
    )


def test_a_fresh_cow_milks_off_her_back_what_she_must() -> None:
    """Said in the answer in week 2, not for a cow of 12 litres, nor later on, nor for one that
    loses by the farm's own word.
    """
    cow = solve_rations(fresh_cow(36.0, 2.0)).groups[0]
    assert cow.proof is not None
    assert any("MJ a day from her back" in remark for remark in cow.remarks)
    small = solve_rations(fresh_cow(12.0, 8.0)).groups[0]
    assert not any("from her back" in remark for remark in small.remarks)
    stated = solve_rations(fresh_cow(36.0, 2.0, -0.3)).groups[0]
    assert not any("from her back" in remark for remark in stated.remarks)
    assert solve_rations(fresh_cow(65.0, 12.0)).groups[0].status == "none_exists"


def test_useful_amounts_belong_to_classes_of_practice() -> None:
    """A class without practice has no faults, and is never tidied."""
    b = replace(toy_block(), needs=replace(toy_block().needs, limits_key=None))
    optimum = solve_block(b)
    assert not isinstance(optimum, NoOptimum)
    assert tidy(b, optimum) is None
    assert practice_figure(None, "bought_feeds_most") is None
    assert optimum.objective < inf
    assert isinstance(eat(b, optimum.values, {}), Eaten)


def herd(young_feed: str, milking_feed: str) -> Farm:
    """Young stock and milking cows, each barred from the other's silage, so that who gets which is
    given.
    """
    from datetime import date

    more = ("barley", "soya_meal_48", "dairy_compound_18", "beet_pulp_molassed_dry", "straw_barley")
    cows = block("dairy_cow_milking", COW, young_feed, milking_feed, *more)
    facts: dict[str, float | str] = {
        "live_weight_kg": 300.0,
        "gain_kg_per_day": 0.8,
        "sex": "steer",
        "maturity": "medium",
    }
    young = Group(
        "young", "Young", "growing_cattle", 10, "to_appetite", facts,
        barred=frozenset({milking_feed})
    )  # fmt: skip
    groups = (replace(cows.group, id="cows", barred=frozenset({young_feed})), young)
    return Farm(
        "",
        "Test",
        "GBP",
        date(2026, 10, 1),
        date(2027, 4, 1),
        Margins(),
        "cost",
        0.02,
        cows.offers,
        (),
        groups,
        {},
    )


def test_the_best_silage_to_the_young_stock_is_said() -> None:
    """Better forage for a lower need while a leaner one is on the farm; not the other way round,
    nor for a hair.
    """
    early, typical = "grass_silage_1st_early", "grass_silage_1st_typical"
    farm = herd(early, typical)
    cows, young = solve_rations(farm).groups

    def eating(group: GroupRation, *keys: str) -> GroupRation:
        return replace(group, amounts=tuple(Amount(key, key, 5.0, 15.0, 0.5, None) for key in keys))

    wrong = better_forage_below(farm, (eating(cows, typical), eating(young, early)))
    assert set(wrong) == {"young"}
    assert "compare the two ways round" in wrong["young"]
    assert better_forage_below(farm, (eating(cows, early), eating(young, typical))) == {}
    assert better_forage_below(farm, (eating(cows, early), eating(young, early))) == {}
    assert (
        better_forage_below(farm, (eating(cows, typical), eating(young, early, "straw_barley")))
        == {}
    )
