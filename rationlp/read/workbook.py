"""A farm's workbook read into the tables that farm.toml would give, with the cell that every one of
their keys came from.

All checks of a farm are shared with farm.toml: they name places such as `farm.toml groups[2].head`,
which `Places` turns into `farm.xlsx Groups!D4`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rationlp import records
from rationlp.csvfile import CsvRow, CsvTable
from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.farm.values import shown
from rationlp.named import nearest
from rationlp.read.cells import Cell, Grid, converted, letters, open_workbook, plain, read_grid
from rationlp.read.schema import LISTS, TABLES, place
from rationlp.read.sheets import (
    AFTER_BIRTH,
    CHANGES,
    FEEDS,
    LAB,
    LIMITS,
    NEEDED,
    OWN_FIGURES,
    UNREAD,
    layouts,
    title_of,
)

if TYPE_CHECKING:
    from openpyxl import Workbook

Path_ = tuple[str | int, ...]
_NUMBERED_LIST = re.compile(r"(?:\bone )?\[\[([a-z_.]+)\]\]")
_SHEET_OF_FILE = {
    "feeds.csv": f"sheet {FEEDS}",
    "prices.csv": "sheet Bought",
    "lab.csv": f"sheet {LAB}",
}


@records.dataclass(frozen=True)
class SheetTable(CsvTable):
    """A sheet as a CSV file would be, its cells as text; a cell's place is the cell's own."""

    columns: Mapping[str, int] = field(default_factory=dict)

    def where(self, row: CsvRow, heading: str) -> str:
        """A cell's place as errors show it; the row's for a heading that the sheet has not."""
        if heading not in self.columns:
            return f"{self.name} row {row.line}"
        return f"{self.name}!{letters(self.columns[heading])}{row.line}"


@dataclass
class Places:
    """Where each key of the raw tables stands in the workbook. name: the file's name."""

    name: str
    cells: dict[Path_, str] = field(default_factory=dict)
    spelt: dict[str, str] = field(default_factory=dict)

    def spell(self, raw: Mapping[str, Any]) -> None:
        """Learn how the checks spell each path: with the entry's name, and entries inside others
        with their number alone.
        """
        for path, cell in self.cells.items():
            self.spelt[place(path, raw)] = cell
            if len(path) > 3 and isinstance(path[3], int):
                inner = f"{place(path[:2], raw)}.{path[2]}[{path[3] + 1}]"
                self.spelt["".join([inner, *(f".{step}" for step in path[4:])])] = cell

    def of(self, where: str) -> str:
        """A place of farm.toml as the cell, row or sheet that it came from; any other place as it
        is.
        """
        if not where.startswith("farm.toml"):
            return where
        part = where
        while part and part not in self.spelt:
            part = part[: max(part.rfind("."), part.rfind("["), part.rfind(" "), 0)]
        return self.spelt.get(part, self.name)

    def told(self, finding: Finding) -> Finding:
        """A finding of the shared checks in words that go with a workbook."""
        return replace(
            finding,
            where=self.of(finding.where),
            found=self._words(finding.found),
            remedy=self._words(finding.remedy),
        )

    def _words(self, text: str) -> str:
        text = _NUMBERED_LIST.sub(lambda found: f"a row on sheet {_sheet_of(found[1])}", text)
        text = re.sub(
            r"farm\.toml [a-z_]+\[\d+\](?: \"[^\"]*\")?", lambda found: self.of(found[0]), text
        )
        for file, sheet in _SHEET_OF_FILE.items():
            text = text.replace(file, sheet)
        return text


def _sheet_of(key: str) -> str:
    """The sheet that a list of farm.toml stands on: `groups`, `groups.feed_limits`."""
    *_, last = key.split(".")
    for layout in layouts():
        if last in layout.inner or (last in layout.lists and layout.into == "list"):
            return layout.title
    return title_of(last)


