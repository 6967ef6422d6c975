"""Tables of a farm as read: groups, stores, feeds, origin of every figure, what was noticed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from rationlp.errors import Finding
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.farm.store import StoreStock
from rationlp.quantities import Quantity
from rationlp.report.tables.feeds import (
    MAIN_FIGURES,
    ORIGIN_WORDS,
    ORIGINS,
    feed_table,
    main_figures,
)
from rationlp.report.tables.stock import spread_words
from rationlp.report.tables.table import Column, Table, table_of, without_blank

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
