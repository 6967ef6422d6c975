"""Tables as the sheets of a workbook: numbers as numbers with a format, units in the headings, the
heading row kept in sight.

Whatever came from the farm is written as text and never as a formula, however it begins.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from math import ceil, isfinite
from pathlib import Path
from typing import TYPE_CHECKING, cast
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from rationlp.errors import InputError, refused
from rationlp.read.cells import INSTALL, letters
from rationlp.report.files import real_path, write_bytes
from rationlp.report.story import Story, story_tables
from rationlp.report.tables.table import UNKNOWN_DECIMALS, Table, shown
from rationlp.report.terminal import CLOSING_LINE, story_text

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.cell.cell import Cell
    from openpyxl.worksheet.worksheet import Worksheet


HEADING_FILL = "FFE7ECE4"
FONT = "Calibri"
LINE_POINTS = 15.0
LONGEST_TEXT = 32_000
COVER_WIDTH = 100
GROUP_TABLE = "winter_group"
"""The name of the tables of a plan that are of one group each."""
LONGEST_TITLE = 31
NARROWEST, WIDEST = 9, 60
_NO_TITLE = re.compile(r"[\[\]:*?/\\\x00-\x1f]")
_NO_SIGN = re.compile(r"[\x00-\x08\x0b-\x1f\ud800-\udfff\ufffe\uffff]")


def new_workbook(name: str) -> Workbook:
    """An empty workbook without sheets. Raises InputError where openpyxl is missing."""
    try:
        from openpyxl import Workbook
    except ImportError as trouble:
        missing = "writing a workbook needs openpyxl, which is not installed"
        raise refused("IN711", name, missing, f"install it with {INSTALL}") from trouble
    book = Workbook()
    for sheet in book.worksheets:
        book.remove(sheet)
    return book


def cell_at(sheet: Worksheet, row: int, column: int) -> Cell:
    """A cell of a sheet that has no merged ones."""
    return cast("Cell", sheet.cell(row, column))


def put(cell: Cell, value: object, decimals: int = UNKNOWN_DECIMALS) -> None:
    """A value into a cell: numbers and dates as such, else text that is never worked out."""
    if value is None:
        return
    if isinstance(value, bool):
        _put_text(cell, shown(value, decimals))
    elif isinstance(value, (int, float)):
        if isfinite(value):
            cell.value = value
            if isinstance(value, int):
                cell.number_format = "0"
            else:
                cell.number_format = _number_format(value, decimals)
    elif isinstance(value, date):
        cell.value = value
        cell.number_format = "yyyy-mm-dd"
    else:
        _put_text(cell, str(value))


def _number_format(value: float, decimals: int) -> str:
    """As many decimals as on screen; more for a small figure: 0.002 kg is not shown as 0.0."""
    if 0.0 < abs(value) < 0.5 * 10.0**-decimals:
        decimals = min(decimals + 3, 6)
    if decimals <= 0:
        return "0"
    return f"0.{'0' * decimals}"


def _put_text(cell: Cell, text: str) -> None:
    if not text:
        return
    cell.value = _NO_SIGN.sub(" ", text)[:LONGEST_TEXT]
    # A text that begins like a formula was taken for one when the value was set.
    cell.data_type = "s"
    cell.quotePrefix = text.startswith(("=", "+", "-", "@"))


def write_tables(
    path: Path,
    tables: Sequence[Table],
    inputs: Iterable[Path] = (),
    first_sentences: str = "",
    begin: Callable[[Workbook, set[str]], None] | None = None,
) -> None:
    """Write tables as the sheets of a workbook, whole or not at all; tables without rows are left
    out.

    first_sentences: what a cover says, which opens first; begin: writes the sheets before it.

    inputs: files that are never written over. Raises InputError where the file cannot or must not
    be written, is open in a spreadsheet programme or read-only, or openpyxl is missing.
    """
    book = new_workbook(path.name)
    taken: set[str] = set()
    if begin is not None:
        begin(book, taken)
    if first_sentences:
        _cover(book, first_sentences, taken)
    for table in tables:
        if table.rows or len(tables) == 1:
            _fill(book.create_sheet(sheet_title(_tab(table), taken)), table)
    if not book.worksheets:
        put(cell_at(book.create_sheet("Nothing"), 1, 1), CLOSING_LINE)
    save(book, path, inputs)


def _tab(table: Table) -> str:
    """What the tab of a table says: the group's name where it is one of a group's."""
    if table.name.partition(" ")[0] == GROUP_TABLE:
        return table.title.partition(":")[0]
    return table.name or table.title


def _cover(book: Workbook, first_sentences: str, taken: set[str]) -> None:
    """A sheet with the answer's first sentences, which is seen when the workbook is opened."""
    from openpyxl.styles import Alignment, Font

    sheet = book.create_sheet(sheet_title("Answer", taken))
    sheet.column_dimensions["A"].width = 100
    lines = [*first_sentences.splitlines(), "", CLOSING_LINE]
    for row, line in enumerate(lines, 1):
        cell = cell_at(sheet, row, 1)
        _put_text(cell, line)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        cell.font = Font(name=FONT, size=12, bold=row == 1)
        tall_enough(sheet, row, [line], [90.0])
    fit_page(sheet)
    book.active = len(book.worksheets) - 1


