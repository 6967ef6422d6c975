"""The log of a winter, `log.csv`: what was seen, measured or moved on a day, a line each, checked
against the farm.

Columns: date, what, of, figure, unit, note. What may be written down is in `ENTRIES`.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path

from rationlp.csvfile import CsvRow, CsvTable, parse_number, read_rows
from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Farm
from rationlp.named import nearest
from rationlp.read.folder import beside
from rationlp.records import dataclass

NAME = "log.csv"
COLUMNS = ("date", "what", "of", "figure", "unit", "note")
LONGEST_NOTE = 200


@dataclass(frozen=True)
class Entry:
    """A kind of line. words: what it says; about: what it is of; units: those it may have, the
    usual first, with least and most."""

    words: str
    about: str
    units: Mapping[str, tuple[float, float]]


ENTRIES = {
    "face": Entry(
        "metres fed from the front of a clamp or bag, since it was opened",
        "store",
        {"m": (0.0, 300.0)},
    ),
    "left": Entry(
        "what is left of a store",
        "store",
        {"t": (0.0, 100_000.0), "t DM": (0.0, 100_000.0), "bales": (0.0, 100_000.0)},
    ),
    "dry_matter": Entry("dry matter of a store or bought feed", "feed", {"%": (4.0, 100.0)}),
    "head": Entry("animals in a group from this day on", "group", {"head": (0.0, 100_000.0)}),
    "bought": Entry(
        "a bought feed delivered", "bought feed", {"t": (0.0, 10_000.0), "loads": (0.0, 1000.0)}
    ),
}
MEASURES = frozenset({"face", "left"})
"""Entries that say what is in a store."""


@dataclass(frozen=True)
class LogLine:
    """A line of the log. of: id of a store, bought feed or group; line: its row in the file, 0
    for one that is to be added."""

    day: date
    what: str
    of: str
    figure: float
    unit: str
    note: str = ""
    line: int = 0


def log_file(farm: Path) -> Path:
    """The log of a farm folder or workbook."""
    return beside(farm, NAME)


def read_log(farm: Farm) -> tuple[LogLine, ...]:
    """The log of a farm in order of date; empty where there is none. Raises InputError (IN792 to
    IN798) with everything wrong."""
    path = log_file(Path(farm.place))
    if not path.exists():
        return ()
    table = read_rows(path)
    missing = [name for name in COLUMNS[:4] if name not in table.headings]
    unknown = [name for name in table.headings if name not in COLUMNS]
    if missing or unknown:
        found = (
            f"no column {', '.join(missing)}" if missing else f"unknown column {', '.join(unknown)}"
        )
        raise InputError(
            [Finding("IN792", f"{table.name} headings", found, f"columns: {', '.join(COLUMNS)}")]
        )
    findings: list[Finding] = []
    lines: list[LogLine] = []
    for row in table.rows:
        line, more = _line(table, row, farm)
        findings += more or _repeated(line, lines, f"{table.name} row {row.line}")
        if line is not None and not more:
            lines.append(line)
    if findings:
        raise InputError(findings)
    return tuple(sorted(lines, key=lambda one: one.day))


def new_line(farm: Farm, given: Mapping[str, str], lines: Iterable[LogLine]) -> LogLine:
    """A line to be added, checked as if it were in the file. given: its cells by column. Raises
    InputError with everything wrong."""
    table = CsvTable("the new line", COLUMNS, ())
    line, findings = _line(table, CsvRow(0, {name: given.get(name, "") for name in COLUMNS}), farm)
    findings = findings or _repeated(line, lines, "the new line")
    if findings or line is None:
        raise InputError(findings)
    return line


def log_text(lines: Iterable[LogLine]) -> str:
    """The log as the text of its file."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for one in lines:
        writer.writerow(
            [one.day.isoformat(), one.what, one.of, f"{one.figure:.10g}", one.unit, one.note]
        )
    return out.getvalue()


