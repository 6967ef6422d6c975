"""A workbook opened with care: its sheets as plain grids, and a cell as the value that its heading
asks for.

Nothing in a workbook is ever worked out: a formula is refused with its place. What is too large for
a farm is refused before it is unpacked.
"""

from __future__ import annotations

import io
import lzma
import re
import struct
import warnings
import zlib
from collections.abc import Mapping
from datetime import date, datetime, time
from pathlib import Path
from stat import S_ISREG
from typing import TYPE_CHECKING, Any
from xml.etree.ElementTree import ParseError
from zipfile import BadZipFile, ZipFile

from rationlp.csvfile import MOST_BYTES
from rationlp.errors import Faults, refused
from rationlp.farm.values import shown
from rationlp.read.bombs import refuse_bombs
from rationlp.read.sheets import Heading, Layout
from rationlp.records import dataclass

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

INSTALL = "pip install '.[report]'"
MOST_UNPACKED_BYTES = 40_000_000
MOST_ROWS, MOST_COLUMNS = 2000, 256
ROWS_BEFORE_HEADINGS = 10
_UNREADABLE = (
    BadZipFile,
    ParseError,
    zlib.error,
    ValueError,
    TypeError,
    AttributeError,
    EOFError,
    LookupError,  # a text in letters of no known kind
    OverflowError,
    RuntimeError,  # kept by a password; packed in a way that is not known; nested too deeply
    lzma.LZMAError,
    struct.error,
)
_DATE_TEXT = re.compile(r"\s*\d{1,4}\s*[-./ ]\s*\w{1,9}\s*[-./ ]\s*\d{1,4}\s*")
_NUMBER_TEXT = re.compile(r"\s*'?[+-]?[\d\s\u00a0]*[.,]?\d+(e[+-]?\d+)?\s*%?\s*", re.IGNORECASE)


@dataclass(frozen=True)
class Cell:
    """A cell that is filled: its place in the sheet (`C4`), value, whether a formula or error."""

    at: str
    value: Any
    formula: bool = False


@dataclass(frozen=True)
class Grid:
    """A sheet: its headings by column number, and the filled rows below them by row number."""

    book: str
    layout: Layout
    title: str
    heading_row: int
    headings: Mapping[int, str]
    rows: Mapping[int, Mapping[int, Cell]]

    def place(self, at: str) -> str:
        """A cell's place as errors show it: `farm.xlsx Groups!C4`."""
        sheet = f"'{self.title}'" if " " in self.title else self.title
        return f"{self.book} {sheet}!{at}"

    def at(self, row: int, key: str) -> str:
        """The place of the cell in a row under a heading; the row's without such a heading."""
        for column, heading in self.headings.items():
            if heading == key:
                return self.place(f"{letters(column)}{row}")
        return self.row(row)

    def row(self, row: int) -> str:
        """The place of a row: `farm.xlsx Groups row 4`."""
        return f"{self.book} {self.title} row {row}"


def letters(column: int) -> str:
    """A column's letters: 1 is A, 27 is AA."""
    text = ""
    while column > 0:
        column, rest = divmod(column - 1, 26)
        text = chr(65 + rest) + text
    return text


def open_workbook(path: Path) -> Workbook:
    """A workbook with its formulas as they stand. Raises InputError for what cannot be opened."""
    name = path.name
    try:
        from openpyxl import load_workbook
    except ImportError as trouble:
        problem = "reading a workbook needs openpyxl, which is not installed"
        raise refused("IN711", name, problem, f"install it with {INSTALL}") from trouble
    try:
        _refuse_large(path)
        whole = io.BytesIO(path.read_bytes())
        refuse_bombs(name, whole)
        with warnings.catch_warnings():
            # What openpyxl leaves out (styles, pictures) holds no figure.
            warnings.simplefilter("ignore")
            return load_workbook(whole)
    except FileNotFoundError as trouble:
        remedy = "check the path and the spelling of the name"
        raise refused("IN201", name, "no such file", remedy) from trouble
    except _UNREADABLE as trouble:
        problem = "no workbook of the form .xlsx, or damaged, or kept by a password"
        remedy = "open it in a spreadsheet programme and save it as .xlsx without a password"
        raise refused("IN701", name, problem, remedy) from trouble
    except OSError as trouble:
        problem = f"the file cannot be read: {trouble.strerror or 'it cannot be opened'}"
        raise refused("IN202", name, problem, "check its permissions") from trouble


