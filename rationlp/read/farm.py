"""The farm folder: farm.toml and the CSV files beside it, checked whole, every error said at once.

`read_farm` is the entrance. The folder holds farm.toml; beside it, if wanted, feeds.csv (own
feeds), lab.csv (analyses), prices.csv (prices of bought feeds). A workbook (.xlsx) in place of the
folder gives the same tables (read/workbook.py) and passes the same checks.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rationlp.csvfile import CsvTable, read_text
from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Crop, Farm, Margins
from rationlp.farm.feed import Feed, Figure, Offer
from rationlp.farm.feed_names import feed_remedy, feeds_meant
from rationlp.farm.feed_table import WORDS, sort_of
from rationlp.farm.group import Feeding, Group
from rationlp.farm.penalties import penalties
from rationlp.farm.store import Store
from rationlp.named import nearest
from rationlp.quantities import Quantity, quantities
from rationlp.read.calendar import Winter
from rationlp.read.feeds import overlay_own, read_feed_tables
from rationlp.read.folder import Over, Source, open_source
from rationlp.read.groups import read_groups
from rationlp.read.growing import read_growing
from rationlp.read.lab import LabSheets, overlay_lab, read_lab
from rationlp.read.leaving import leaving
from rationlp.read.loading import read_feeding
from rationlp.read.prices import kept_over, read_prices
from rationlp.read.schema import LISTS, TABLES, BoughtTable, StoreTable, check_table, place
from rationlp.read.stores import make_store, read_sizes
from rationlp.read.winter import WinterThings, Yard, read_winter
from rationlp.read.yard_rules import read_yard_rules
from rationlp.rules.blanks import complete
from rationlp.rules.usual_prices import price_notices
from rationlp.stock.checks import crop_faults, kept_for_faults

if TYPE_CHECKING:
    from rationlp.read.workbook import Book

LONGEST_WINTER_DAYS = 300


@dataclass
class _Draft:
    """What has been read so far, and what was found wrong on the way."""

    folder: Path
    raw: Mapping[str, Any] = field(default_factory=dict)
    tables: dict[str, Any] = field(default_factory=dict)
    lists: dict[str, list[Any]] = field(default_factory=dict)
    feeds: dict[str, Feed] = field(default_factory=dict)
    own_quantities: dict[str, Quantity] = field(default_factory=dict)
    lab: LabSheets = field(default_factory=lambda: LabSheets({}, {}))
    findings: list[Finding] = field(default_factory=list)
    notices: list[Finding] = field(default_factory=list)
    unread: set[str] = field(
        default_factory=set
    )  # files with faults of their own, which must not cause others
    over: Over = field(default_factory=lambda: Over({}, {}))
    book: Book | None = None  # the workbook that stands in place of the folder


def read_farm(path: Path) -> Farm:
    """A farm folder or workbook (.xlsx), checked. Raises one InputError with everything wrong, each
    with place and remedy.
    """
    return farm_of(open_source(path))


def farm_of(source: Source, raw: Mapping[str, Any] | None = None, over: Over | None = None) -> Farm:
    """The farm of a source, checked as `read_farm` does; a question gives tables of its own and
    what it lays over the files.
    """
    given = source.raw if raw is None else raw
    draft = _Draft(
        source.path,
        given,
        notices=list(source.notices),
        over=over or Over({}, {}),
        book=source.book,
    )
    _read_tables(draft)
    _own_quantities(draft)
    _files(draft)
    stores, offers = _stores_and_offers(draft)
    offer_ids = {offer.id for offer in offers} | _ids(draft)
    groups, findings, notices = read_groups(
        draft.lists["groups"], draft.raw, offer_ids, draft.own_quantities, _winter(draft)
    )
    draft.findings += findings
    draft.notices += notices
    draft.findings += kept_for_faults(_kept_stores(draft, stores), _group_ids(draft))
    feeding, groups, findings = read_feeding(
        draft.tables["feeding"], groups, draft.lists["groups"], draft.raw
    )
    draft.findings += findings
    yard = Yard(draft.raw, offers, _winter(draft), draft.feeds, draft.own_quantities)
    things = read_winter(draft.lists, draft.tables["winter"], yard)
    draft.findings += things.findings
    draft.notices += things.notices
    groups, notices = leaving(groups, things.stays, _winter(draft))
    draft.notices += notices
    crops, land_ha, findings = read_growing(draft.lists["growing"], draft.tables["land"], yard)
    draft.findings += findings
    _whole(draft)
    draft.findings = (
        draft.findings if draft.book is None else draft.book.all_findings(draft.findings)
    )
    if draft.findings:
        raise InputError(dict.fromkeys(draft.findings))
    farm = _farm(draft, (stores, offers), groups, feeding, things, (crops, land_ha))
    if draft.book is None:
        return farm
    from rationlp.read.workbook import relocated

    return relocated(farm, draft.book.places)


def _farm(
    draft: _Draft,
    held: tuple[tuple[Store, ...], tuple[Offer, ...]],
    groups: tuple[Group, ...],
    feeding: Feeding,
    things: WinterThings,
    grown: tuple[tuple[Crop, ...], float | None],
) -> Farm:
    tables, (stores, offers) = draft.tables, held
    mj_price, over_energy, mineral_shortage = penalties(
        tables["prices"].over_energy_per_mj, tables["prices"].mineral_shortage_per_g, offers
    )
    return Farm(
        place=str(draft.folder),
        name=tables["farm"].name,
        currency=tables["farm"].currency,
        start=tables["winter"].start,
        turnout=tables["winter"].turnout,
        margins=Margins(tables["margins"].me, tables["margins"].mp, tables["margins"].me_milking),
        home_grown_price=tables["home_grown"].price,
        over_energy_price_per_mj=over_energy,
        mineral_shortage_price_per_g=mineral_shortage,
        mj_price=mj_price,
        offers=offers,
        stores=stores,
        groups=groups,
        feeds=draft.feeds,
        growing=grown[0],
        land_ha=grown[1],
        own_quantities=draft.own_quantities,
        notices=tuple(dict.fromkeys([*draft.notices, *price_notices(offers)])),
        feeding=feeding,
        yard_rules=read_yard_rules(tables["yard"]),
        outlets=things.outlets,
        beddings=things.beddings,
        mixes=things.mixes,
        periods=things.periods,
        milk_price_per_litre=tables["prices"].milk_per_litre,
    )


def _winter(draft: _Draft) -> Winter | None:
    """First and last day of the winter, or None where they cannot be told."""
    table = draft.tables["winter"]
    return (
        None
        if table is None or table.turnout <= table.start
        else Winter(table.start, table.turnout)
    )


def _read_tables(draft: _Draft) -> None:
    known = [*TABLES, *LISTS]
    for key in draft.raw:
        if key not in known:
            near = nearest(key, known, 1, 0.5)
            remedy = f'nearest: "{near[0]}"' if near else f"tables of a farm: {', '.join(known)}"
            draft.findings.append(Finding("IN110", f"farm.toml {key}", "unknown table", remedy))
    for name, model in TABLES.items():
        if name not in draft.raw and name in ("farm", "winter"):
            found = f"no table [{name}]"
            draft.findings.append(
                Finding("IN111", "farm.toml", found, "add it; the example farm shows it")
            )
            draft.tables[name] = None
            continue
        draft.tables[name], more = check_table(model, (name,), draft.raw.get(name, {}), draft.raw)
        draft.findings += more
    for name, model in LISTS.items():
        draft.lists[name] = []
        given = draft.raw.get(name, [])
        if not isinstance(given, list):
            found = "one table where a list of tables was expected"
            draft.findings.append(
                Finding("IN112", f"farm.toml {name}", found, f"begin each entry with [[{name}]]")
            )
            continue
        for number, entry in enumerate(given):
            table, more = check_table(model, (name, number), entry, draft.raw)
            draft.findings += more
            draft.lists[name].append((number, table))


def _own_quantities(draft: _Draft) -> None:
    for number, table in draft.lists["own_quantities"]:
        if table is None:
            continue
        where = place(("own_quantities", number), draft.raw)
        if table.name in quantities() or table.name in WORDS:
            remedy = "give it another name, or use the column that there is"
            draft.findings.append(
                Finding("IN115", where, f'"{table.name}" is a column of the feed tables', remedy)
            )
        elif table.name in draft.own_quantities:
            draft.findings.append(
                Finding("IN115", where, f'"{table.name}" stands twice', "keep one of them")
            )
        else:
            draft.own_quantities[table.name] = Quantity(
                table.name,
                table.title or table.name,
                table.unit,
                table.basis,
                None,
                None,
                None,
                None,
                3,
                "",
                "farm.toml",
            )


def _files(draft: _Draft) -> None:
    """feeds.csv, prices.csv and lab.csv beside farm.toml, where they are; sheets of the same form
    in a workbook.
    """
    own: Path | CsvTable | None
    lab: Path | CsvTable | None
    if draft.book is None:
        own, lab = (
            path if path.exists() else None
            for path in (draft.folder / "feeds.csv", draft.folder / "lab.csv")
        )
    else:
        own, lab = draft.book.feeds, draft.book.lab
    try:
        draft.feeds = read_feed_tables(own, draft.own_quantities)
        draft.notices += read_text(own)[1] if isinstance(own, Path) else ()
    except InputError as trouble:
        draft.findings += trouble.findings
        draft.feeds = read_feed_tables()
        draft.unread.add("feeds.csv")
    if draft.book is None:
        _prices(draft)
    if lab is not None:
        try:
            draft.lab = read_lab(lab)
            draft.notices += draft.lab.notices
        except InputError as trouble:
            draft.findings += trouble.findings


def _prices(draft: _Draft) -> None:
    prices = draft.folder / "prices.csv"
    if prices.exists():
        try:
            read = read_prices(prices, draft.lists["bought"])
            draft.lists["bought"] = kept_over(draft.over.bought, draft.lists["bought"], read)
            draft.notices += read_text(prices)[1]
        except InputError as trouble:
            draft.findings += trouble.findings
            draft.unread.add(prices.name)


def _ids(draft: _Draft) -> set[str]:
    """Ids of all stores and bought feeds, those that could not be read included, so that one fault
    does not cause others.
    """
    found = {
        table.id or table.feed
        for kind in ("stores", "bought")
        for _, table in draft.lists[kind]
        if table is not None
    }
    for kind in ("stores", "bought"):
        given = draft.raw.get(kind, [])
        for entry in given if isinstance(given, list) else [given]:
            if isinstance(entry, Mapping):
                name = entry.get("id", entry.get("feed"))
                if isinstance(name, str):
                    found |= {name, *_misspelt(draft, name)}
    return found


def _misspelt(draft: _Draft, name: str) -> tuple[str, ...]:
    """The feed that a misspelt key means: what names it rightly elsewhere is no second fault."""
    return () if name in draft.feeds else feeds_meant(name, draft.feeds).spelt_alike[:1]


def _group_ids(draft: _Draft) -> list[str]:
    """Ids of all groups, those that could not be read included."""
    given = draft.raw.get("groups", [])
    entries = given if isinstance(given, list) else [given]
    named = [entry.get("id") for entry in entries if isinstance(entry, Mapping)]
    return [name for name in named if isinstance(name, str)]


def _kept_stores(draft: _Draft, stores: tuple[Store, ...]) -> list[tuple[Store, str]]:
    """The stores that are kept for some groups, with their places."""
    places = {
        table.id: place(("stores", n), draft.raw)
        for n, table in draft.lists["stores"]
        if table is not None
    }
    return [(store, places[store.id]) for store in stores if store.kept_for]


def _stores_and_offers(draft: _Draft) -> tuple[tuple[Store, ...], tuple[Offer, ...]]:
    stores: list[Store] = []
    offers: list[Offer] = []
    seen: dict[str, str] = {}
    for kind in ("stores", "bought"):
        for number, table in draft.lists[kind]:
            if table is None:
                continue
            where = place((kind, number), draft.raw) if number >= 0 else f"prices.csv {table.feed}"
            offer_id = table.id or table.feed
            if offer_id in seen:
                found = f'the id "{offer_id}" stands in {seen[offer_id]} already'
                draft.findings.append(
                    Finding("IN116", where, found, "give every store and bought feed its own id")
                )
                continue
            seen[offer_id] = where
            feed = _feed_of(draft, table, offer_id, where)
            if isinstance(table, StoreTable):
                stores.append(_store(draft, table, feed, where))
            price = _price(draft, table, where)
            if feed is not None:
                offers.append(_offer(table, offer_id, feed, price))
    for target, where in draft.lab.places.items():
        if target not in seen and target not in _ids(draft):
            near = nearest(target, list(seen), 1, 0.4)
            remedy = (
                f'nearest: "{near[0]}"'
                if near
                else f"ids of this farm: {', '.join(seen) or 'none'}"
            )
            draft.findings.append(
                Finding("IN309", where, f'no store or bought feed "{target}"', remedy)
            )
    return tuple(stores), tuple(offers)


def _store(draft: _Draft, table: StoreTable, feed: Feed | None, where: str) -> Store:
    """A store with its sizes checked, with what is in it where both are known."""
    sizes, more = read_sizes(table, where)
    store = make_store(table, sizes, table.name or table.id)
    winter = _winter(draft)
    if feed is not None and winter is not None and not more:
        more, notices = crop_faults(store, feed, where, winter.start)
        draft.notices += notices
    draft.findings += more
    return store


def _offer(table: StoreTable | BoughtTable, offer_id: str, feed: Feed, price: float) -> Offer:
    name = table.name or feed.name
    if isinstance(table, StoreTable):
        return Offer(offer_id, name, feed, False, price)
    return Offer(
        id=offer_id,
        name=name,
        feed=feed,
        bought=True,
        price_per_t_fresh=price,
        least_t=table.least_t,
        most_t=table.most_t,
        load_t=table.load_t,
        whole_loads=table.whole_loads,
        keeps_days=table.keeps_days,
        space_t=table.space_t,
        least_order_t=table.least_order_t,
    )


def _price(draft: _Draft, table: StoreTable | BoughtTable, where: str) -> float:
    if isinstance(table, BoughtTable):
        if table.least_t is not None and table.most_t is not None and table.least_t > table.most_t:
            found = f"least_t {table.least_t:g} above most_t {table.most_t:g}"
            draft.findings.append(Finding("IN117", where, found, "the least cannot pass the most"))
        if table.price_per_t_fresh is None and "prices.csv" not in draft.unread:
            remedy = "add it, or give this feed a row in prices.csv"
            draft.findings.append(
                Finding("IN111", f"{where}.price_per_t_fresh", "this key is missing", remedy)
            )
        return table.price_per_t_fresh or 0.0
    basis = (
        draft.tables["home_grown"].price if draft.tables["home_grown"] is not None else "nothing"
    )
    if basis == "nothing":
        return 0.0
    key = "cost_per_t_fresh" if basis == "cost" else "would_fetch_per_t_fresh"
    price: float | None = getattr(table, key)
    if price is None:
        found = f'no {key}, though home_grown.price is "{basis}"'
        draft.findings.append(
            Finding("IN118", where, found, f"give {key}, or choose another home_grown.price")
        )
    return price or 0.0


def _feed_of(
    draft: _Draft, table: StoreTable | BoughtTable, offer_id: str, where: str
) -> Feed | None:
    """The feed of a store or bought entry: table, then the farm's own figures, then its laboratory
    sheets, then rules.
    """
    feed = draft.feeds.get(table.feed)
    if feed is None and "feeds.csv" in draft.unread:
        return None
    if feed is None:
        remedy = feed_remedy(feeds_meant(table.feed, draft.feeds))
        draft.findings.append(Finding("IN119", f"{where}.feed", f'no feed "{table.feed}"', remedy))
        return None
    try:
        unknown = [
            name
            for name in table.analysis
            if name not in quantities() and name not in draft.own_quantities
        ]
        if unknown:
            raise InputError(
                _unknown_figure(f"{where}.analysis", name, draft.own_quantities) for name in unknown
            )
        if table.analysis:
            feed = overlay_own(feed, table.analysis, f"{where}.analysis")
        sheets = draft.lab.analyses.get(offer_id, ())
        if sheets:
            feed, notices = overlay_lab(feed, sheets, sort_of(feed))
            draft.notices += notices
        changed = draft.over.figures.get(offer_id, {})
        if changed:
            feed = overlay_own(feed, changed, f"changed {offer_id}")
    except InputError as trouble:
        draft.findings += trouble.findings
        return None
    return complete(feed)


def _unknown_figure(where: str, name: str, own: Mapping[str, Quantity]) -> Finding:
    known = [
        key for key, quantity in quantities().items() if quantity.basis in ("fresh", "dm", "feed")
    ]
    near = nearest(name, [*known, *own], 1, 0.5)
    remedy = f'nearest: "{near[0]}"' if near else "use a column of the feed tables, unit included"
    return Finding("IN110", f"{where}.{name}", "unknown quantity", remedy)


def _whole(draft: _Draft) -> None:
    """What only shows when all is read: dates, no feeds, no groups."""
    winter = draft.tables["winter"]
    if winter is not None:
        days = (winter.turnout - winter.start).days
        if days <= 0:
            found = f"turnout {winter.turnout} is not after start {winter.start}"
            draft.findings.append(
                Finding("IN130", "farm.toml winter", found, "give the turnout of the coming spring")
            )
        elif days > LONGEST_WINTER_DAYS:
            found = f"a winter of {days} days"
            draft.notices.append(
                Finding("LA201", "farm.toml winter", found, "check the years of both dates")
            )
    if not draft.lists["groups"] and draft.raw.get("groups", []) == []:
        draft.findings.append(
            Finding("IN131", "farm.toml", "no group of animals", "add at least one [[groups]]")
        )
    if not draft.lists["stores"] and not draft.lists["bought"]:
        found = "neither a store nor a bought feed"
        draft.findings.append(
            Finding("IN132", "farm.toml", found, "add at least one [[stores]] or [[bought]]")
        )


def origins(feed: Feed) -> dict[str, Figure]:
    """Every figure of a feed with where it came from, in the order of the vocabulary."""
    order = {name: number for number, name in enumerate(quantities())}
    return dict(sorted(feed.figures.items(), key=lambda pair: order.get(pair[0], len(order))))
