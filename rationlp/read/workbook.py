"""A farm's workbook read into the tables that farm.toml would give, with the cell that every one of
their keys came from.

All checks of a farm are shared with farm.toml: they know a place by its path, such as `("groups",
1, "head")`, which `Places` spells `farm.xlsx Groups!D4`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rationlp import records
from rationlp.csvfile import CsvRow, CsvTable
from rationlp.errors import Faults, Finding, InputError, Spelling, Step, nearest
from rationlp.farm.values import shown
from rationlp.read.cells import Cell, Grid, converted, letters, open_workbook, plain, read_grid
from rationlp.read.schema import LISTS, TABLES
from rationlp.read.sheets import (
    AFTER_BIRTH,
    CHANGES,
    FEEDS,
    LIMITS,
    NEEDED,
    OWN_FIGURES,
    UNREAD,
    layouts,
    title_of,
)

if TYPE_CHECKING:
    from openpyxl import Workbook

Path_ = tuple[Step, ...]
_SHEET_OF_FILE = {"feeds.csv": f"sheet {FEEDS}", "prices.csv": "sheet Bought"}


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
class Places(Spelling):
    """Where each key of the raw tables stands in the workbook. name: the file's name."""

    name: str
    cells: dict[Path_, str] = field(default_factory=dict)

    def place(self, path: Sequence[Step]) -> str:
        """The cell, row or sheet that a key came from; the file where it came from none."""
        for length in range(len(path), 0, -1):
            if tuple(path[:length]) in self.cells:
                return self.cells[tuple(path[:length])]
        return self.name

    def entry(self, key: str) -> str:
        """A row of the sheet that a list of farm.toml is on: `groups`, `groups.feed_limits`."""
        last = key.split(".")[-1]
        for layout in layouts():
            if last in layout.inner or (last in layout.lists and layout.into == "list"):
                return f"row on sheet {layout.title}"
        return f"row on sheet {title_of(last)}"

    def file(self, name: str) -> str:
        """The sheet that holds what a file beside farm.toml would."""
        return _SHEET_OF_FILE.get(name, name)


@dataclass
class Book:
    """A workbook as read: raw tables as of farm.toml, sheets as of CSVs, its own faults."""

    raw: dict[str, Any]
    places: Places
    faults: Faults
    tables: dict[str, SheetTable] = field(default_factory=dict)

    def all_findings(self, shared: Iterable[Finding]) -> list[Finding]:
        """What the workbook itself has wrong, then what the shared checks found at other places."""
        own = self.faults.findings
        places = {finding.where for finding in own}
        others = [finding for finding in shared if finding.where not in places]
        return list(dict.fromkeys([*own, *others]))


def read_workbook(path: Path) -> Book:
    """A workbook's sheets as raw tables. Raises InputError for one unreadable or missing."""
    opened = open_workbook(path)
    book = Book({}, Places(path.name), Faults(path.name))
    grids = _grids(opened, book)
    for grid in grids:
        if grid.layout.into == "tables":
            _read_tables(grid, book)
        elif grid.layout.into == "list":
            _read_list(grid, book)
        elif grid.layout.into == "csv":
            book.tables[f"{grid.layout.title.lower()}.csv"] = _table(grid)
    owners = _owners(book.raw)
    for grid in grids:
        if grid.layout.into == "inside":
            _read_inside(grid, book, owners)
    return book


def _grids(opened: Workbook, book: Book) -> list[Grid]:
    """The sheets that are read, in their own order; others are told of, or are slips."""
    by_title = {layout.title.casefold(): layout for layout in layouts()}
    grids: list[Grid] = []
    read: set[str] = set()
    unknown: list[str] = []
    broken = False
    for sheet in opened.worksheets:
        title = str(sheet.title)
        layout = by_title.get(title.strip().casefold())
        if layout is None:
            unknown += [] if title in UNREAD else [title]
            continue
        read.add(layout.title)
        grid = read_grid(book.places.name, sheet, layout, book.faults)
        if grid is None:
            broken = True
        else:
            grids.append(grid)
    of_names = book.faults.at()
    _check_other_sheets(unknown, read, book)
    for title in NEEDED:
        if title not in read:
            remedy = "add it; `rationlp new --workbook` writes all of them"
            book.faults.add("IN703", f'no sheet "{title}"', remedy)
    if broken or not of_names.clean:
        # Without a sheet its entries are unknown, and every other sheet would be blamed for it.
        raise InputError(book.faults.findings)
    return grids


