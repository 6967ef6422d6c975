"""Invented farms for tests of the winter plan, made in code: feeds of the tables, stores by tonnes
of dry matter.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import lru_cache

from rationlp.farm.farm import Farm, Margins
from rationlp.farm.feed import Feed, Offer
from rationlp.farm.group import Calendar, Group
from rationlp.farm.store import Face, Spread, Store, StoreStock
from rationlp.read.feeds import read_feed_tables
from rationlp.rules.blanks import complete

START, TURNOUT = date(2026, 11, 1), date(2027, 2, 7)
DAYS = (TURNOUT - START).days


@lru_cache(maxsize=1)
def tables() -> dict[str, Feed]:
    """The packaged feed tables, completed."""
    return {key: complete(feed) for key, feed in read_feed_tables().items()}


def store(key: str) -> Store:
    """A store that holds what `stocks` says."""
    return Store(key, key, "plain", key, {"amount_t_fresh": 1.0}, None, None)


def stock(key: str, t_dm: float, trough: float = 0.0, face: Face | None = None) -> StoreStock:
    """So many tonnes of dry matter that can be eaten, measured without doubt."""
    dm = tables()[key].dm_g_per_kg / 1000.0
    exact = Spread(t_dm, t_dm, t_dm)
    fresh = Spread(t_dm / dm, t_dm / dm, t_dm / dm)
    return StoreStock(key, None, None, fresh, exact, {}, exact, trough, 0.0, face, ())


def offers(stores: dict[str, float], bought: dict[str, float]) -> tuple[Offer, ...]:
    """Home-grown and bought feeds at prices a tonne fresh."""
    found = [Offer(key, key, tables()[key], False, price) for key, price in stores.items()]
    return (*found, *(Offer(key, key, tables()[key], True, price) for key, price in bought.items()))


COWS = Group(
    "cows",
    "Dry sucklers",
    "suckler_cow_dry",
    30,
    "to_appetite",
    {"live_weight_kg": 650.0, "days_to_calving": 160.0, "live_weight_change_kg_per_day": 0.0},
    calendar=Calendar(START),
)
STORES = Group(
    "stores",
    "Store cattle",
    "growing_cattle",
    24,
    "to_appetite",
    {"live_weight_kg": 280.0, "gain_kg_per_day": 0.6, "sex": "steer", "maturity": "medium"},
    calendar=Calendar(START),
)
MILKERS = Group(
    "milkers",
    "Milkers",
    "dairy_cow_milking",
    20,
    "to_appetite",
    {
        "live_weight_kg": 620.0,
        "milk_kg_per_day": 22.0,
        "milk_fat_g_per_kg": 41.0,
        "milk_protein_g_per_kg": 33.0,
        "week_of_lactation": 18.0,
        "live_weight_change_kg_per_day": 0.0,
        "days_pregnant": 0.0,
    },
)
HOME = {"grass_silage_1st_typical": 38.0, "hay_average": 90.0, "straw_barley": 70.0}
BOUGHT = {
    "barley": 205.0,
    "soya_hulls": 230.0,
    "rapeseed_meal_extracted": 270.0,
    "minerals_suckler_high_mg": 680.0,
    "minerals_cattle_general": 620.0,
    "limestone": 110.0,
    "salt": 180.0,
}
PLENTY = {"grass_silage_1st_typical": 900.0, "hay_average": 400.0, "straw_barley": 400.0}
TIGHT = {"grass_silage_1st_typical": 32.0, "hay_average": 22.0, "straw_barley": 16.0}


def winter_farm(groups: tuple[Group, ...] = (COWS, STORES)) -> Farm:
    """A farm of these groups with three forages and the usual straights."""
    return Farm(
        "", "Invented", "GBP", START, TURNOUT, Margins(), "cost", 0.1, offers(HOME, BOUGHT),
        tuple(map(store, HOME)),
        groups, tables(),
    )  # fmt: skip


def stocks(t_dm: dict[str, float], trough: float = 0.0) -> dict[str, StoreStock]:
    """What is in each store."""
    return {key: stock(key, t, trough) for key, t in t_dm.items()}


def steady(group: Group) -> Group:
    """The same animals all winter."""
    return replace(group, calendar=None)
