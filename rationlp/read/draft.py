"""A farm half read: its tables as models, the files beside it, and all that is wrong."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from rationlp.csvfile import CsvTable, read_text
from rationlp.errors import Faults
from rationlp.farm.feed import Feed, Offer
from rationlp.farm.feed_names import feed_remedy, feeds_meant
from rationlp.farm.feed_table import WORDS
from rationlp.farm.group import AFRC
from rationlp.farm.store import Store
from rationlp.quantities import Quantity, feed_columns, quantities
from rationlp.read.calendar import Winter
from rationlp.read.feeds import overlay_own, read_feed_tables
from rationlp.read.folder import Overrides, Source, entry_name
from rationlp.read.lab import LabSheets, read_lab
from rationlp.read.prices import kept_over, read_prices
from rationlp.read.schema import LISTS, TABLES, check_table


@dataclass
class Draft:
    """What has been read of a farm so far, and the collector of all that is wrong with it.

    tables: by name, None where one has faults. lists: entries with their numbers, None for one
    with faults; −1 is the number of an entry that only prices.csv has. unread: files with faults
    of their own, which must not cause others. spelt_alike: of each name asked for, the feed that is
    spelt most like it.
    """

    source: Source
    raw: Mapping[str, Any]
    over: Overrides
    faults: Faults
    tables: dict[str, Any] = field(default_factory=dict)
    lists: dict[str, list[tuple[int, Any]]] = field(default_factory=dict)
    feeds: dict[str, Feed] = field(default_factory=dict)
    own_quantities: dict[str, Quantity] = field(default_factory=dict)
    lab: LabSheets = field(default_factory=lambda: LabSheets({}, {}))
    unread: set[str] = field(default_factory=set)
    stores: tuple[Store, ...] = ()
    offers: tuple[Offer, ...] = ()
    spelt_alike: dict[str, tuple[str, ...]] = field(default_factory=dict)

    @property
    def winter(self) -> Winter | None:
        """First and last day of the winter, or None where they cannot be told."""
        table = self.tables["winter"]
        if table is None or table.turnout <= table.start:
            return None
        return Winter(table.start, table.turnout)

    @property
    def standard(self) -> str:
        """The standard of needs that the farm asks for."""
        table = self.tables["farm"]
        return AFRC if table is None else str(table.standard)

    def entries(self, name: str) -> Iterator[tuple[Faults, Any]]:
        """The entries of a list that could be read, each with the collector of its place."""
        for number, table in self.lists[name]:
            if table is None:
                continue
            if number < 0:
                yield self.faults.of(f"prices.csv {table.feed}"), table
            else:
                yield self.faults.at(name, number), table

    def ids(self, *lists: str) -> list[str]:
        """What the entries of these lists are named by, those with faults too."""
        names: list[str] = []
        for name in lists:
            raw = self.raw.get(name, [])
            names += [entry_name(entry) for entry in (raw if isinstance(raw, list) else [raw])]
            names += [entry_name(dict(table)) for _, table in self.lists[name] if table is not None]
        if lists != ("groups",):
            # What names a misspelt feed rightly is no second fault.
            names += [near for name in names for near in self._spelt_alike(name)]
        return [name for name in dict.fromkeys(names) if name]

    def _spelt_alike(self, name: str) -> tuple[str, ...]:
        """The feed spelt most like a name which is none; it is looked for once."""
        if name not in self.spelt_alike:
            self.spelt_alike[name] = feeds_meant(name, self.feeds).spelt_alike[:1]
        return self.spelt_alike[name]

    def has(self, what: str, name: str, known: list[str], faults: Faults, code: str) -> bool:
        """Whether a name is one of those ids; a fault where it is none. what: a store, a group …"""
        if name not in known:
            valid = f"ids of this farm: {', '.join(known) or 'none'}"
            faults.unknown(code, f'no {what} "{name}"', name, known, valid)
        return name in known

    def feed(self, key: str, faults: Faults) -> Feed | None:
        """A feed of the tables or of the farm's own, by key."""
        feed = self.feeds.get(key)
        if feed is None and "feeds.csv" not in self.unread:
            own = faults.spelling.file("feeds.csv")
            valid = f"`rationlp feeds list` shows all keys; own feeds go in {own}"
            remedy = feed_remedy(feeds_meant(key, self.feeds), valid)
            faults.at("feed").add("IN119", f'no feed "{key}"', remedy)
        return feed

    def with_analysis(
        self, feed: Feed, analysis: Mapping[str, float], faults: Faults
    ) -> Feed | None:
        """A feed with the farm's own figures over it; None where one of them has a fault."""
        own = faults.at("analysis")
        known = [*feed_columns(), *self.own_quantities]
        for name in analysis:
            if name not in known:
                remedy = "use a column of the feed tables, unit included"
                own.at(name).unknown("IN110", "unknown quantity", name, known, remedy)
        if analysis and own.clean:
            feed = overlay_own(feed, analysis, own)
        return feed if own.clean else None


