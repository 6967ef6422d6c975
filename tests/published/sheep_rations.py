"""Published rations of sheep as farms of our own, for supply, response and believability.

Live weights, litters and stages that a source does not print are assumed and stated here: common
practice, no source (c).
Prices: delivered straights of October 2024 and earlier, Northern Ireland farm press (a); ewe rolls,
forages at a usual cost of growing and minerals common practice (c). All in GBP a tonne fresh.
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
    Path(__file__).with_name("sheep_rations.json").read_text(encoding="utf-8")
)["rations"]
BARE = Margins(1.0, 1.0)
PRICES = {
    "ewe_rolls_18": 310, "barley": 205, "minerals_sheep_no_copper": 700, "straw_barley": 80,
    "straw_wheat": 75,
    "straw_ammonia_treated": 110, "hay_average": 95,
}  # fmt: skip
FORAGE_PRICE = 36
MINERAL = "minerals_sheep_no_copper"
CLASSES = {
    "ewe_dry": "ewe_dry",
    "ewe_late_pregnant": "ewe_pregnant",
    "ewe_milking": "ewe_milking",
    "lamb": "lamb",
}
ASSUMED: dict[str, dict[str, Any]] = {
    "ewe_dry": {"live_weight_kg": 70.0, "kept": "housed", "live_weight_change_kg_per_day": 0.0},
    "ewe_late_pregnant": {
        "live_weight_kg": 75.0,
        "lambs_carried": 2.0,
        "days_to_lambing": 14.0,
        "kept": "housed",
        "live_weight_change_kg_per_day": 0.0,
    },
    "ewe_milking": {
        "live_weight_kg": 75.0,
        "lambs_suckled": 2.0,
        "week_of_lactation": 4.0,
        "flock": "lowland",
        "kept": "housed",
        "live_weight_change_kg_per_day": -0.1,
    },
    "lamb": {"live_weight_kg": 36.0, "gain_kg_per_day": 0.2, "sex": "castrate", "kept": "housed"},
}
"""A milking ewe loses 0.1 kg a day in her first weeks: common practice, no source (c)."""
SPECIAL: dict[str, dict[str, Any]] = {
    "el-01-hay-concentrate": {"days_to_lambing": 7.0},
    "el-03-wheat-straw-twins": {"days_to_lambing": 28.0},
    "el-04-straw-15-finn": {"days_to_lambing": 28.0},
    "el-05-barley-straw-twins": {"days_to_lambing": 7.0},
    "el-06-bale-good-twins": {"days_to_lambing": 7.0},
    "el-07-bale-poor-twins": {"days_to_lambing": 7.0},
    "el-08-silage-totals": {"days_to_lambing": 28.0},
    "el-09-silage-barley12": {"days_to_lambing": 28.0},
    "el-10-maize-grass-mix": {"days_to_lambing": 28.0},
    "la-01-half-half": {"sex": "male"},
    "la-02-adlib-silage04": {"sex": "male", "gain_kg_per_day": 0.25},
    "la-06-concentrate-hay": {"live_weight_kg": 40.0},
}
ANALYSES = {
    "el-06-bale-good-twins": {"me_mj_per_kg_dm": 11.2},
    "el-07-bale-poor-twins": {"me_mj_per_kg_dm": 9.5},
}
"""ME of the best and the worst quarter of big bales [MJ/kg DM]: assumed, common practice, no source
(c).
"""


@lru_cache(maxsize=1)
def tables() -> dict[str, Feed]:
    """The packaged feed tables, before rules fill anything."""
    return read_feed_tables()


def record(name: str) -> dict[str, Any]:
    """A record by its id."""
    return next(one for one in RECORDS if one["id"] == name)


def known(one: dict[str, Any]) -> bool:
    """All feeds of a record are in the tables."""
    return all(feed["feed_key"] for feed in one["feeds"])


def usable(one: dict[str, Any]) -> bool:
    """A complete ration in kg, all of whose feeds are in the tables."""
    return bool(one["complete"]) and known(one)


def group_of(one: dict[str, Any]) -> Group:
    """The animals of a record: printed facts over assumed ones."""
    key = one["limits_key"]
    facts = {**ASSUMED[key], **SPECIAL.get(one["id"], {})}
    if "live_weight_kg" in one["animal"]:
        facts["live_weight_kg"] = float(one["animal"]["live_weight_kg"])
    if "gain_kg" in one["animal"]:
        facts["gain_kg_per_day"] = float(one["animal"]["gain_kg"])
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
    first = ANALYSES.get(one["id"], {})
    feeds = [
        {**feed, "analysis": first or feed.get("analysis")} if not n else feed
        for n, feed in enumerate(one["feeds"])
    ]
    offers = [offer_of(feed, number) for number, feed in enumerate(feeds)]
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


def with_facts(group: Group, **facts: float | str) -> Group:
    """The same animals with other facts."""
    return replace(group, facts={**group.facts, **facts})
