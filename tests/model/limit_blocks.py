"""Blocks of every class with every feed of the tables, to hold the rows of the model against the
printed figures they come from; and the rows of the files, read by themselves.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator, Mapping
from functools import cache

from beef_farms import Stated, farm, group

from rationlp.folders import feeds_folder
from rationlp.model.lp import Row
from rationlp.model.rows.block import Block, make_block
from rationlp.needs import group_needs
from rationlp.read.feeds import read_feed_tables

Facts = dict[str, float | str]
COW: Facts = {"live_weight_kg": 650.0}
MILK: Facts = {"milk_kg_per_day": 30.0, "milk_fat_g_per_kg": 41.0, "milk_protein_g_per_kg": 33.0}
GROWS: Facts = {"gain_kg_per_day": 0.7, "sex": "steer", "maturity": "medium"}
EWE: Facts = {"live_weight_kg": 70.0}
ANIMALS: dict[str, tuple[str, str, Facts]] = {
    "dairy_early_high": (
        "dairy_milking",
        "dairy_cow_milking",
        {**COW, **MILK, "week_of_lactation": 8.0},
    ),
    "dairy_mid_late": (
        "dairy_milking",
        "dairy_cow_milking",
        {**COW, **MILK, "milk_kg_per_day": 20.0, "week_of_lactation": 25.0},
    ),
    "dry_far_off": ("dairy_dry", "dairy_cow_dry", {**COW, "days_to_calving": 45.0}),
    "dry_close_up": ("dairy_dry", "dairy_cow_dry", {**COW, "days_to_calving": 12.0}),
    "suckler_dry": ("suckler_dry", "suckler_cow_dry", {**COW, "days_to_calving": 90.0}),
    "suckler_milking": (
        "suckler_milking",
        "suckler_cow_milking",
        {**COW, "milk_kg_per_day": 9.0, "week_of_lactation": 8.0},
    ),
    "calf": ("calf_100_200kg", "calf", {**GROWS, "live_weight_kg": 150.0}),
    "growing": ("growing_cattle", "growing_cattle", {**GROWS, "live_weight_kg": 320.0}),
    "finishing_forage": (
        "finishing_cattle",
        "finishing_cattle",
        {**GROWS, "live_weight_kg": 520.0},
    ),
    "finishing_cereal": (
        "finishing_cattle",
        "finishing_cattle",
        {**GROWS, "live_weight_kg": 400.0, "sex": "bull", "system": "cereal_based"},
    ),
    "cull_cow": ("cull_cow", "cull_cow", {**COW, "gain_kg_per_day": 0.6}),
    "bull": ("stock_bull", "breeding_bull", {"live_weight_kg": 950.0, "maturity": "medium"}),
    "ewe_dry": ("ewe_dry", "ewe_dry", EWE),
    "ewe_hogg": ("ewe_dry", "ewe_lamb", {"live_weight_kg": 40.0, "gain_kg_per_day": 0.05}),
    "ewe_late": (
        "ewe_late_pregnant",
        "ewe_pregnant",
        {**EWE, "lambs_carried": 2.0, "days_to_lambing": 20.0},
    ),
    "ewe_milking": (
        "ewe_milking",
        "ewe_milking",
        {**EWE, "lambs_suckled": 2.0, "flock": "lowland", "week_of_lactation": 4.0},
    ),
    "lamb": (
        "lamb",
        "lamb",
        {"live_weight_kg": 36.0, "gain_kg_per_day": 0.2, "sex": "castrate"},
    ),
}
"""An ordinary animal of every column of feeds/diet-limits.csv: its limits key, class and facts."""

OF_LIMITS = {limits_key: column for column, (limits_key, _, _) in reversed(ANIMALS.items())}
"""The first column of every class of feeds/limits.csv."""


def rows_of(name: str) -> list[dict[str, str]]:
    """A file of feeds/ as it is printed, without what the program makes of it."""
    with (feeds_folder() / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def weight_of(column: str) -> float:
    """Live weight of the animal of a column [kg]."""
    return float(ANIMALS[column][2]["live_weight_kg"])


@cache
def block_of(column: str, copper_known: bool = False) -> Block:
    """The block of the animal of a column with every feed there is, or those of known copper and
    urea, which has none.
    """
    _, animal_class, facts = ANIMALS[column]
    feeds: Stated = {
        key: {}
        for key, feed in read_feed_tables().items()
        if not copper_known or feed.value("cu_mg_per_kg_dm") is not None
    }
    if copper_known:
        feeds["feed_urea"] = {"cu_mg_per_kg_dm": 0.0}
    whole = farm(group(animal_class, facts), feeds)
    animals = whole.groups[0]
    return make_block(whole, animals, group_needs(animals, whole.margins), whole.offers)


def dm_per_kg_fresh(feed: str) -> float:
    """kg DM in a kg of a table feed."""
    return read_feed_tables()[feed].dm_g_per_kg / 1000.0


Family = Callable[[Block], Iterator[Row]]


@cache
def _rows_of(column: str, copper_known: bool, family: Family) -> tuple[Row, ...]:
    return tuple(family(block_of(column, copper_known)))


def broken(
    column: str, family: Family, kg_dm: Mapping[str, float], copper_known: bool = False
) -> set[str]:
    """Rows of a family of the model that a ration [kg DM by feed] does not keep, by arithmetic: the
    first and the middle words of their keys.
    """
    block = block_of(column, copper_known)
    values = {block.feed(offer): kg_dm.get(offer.id, 0.0) for offer in block.offers}
    values[block.key("dm")] = sum(kg_dm.values())
    found: set[str] = set()
    for row in _rows_of(column, copper_known, family):
        total = sum(coef * values[key] for key, coef in row.coefs.items() if key in values)
        if not row.low - 1e-9 <= total <= row.high + 1e-9:
            found.add(" ".join(word for word in row.key if word not in ("pen", "day")))
    return found