def _check_other_sheets(unknown: list[str], read: set[str], book: Book) -> None:
    """Of each sheet by another name that it is not read, or which it is meant to be."""
    titles = [layout.title for layout in layouts()]
    for title in unknown:
        faults = book.faults.of(f"{book.places.name} {title}")
        meant = nearest(title, [name for name in titles if name not in read], alike=0.7)
        if meant:
            read.add(meant)
            problem = "a sheet that is not known by this name"
            faults.add("IN703", problem, f'name it "{meant}"')
        else:
            remedy = f"sheets that are read: {', '.join(titles)}"
            faults.tell("WA202", "this sheet is not read", remedy)


def _read_tables(grid: Grid, book: Book) -> None:
    """The sheet Farm: a key of a table a row."""
    columns = {heading: column for column, heading in grid.headings.items()}
    known = [heading.key for heading in grid.layout.headings]
    for name in TABLES:
        book.raw[name] = {}
        book.places.cells[(name,)] = f"{grid.book} {grid.title}"
    for row, cells in grid.rows.items():
        key_cell, value_cell = cells.get(columns.get("key", 0)), cells.get(columns.get("value", 0))
        if key_cell is None:
            continue
        key = str(plain(key_cell))
        table, _, name = key.partition(".")
        heading = grid.layout.heading(key)
        faults = book.faults.of(grid.place(key_cell.at))
        if heading is None:
            remedy = f"keys of this sheet: {', '.join(known)}"
            faults.unknown("IN706", f'unknown key "{key}"', key, known, remedy)
        elif (table, name) in book.places.cells:
            faults.add("IN706", f'"{key}" appears twice', "keep one of them")
        else:
            place = f"{grid.at(row, 'value')} ({key})"
            book.places.cells[(table, name)] = place
            if value_cell is not None:
                of_value = book.faults.of(place)
                book.raw[table][name] = converted(value_cell, heading, of_value)


def _entry(grid: Grid, row: int, cells: Mapping[int, Cell], book: Book) -> dict[str, Any]:
    """The filled cells of a row by heading, converted; unknown headings are left out."""
    entry: dict[str, Any] = {}
    for column, cell in cells.items():
        heading = grid.layout.heading(grid.headings.get(column, ""))
        if heading is not None:
            *tables, key = heading.key.split(".")
            into = entry
            for table in tables:
                into = into.setdefault(table, {})
            into[key] = converted(cell, heading, book.faults.of(grid.at(row, heading.key)))
    return entry


def _register(grid: Grid, row: int, path: Path_, book: Book) -> None:
    """Every cell of a row, filled or not, as the place of its key in the entry of this path."""
    book.places.cells[path] = grid.row(row)
    for heading in grid.layout.headings:
        book.places.cells[(*path, *heading.key.split("."))] = grid.at(row, heading.key)


def _read_list(grid: Grid, book: Book) -> None:
    """A sheet with an entry a row."""
    (key,) = grid.layout.lists
    entries: list[dict[str, Any]] = []
    for row, cells in grid.rows.items():
        _register(grid, row, (key, len(entries)), book)
        entries.append(_entry(grid, row, cells, book))
    if entries:
        book.raw[key] = entries


def _owners(raw: Mapping[str, Any]) -> dict[tuple[str, str], Path_]:
    """The path of every entry that other sheets may name, by list and id."""
    owners: dict[tuple[str, str], Path_] = {}
    for key in LISTS:
        for number, entry in enumerate(raw.get(key, [])):
            name = entry.get("id", entry.get("feed"))
            if isinstance(name, str):
                owners.setdefault((key, name), (key, number))
    return owners


