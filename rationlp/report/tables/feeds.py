"""Tables of the feed tables themselves: all feeds, one feed with its sources, two side by side."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from functools import partial
from typing import Any

from rationlp.farm.feed import Feed
from rationlp.quantities import Quantity
from rationlp.report.tables.table import (
    Column,
    Table,
    decimals_of,
    difference,
    known,
    quantity_column,
    table_of,
)

MAIN_FIGURES = (
    "dm_g_per_kg",
    "me_mj_per_kg_dm",
    "cp_g_per_kg_dm",
    "ndf_g_per_kg_dm",
    "starch_g_per_kg_dm",
)
"""The figures of a feed that are shown beside one another."""

ORIGINS = ("lab", "farm", "table", "computed", "default")
ORIGIN_WORDS = {
    "lab": "laboratory",
    "farm": "farm's own",
    "table": "feed table",
    "computed": "by a published rule",
    "default": "class default",
}


FIRST_FIGURES = ("dm_g_per_kg", "me_mj_per_kg_dm", "cp_g_per_kg_dm")
"""Figures of a feed that a list shows by default."""


def feeds_table(feeds: Iterable[Feed]) -> Table:
    """Feeds with their kind and main figures."""
    columns = (
        Column("key", "Feed"),
        Column("name", "Name"),
        Column("kind", "Kind", full=True),
        *main_figures(lambda feed: feed, full=set(MAIN_FIGURES) - set(FIRST_FIGURES)),
    )
    return table_of("feeds", "Feed tables", feeds, columns)


def main_figures(feed_of: Callable[[Any], Feed], full: Collection[str] = ()) -> Iterator[Column]:
    """A column for each main figure of a feed. feed_of: the feed of what a row is made of. full:
    the figures that are on the screen only with --full.
    """

    def value(name: str, item: Any) -> float | None:
        return feed_of(item).value(name)

    for name in MAIN_FIGURES:
        yield quantity_column(name, full=name in full, of=partial(value, name))


def feed_table(feed: Feed, own: Mapping[str, Quantity] | None = None) -> Table:
    """Every figure of one feed that has a value: unit, origin, status, source."""
    columns = (
        Column("quantity", "Figure"),
        Column("value", "Value", varies=True),
        Column("unit", "Unit"),
        Column("origin", "Origin"),
        Column("status", "Status"),
        Column("source", "Source"),
    )
    rows, places = [], []
    for name, figure in feed.figures.items():
        title, unit = _words(name, own)
        rows.append(
            (title, figure.value, unit, ORIGIN_WORDS[figure.origin], figure.status, figure.source)
        )
        places.append(decimals_of(name, own))
    title = f"{feed.name} ({feed.key}, {feed.kind})"
    notes = tuple(note for note in (feed.note,) if note)
    return Table("feed", title, columns, tuple(rows), notes, tuple(places))


def compare_feeds(first: Feed, second: Feed, own: Mapping[str, Quantity] | None = None) -> Table:
    """Two feeds side by side, every quantity that either has; second less first."""
    columns = (
        Column("quantity", "Figure"),
        Column("unit", "Unit"),
        Column("first", first.name, varies=True),
        Column("second", second.name, varies=True),
        Column("difference", "Difference", varies=True),
    )
    names = [*first.figures, *(name for name in second.figures if name not in first.figures)]
    rows: list[tuple[object, ...]] = []
    for name in names:
        title, unit = _words(name, own)
        a, b = first.value(name), second.value(name)
        rows.append((title, unit, a, b, difference(b, a)))
    places = tuple(decimals_of(name, own) for name in names)
    return Table("compare", f"{first.name} beside {second.name}", columns, tuple(rows), (), places)


def _words(quantity: str, own: Mapping[str, Quantity] | None) -> tuple[str, str]:
    entry = known(quantity, own)
    if entry is None:
        return (quantity, "")
    return (entry.title, entry.unit)
