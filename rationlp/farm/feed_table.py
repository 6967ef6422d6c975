"""The packaged feed tables, and what sort of feed each row is."""

from __future__ import annotations

from functools import lru_cache
from os import listdir

from rationlp.farm.feed import Feed, Figure
from rationlp.folders import feeds_folder, packaged_rows

KINDS = (
    "forage", "straw", "root", "cereal", "pulse_oilseed", "by_product", "liquid", "fat", "npn",
    "mineral", "compound",
)  # fmt: skip


WORDS = ("key", "name", "kind", "sort", "fme_rule", "status", "source", "note")


FME_RULES = ("grass_silage", "fermented", "brewery_distillery", "dry", "none")


SORTS = (
    "grass_silage", "legume_silage", "maize_silage", "wholecrop", "wholecrop_alkaline", "hay",
    "cereal_straw", "treated_straw",
)  # fmt: skip


SILAGES = frozenset(
    {"grass_silage", "legume_silage", "maize_silage", "wholecrop", "wholecrop_alkaline"}
)


LONG_SORTS = frozenset({"hay", "cereal_straw", "treated_straw"})


SELDOM_SOLD = frozenset(
    {
        "biscuit_meal", "bread_waste", "citrus_pulp", "cottonseed_whole", "linseed_whole", "lupins",
        "pot_ale_syrup", "rye", "straw_ammonia_treated", "sunflower_meal", "wheat_caustic_treated",
    }
)  # fmt: skip
"""Feeds that a farm seldom finds at its merchant's in winter; common practice, no source (c)."""


DRIEST_SILAGE_G_PER_KG = 700.0


@lru_cache(maxsize=1)
def packaged_tables() -> tuple[tuple[str, list[dict[str, str]]], ...]:
    """The packaged tables with their names, read once."""
    names = sorted(name for name in listdir(feeds_folder() / "tables") if name.endswith(".csv"))
    return tuple((name, packaged_rows(f"tables/{name}")) for name in names)


@lru_cache(maxsize=1)
def packaged_feeds() -> dict[str, Feed]:
    feeds: dict[str, Feed] = {}
    origins = _figure_origins()
    for table, rows in packaged_tables():
        for cells in rows:
            key, own = cells["key"], (cells["status"], cells["source"])
            figures = {}
            for name, cell in cells.items():
                if cell and name not in WORDS:
                    # A figure's status and source are its own, else its column's, else its row's.
                    status, source = origins.get((name, key)) or origins.get((name, "")) or own
                    figures[name] = Figure(
                        float(cell), "table", f"feed tables, {table}: {source}", status
                    )
            words = (cells["sort"], cells["fme_rule"])
            feeds[key] = Feed(key, cells["name"], cells["kind"], figures, cells["note"], *words)
    return feeds


def _figure_origins() -> dict[tuple[str, str], tuple[str, str]]:
    """Status and source that differ from their row's, by (quantity, feed key or "")."""
    return {
        (cells["quantity"], key): (cells["status"], cells["source"])
        for cells in packaged_rows("figure-sources.csv")
        for key in cells["feeds"].split() or [""]
    }


@lru_cache(maxsize=1)
def sorts() -> dict[str, str]:
    """The sort of each packaged feed (`grass_silage`, `hay`, …): laboratory ranges go by it."""
    return {
        cells["key"]: cells["sort"] or cells["kind"]
        for _, rows in packaged_tables()
        for cells in rows
    }


def sort_of(feed: Feed) -> str:
    """What laboratory ranges and rules go by: own sort, else the packaged table's, else kind."""
    return feed.sort or sorts().get(feed.key) or feed.kind


def is_silage(feed: Feed) -> bool:
    """A silage, bales included; of the farm's own table a forage below 700 g DM/kg."""
    sort = feed.sort or sorts().get(feed.key)
    if sort:
        return sort in SILAGES
    return feed.kind == "forage" and feed.dm_g_per_kg < DRIEST_SILAGE_G_PER_KG


def is_long_forage(feed: Feed) -> bool:
    """Straw, hay or big-bale silage: what an animal has to chew."""
    return feed.kind == "straw" or sort_of(feed) in LONG_SORTS or "big_bale" in feed.key
