"""Stores and bought feeds as a farm gives them: sizes, feeds with their analyses, prices."""

from __future__ import annotations

from rationlp.errors import Faults
from rationlp.farm.feed import Feed, Offer
from rationlp.farm.feed_table import sort_of
from rationlp.farm.store import Store
from rationlp.read.draft import Draft
from rationlp.read.feeds import overlay_own
from rationlp.read.lab import overlay_lab
from rationlp.read.schema import BoughtTable, StoreTable
from rationlp.read.stores import make_store, read_sizes
from rationlp.rules.blanks import complete
from rationlp.stock.checks import check_crop

BOUGHT_KEYS = (
    "least_t", "most_t", "load_t", "whole_loads", "keeps_days", "space_t", "least_order_t"
)  # fmt: skip
"""Keys of a bought feed that its offer has by the same names."""


def read_offers(draft: Draft) -> None:
    """Puts stores and offers into the draft; an offer is a feed in store or to be bought."""
    stores: list[Store] = []
    offers: list[Offer] = []
    places: dict[str, str] = {}
    for name in ("stores", "bought"):
        for faults, table in draft.entries(name):
            offer_id = table.id or table.feed
            if offer_id in places:
                problem = f'the id "{offer_id}" is taken already, in {places[offer_id]}'
                faults.add("IN116", problem, "give every store and bought feed its own id")
                continue
            places[offer_id] = faults.place
            feed = _feed_of(draft, table, offer_id, faults)
            if isinstance(table, StoreTable):
                stores.append(_store(draft, table, feed, faults))
            price = _price(draft, table, faults)
            if feed is not None:
                offers.append(_offer(table, offer_id, feed, price))
    draft.stores, draft.offers = tuple(stores), tuple(offers)
    for target, place in draft.lab.places.items():
        if target not in draft.ids("stores", "bought"):
            of_place = draft.faults.of(place)
            draft.has("store or bought feed", target, list(places), of_place, "IN309")


def _store(draft: Draft, table: StoreTable, feed: Feed | None, faults: Faults) -> Store:
    """A store with its sizes checked, and what is in it where both are known."""
    of_sizes = faults.at()
    sizes = read_sizes(table, of_sizes)
    store = make_store(table, sizes, table.name or table.id)
    if feed is not None and draft.winter is not None and of_sizes.clean:
        check_crop(store, feed, faults, draft.winter.start)
    return store


def _offer(table: StoreTable | BoughtTable, offer_id: str, feed: Feed, price: float) -> Offer:
    name = table.name or feed.name
    if isinstance(table, StoreTable):
        return Offer(offer_id, name, feed, False, price)
    bought = {key: getattr(table, key) for key in BOUGHT_KEYS}
    return Offer(offer_id, name, feed, True, price, **bought)


def _price(draft: Draft, table: StoreTable | BoughtTable, faults: Faults) -> float:
    """Price a tonne fresh [money]; 0 where it is not known."""
    if isinstance(table, BoughtTable):
        if table.least_t is not None and table.most_t is not None and table.least_t > table.most_t:
            problem = f"least_t {table.least_t:g} above most_t {table.most_t:g}"
            faults.add("IN117", problem, "the least cannot pass the most")
        if table.price_per_t_fresh is None and "prices.csv" not in draft.unread:
            remedy = f"add it, or give this feed a row in {faults.spelling.file('prices.csv')}"
            faults.at("price_per_t_fresh").add("IN111", "this key is missing", remedy)
        return table.price_per_t_fresh or 0.0
    home_grown = draft.tables["home_grown"]
    if home_grown is None or home_grown.price == "nothing":
        return 0.0
    key = "would_fetch_per_t_fresh"
    if home_grown.price == "cost":
        key = "cost_per_t_fresh"
    price: float | None = getattr(table, key)
    if price is None:
        problem = f'no {key}, though home_grown.price is "{home_grown.price}"'
        faults.add("IN118", problem, f"give {key}, or choose another home_grown.price")
    return price or 0.0


def _feed_of(
    draft: Draft, table: StoreTable | BoughtTable, offer_id: str, faults: Faults
) -> Feed | None:
    """The feed of a store or bought entry: table, farm's own figures, laboratory sheets, rules."""
    feed = draft.feed(table.feed, faults)
    if feed is None:
        return None
    feed = draft.with_analysis(feed, table.analysis, faults)
    own = faults.at()
    sheets = draft.lab.analyses.get(offer_id, ())
    if feed is not None and sheets:
        feed = overlay_lab(feed, sheets, sort_of(feed), own)
    changed = draft.over.figures.get(offer_id, {})
    if feed is not None and changed:
        feed = overlay_own(feed, changed, own.of(f"changed {offer_id}"))
    if feed is None or not own.clean:
        return None
    return complete(feed)


def check_kept_for(draft: Draft) -> None:
    """Groups that a store is kept for and that nobody has, or that are named twice."""
    places = {table.id: faults for faults, table in draft.entries("stores")}
    groups = draft.ids("groups")
    for store in draft.stores:
        faults = places[store.id].at("kept_for")
        for group in dict.fromkeys(store.kept_for):
            if group not in groups:
                remedy = f"groups of this farm: {', '.join(groups) or 'none'}"
                faults.unknown("IN174", f'no group "{group}"', group, groups, remedy)
        if len(set(store.kept_for)) < len(store.kept_for):
            faults.add("IN139", "a group appears twice", "keep one of them")
