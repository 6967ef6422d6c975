"""Published rations of cattle as farms of our own, for supply, response and believability.

Live weights, milk composition and stages that a source does not print are assumed and stated here:
common practice, no source (c). Prices: delivered straights of October 2024 and earlier, Northern
Ireland farm press (a); forages at a usual cost of growing, wet by-products and minerals common
practice (c). All in GBP a tonne fresh.
"""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any

from rationlp.errors import Faults
from rationlp.farm.farm import Farm, Margins
from rationlp.farm.feed import Feed, Offer
from rationlp.farm.group import Group
from rationlp.read.feeds import overlay_own, read_feed_tables
from rationlp.rules.blanks import complete

RECORDS: list[dict[str, Any]] = json.loads(
    Path(__file__).with_name("cattle_rations.json").read_text(encoding="utf-8")
)["rations"]
BARE = Margins(1.0, 1.0)
PRICES = {
    "barley": 205, "maize_grain": 220, "soya_meal_48": 385, "rapeseed_meal_extracted": 265,
    "maize_gluten_feed": 260,
    "beet_pulp_molassed_dry": 290, "dairy_compound_18": 300, "beef_compound_15": 270,
    "field_beans": 240,
    "wheat_caustic_treated": 215, "brewers_grains": 55, "draff": 50, "pot_ale_syrup": 90,
    "fodder_beet": 32, "swedes": 30,
    "kale": 25, "minerals_cattle_general": 620, "minerals_dry_cow": 700,
    "minerals_suckler_high_mg": 680,
    "straw_barley": 80, "straw_wheat": 75, "straw_ammonia_treated": 110, "hay_average": 95,
}  # fmt: skip
FORAGE_PRICE = 36
MINERAL = {
    "dairy_milking": "minerals_cattle_general",
    "dairy_dry": "minerals_dry_cow",
    "suckler_dry": "minerals_suckler_high_mg",
    "suckler_milking": "minerals_suckler_high_mg",
    "growing_cattle": "minerals_cattle_general",
    "finishing_cattle": "minerals_cattle_general",
}
CLASSES = {
    "dairy_milking": "dairy_cow_milking",
    "dairy_dry": "dairy_cow_dry",
    "suckler_dry": "suckler_cow_dry",
    "suckler_milking": "suckler_cow_milking",
    "growing_cattle": "growing_cattle",
    "finishing_cattle": "finishing_cattle",
}
ASSUMED: dict[str, dict[str, Any]] = {
    "dairy_milking": {
        "live_weight_kg": 600.0,
        "milk_kg_per_day": 22.0,
        "milk_fat_g_per_kg": 41.0,
        "milk_protein_g_per_kg": 32.0,
        "week_of_lactation": 16.0,
        "live_weight_change_kg_per_day": 0.0,
    },
    "dairy_dry": {"live_weight_kg": 650.0, "days_to_calving": 45.0},
    "suckler_dry": {"live_weight_kg": 650.0, "days_to_calving": 75.0},
    "suckler_milking": {"live_weight_kg": 640.0, "milk_kg_per_day": 9.0, "week_of_lactation": 8.0},
    "growing_cattle": {
        "live_weight_kg": 300.0,
        "gain_kg_per_day": 0.8,
        "sex": "steer",
        "maturity": "medium",
    },
    "finishing_cattle": {
        "live_weight_kg": 520.0,
        "gain_kg_per_day": 1.0,
        "sex": "steer",
        "maturity": "late",
    },
}
SPECIAL: dict[str, dict[str, Any]] = {
    "dm-12-grass-6conc": {"milk_fat_g_per_kg": 42.3, "milk_protein_g_per_kg": 33.0},
    "dm-13-grass-6conc-beet4": {"milk_fat_g_per_kg": 45.9, "milk_protein_g_per_kg": 35.3},
    "dm-15-hay-8conc": {"live_weight_kg": 500.0},
    "dm-16-hay-draff-syrup": {"live_weight_kg": 500.0},
    "gr-01-brewers-barley-straw": {"live_weight_kg": 220.0, "gain_kg_per_day": 0.8},
    "gr-02-heifer-straw-gluten": {"live_weight_kg": 180.0, "gain_kg_per_day": 0.7, "sex": "heifer"},
    "gr-03-silage-only-bulls": {"sex": "bull", "maturity": "late"},
    "gr-05-silage-barley4": {"sex": "bull", "maturity": "late"},
    "fi-09-barley-ammonia-straw": {"maturity": "early", "system": "cereal_based"},
}