def _line(table: CsvTable, row: CsvRow, farm: Farm) -> tuple[LogLine | None, list[Finding]]:
    findings: list[Finding] = []
    cells = {name: row.cells.get(name, "") for name in COLUMNS}
    where = {
        name: f"{table.name}, {name}" if not row.line else table.where(row, name)
        for name in COLUMNS
    }
    day = _day(cells["date"], where["date"], farm, findings)
    entry = ENTRIES.get(cells["what"])
    if entry is None:
        near = nearest(cells["what"], ENTRIES, 1, 0.4)
        remedy = f'nearest: "{near[0]}"' if near else f"use one of {', '.join(ENTRIES)}"
        return None, [
            *findings,
            Finding("IN793", where["what"], f'"{cells["what"]}" is nothing that is logged', remedy),
        ]
    known = _known(farm, cells["what"])
    if cells["of"] not in known:
        near = nearest(cells["of"], known, 1, 0.4)
        remedy = f'nearest: "{near[0]}"' if near else f"ids: {', '.join(known) or 'none'}"
        findings.append(
            Finding(
                "IN794",
                where["of"],
                f'no {entry.about} "{cells["of"]}" for {cells["what"]}',
                remedy,
            )
        )
        return None, findings
    units = _units(farm, cells["what"], cells["of"])
    unit = cells["unit"] or units[0]
    if unit not in units:
        remedy = f"use {' or '.join(units)}"
        findings.append(
            Finding(
                "IN796", where["unit"], f'"{unit}" for {cells["what"]} of {cells["of"]}', remedy
            )
        )
        return None, findings
    figure = _figure(cells["figure"], where["figure"], (entry, unit), findings)
    if figure is not None:
        findings += _too_much(farm, cells["what"], cells["of"], (figure, unit), where["figure"])
    if len(cells["note"]) > LONGEST_NOTE or any(ord(sign) < 32 for sign in cells["note"]):
        remedy = f"one line of at most {LONGEST_NOTE} characters"
        findings.append(
            Finding("IN795", where["note"], "a note that is too long, or of several lines", remedy)
        )
    if findings or day is None or figure is None:
        return None, findings
    return LogLine(day, cells["what"], cells["of"], figure, unit, cells["note"], row.line), []


def _day(text: str, where: str, farm: Farm, findings: list[Finding]) -> date | None:
    valid = f"give a day from {farm.start} to {farm.turnout}, as year-month-day"
    try:
        day = date.fromisoformat(text)
    except ValueError:
        findings.append(Finding("IN797", where, f'"{text}" is no date', valid))
        return None
    if not farm.start <= day <= farm.turnout:
        findings.append(Finding("IN797", where, f"{day} is outside the winter", valid))
        return None
    return day


def _known(farm: Farm, what: str) -> list[str]:
    """Ids that a line of a kind may be of."""
    if what == "face":
        return [store.id for store in farm.stores if store.kind in ("clamp", "bag")]
    if what == "left":
        return [store.id for store in farm.stores]
    if what == "head":
        return [group.id for group in farm.groups]
    return [offer.id for offer in farm.offers if offer.bought or what == "dry_matter"]


def _units(farm: Farm, what: str, of: str) -> list[str]:
    """Units that a line may have, the usual first."""
    units = list(ENTRIES[what].units)
    if what == "left":
        kind = next(store.kind for store in farm.stores if store.id == of)
        return ["bales", "t", "t DM"] if kind == "bales" else ["t", "t DM"]
    if what == "bought" and next(offer.load_t for offer in farm.offers if offer.id == of) is None:
        return ["t"]
    return units


def _figure(text: str, where: str, of: tuple[Entry, str], findings: list[Finding]) -> float | None:
    entry, unit = of
    try:
        value = parse_number(text, where)
    except InputError as trouble:
        findings += [Finding("IN795", where, one.found, one.remedy) for one in trouble.findings]
        return None
    least, most = entry.units[unit]
    whole = unit in ("head", "bales")
    if value is None or not least <= value <= most or (whole and value != int(value)):
        words = "whole number" if whole else "number"
        remedy = f"give a {words} from {least:g} to {most:g} {unit}"
        findings.append(Finding("IN795", where, f'"{text}" for {entry.words}', remedy))
        return None
    return value


def _too_much(
    farm: Farm, what: str, of: str, measured: tuple[float, str], where: str
) -> list[Finding]:
    """A measure of more than the store can have had (IN801)."""
    figure, unit = measured
    if what not in MEASURES:
        return []
    store = next(store for store in farm.stores if store.id == of)
    size = {"m": "length_m", "bales": "count"}.get(unit, "")
    most = store.size.get(size)
    if not isinstance(most, float) or figure < most or (unit == "bales" and figure == most):
        return []
    found = f"{figure:g} {unit} of a store with {size} = {most:g}"
    return [
        Finding("IN801", where, found, f"check the figure, or {size} of the store in the farm file")
    ]


def _repeated(line: LogLine | None, lines: Iterable[LogLine], where: str) -> list[Finding]:
    """The same thing said twice of one day (IN798); loads may come twice a day."""
    if line is None or line.what == "bought":
        return []
    sort = "measure" if line.what in MEASURES else line.what
    for other in lines:
        same_sort = sort == ("measure" if other.what in MEASURES else other.what)
        if same_sort and (other.day, other.of) == (line.day, line.of):
            found = f"a second {line.what} of {line.of} on {line.day}"
            return [
                Finding("IN798", where, found, "keep one of them: delete the other line of log.csv")
            ]
    return []