@dataclass
class Book:
    """A workbook as read: raw tables as of farm.toml, sheets as of lab.csv and feeds.csv, and what
    was found on the way.
    """

    raw: dict[str, Any]
    places: Places
    lab: SheetTable | None = None
    feeds: SheetTable | None = None
    findings: list[Finding] = field(default_factory=list)
    notices: list[Finding] = field(default_factory=list)

    def all_findings(self, shared: Iterable[Finding]) -> list[Finding]:
        """What the workbook itself has wrong, then what the shared checks found at other places."""
        known = {finding.where for finding in self.findings}
        told = [self.places.told(finding) for finding in shared]
        return list(
            dict.fromkeys(
                [*self.findings, *(finding for finding in told if finding.where not in known)]
            )
        )


def read_workbook(path: Path) -> Book:
    """A workbook's sheets as raw tables. Raises InputError where it cannot be opened or a sheet
    that it needs is missing.
    """
    opened = open_workbook(path)
    book = Book({}, Places(path.name))
    grids = _grids(opened, book)
    for grid in grids:
        if grid.layout.into == "tables":
            _tables(grid, book)
        elif grid.layout.into == "list":
            _list(grid, book)
        elif grid.layout.into == "csv":
            table = _table(grid)
            if grid.layout.title == LAB:
                book.lab = table
            else:
                book.feeds = table
    owners = _owners(book.raw)
    for grid in grids:
        if grid.layout.into == "inside":
            _inside(grid, book, owners)
    book.places.spell(book.raw)
    return book


def _grids(opened: Workbook, book: Book) -> list[Grid]:
    """The sheets that are read, in their own order; a sheet by another name is told of, or is the
    slip of a needed one.
    """
    by_title = {layout.title.casefold(): layout for layout in layouts()}
    name = book.places.name
    grids: list[Grid] = []
    found: set[str] = set()
    unknown: list[str] = []
    broken = False
    for sheet in opened.worksheets:
        layout = by_title.get(str(sheet.title).strip().casefold())
        if layout is None:
            unknown += [] if sheet.title in UNREAD else [str(sheet.title)]
            continue
        found.add(layout.title)
        try:
            grid, faults = read_grid(name, sheet, layout)
            grids.append(grid)
            book.findings += faults
        except InputError as trouble:
            book.findings += trouble.findings
            broken = True
    broken |= _other_sheets(unknown, found, book)
    missing = [title for title in NEEDED if title not in found]
    book.findings += [
        Finding(
            "IN703",
            name,
            f'no sheet "{title}"',
            "add it; `rationlp new --workbook` writes all of them",
        )
        for title in missing
    ]
    if missing or broken:
        # Without a sheet its entries are unknown, and every other sheet would be blamed for it.
        raise InputError(book.findings)
    return grids


def _other_sheets(unknown: list[str], found: set[str], book: Book) -> bool:
    """Say of each sheet by another name that it is not read, or which it is meant to be; whether
    one was meant to be read.
    """
    titles = [layout.title for layout in layouts()]
    slips = False
    for title in unknown:
        where = f"{book.places.name} {title}"
        near = nearest(title, [one for one in titles if one not in found], 1, 0.7)
        if near:
            slips = True
            found.add(near[0])
            remedy = f'name it "{near[0]}"'
            book.findings.append(
                Finding("IN703", where, "a sheet that is not known by this name", remedy)
            )
        else:
            remedy = f"sheets that are read: {', '.join(titles)}"
            book.notices.append(Finding("LA202", where, "this sheet is not read", remedy))
    return slips


