"""[[growing]] and [land]: what can be grown for next year, checked against the feeds that there
are.
"""

from __future__ import annotations

from typing import Any

from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Crop
from rationlp.farm.feed import Feed
from rationlp.named import nearest
from rationlp.read.feeds import overlay_own
from rationlp.read.schema import GrowingTable, LandTable, place
from rationlp.read.winter import Yard
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
    kept = 1.0
    for name in places:
        kept *= 1.0 - usual[name].share
    return 1.0 - kept


def read_growing(
    tables: list[tuple[int, GrowingTable | None]], land: LandTable | None, yard: Yard
) -> tuple[tuple[Crop, ...], float | None, list[Finding]]:
    """Every crop that could be read, the hectares there are (None: not said), and everything that
    is wrong.
    """
    crops: list[Crop] = []
    findings: list[Finding] = []
    seen: dict[str, str] = {}
    bought = {offer.id for offer in yard.offers if offer.bought}
    for number, table in tables:
        if table is None:
            continue
        where = place(("growing", number), yard.raw)
        name = table.id or table.feed
        if name in seen or name in bought:
            taken = seen.get(name, "a bought feed")
            findings.append(
                Finding(
                    "IN116",
                    where,
                    f'the id "{name}" stands in {taken} already',
                    "give it an id of its own",
                )
            )
            continue
        seen[name] = where
        feed, more = _feed(table, where, yard)
        findings += more
        findings += _faults(table, where, land)
        if feed is not None:
            crops.append(_crop(table, name, feed))
    hectares = None if land is None else land.hectares
    least = sum(crop.least_ha for crop in crops)
    if hectares is not None and least > hectares:
        found = f"least_ha of {least:g} ha in all on {hectares:g} ha of land"
        findings.append(
            Finding("IN539", "farm.toml growing", found, "the least of all crops must find room")
        )
    return tuple(crops), hectares, findings


def _crop(table: GrowingTable, name: str, feed: Feed) -> Crop:
    return Crop(
        id=name,
        name=table.name or feed.name,
        feed=feed,
        yield_t_dm_per_ha=table.yield_t_dm_per_ha,
        cost_per_ha=table.cost_per_ha,
        losses=usual_growing_losses(feed, table.stored) if table.losses is None else table.losses,
        least_ha=table.least_ha,
        most_ha=table.most_ha,
        would_fetch_per_t_dm=table.would_fetch_per_t_dm,
        stored=table.stored,
    )


def _faults(table: GrowingTable, where: str, land: LandTable | None) -> list[Finding]:
    findings = []
    if table.most_ha is not None and table.least_ha > table.most_ha:
        found = f"least_ha {table.least_ha:g} above most_ha {table.most_ha:g}"
        findings.append(Finding("IN117", where, found, "the least cannot pass the most"))
    if (
        table.would_fetch_per_t_dm is not None
        and table.most_ha is None
        and (land is None or land.hectares is None)
    ):
        found = "it may be sold and nothing limits its hectares"
        findings.append(Finding("IN539", where, found, "give most_ha, or hectares in [land]"))
    return findings


def _feed(table: GrowingTable, where: str, yard: Yard) -> tuple[Feed | None, list[Finding]]:
    feed: Any = yard.feeds.get(table.feed)
    grown = [key for key, one in yard.feeds.items() if one.kind in GROWN_KINDS]
    if feed is None or feed.kind not in GROWN_KINDS:
        near = nearest(table.feed, grown, 1, 0.4)
        remedy = (
            f'nearest: "{near[0]}"'
            if near
            else "`rationlp feeds list` shows forages, straw and roots"
        )
        found = (
            f'no feed "{table.feed}"'
            if feed is None
            else f'"{table.feed}" is no forage, straw or root'
        )
        return None, [Finding("IN119" if feed is None else "IN539", f"{where}.feed", found, remedy)]
    try:
        return (
            complete(
                overlay_own(feed, table.analysis, f"{where}.analysis") if table.analysis else feed
            ),
            [],
        )
    except InputError as trouble:
        return None, list(trouble.findings)
