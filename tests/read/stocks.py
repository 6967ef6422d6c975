"""Stores and feeds to try the stock calculation on."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from rationlp.farm.feed import Feed, Figure
from rationlp.farm.store import Store, StoreStock
from rationlp.read.feeds import read_feed_tables
from rationlp.stock.dry_matter import store_stock

START = date(2026, 10, 15)
GRASS, MAIZE, HAY = "grass_silage_1st_typical", "maize_silage_typical", "hay_average"
LB_PER_FT3 = 16.0185
FT, INCH = 0.3048, 0.0254
SHORT_TON = 0.907185


def feed(key: str, dm_percent: float | None = None, starch_percent: float | None = None) -> Feed:
    """A feed of the tables, with another dry matter or starch if wanted."""
    found = read_feed_tables()[key]
    figures = dict(found.figures)
    for name, value in (("dm_g_per_kg", dm_percent), ("starch_g_per_kg_dm", starch_percent)):
        if value is not None:
            figures[name] = Figure(10.0 * value, "farm", "test")
    return replace(found, figures=figures)


def stock(kind: str, of: Feed, **size: float | str) -> StoreStock:
    """What a store of these sizes holds."""
    store = Store(
        "s",
        "S",
        kind,
        of.key,
        {k: v if isinstance(v, str) else float(v) for k, v in size.items()},
        None,
        None,
    )
    return store_stock(store, of, START)


def clamp(dm_percent: float = 25.0, key: str = GRASS, **size: float | str) -> StoreStock:
    """A clamp of 30 x 10 x 2.5 m unless said otherwise."""
    return stock(
        "clamp",
        feed(key, dm_percent),
        **{"length_m": 30.0, "width_m": 10.0, "height_m": 2.5, **size},
    )