def _refuse_large(path: Path) -> None:
    """A file that no farm fills, or that would unpack to too much; judged before it is unpacked."""
    remedy = "check that it is the right file; keep only the sheets of the farm in it"
    about = path.stat()
    if not S_ISREG(about.st_mode):  # a pipe would be waited for without end
        raise refused("IN202", path.name, "no plain file", "give the path of a workbook")
    size = about.st_size
    if size > MOST_BYTES:
        raise refused("IN702", path.name, f"{size} bytes, more than a farm's workbook has", remedy)
    with ZipFile(path) as packed:
        unpacked = sum(part.file_size for part in packed.infolist())
    if unpacked > MOST_UNPACKED_BYTES:
        raise refused("IN702", path.name, f"{unpacked} bytes when unpacked", remedy)


def read_grid(book: str, sheet: Worksheet, layout: Layout, faults: Faults) -> Grid | None:
    """A sheet as a grid, or None where it is too large or has no headings."""
    title = str(sheet.title)
    place = faults.of(f"{book} {title}")
    if sheet.max_row > MOST_ROWS or sheet.max_column > MOST_COLUMNS:
        remedy = (
            f"delete what stands below and beside the entries: at most {MOST_ROWS} rows,"
            f" {MOST_COLUMNS} columns"
        )
        place.add("IN702", f"cells down to {letters(sheet.max_column)}{sheet.max_row}", remedy)
        return None
    filled = {
        number: cells for number, row in enumerate(sheet.iter_rows(), 1) if (cells := _cells(row))
    }
    known = [heading.key for heading in layout.headings]
    if layout.into == "tables":
        known = ["key", "value"]
    row = _heading_row(filled, known)
    if row is None:
        problem = f"no row of headings in the first {ROWS_BEFORE_HEADINGS} rows"
        remedy = f"put the headings above the entries: {', '.join(known[:4])} …"
        place.add("IN706", problem, remedy)
        return None
    headings = {column: _word(cell.value) for column, cell in filled[row].items()}
    below = {number: cells for number, cells in filled.items() if number > row}
    grid = Grid(book, layout, title, row, headings, below)
    _check_headings(grid, known, faults)
    _check_merged(grid, sheet, faults)
    _check_stray(grid, faults)
    return grid


def _cells(row: tuple[Any, ...]) -> dict[int, Cell]:
    """The cells of a row that hold anything, by column number."""
    filled = {}
    for cell in row:
        value = cell.value
        if value is None or (isinstance(value, str) and not value.strip()):
            continue
        filled[cell.column] = Cell(cell.coordinate, value, cell.data_type in ("f", "e"))
    return filled


def _word(value: object) -> str:
    if isinstance(value, str):
        return value.strip()
    return shown(value)


def _heading_row(filled: Mapping[int, Mapping[int, Cell]], known: list[str]) -> int | None:
    """The row with the most known headings among the first ones; None where no row has any."""
    counted = {
        number: sum(_word(cell.value) in known for cell in cells.values())
        for number, cells in filled.items()
        if number <= ROWS_BEFORE_HEADINGS
    }
    best = max(counted, key=lambda number: counted[number], default=None)
    if best is None or not counted[best]:
        return None
    return best


def _check_headings(grid: Grid, known: list[str], faults: Faults) -> None:
    """Headings that appear twice, and those that nobody knows: most often a slip of the pen."""
    for column, heading in grid.headings.items():
        place = faults.of(grid.place(f"{letters(column)}{grid.heading_row}"))
        if list(grid.headings.values()).count(heading) > 1:
            place.add("IN706", f'the heading "{heading}" appears twice', "keep one of them")
        elif grid.layout.into in ("list", "inside") and heading not in known:
            remedy = "use a heading of the workbook as written, or delete the column"
            place.unknown("IN706", f'unknown heading "{heading}"', heading, known, remedy)


def _check_merged(grid: Grid, sheet: Worksheet, faults: Faults) -> None:
    """Merged cells from the headings on: what they hold belongs to one cell only."""
    for area in sheet.merged_cells.ranges:
        if area.max_row >= grid.heading_row:
            place = faults.of(grid.place(str(area.coord)))
            place.add("IN705", "merged cells", "undo the merge and fill each cell")


