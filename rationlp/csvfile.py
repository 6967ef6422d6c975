"""Any CSV file that a farm or a laboratory sends, read with the place of every cell, so that an
error can name it.

UTF-8 with or without byte-order mark, else Windows-1252; comma, semicolon or tab between cells; a
decimal comma in a number; Windows line ends; comment lines that begin with `#`. Every trouble is a
Finding with file, row and remedy.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from math import isfinite
from pathlib import Path
from stat import S_ISDIR, S_ISREG

from rationlp.errors import Faults, Finding, refused
from rationlp.records import dataclass

MOST_BYTES = 5_000_000
_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)(e[+-]?[0-9]+)?", re.IGNORECASE)
_THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}")
_WORDS_FOR_NO_NUMBER = frozenset({"nan", "inf", "infinity"})
_MISSING = frozenset({"", "-", "--", "–", "n/a", "na"})


@dataclass(frozen=True)
class CsvRow:
    """A row: its line number in the file and its cells by heading."""

    line: int
    cells: Mapping[str, str]


@dataclass(frozen=True)
class CsvTable:
    """A file's headings and rows. `name`: as errors show it; `notices`: what was recognised."""

    name: str
    headings: tuple[str, ...]
    rows: tuple[CsvRow, ...]
    decimal_comma: bool = False
    notices: tuple[Finding, ...] = ()

    def where(self, row: CsvRow, heading: str) -> str:
        """A cell's place as errors show it."""
        return f"{self.name} row {row.line}, column {heading}"

    def number(self, row: CsvRow, heading: str, faults: Faults) -> float | None:
        """A cell as a number; None where it is blank, and where it is none, which is a fault."""
        with faults.taking():
            return parse_number(row.cells[heading], self.where(row, heading))
        return None


def read_text(path: Path) -> tuple[str, tuple[Finding, ...]]:
    """A file's text and notices of its encoding. Raises InputError where it is no text."""
    name = path.name
    try:
        status = path.stat()
        if S_ISDIR(status.st_mode):
            raise refused(
                "IN201", name, "a folder where a file was expected", "give the path of the file"
            )
        if not S_ISREG(status.st_mode):  # a pipe would be waited for without end
            raise refused("IN202", name, "no plain file", "give the path of a file")
        raw = path.read_bytes() if status.st_size <= MOST_BYTES else None
    except FileNotFoundError as trouble:
        raise refused(
            "IN201", name, "no such file", "check the path and the spelling of the name"
        ) from trouble
    except OSError as trouble:
        reason = trouble.strerror or "it cannot be opened"
        raise refused(
            "IN202", name, f"the file cannot be read: {reason}", "check its permissions"
        ) from trouble
    if raw is None:
        remedy = (
            f"a farm's file has at most {MOST_BYTES // 1_000_000} MB: check that it is the"
            " right one"
        )
        raise refused("IN203", name, f"{status.st_size} bytes", remedy)
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise refused("IN204", name, "text saved as UTF-16", "save it as CSV UTF-8")
    if b"\0" in raw:
        raise refused(
            "IN204", name, "bytes that are no text (a spreadsheet file?)", "save it as CSV UTF-8"
        )
    try:
        return raw.decode("utf-8-sig"), ()
    except UnicodeDecodeError:
        notice = Finding(
            "IN205",
            name,
            "not UTF-8; read as Windows-1252",
            "save it as UTF-8 if letters look wrong",
        )
        return raw.decode("cp1252", errors="replace"), (notice,)


def _separator(line: str) -> str:
    counts = {mark: line.count(mark) for mark in (",", ";", "\t")}
    return max(counts, key=lambda mark: counts[mark])


