"""[[growing]] and [land]: what can be grown for next year, checked against the feeds."""

from __future__ import annotations

from rationlp.errors import Faults
from rationlp.farm.farm import Crop
from rationlp.farm.feed import Feed
from rationlp.read.draft import Draft
from rationlp.read.schema_later import GrowingTable
from rationlp.records import copied
from rationlp.rules.blanks import complete
from rationlp.stock.losses import usual_losses

GROWN_KINDS = ("forage", "straw", "root")


def usual_growing_losses(feed: Feed, stored: str) -> float:
    """Share of a standing crop that is lost before the trough, by the usual losses
    (feeds/store-losses.csv): in the field and, for what ferments, while it does; in a clamp at
    surface and face.
    """
    usual = usual_losses()
    places = [("field", "field")]
    if feed.kind == "root":
        places.append(("roots", "surface"))
    elif feed.kind == "forage":
        places.append(("filling", "fermentation"))
        places += [("clamp", "surface"), ("clamp", "face")] if stored == "clamp" else []
    left = 1.0
    for name in places:
        left *= 1.0 - usual[name].share
    return 1.0 - left


def read_growing(draft: Draft) -> tuple[Crop, ...]:
    """Every crop that could be read; what is wrong goes into the draft's faults."""
    crops: list[Crop] = []
    bought = [offer.id for offer in draft.offers if offer.bought]
    places = dict.fromkeys(bought, "a bought feed")
    land = draft.tables["land"]
    hectares = None if land is None else land.hectares
    for faults, table in draft.entries("growing"):
        name = table.id or table.feed
        if name in places:
            problem = f'the id "{name}" is taken already, by {places[name]}'
            faults.add("IN116", problem, "give it an id of its own")
            continue
        places[name] = faults.place
        feed = _feed(table, faults, draft)
        _check_hectares(table, faults, hectares)
        if feed is not None:
            crops.append(_crop(table, name, feed))
    lowest = sum(crop.least_ha for crop in crops)
    if hectares is not None and lowest > hectares:
        problem = f"least_ha of {lowest:g} ha in all on {hectares:g} ha of land"
        draft.faults.at("growing").add("IN539", problem, "the least of all crops must find room")
    return tuple(crops)


def _crop(table: GrowingTable, name: str, feed: Feed) -> Crop:
    losses = table.losses
    if losses is None:
        losses = usual_growing_losses(feed, table.stored)
    return copied(Crop, table, id=name, name=table.name or feed.name, feed=feed, losses=losses)


def _check_hectares(table: GrowingTable, faults: Faults, hectares: float | None) -> None:
    if table.most_ha is not None and table.least_ha > table.most_ha:
        problem = f"least_ha {table.least_ha:g} above most_ha {table.most_ha:g}"
        faults.add("IN117", problem, "the least cannot pass the most")
    if table.would_fetch_per_t_dm is not None and table.most_ha is None and hectares is None:
        problem = "it may be sold and nothing limits its hectares"
        faults.add("IN539", problem, "give most_ha, or hectares in [land]")


def _feed(table: GrowingTable, faults: Faults, draft: Draft) -> Feed | None:
    feed = draft.feeds.get(table.feed)
    if feed is None or feed.kind not in GROWN_KINDS:
        code, found = "IN539", f'"{table.feed}" is no forage, straw or root'
        if feed is None:
            code, found = "IN119", f'no feed "{table.feed}"'
        grown = [key for key, known in draft.feeds.items() if known.kind in GROWN_KINDS]
        remedy = "`rationlp feeds list` shows forages, straw and roots"
        faults.at("feed").unknown(code, found, table.feed, grown, remedy)
        return None
    feed = draft.with_analysis(feed, table.analysis, faults)
    return None if feed is None else complete(feed)