def _read_inside(grid: Grid, book: Book, owners: Mapping[tuple[str, str], Path_]) -> None:
    """A sheet whose rows belong to an entry of another sheet, named in their first column."""
    owner_key = grid.layout.headings[0].key
    lists = grid.layout.lists
    for row, cells in grid.rows.items():
        entry = _entry(grid, row, cells, book)
        name = entry.pop(owner_key, None)
        paths = [owners[key, str(name)] for key in lists if (key, str(name)) in owners]
        if not paths:
            ids = [known for key, known in owners if key in lists]
            problem = "no id"
            if name:
                problem = f"no {' or '.join(lists)} of the id {shown(name)}"
            remedy = f"ids of this workbook: {', '.join(ids) or 'none'}"
            faults = book.faults.of(grid.at(row, owner_key))
            faults.unknown("IN709", problem, str(name), ids, remedy)
        elif grid.layout.title == OWN_FIGURES:
            _put_figure(grid, row, paths[0], entry, book)
        else:
            _put_inside(grid, row, paths[0], entry, book)


def _owner(path: Path_, book: Book) -> dict[str, Any]:
    owner: dict[str, Any] = book.raw[str(path[0])][int(path[1])]
    return owner


def _put_figure(grid: Grid, row: int, path: Path_, entry: dict[str, Any], book: Book) -> None:
    """A figure of the farm's own put into the analysis of its store or bought feed."""
    quantity = str(entry.get("quantity", ""))
    figures = _owner(path, book).setdefault("analysis", {})
    if not quantity or "value" not in entry or quantity in figures:
        problem = "a quantity or its value is missing"
        if quantity in figures:
            problem = f'"{quantity}" appears twice'
        faults = book.faults.of(grid.at(row, "quantity"))
        faults.add("IN709", problem, "give each quantity once, and a value")
        return
    figures[quantity] = entry["value"]
    book.places.cells[(*path, "analysis", quantity)] = grid.at(row, "value")
    book.places.cells.setdefault((*path, "analysis"), f"{grid.book} {grid.title}")


def _put_inside(grid: Grid, row: int, path: Path_, entry: dict[str, Any], book: Book) -> None:
    """A row's entry put where farm.toml would hold it."""
    owner = _owner(path, book)
    name = _inner_list(grid, row, entry, book)
    if name == "after":
        _register(grid, row, (*path, "after"), book)
        if "after" in owner:
            problem = f'a second row "{AFTER_BIRTH}" for this group'
            book.faults.of(grid.at(row, "from")).add("IN709", problem, "keep one of them")
        owner["after"] = {key: value for key, value in entry.items() if key != "from"}
    elif name:
        entries = owner.setdefault(name, [])
        _register(grid, row, (*path, name, len(entries)), book)
        entries.append(entry)


def _inner_list(grid: Grid, row: int, entry: Mapping[str, Any], book: Book) -> str:
    """The list inside the entry that a row goes into, or "" where that cannot be told (a fault)."""
    if grid.layout.title == CHANGES:
        start = entry.get("from", "")
        if str(start).lower() == AFTER_BIRTH:
            return "after"
        if not isinstance(start, date):
            problem = "no date"
            if start:
                problem = f"{shown(start)} is no date"
            remedy = f'give a date (not as text), or the word "{AFTER_BIRTH}"'
            book.faults.of(grid.at(row, "from")).add("IN708", problem, remedy)
        return "changes"
    if grid.layout.title != LIMITS:
        return grid.layout.inner[0]
    markers = {name.removesuffix("_limits"): name for name in grid.layout.inner}
    marked = [name for marker, name in markers.items() if marker in entry]
    if len(marked) == 1:
        return marked[0]
    problem = "a row that names neither feed, quantity nor family"
    if marked:
        problem = "a row that names more than one"
    remedy = f"fill one of {', '.join(markers)}: a row is one limit"
    book.faults.of(grid.row(row)).add("IN709", problem, remedy)
    return ""


def _table(grid: Grid) -> SheetTable:
    """A sheet as lab.csv or feeds.csv would be; a formula is left blank and was told of."""
    rows = []
    for number, cells in grid.rows.items():
        texts = dict.fromkeys(grid.headings.values(), "")
        for column, cell in cells.items():
            if column in grid.headings and not cell.formula:
                texts[grid.headings[column]] = _as_text(plain(cell))
        if any(texts.values()):
            rows.append(CsvRow(number, texts))
    name = f"{grid.book} {grid.title}"
    columns = {heading: column for column, heading in grid.headings.items()}
    return SheetTable(name, tuple(columns), tuple(rows), columns=columns)


def _as_text(value: Any) -> str:
    if isinstance(value, float):
        if value.is_integer():
            return str(int(value))
        return repr(value)
    if isinstance(value, date):
        return value.isoformat()
    return str(value)
