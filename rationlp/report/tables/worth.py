"""Tables of what feeds and stores are worth."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

from rationlp.ask.reference import ReferenceValue
from rationlp.report.tables.table import Column, Table, table_of, without_blank

if TYPE_CHECKING:
    from rationlp.ask.worth import FeedWorth, Worth

_BLANK = (None, "")
_NOTE = (
    "Worth feeding below: a feed is in the ration below this price a tonne fresh and out above"
    " it, found to a tenth by solving again; settled, not proved. Ration unchanged from, to:"
    " between these prices no feed moves by more than a gram of dry matter. Price cut needed:"
    " what the price would have to fall by at the margin, the lower estimate of the way to that"
    " price."
)


def _columns(worth: Worth) -> tuple[Column, ...]:
    money = worth.farm.currency
    tonnes = worth.lot_t_fresh

    def lot_value(feed: FeedWorth) -> float | None:
        if feed.turns_at is None or tonnes is None:
            return None
        return feed.turns_at * tonnes

    lot: tuple[Column, ...] = ()
    if tonnes is not None:
        lot = (Column("lot_value", f"{tonnes:g} t for", money, 2, of=lot_value),)
    return (
        Column("feed", "Feed", of="name"),
        Column("kg_dm_per_head_day", "Eaten DM", "kg", 2, of="kg_dm"),
        Column("price_per_t_fresh", "Price", money, 1, of="price"),
        Column("turns_at", "Worth feeding below", money, 1),
        *lot,
        Column("same_from", "Ration unchanged from", money, 1, of="same_low"),
        Column("same_to", "Ration unchanged to", money, 1, of="same_high"),
        Column("reduced_cost", "Price cut needed (estimate)", money, 1, of=_price_cut),
        Column("reason", "Remark"),
    )


def _price_cut(feed: FeedWorth) -> float | None:
    return feed.reduced_cost or None


def worth_table(worth: Worth, group: str) -> Table:
    """What every feed asked about is worth in one group's ration [currency/t fresh]."""
    feeds = (feed for feed in worth.feeds if feed.group == group)
    name = next((record.name for record in worth.farm.groups if record.id == group), group)
    title = f"{name}: what a tonne fresh is worth"
    return without_blank(table_of("worth", title, feeds, _columns(worth), (_NOTE,)), _BLANK)


def turning_prices_table(worth: Worth, groups: Sequence[str]) -> Table:
    """The price below which each feed is worth feeding, in each group [currency/t fresh]."""
    names = {group.id: group.name for group in worth.farm.groups}
    feeds = {feed.offer: feed for feed in worth.feeds}
    turns = {(feed.offer, feed.group): feed.turns_at for feed in worth.feeds}
    columns = (
        Column("feed", "Feed"),
        Column("price_per_t_fresh", "Price", "", 0),
        *(Column(group, names.get(group, group), "", 0) for group in groups),
    )
    rows = tuple(
        (feed.name, feed.price, *(turns.get((offer, group)) for group in groups))
        for offer, feed in feeds.items()
    )
    title = (
        f"Worth feeding below, {worth.farm.currency} a tonne fresh, in each group's ration today"
    )
    return Table("turning_prices", title, columns, rows)


def worths_table(worth: Worth) -> Table:
    """Every feed of every group in one long table."""
    columns = (Column("group", "Group"), Column("feed_id", "Id", of="offer"), *_columns(worth))
    return table_of("worth", "What a tonne fresh is worth", worth.feeds, columns)


def stores_worth_table(worth: Worth) -> Table:
    """What a tonne of each store is worth through the winter [currency]."""
    money = worth.farm.currency
    columns = (
        Column("store", "Store", of="name"),
        Column("price_per_t_dm", "Priced at, t DM", money, 2, full=True),
        Column("marginal", "One t DM more saves", money, 2),
        Column("more", "by a little more", money, 2, full=True),
        Column("less", "a little less costs", money, 2, full=True),
        Column("replaces_per_t_dm", "Replaces, t DM", money, 2, full=True, of="replaces"),
        Column("replaces_per_t_fresh", "Replaces, t fresh", money, 2),
        Column("reason", "Remark"),
    )
    note = (
        "Saved: beyond what the forage itself counts for, in the plan of the whole winter, all"
        " groups together. Replaces: both together, the other feed that a tonne takes the place"
        " of; nothing where some is left over at turnout. Both sides are solved again with a"
        " little more and a little less in store: they differ where the plan turns just here."
    )
    title = "What a tonne in store is worth this winter"
    return without_blank(table_of("stores_worth", title, worth.stores, columns, (note,)), _BLANK)


def bought_worth_table(worth: Worth) -> Table:
    """The price below which each bought feed is in the plan of the winter [currency/t fresh]."""
    money = worth.farm.currency
    columns = (
        Column("feed", "Feed", of="name"),
        Column("t_fresh", "Bought", "t", 1),
        Column("price_per_t_fresh", "Price", money, 1, of="price"),
        Column("turns_at", "Worth feeding below", money, 1),
        Column("reason", "Remark"),
    )
    note = (
        "All groups together, a tonne fresh, in the cheapest plan before it is made practical"
        " to weigh; settled, not proved. Forage in store may be short here, so that a feed is"
        " worth more than in a ration of today."
    )
    title = "Bought feed in the plan of the whole winter"
    return without_blank(table_of("bought_worth", title, worth.bought, columns, (note,)), _BLANK)


def references_table(worth: Worth) -> Table:
    """The plain valuation by two reference feeds, beside the farm's own prices [currency]."""
    money = worth.farm.currency
    offers = {offer.id: offer for offer in worth.farm.offers}
    unpriced = {feed.offer for feed in worth.feeds if feed.price is None}

    def as_forage(key: str, reference: ReferenceValue) -> float | None:
        if not offers[reference.offer].feed.is_forage:
            return None
        value: float = getattr(reference, key)
        return value

    def price(reference: ReferenceValue) -> float | None:
        if reference.offer in unpriced:
            return None
        return offers[reference.offer].price_per_t_fresh

    columns = (
        Column("feed", "Feed", of=lambda reference: offers[reference.offer].name),
        Column("of_energy_reference", "Of barley", "", 3, of="constants.barley"),
        Column("of_protein_reference", "Of soya", "", 3, of="constants.soya"),
        Column("value_per_t_fresh", "Value, t fresh", money, 1, of="per_t_fresh"),
        Column("value_per_t_dm", "t DM", money, 1, of="per_t_dm"),
        Column("value_low", "As forage, from", money, 1, of=partial(as_forage, "low_per_t_fresh")),
        Column("value_high", "to", money, 1, of=partial(as_forage, "high_per_t_fresh")),
        Column("price_per_t_fresh", "Price", money, 1, of=price),
    )
    note = (
        "Energy and crude protein at what the two references charge for them (advice on buying"
        " feed, trade press). It knows nothing of fibre, starch, appetite, waste or place."
        " Published values of forages lie 20–30 % below it at the same prices, so a forage"
        " stands with a factor of 0.75–0.80 as well (common practice). Below half the forage"
        " needed you must buy forage, whatever it says."
    )
    title = "Beside it: value by barley and soya bean meal"
    return table_of("references", title, worth.references, columns, (note,))
