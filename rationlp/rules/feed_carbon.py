"""Carbon of bought feed, and which feeds are soya: feeds/feed-carbon.csv.

Two columns, with and without land-use change, that are never added up nor copied into one another:
published values of one feed differ tenfold, mostly by what is counted of the land.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from rationlp.farm.feed import Feed, Offer
from rationlp.folders import as_record, packaged_rows
from rationlp.records import dataclass


@dataclass(frozen=True)
class FeedCarbon:
    """A row of the table. without_land_use, with_land_use: kg CO2e a kg of dry matter (`per_dm`) or
    fresh, None where no value was found. soya: share of it that is soya [-], None where unknown.
    """

    without_land_use: float | None
    with_land_use: float | None
    per_dm: bool
    soya: float | None
    status: str
    source: str


NO_VALUE = FeedCarbon(None, None, False, 0.0, "c", "no value was found")


@dataclass(frozen=True)
class BoughtCarbon:
    """Carbon of bought feed [kg CO2e], by the two columns. Each sums up the feeds that have a value
    in it; `unknown_without` and `unknown_with` name those that have none.
    """

    without_land_use: float
    with_land_use: float
    unknown_without: tuple[str, ...]
    unknown_with: tuple[str, ...]


@lru_cache(maxsize=1)
def feed_carbon() -> dict[str, FeedCarbon]:
    """The table by feed key."""
    return {
        key: as_record(FeedCarbon, row, per_dm=row["basis"] == "dm", soya=_soya(row["soya"]))
        for row in packaged_rows("feed-carbon.csv")
        for key in row["feeds"].split()
    }


def _soya(cell: str) -> float | None:
    """Share of soya in a feed, None where it is not known; a blank is none of it."""
    if cell == "unknown":
        return None
    return float(cell or 0.0)


def carbon_of(feed: Feed) -> FeedCarbon:
    """The row of a feed; one without values for a feed that is not in the table."""
    return feed_carbon().get(feed.key, NO_VALUE)


def soya_share(feed: Feed) -> float:
    """Share of a feed that is soya by its own name [-]; 0 where that is not known (compounds)."""
    return carbon_of(feed).soya or 0.0


def bought_carbon(fed: Iterable[tuple[Offer, float]]) -> BoughtCarbon:
    """Carbon of what is bought of (offer, kg DM). Minerals count for nothing and are not named."""
    bought = [
        (offer, kg)
        for offer, kg in fed
        if offer.bought and kg > 0.0 and offer.feed.kind != "mineral"
    ]
    without, unknown_without = _column(bought, "without_land_use")
    with_it, unknown_with = _column(bought, "with_land_use")
    return BoughtCarbon(without, with_it, unknown_without, unknown_with)


def _column(bought: Iterable[tuple[Offer, float]], column: str) -> tuple[float, tuple[str, ...]]:
    """One column summed up, and the names of feeds that have no value in it."""
    total, unknown = 0.0, []
    for offer, kg in bought:
        row = carbon_of(offer.feed)
        value: float | None = getattr(row, column)
        if value is None:
            unknown.append(offer.name)
            continue
        weight = kg
        if not row.per_dm:
            weight = kg * 1000.0 / offer.feed.dm_g_per_kg
        total += value * weight
    return total, tuple(unknown)
