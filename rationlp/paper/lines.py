"""A file as lines of cells, whatever it is: text, CSV, a workbook, a PDF with a text layer.

Every line knows its place, so that each figure can be shown with the line that it came from. Sizes
are bounded; a scan, a locked or a damaged file is said to be one.
"""

from __future__ import annotations

import csv
import io
import logging
import re
import struct
import zlib
from datetime import date, datetime
from itertools import pairwise
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING

from rationlp.csvfile import MOST_BYTES, read_text
from rationlp.errors import InputError, refused
from rationlp.records import dataclass

if TYPE_CHECKING:
    from pypdf import PdfReader


MOST_LINES = 3000
MOST_SIGNS = 4000
"""A sheet or list of more lines, or with a longer line, is something else."""
_PICTURES = (b"\x89PNG", b"\xff\xd8\xff", b"II*\x00", b"MM\x00*", b"GIF8", b"BM")
_SPACED = re.compile(r"\S+(?: \S+)*")


@dataclass(frozen=True)
class Cell:
    """A cell's text and the columns of the line that it stands in (first, one past the last)."""

    text: str
    first: int
    last: int


@dataclass(frozen=True)
class Line:
    """A line of a paper: its place in words, its number, its cells from left to right."""

    place: str
    number: int
    cells: tuple[Cell, ...]

    @property
    def text(self) -> str:
        """The line as one text."""
        return "  ".join(cell.text for cell in self.cells)


def read_lines(path: Path) -> tuple[Line, ...]:
    """The lines of a file. Raises InputError for one unreadable, too large, or empty."""
    start = _first_bytes(path)
    if start.startswith(_PICTURES):
        remedy = "give the file that the laboratory or merchant sends, or type the figures"
        raise refused("PA104", path.name, "a picture, no text", remedy)
    if b"%PDF" in start:
        lines = pdf_lines(path)
    elif start.startswith(b"PK\x03\x04") or path.suffix.lower() == ".xlsx":
        lines = _workbook_lines(path)
    else:
        lines = text_lines(read_text(path)[0], path.name, path.suffix.lower() == ".csv")
    return _bounded(lines, path.name)


def _first_bytes(path: Path) -> bytes:
    if not path.is_file():
        return b""
    try:
        with path.open("rb") as handle:
            return handle.read(1024)
    except OSError as trouble:
        fault = f"the file cannot be read: {trouble.strerror or 'the system refused'}"
        raise refused("IN202", path.name, fault, "check its permissions") from trouble


def pasted_lines(text: str, name: str = "pasted text") -> tuple[Line, ...]:
    """The lines of a pasted text. Raises InputError for one that is too large or empty."""
    if len(text) > MOST_BYTES:
        raise _too_large(name, f"{len(text)} characters")
    if "\0" in text:
        raise refused("IN204", name, "bytes that are no text", "paste the text of the sheet")
    return _bounded(text_lines(text, name, False), name)


def _bounded(lines: list[Line], name: str) -> tuple[Line, ...]:
    if not lines:
        remedy = "give a sheet with figures, or paste its text"
        raise refused("PA102", name, "no text at all", remedy)
    if len(lines) > MOST_LINES:
        raise _too_large(name, f"{len(lines)} lines")
    for line in lines:
        if len(line.text) > MOST_SIGNS:
            raise _too_large(line.place, f"a line of {len(line.text)} characters")
    return tuple(lines)


def _too_large(where: str, problem: str) -> InputError:
    remedy = f"a sheet or list has at most {MOST_LINES} lines of {MOST_SIGNS} characters"
    return refused("PA103", where, problem, remedy)