def read_rows(path: Path) -> CsvTable:
    """A CSV file's headings and rows. Raises InputError with everything wrong with its shape."""
    text, notices = read_text(path)
    filled = [
        (number, line)
        for number, line in enumerate(text.splitlines(), start=1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if not filled:
        raise refused(
            "IN206",
            path.name,
            "an empty file",
            "give a line of headings and one line for each entry",
        )
    separator = _separator(filled[0][1])
    text = "\n".join(line for _, line in filled)
    try:
        cells = list(csv.reader(io.StringIO(text), delimiter=separator, strict=True))
    except csv.Error as trouble:
        fault, remedy = f"ambiguous cells ({trouble})", "close every quotation mark on its own line"
        raise refused("IN207", path.name, fault, remedy) from trouble
    if len(cells) != len(filled):
        fault = "a quoted cell runs over a line end"
        raise refused("IN207", path.name, fault, "keep every entry on one line")
    headings = tuple(cell.strip() for cell in cells[0])
    faults = Faults(path.name)
    _check_headings(headings, faults.of(f"{path.name} headings"))
    rows = []
    for (number, _), row in zip(filled[1:], cells[1:], strict=True):
        if len(row) != len(headings):
            fault = f"{len(row)} cells under {len(headings)} headings"
            remedy = "give one cell for each heading; leave a cell empty where there is no figure"
            faults.of(f"{path.name} row {number}").add("IN209", fault, remedy)
        elif any(cell.strip() for cell in row):
            trimmed = (cell.strip() for cell in row)
            rows.append(CsvRow(number, dict(zip(headings, trimmed, strict=True))))
    faults.refuse()
    return CsvTable(path.name, headings, tuple(rows), separator == ";", notices)


def _check_headings(headings: tuple[str, ...], place: Faults) -> None:
    for heading in dict.fromkeys(headings):
        if not heading:
            place.add("IN208", "a column without a heading", "name it or delete it")
        elif headings.count(heading) > 1:
            columns = [str(n) for n, title in enumerate(headings, 1) if title == heading]
            trouble = f'"{heading}" appears twice, in columns {" and ".join(columns)}'
            place.add("IN208", trouble, "keep one of them")


def check_columns(
    table: CsvTable,
    code: str,
    needed: Sequence[str],
    known: Sequence[str],
    faults: Faults,
    remedy: str,
) -> None:
    """Columns that a table lacks or nobody knows; `remedy` where no known column is near."""
    for name in needed:
        if name not in table.headings:
            faults.add(code, f'no column "{name}"', f"columns: {', '.join(known)}")
    for heading in table.headings:
        if heading not in known:
            faults.unknown(code, f'unknown column "{heading}"', heading, known, remedy)


def parse_number(text: str, where: str) -> float | None:
    """A cell as a number, or None where it is blank (a blank is never 0).

    A decimal comma is read as one. Raises InputError for text, not-a-number, infinity and commas
    that could stand for thousands (`1,250`), because one reading is a thousand times the other.
    """
    plain = text.strip().strip("'").replace("\u00a0", "").replace(" ", "")
    if plain.lower() in _MISSING:
        return None
    candidate = plain
    remedy = "give a plain number, or leave the cell empty"
    if "," in plain:
        if _THOUSANDS.fullmatch(plain):
            whole, decimal = plain.replace(",", ""), float(plain.replace(",", "."))
            trouble = f'"{text}" could mean two numbers'
            raise refused("IN211", where, trouble, f"write {whole} or {decimal:g}")
        if "." in plain or plain.count(",") > 1:
            remedy = "write numbers with one decimal point: 1234.5"
            raise refused("IN211", where, f'"{text}" has a comma in it', remedy)
        candidate = plain.replace(",", ".")
    spelling = _NUMBER.fullmatch(candidate)
    if spelling is None and candidate.lstrip("+-").lower() not in _WORDS_FOR_NO_NUMBER:
        raise refused("IN211", where, f'"{text}" is not a number', remedy)
    value = float(candidate)
    if not isfinite(value):
        raise refused("IN211", where, f'"{text}" is not a finite number', remedy)
    return value