def _check_stray(grid: Grid, faults: Faults) -> None:
    """Formulas, errors of formulas, and what stands under no heading."""
    for cells in grid.rows.values():
        for column, cell in cells.items():
            place = faults.of(grid.place(cell.at))
            if cell.formula:
                problem = f"a formula or its error: {shown(_formula(cell.value))}"
                remedy = "formulas are never worked out here: paste the value in its place"
                place.add("IN704", problem, remedy)
            elif column not in grid.headings:
                remedy = "give the column a heading of the workbook, or delete what stands there"
                place.add("IN706", f"{shown(cell.value)} stands under no heading", remedy)


def _formula(value: Any) -> str:
    """The text of a formula; an array formula is an object that holds it."""
    if isinstance(value, str):
        return value
    return str(getattr(value, "text", None) or "an array formula")


def plain(cell: Cell) -> Any:
    """A cell's value as farm.toml would hold it: a date without time, a text without blanks."""
    value = _formula(cell.value) if cell.formula else cell.value
    if isinstance(value, datetime) and value.time() == time():
        return value.date()
    if isinstance(value, str):
        return value.strip()
    return value


def converted(cell: Cell, heading: Heading, faults: Faults) -> Any:
    """A cell as the value that its heading asks for; one with a fault is handed on as it is."""
    value = plain(cell)
    if cell.formula:
        return value
    if heading.kind in ("number", "whole"):
        return _number(value, heading, faults)
    if heading.kind == "date":
        return _date(value, faults)
    if heading.kind == "yes_no":
        return _yes_no(value, faults)
    if heading.kind in ("text", "words", "dates", "portions"):
        return _text(value, heading, faults)
    return value


def _number(value: Any, heading: Heading, faults: Faults) -> Any:
    if isinstance(value, str) and _NUMBER_TEXT.fullmatch(value):
        remedy = "type it again as a number, in a cell that is not set to text"
        faults.add("IN707", f"{shown(value)} is a text that looks like a number", remedy)
    elif isinstance(value, bool) or not isinstance(value, (int, float)):
        remedy = f"give {heading.words} as a number, or leave the cell empty"
        faults.add("IN710", f"{shown(value)} is no number", remedy)
    elif heading.kind == "whole" and isinstance(value, float) and value.is_integer():
        return int(value)
    return value


def _date(value: Any, faults: Faults) -> Any:
    remedy = "type it again as a date, in a cell that is not set to text"
    if isinstance(value, datetime):
        faults.add("IN710", f"{value} is a date with a time of day", "give the day alone")
    elif isinstance(value, str) and _DATE_TEXT.fullmatch(value):
        faults.add("IN708", f"{shown(value)} is a text that looks like a date", remedy)
    elif not isinstance(value, date):
        faults.add("IN710", f"{shown(value)} is no date", remedy)
    return value


def _yes_no(value: Any, faults: Faults) -> Any:
    words = {"yes": True, "no": False, "true": True, "false": False}
    answer = value if isinstance(value, bool) else words.get(str(value).lower())
    if answer is None:
        faults.add("IN710", f"{shown(value)} is neither yes nor no", "write yes or no")
        return value
    return answer


def _text(value: Any, heading: Heading, faults: Faults) -> Any:
    """A text, or several with commas between them; a whole number is taken as its text."""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        value = str(int(value)) if float(value).is_integer() else repr(value)
    if isinstance(value, date) and heading.kind == "dates":
        return [value]
    if not isinstance(value, str):
        faults.add("IN710", f"{shown(value)} is no text", f"give {heading.words}")
        return value
    if heading.kind == "text":
        return value
    parts = [part.strip() for part in re.split("[,;]", value) if part.strip()]
    if heading.kind == "words":
        return parts
    if heading.kind == "dates":
        return _dates(parts, faults)
    return _portions(parts, faults)


def _dates(parts: list[str], faults: Faults) -> list[Any]:
    try:
        return [date.fromisoformat(part) for part in parts]
    except ValueError:
        problem = f"{shown(', '.join(parts))} is no list of dates"
        faults.add("IN708", problem, "write dates like 2026-11-15, with commas between them")
        return list(parts)


def _portions(parts: list[str], faults: Faults) -> list[Any]:
    """Groups of a mix: `id`, or `id=portion`."""
    portions: list[Any] = []
    for part in parts:
        name, sign, portion = part.partition("=")
        try:
            portions.append({"group": name.strip(), "portion": float(portion)} if sign else name)
        except ValueError:
            faults.add("IN710", f"{shown(part)} is no portion", "write an id, or id=0.8")
            return list(parts)
    return portions