def draft_of(source: Source, raw: Mapping[str, Any], over: Overrides) -> Draft:
    """The tables of a farm and the files beside it, each checked by itself."""
    draft = Draft(source, raw, over, Faults(spelling=source.spelling(raw)))
    draft.faults.notices += source.notices
    _read_tables(draft)
    _read_own_quantities(draft)
    _read_files(draft)
    return draft


def _read_tables(draft: Draft) -> None:
    known = [*TABLES, *LISTS]
    for key in draft.raw:
        if key not in known:
            remedy = f"tables of a farm: {', '.join(known)}"
            draft.faults.at(key).unknown("IN110", "unknown table", key, known, remedy)
    for name, model in TABLES.items():
        if name not in draft.raw and name in ("farm", "winter"):
            draft.faults.add("IN111", f"no table [{name}]", "add it; the example farm shows it")
            draft.tables[name] = None
        else:
            faults = draft.faults.at(name)
            draft.tables[name] = check_table(model, draft.raw.get(name, {}), faults)
    for name, model in LISTS.items():
        draft.lists[name] = []
        entries = draft.raw.get(name, [])
        if isinstance(entries, list):
            for number, entry in enumerate(entries):
                table = check_table(model, entry, draft.faults.at(name, number))
                draft.lists[name].append((number, table))
        else:
            problem = "one table where a list of tables was expected"
            draft.faults.at(name).add("IN112", problem, f"begin each entry with [[{name}]]")


def _read_own_quantities(draft: Draft) -> None:
    for faults, table in draft.entries("own_quantities"):
        if table.name in quantities() or table.name in WORDS:
            remedy = "give it another name, or use the column that there is"
            faults.add("IN115", f'"{table.name}" is a column of the feed tables', remedy)
        elif table.name in draft.own_quantities:
            faults.add("IN115", f'"{table.name}" appears twice', "keep one of them")
        else:
            draft.own_quantities[table.name] = Quantity(
                name=table.name,
                title=table.title or table.name,
                unit=table.unit,
                basis=table.basis,
                soft_low=None,
                soft_high=None,
                hard_low=None,
                hard_high=None,
                decimals=3,
                status="",
                source=draft.faults.place,
            )


def _read_files(draft: Draft) -> None:
    """feeds.csv, prices.csv and lab.csv beside farm.toml, or such sheets in a workbook."""
    own = _beside(draft, "feeds.csv")
    faults = draft.faults.at()
    with faults.taking():
        draft.feeds = read_feed_tables(own, draft.own_quantities)
        if isinstance(own, Path):
            draft.faults.notices += read_text(own)[1]
    if not faults.clean:
        draft.feeds = read_feed_tables()
        draft.unread.add("feeds.csv")
    _read_prices(draft)
    lab = _beside(draft, "lab.csv")
    if lab is not None:
        with draft.faults.taking():
            draft.lab = read_lab(lab)
            draft.faults.notices += draft.lab.notices


def _beside(draft: Draft, name: str) -> Path | CsvTable | None:
    """A file of the folder, or the sheet that holds the same in a workbook; None without one."""
    book = draft.source.book
    if book is not None:
        return book.tables.get(name)
    path = draft.source.path / name
    return path if path.exists() else None


def _read_prices(draft: Draft) -> None:
    path = _beside(draft, "prices.csv")
    if not isinstance(path, Path):
        return
    faults = draft.faults.at()
    with faults.taking():
        priced = read_prices(path, draft.lists["bought"])
        draft.lists["bought"] = kept_over(draft.over.bought, draft.lists["bought"], priced)
        draft.faults.notices += read_text(path)[1]
    if not faults.clean:
        draft.unread.add(path.name)