def write_story(
    path: Path,
    story: Story,
    inputs: Iterable[Path] = (),
    begin: Callable[[Workbook, set[str]], None] | None = None,
) -> None:
    """Write a story as a workbook; see `write_tables`."""
    first_sentences = story_text(story, COVER_WIDTH, False).partition("\n\n")[0]
    write_tables(path, story_tables(story) or [story.table()], inputs, first_sentences, begin)


def sheet_title(name: str, taken: set[str]) -> str:
    """A title that a sheet may bear and no other sheet has, whatever the case of its letters."""
    plain = " ".join(_NO_TITLE.sub(" ", _NO_SIGN.sub(" ", name)).split()).strip("' ") or "Sheet"
    title, number = plain[:LONGEST_TITLE].strip("' "), 1
    while title.casefold() in taken or title.casefold() == "history":
        number += 1
        tail = f" {number}"
        title = plain[: LONGEST_TITLE - len(tail)].strip("' ") + tail
    taken.add(title.casefold())
    return title


def tall_enough(sheet: Worksheet, row: int, texts: Iterable[str], widths: Iterable[float]) -> None:
    """Make a row as high as its longest text needs: not every programme does so by itself."""
    lines = [ceil(1.1 * len(text) / width) for text, width in zip(texts, widths, strict=True)]
    if max(lines, default=1) > 1:
        sheet.row_dimensions[row].height = LINE_POINTS * max(lines)