def _tables(grid: Grid, book: Book) -> None:
    """The sheet Farm: a key of a table a row."""
    book.raw.update({name: {} for name in TABLES})
    columns = {heading: column for column, heading in grid.headings.items()}
    known = [heading.key for heading in grid.layout.headings]
    for name in TABLES:
        book.places.cells[(name,)] = f"{grid.book} {grid.title}"
    for row, cells in grid.rows.items():
        key_cell, value_cell = cells.get(columns.get("key", 0)), cells.get(columns.get("value", 0))
        if key_cell is None:
            continue
        key = str(plain(key_cell))
        heading = grid.layout.heading(key)
        if heading is None:
            near = nearest(key, known, 1, 0.5)
            remedy = f'nearest: "{near[0]}"' if near else f"keys of this sheet: {', '.join(known)}"
            book.findings.append(
                Finding("IN706", grid.place(key_cell.at), f'unknown key "{key}"', remedy)
            )
            continue
        table, _, name = key.partition(".")
        where = f"{grid.at(row, 'value')} ({key})"
        if (table, name) in book.places.cells:
            book.findings.append(
                Finding(
                    "IN706", grid.place(key_cell.at), f'"{key}" stands twice', "keep one of them"
                )
            )
            continue
        book.places.cells[(table, name)] = where
        if value_cell is not None:
            book.raw[table][name], fault = converted(value_cell, heading, where)
            book.findings += [] if fault is None else [fault]


def _row(grid: Grid, row: int, cells: Mapping[int, Cell], book: Book) -> dict[str, Any]:
    """The filled cells of a row by heading, converted; headings that nobody knows are left out
    (they were told of).
    """
    entry: dict[str, Any] = {}
    for column, cell in cells.items():
        heading = grid.layout.heading(grid.headings.get(column, ""))
        if heading is not None:
            value, fault = converted(cell, heading, grid.at(row, heading.key))
            *tables, key = heading.key.split(".")
            into = entry
            for table in tables:
                into = into.setdefault(table, {})
            into[key] = value
            book.findings += [] if fault is None else [fault]
    return entry


def _register(grid: Grid, row: int, path: Path_, book: Book) -> None:
    """Every cell of a row, filled or not, as the place of its key in the entry of this path."""
    book.places.cells[path] = f"{grid.book} {grid.title} row {row}"
    for heading in grid.layout.headings:
        book.places.cells[(*path, *heading.key.split("."))] = grid.at(row, heading.key)


def _list(grid: Grid, book: Book) -> None:
    """A sheet with an entry a row."""
    (key,) = grid.layout.lists
    entries: list[dict[str, Any]] = []
    for row, cells in grid.rows.items():
        _register(grid, row, (key, len(entries)), book)
        entries.append(_row(grid, row, cells, book))
    if entries:
        book.raw[key] = entries


def _owners(raw: Mapping[str, Any]) -> dict[tuple[str, str], Path_]:
    """The path of every entry that rows of other sheets may name, by list and id; the first of an
    id that stands twice.
    """
    owners: dict[tuple[str, str], Path_] = {}
    for key in LISTS:
        for number, entry in enumerate(raw.get(key, [])):
            name = entry.get("id", entry.get("feed"))
            if isinstance(name, str):
                owners.setdefault((key, name), (key, number))
    return owners


def _inside(grid: Grid, book: Book, owners: Mapping[tuple[str, str], Path_]) -> None:
    """A sheet whose rows belong to an entry of another sheet, which they name in their first
    column.
    """
    owner_key = grid.layout.headings[0].key
    for row, cells in grid.rows.items():
        entry = _row(grid, row, cells, book)
        name = entry.pop(owner_key, None)
        path = next(
            (owners[key, str(name)] for key in grid.layout.lists if (key, str(name)) in owners),
            None,
        )
        if path is None:
            ids = [known for key, known in owners if key in grid.layout.lists]
            near = nearest(str(name), ids, 1, 0.4)
            remedy = (
                f'nearest: "{near[0]}"'
                if near
                else f"ids of this workbook: {', '.join(ids) or 'none'}"
            )
            found = (
                f"no {' or '.join(grid.layout.lists)} of the id {shown(name)}" if name else "no id"
            )
            book.findings.append(Finding("IN709", grid.at(row, owner_key), found, remedy))
            continue
        _put_inside(grid, row, (path, entry), book)