def text_lines(text: str, name: str, commas: bool) -> list[Line]:
    """The lines of a text, cut into cells at the mark that it uses between them: tabs, semicolons,
    bars, commas (only where `commas`), else two blanks or more.
    """
    filled = [(number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
    mark = _mark([line for _, line in filled], commas)
    lines = []
    for number, line in filled:
        cells = _cells(line, mark)
        if cells:
            lines.append(Line(f"{name} line {number}", number, cells))
    return lines


def _cells(line: str, mark: str | None) -> tuple[Cell, ...]:
    if mark is None:
        return _spaced(line)
    return _marked(line, mark)


def _mark(lines: list[str], commas: bool) -> str | None:
    for mark in ("\t", ";", "|"):
        if 2 * sum(mark in line for line in lines) >= len(lines):
            return mark
    if commas:
        return ","
    return None


def _spaced(line: str) -> tuple[Cell, ...]:
    wide = line.expandtabs(8)
    return tuple(Cell(part[0], *part.span()) for part in _SPACED.finditer(wide))


def _marked(line: str, mark: str) -> tuple[Cell, ...]:
    try:
        texts = next(csv.reader(io.StringIO(line), delimiter=mark))
    except (csv.Error, StopIteration):
        texts = line.split(mark)
    return cells_of(texts)


def cells_of(texts: list[str]) -> tuple[Cell, ...]:
    """Cells of a table, an even width each, without the empty ones."""
    wide = 1000
    return tuple(
        Cell(" ".join(text.split()), number * wide, (number + 1) * wide)
        for number, text in enumerate(texts)
        if text.strip()
    )


def _workbook_lines(path: Path) -> list[Line]:
    from rationlp.read.cells import letters, open_workbook

    lines: list[Line] = []
    for sheet in open_workbook(path).worksheets:
        for number, row in enumerate(sheet.iter_rows(max_row=MOST_LINES, max_col=100), 1):
            texts = []
            for column, cell in enumerate(row, 1):
                if cell.data_type == "f":
                    where = f"{path.name} {sheet.title}!{letters(column)}{number}"
                    remedy = "paste the value in its place: formulas are never worked out here"
                    raise refused("PA107", where, "a formula", remedy)
                texts.append(_shown(cell.value, str(cell.number_format)))
            cells = cells_of(texts)
            if cells:
                lines.append(Line(f"{path.name} {sheet.title} row {number}", number, cells))
    return lines


def _shown(value: object, number_format: str) -> str:
    """A cell as a person sees it; 0.312 in a cell of per cent is 31.2 %."""
    if value is None or isinstance(value, bool):
        return ""
    if isinstance(value, (datetime, date)):
        return value.strftime("%d/%m/%Y")
    if isinstance(value, (int, float)):
        if "%" in number_format:
            return f"{100.0 * value:.10g} %"
        sign = next((sign for sign in "£€$" if sign in number_format), "")
        return f"{sign}{value:.10g}"
    return str(value)


def nearest_column(cell: Cell, heads: tuple[Cell, ...]) -> int | None:
    """The heading that a cell stands under: the one that covers most of it, else the nearest that
    no other is nearly as near to; None where that cannot be told.
    """
    covered = [min(cell.last, head.last) - max(cell.first, head.first) for head in heads]
    ranked = sorted(range(len(heads)), key=lambda number: -covered[number])
    if not ranked:
        return None
    if len(ranked) > 1 and covered[ranked[0]] <= 0:
        near, next_near = (covered[number] for number in ranked[:2])
        if next_near > near - 2:
            return None
    return ranked[0]


def in_order(columns: list[int | None]) -> bool:
    """Whether cells stand under headings one after the other, none under the same."""
    known = [column for column in columns if column is not None]
    return len(known) == len(columns) and all(first < second for first, second in pairwise(known))


MOST_PDF_BYTES = 20_000_000
MOST_PAGES = 30
MOST_PAGE_BYTES = 3_000_000
MOST_SECONDS = 30.0
# What the library raises on files that are damaged, each seen on a spoilt one.
_DAMAGED = (
    ValueError, KeyError, TypeError, IndexError, AttributeError, RecursionError, OverflowError,
    AssertionError, NotImplementedError, EOFError, MemoryError, zlib.error, struct.error, OSError,
)  # fmt: skip


def pdf_lines(path: Path) -> list[Line]:
    """The lines of all pages. Raises InputError (PA103 to PA106) where it cannot be read."""
    from pypdf.errors import PyPdfError

    # The library tells of every fault that it gets over; what matters is told here.
    logging.getLogger("pypdf").setLevel(logging.CRITICAL)
    size = path.stat().st_size
    if size > MOST_PDF_BYTES:
        remedy = f"a sheet has at most {MOST_PDF_BYTES // 1_000_000} MB: check that it is the one"
        raise refused("PA103", path.name, f"a PDF of {size // 1_000_000} MB", remedy)
    try:
        return _lines(path)
    except (PyPdfError, *_DAMAGED) as trouble:
        remedy = "open it and save or print it as PDF again, or paste its text"
        raise refused("PA106", path.name, "a PDF that is damaged", remedy) from trouble


def _lines(path: Path) -> list[Line]:
    from pypdf import PdfReader

    reader = PdfReader(path)
    _refuse_locked(reader, path.name)
    if len(reader.pages) > MOST_PAGES:
        remedy = f"give at most {MOST_PAGES} pages: print those with the figures to a PDF"
        raise refused("PA103", path.name, f"a PDF of {len(reader.pages)} pages", remedy)
    began = monotonic()
    lines: list[Line] = []
    pictures = 0
    for number, page in enumerate(reader.pages, 1):
        name = f"{path.name} page {number}"
        content = page.get_contents()
        if content is not None and len(content.get_data()) > MOST_PAGE_BYTES:
            raise refused("PA103", name, "a page too large to read", "paste its text")
        if monotonic() - began > MOST_SECONDS:
            raise refused("PA103", name, "a PDF that takes too long to read", "paste its text")
        text = page.extract_text(extraction_mode="layout")
        of_page = text_lines(text, name, False)
        lines += of_page
        if not of_page:
            pictures += len(page.images)
    if not lines:
        trouble = "a PDF without any text"
        if pictures:
            trouble = "a scan: pictures of pages without text"
        remedy = "ask for the sheet as a PDF that is not scanned, or type its figures as text"
        raise refused("PA104", path.name, trouble, remedy)
    return lines


def _refuse_locked(reader: PdfReader, name: str) -> None:
    """A file that opens without a password is read, whatever its maker forbids."""
    from pypdf.errors import DependencyError

    if not reader.is_encrypted:
        return
    try:
        opened = bool(reader.decrypt(""))
    except (DependencyError, NotImplementedError):
        opened = False
    if not opened:
        remedy = "open it with its password and print it to a PDF without one"
        raise refused("PA105", name, "a PDF kept by a password", remedy)