def _fill(sheet: Worksheet, table: Table) -> None:
    from openpyxl.styles import Alignment, Font, PatternFill

    from rationlp.report.workbook_charts import draw

    cells = table.cells()
    widths = [_width(table, cells, number) for number in range(len(table.columns))]
    headings = [f"{column.title} [{column.unit}]".removesuffix(" []") for column in table.columns]
    _put_text(cell_at(sheet, 1, 1), table.title or table.name)
    cell_at(sheet, 1, 1).font = Font(name=FONT, bold=True, size=13)
    aligned = [
        Alignment(
            horizontal=column.align,
            vertical="top",
            wrap_text=True,
            indent=int(column.align == "left"),
        )
        for column in table.columns
    ]
    for number, heading in enumerate(headings, 1):
        cell = cell_at(sheet, 2, number)
        _put_text(cell, heading)
        cell.font = Font(name=FONT, bold=True)
        cell.fill = PatternFill("solid", fgColor=HEADING_FILL)
        cell.alignment = aligned[number - 1]
        sheet.column_dimensions[letters(number)].width = widths[number - 1]
    tall_enough(sheet, 2, headings, widths)
    spread = table.decimals or (UNKNOWN_DECIMALS,) * len(table.rows)
    for row, (values, of_row) in enumerate(zip(table.rows, spread, strict=True), 3):
        for number, (value, column) in enumerate(zip(values, table.columns, strict=True), 1):
            cell = cell_at(sheet, row, number)
            put(cell, value, column.places(of_row))
            cell.alignment = aligned[number - 1]
        tall_enough(sheet, row, cells[row - 3], widths)
    for row, note in enumerate([*table.notes, CLOSING_LINE], len(table.rows) + 4):
        _put_text(cell_at(sheet, row, 1), note)
        cell_at(sheet, row, 1).font = Font(name=FONT, italic=True)
    sheet.freeze_panes = "A3"
    if len(table.columns) > 4:
        sheet.freeze_panes = "B3"
    fit_page(sheet)
    if table.drawing is not None:
        draw(sheet, table, table.drawing)


def _width(table: Table, cells: Sequence[Sequence[str]], number: int) -> float:
    """Wide enough for what a column holds and for the longest word of its heading."""
    column = table.columns[number]
    heading = [len(word) for word in f"{column.title} [{column.unit}]".split()]
    return float(min(max(NARROWEST, *heading, *(len(row[number]) for row in cells)) + 3, WIDEST))


def fit_page(sheet: Worksheet, pages_wide: int = 1) -> None:
    """Printed on A4 across, as wide as the page or a few, headings on every page."""
    from openpyxl.worksheet.properties import PageSetupProperties

    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = 9  # A4
    sheet.page_setup.fitToHeight = 0
    sheet.page_setup.fitToWidth = pages_wide
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet.print_title_rows = "1:2"


def save(book: Workbook, path: Path, inputs: Iterable[Path] = ()) -> None:
    """A workbook into a file, whole or not at all. Raises InputError where it cannot be written."""
    _refuse_open(path)
    packed = io.BytesIO()
    book.save(packed)
    write_bytes(path, _without_times(packed.getvalue()), inputs)


_WRITTEN_ON = re.compile(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*(<)")
_NO_DAY = b"1980-01-01T00:00:00Z"
"""The first day that a packed file can bear."""


def _without_times(packed: bytes) -> bytes:
    """The workbook as it would be whenever it was written: the same answer gives the same bytes."""
    again = io.BytesIO()
    with ZipFile(io.BytesIO(packed)) as old, ZipFile(again, "w", ZIP_DEFLATED) as new:
        for part in old.infolist():
            text = old.read(part)
            if part.filename == "docProps/core.xml":
                text = _WRITTEN_ON.sub(rb"\g<1>" + _NO_DAY + rb"\g<2>", text)
            timeless = ZipInfo(part.filename)
            timeless.compress_type = ZIP_DEFLATED
            new.writestr(timeless, text)
    return again.getvalue()


def _refuse_open(path: Path) -> None:
    """A file that a spreadsheet programme has open (by its lock), or that was made read-only."""
    target = real_path(path)
    try:
        locks = [target.with_name(f"~${target.name}"), target.with_name(f".~lock.{target.name}#")]
        if any(lock.exists() for lock in locks):
            remedy = "close it there first, or name another file"
            raise _refused(path, "the file is open in a spreadsheet programme", remedy)
        if target.is_file() and not target.stat().st_mode & 0o222:
            raise _refused(
                path, "the file is read-only", "name another file, or allow writing to this one"
            )
    except OSError as trouble:
        reason = trouble.strerror or "the system refused"
        raise _refused(
            path, reason, "choose a folder that you may write to, and a short name"
        ) from trouble


def _refused(path: Path, trouble: str, remedy: str) -> InputError:
    return refused("IN712", str(path), trouble, remedy)