@lru_cache(maxsize=1)
def tables() -> dict[str, Feed]:
    """The packaged feed tables, before rules fill anything."""
    return read_feed_tables()


def record(name: str) -> dict[str, Any]:
    """A record by its id."""
    return next(one for one in RECORDS if one["id"] == name)


def usable(one: dict[str, Any]) -> bool:
    """A complete ration in kg, all of whose feeds are in the tables."""
    known = all(feed["feed_key"] and feed["basis"] != "share_of_dm" for feed in one["feeds"])
    return bool(one["complete"]) and known


def group_of(one: dict[str, Any]) -> Group:
    """The animals of a record: printed facts over assumed ones."""
    key = one["limits_key"]
    facts = {**ASSUMED[key], **SPECIAL.get(one["id"], {})}
    animal = one["animal"]
    if "live_weight_kg" in animal:
        facts["live_weight_kg"] = float(animal["live_weight_kg"])
    if "milk_kg" in animal and key == "dairy_milking":
        facts["milk_kg_per_day"] = float(animal["milk_kg"])
        facts["live_weight_change_kg_per_day"] = float(animal.get("gain_kg", 0.0))
    elif "gain_kg" in animal and "gain_kg_per_day" in facts:
        facts["gain_kg_per_day"] = float(animal["gain_kg"])
    return Group(one["id"], one["id"], CLASSES[key], 1, "to_appetite", facts)


def offer_of(feed: dict[str, Any], number: int) -> Offer:
    """A feed of a record, its printed analysis over the table's figures."""
    key = feed["feed_key"]
    plain = tables()[key]
    if feed.get("analysis"):
        plain = overlay_own(plain, feed["analysis"], Faults("the printed analysis"))
    price = PRICES.get(key, FORAGE_PRICE)
    return Offer(f"{key}_{number}", plain.name, complete(plain), not plain.is_forage, float(price))


def farm_of(one: dict[str, Any], extra: tuple[str, ...] = (), margins: Margins = BARE) -> Farm:
    """A farm that has the record's feeds (and those in `extra` that it lacks) and one group, its
    animals.
    """
    offers = [offer_of(feed, number) for number, feed in enumerate(one["feeds"])]
    there = {offer.feed.key for offer in offers}
    offers += [
        offer_of({"feed_key": key}, 90 + n) for n, key in enumerate(extra) if key not in there
    ]
    start, turnout = date(2026, 10, 15), date(2027, 4, 10)
    return Farm(
        "",
        one["id"],
        "GBP",
        start,
        turnout,
        margins,
        "cost",
        0.1,
        tuple(offers),
        (),
        (group_of(one),),
        tables(),
    )


def fed_of(one: dict[str, Any], farm: Farm) -> dict[str, dict[str, float]]:
    """What the record was fed: kg DM by offer id; printed fresh amounts at the feed's own dry
    matter.
    """
    fed = {}
    for feed, offer in zip(one["feeds"], farm.offers, strict=False):
        kg = feed.get("kg_dm", feed["amount"])
        if feed["basis"] == "fresh":
            kg = feed["amount"] * offer.feed.dm_g_per_kg / 1000.0
        fed[offer.id] = float(kg)
    return {one["id"]: fed}


def with_facts(group: Group, **facts: float) -> Group:
    """The same animals with other facts."""
    return replace(group, facts={**group.facts, **facts})
