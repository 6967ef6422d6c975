"""Bales as they are opened: what one weighs, whether it spoils, how many days it lasts."""

from __future__ import annotations

from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed
from rationlp.farm.feed_table import is_silage
from rationlp.stock.dry_matter import store_stock

DAYS_OPEN, DAYS_OPEN_WARM, WARM_C = 2.0, 1.0, 15.6
"""Days that opened bale silage may lie, in winter and above so many °C; Georgia (a)."""

MOIST_BELOW_G_PER_KG = 700.0
"""Dry matter below which baled forage spoils when opened [g/kg]; common practice, no source (c)."""


def bale_weights(farm: Farm) -> dict[str, float]:
    """Fresh weight of a bale [kg] by store id, for every store of bales."""
    offers = {offer.id: offer.feed for offer in farm.offers}
    weights = {}
    for store in farm.stores:
        if store.kind == "bales" and "weight_kg" in store.size:
            weights[store.id] = float(store.size["weight_kg"])
        elif store.kind == "bales":
            tonnes = store_stock(store, offers[store.id], farm.start).t_fresh.typical
            weights[store.id] = 1000.0 * tonnes / float(store.size["count"])
    return weights


def spoils_open(feed: Feed) -> bool:
    """Silage or haylage that heats once its bale is open."""
    return is_silage(feed) and feed.dm_g_per_kg < MOIST_BELOW_G_PER_KG


def days_open(bale_kg: float, kg_a_day: float) -> float:
    """Days that one bale lasts [d]: its fresh weight over the kg a day of all that share it."""
    return bale_kg / kg_a_day