def _put_inside(grid: Grid, row: int, owned: tuple[Path_, dict[str, Any]], book: Book) -> None:
    """A row's entry put where farm.toml would hold it."""
    path, entry = owned
    owner = book.raw[str(path[0])][int(path[1])]
    title = grid.layout.title
    if title == OWN_FIGURES:
        quantity = str(entry.get("quantity", ""))
        figures = owner.setdefault("analysis", {})
        if not quantity or "value" not in entry or quantity in figures:
            found = (
                f'"{quantity}" stands twice'
                if quantity in figures
                else "a quantity or its value is missing"
            )
            book.findings.append(
                Finding(
                    "IN709", grid.at(row, "quantity"), found, "give each quantity once, and a value"
                )
            )
            return
        figures[quantity] = entry["value"]
        book.places.cells[(*path, "analysis", quantity)] = grid.at(row, "value")
        book.places.cells.setdefault((*path, "analysis"), f"{grid.book} {grid.title}")
        return
    name = _inner_list(grid, row, entry, book)
    if name == "after":
        _register(grid, row, (*path, "after"), book)
        if "after" in owner:
            found = f'a second row "{AFTER_BIRTH}" for this group'
            book.findings.append(Finding("IN709", grid.at(row, "from"), found, "keep one of them"))
        owner["after"] = {key: value for key, value in entry.items() if key != "from"}
    elif name:
        entries = owner.setdefault(name, [])
        _register(grid, row, (*path, name, len(entries)), book)
        entries.append(entry)


def _inner_list(grid: Grid, row: int, entry: Mapping[str, Any], book: Book) -> str:
    """The list inside the entry that a row goes into, or "" where that cannot be told (it is said
    then).
    """
    if grid.layout.title == CHANGES:
        if str(entry.get("from", "")).lower() == AFTER_BIRTH:
            return "after"
        if not isinstance(entry.get("from"), date):
            found = f"{shown(entry.get('from'))} is no date" if "from" in entry else "no date"
            remedy = f'give a date (not as text), or the word "{AFTER_BIRTH}"'
            book.findings.append(Finding("IN708", grid.at(row, "from"), found, remedy))
        return "changes"
    if grid.layout.title != LIMITS:
        return grid.layout.inner[0]
    markers = {name.removesuffix("_limits"): name for name in grid.layout.inner}
    marked = [name for marker, name in markers.items() if marker in entry]
    if len(marked) != 1:
        found = (
            "a row that names neither feed, quantity nor family"
            if not marked
            else "a row that names more than one"
        )
        remedy = f"fill one of {', '.join(markers)}: a row is one limit"
        book.findings.append(Finding("IN709", f"{grid.book} {grid.title} row {row}", found, remedy))
        return ""
    return marked[0]


def _table(grid: Grid) -> SheetTable:
    """A sheet as lab.csv or feeds.csv would be; a formula stands as its text and was told of."""
    rows = []
    for number, cells in grid.rows.items():
        texts = dict.fromkeys(grid.headings.values(), "")
        for column, cell in cells.items():
            if column in grid.headings:
                texts[grid.headings[column]] = "" if cell.formula else _as_text(plain(cell))
        if any(texts.values()):
            rows.append(CsvRow(number, texts))
    name = f"{grid.book} {grid.title}"
    columns = {heading: column for column, heading in grid.headings.items()}
    return SheetTable(name, tuple(columns), tuple(rows), columns=columns)


def _as_text(value: Any) -> str:
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() else repr(value)
    return value.isoformat() if isinstance(value, date) else str(value)


def relocated(farm: Farm, places: Places) -> Farm:
    """The farm with every place of farm.toml in its notices and figures put as the cell that it
    came from.
    """
    own = {
        name: replace(quantity, source=places.of(quantity.source))
        for name, quantity in farm.own_quantities.items()
    }
    return replace(
        farm,
        offers=tuple(_moved(offer, places) for offer in farm.offers),
        notices=tuple(places.told(notice) for notice in farm.notices),
        own_quantities=own,
    )


def _moved(offer: Offer, places: Places) -> Offer:
    figures = {
        name: replace(one, source=places.of(one.source)) for name, one in offer.feed.figures.items()
    }
    return replace(offer, feed=replace(offer.feed, figures=figures))
