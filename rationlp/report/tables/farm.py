"""Tables of a farm as read: its groups, stores and feeds on offer, where each figure came from, and
what was noticed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from rationlp.errors import Finding
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.farm.store import Store, StoreStock
from rationlp.quantities import Quantity
from rationlp.report.tables.feeds import MAIN_FIGURES, ORIGIN_WORDS, ORIGINS, feed_table
from rationlp.report.tables.stock import spread_words
from rationlp.report.tables.table import Column, Table, quantity_column, without_blank


def _origins(offer: Offer) -> str:
    """Where the main figures of an offer come from, most trusted first."""
    used = {offer.feed.figures[name].origin for name in MAIN_FIGURES if name in offer.feed.figures}
    return ", ".join(ORIGIN_WORDS[origin] for origin in ORIGINS if origin in used)


def offers_table(farm: Farm) -> Table:
    """Every feed that the farm can feed: home-grown or bought, price [currency/t fresh], main
    figures, their origin.
    """
    columns = (
        Column("id", "Id"),
        Column("name", "Name"),
        Column("from", "From"),
        Column("price_per_t_fresh", "Price a t fresh", farm.currency, 2, "right"),
        *(quantity_column(name) for name in MAIN_FIGURES),
        Column("origin", "Main figures from"),
    )
    rows = tuple(
        (
            offer.id,
            offer.name,
            "bought" if offer.bought else "store",
            offer.price_per_t_fresh,
            *(offer.feed.value(name) for name in MAIN_FIGURES),
            _origins(offer),
        )
        for offer in farm.offers
    )
    return Table("offers", "Feeds on this farm", columns, rows)


def origins_table(offer: Offer, own: Mapping[str, Quantity] | None = None) -> Table:
    """Each figure of one offer with its unit, origin, status and source. own: quantities that the
    farm declared.
    """
    table = feed_table(offer.feed, own)
    return replace(table, name="figures", title=f"{offer.name}: where each figure comes from")


def stores_table(farm: Farm, stocks: Mapping[str, StoreStock]) -> Table:
    """The farm's stores: kind, feed, size, what of it can be eaten [t DM], cost and what it would
    fetch [currency/t fresh]. stocks: by store id.
    """
    columns = (
        Column("id", "Id"),
        Column("name", "Name"),
        Column("kind", "Kind"),
        Column("feed", "Feed"),
        Column("size", "Size"),
        Column("edible_t_dm", "To eat", "t DM", 0, "right"),
        Column("edible_range", "low–high"),
        Column("cost_per_t_fresh", "Cost a t fresh", farm.currency, 2, "right"),
        Column("would_fetch_per_t_fresh", "Would fetch", farm.currency, 2, "right"),
    )
    rows = tuple(
        (
            s.id,
            s.name,
            s.kind,
            s.feed_key,
            _size(s),
            stocks[s.id].edible_t_dm.typical,
            spread_words(stocks[s.id].edible_t_dm),
            s.cost_per_t_fresh,
            s.would_fetch_per_t_fresh,
        )
        for s in farm.stores
    )
    return without_blank(Table("stores", "Stores", columns, rows))


def _size(store: Store) -> str:
    return ", ".join(
        f"{key} {value:g}" if isinstance(value, (int, float)) else f"{key} {value}"
        for key, value in store.size.items()
    )


def groups_table(farm: Farm) -> Table:
    """The groups as described: class, head, how fed, and the animal facts."""
    columns = (
        Column("id", "Id"),
        Column("name", "Name"),
        Column("class", "Class"),
        Column("head", "Head", "", 0, "right"),
        Column("fed", "Fed"),
        Column("facts", "Facts"),
    )
    rows = tuple(
        (
            group.id,
            group.name,
            group.animal_class,
            group.head,
            group.fed.replace("_", " "),
            ", ".join(
                f"{k} {v:g}" if isinstance(v, (int, float)) else f"{k} {v}"
                for k, v in group.facts.items()
            ),
        )
        for group in farm.groups
    )
    return Table("groups", "Groups", columns, rows)


def notices_table(notices: Iterable[Finding]) -> Table:
    """What was noticed and forbids nothing: code, place, what was found, what to do."""
    columns = (
        Column("code", "Code"),
        Column("where", "Where"),
        Column("found", "Found"),
        Column("remedy", "What to do"),
    )
    rows = tuple((notice.code, notice.where, notice.found, notice.remedy) for notice in notices)
    return Table("notices", "Worth a look", columns, rows)
