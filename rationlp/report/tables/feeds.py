"""Tables of feeds, by themselves and side by side, and of a farm as it was read."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from functools import partial
from typing import Any

from rationlp.errors import Finding
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed, Offer
from rationlp.farm.store import StoreStock
from rationlp.quantities import Quantity
from rationlp.report.tables.stock import spread_words
from rationlp.report.tables.table import (
    Column,
    Table,
    decimals_of,
    difference,
    quantity_column,
    table_of,
    title_and_unit,
    without_blank,
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
        title, unit = title_and_unit(name, own)
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
        title, unit = title_and_unit(name, own)
        a, b = first.value(name), second.value(name)
        rows.append((title, unit, a, b, difference(b, a)))
    places = tuple(decimals_of(name, own) for name in names)
    return Table("compare", f"{first.name} beside {second.name}", columns, tuple(rows), (), places)


_FROM = {True: "bought", False: "store"}


def _origins(offer: Offer) -> str:
    """Where the main figures of an offer come from, most trusted first."""
    used = {offer.feed.figures[name].origin for name in MAIN_FIGURES if name in offer.feed.figures}
    return ", ".join(ORIGIN_WORDS[origin] for origin in ORIGINS if origin in used)


def offers_table(farm: Farm) -> Table:
    """Every feed that the farm can feed: price [currency/t fresh], main figures, their origin."""
    columns = (
        Column("id", "Id"),
        Column("name", "Name"),
        Column("from", "From", of=lambda offer: _FROM[offer.bought]),
        Column("price_per_t_fresh", "Price a t fresh", farm.currency, 2),
        *main_figures(lambda offer: offer.feed),
        Column("origin", "Main figures from", of=_origins),
    )
    return table_of("offers", "Feeds on this farm", farm.offers, columns)


def origins_table(offer: Offer, own: Mapping[str, Quantity] | None = None) -> Table:
    """Each figure of one offer with unit, origin, status, source. own: the farm's quantities."""
    table = feed_table(offer.feed, own)
    return replace(table, name="figures", title=f"{offer.name}: where each figure comes from")


def stores_table(farm: Farm, stocks: Mapping[str, StoreStock]) -> Table:
    """The farm's stores: kind, feed, size, what can be eaten [t DM], cost, value. stocks: by id."""
    columns = (
        Column("id", "Id"),
        Column("name", "Name"),
        Column("kind", "Kind"),
        Column("feed", "Feed", of="feed_key"),
        Column("size", "Size", of=lambda store: _keys_words(store.size)),
        Column("edible_t_dm", "To eat", "t DM", 0, of=lambda s: stocks[s.id].edible_t_dm.typical),
        Column("edible_range", "low–high", of=lambda s: spread_words(stocks[s.id].edible_t_dm)),
        Column("cost_per_t_fresh", "Cost a t fresh", farm.currency, 2),
        Column("would_fetch_per_t_fresh", "Would fetch", farm.currency, 2),
    )
    return without_blank(table_of("stores", "Stores", farm.stores, columns))


def groups_table(farm: Farm) -> Table:
    """The groups as described: class, head, how fed, and the animal facts."""
    columns = (
        Column("id", "Id"),
        Column("name", "Name"),
        Column("class", "Class", of="animal_class"),
        Column("head", "Head", "", 0),
        Column("fed", "Fed", of=lambda group: group.fed.replace("_", " ")),
        Column("facts", "Facts", of=lambda group: _keys_words(group.facts)),
    )
    return table_of("groups", "Groups", farm.groups, columns)


def _keys_words(keys: Mapping[str, object]) -> str:
    """Keys of farm.toml with their values, in words."""
    return ", ".join(f"{key} {_value_words(value)}" for key, value in keys.items())


def _value_words(value: object) -> str:
    if isinstance(value, (int, float)):
        return f"{value:g}"
    return str(value)


def notices_table(notices: Iterable[Finding]) -> Table:
    """What was noticed and forbids nothing: code, place, what was found, what to do."""
    columns = (
        Column("code", "Code"),
        Column("where", "Where"),
        Column("found", "Found"),
        Column("remedy", "What to do"),
    )
    return table_of("notices", "Worth a look", notices, columns)
