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

from rationlp.csvfile import CsvRow, CsvTable, check_columns, parse_number, read_rows
from rationlp.errors import Faults, InputError
from rationlp.farm.farm import Farm
from rationlp.named import plain, stems
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
    faults = Faults(table.name)
    remedy = f"columns: {', '.join(COLUMNS)}"
    headings = faults.of(f"{table.name} headings")
    check_columns(table, "IN792", COLUMNS[:4], COLUMNS, headings, remedy)
    faults.refuse()
    lines: list[LogLine] = []
    for row in table.rows:
        line = _line(table, row, farm, faults.of(f"{table.name} row {row.line}"), lines)
        if line is not None:
            lines.append(line)
    faults.refuse()
    return tuple(sorted(lines, key=lambda line: line.day))


def new_line(farm: Farm, cells: Mapping[str, str], lines: Iterable[LogLine]) -> LogLine:
    """A line to be added, checked as if it were in the file. cells: by column. Raises InputError
    with everything wrong."""
    faults = Faults("the new line")
    table = CsvTable("the new line", COLUMNS, ())
    row = CsvRow(0, {name: cells.get(name, "") for name in COLUMNS})
    line = _line(table, row, farm, faults, lines)
    if line is None:
        raise InputError(faults.findings)
    return line


def log_text(lines: Iterable[LogLine]) -> str:
    """The log as the text of its file."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for line in lines:
        figure = f"{line.figure:.10g}"
        writer.writerow([line.day.isoformat(), line.what, line.of, figure, line.unit, line.note])
    return out.getvalue()


def _line(
    table: CsvTable, row: CsvRow, farm: Farm, faults: Faults, before: Iterable[LogLine]
) -> LogLine | None:
    """A row as a line of the log; None where it has a fault."""
    cells = {name: row.cells.get(name, "") for name in COLUMNS}

    def at(name: str) -> Faults:
        return faults.of(table.where(row, name) if row.line else f"{table.name}, {name}")

    day = _day(cells["date"], farm, at("date"))
    what, of = cells["what"], cells["of"]
    entry = ENTRIES.get(what)
    if entry is None:
        valid = f"use one of {', '.join(ENTRIES)}"
        at("what").unknown("IN793", f'"{what}" is nothing that is logged', what, ENTRIES, valid)
        return None
    known = _known(farm, what)
    named = [of] if of in known else _ids_named(of, known)
    if len(named) != 1:
        valid = f"ids: {', '.join(named or known) or 'none'}"
        at("of").unknown("IN794", f'no {entry.about} "{of}" for {what}', of, known, valid)
        return None
    of = named[0]
    units = _units(farm, what, of)
    unit = cells["unit"] or units[0]
    if unit not in units:
        at("unit").add("IN796", f'"{unit}" for {what} of {of}', f"use {' or '.join(units)}")
        return None
    figure = _figure(cells["figure"], entry, unit, at("figure"))
    note = cells["note"]
    if len(note) > LONGEST_NOTE or any(ord(sign) < 32 for sign in note):
        remedy = f"one line of at most {LONGEST_NOTE} characters"
        at("note").add("IN795", "a note that is too long, or of several lines", remedy)
    if day is None or figure is None:
        return None
    line = LogLine(day, what, of, figure, unit, note, row.line)
    _check_size(farm, line, at("figure"))
    if faults.clean:
        _check_repeated(line, before, faults)
    return line if faults.clean else None


def _day(text: str, farm: Farm, faults: Faults) -> date | None:
    valid = f"give a day from {farm.start} to {farm.turnout}, as year-month-day"
    try:
        day = date.fromisoformat(text)
    except ValueError:
        faults.add("IN797", f'"{text}" is no date', valid)
        return None
    if not farm.start <= day <= farm.turnout:
        faults.add("IN797", f"{day} is outside the winter", valid)
        return None
    return day


def _known(farm: Farm, what: str) -> dict[str, str]:
    """What a line of a kind may be of, name by id."""
    if what == "face":
        return {store.id: store.name for store in farm.stores if store.kind in ("clamp", "bag")}
    if what == "left":
        return {store.id: store.name for store in farm.stores}
    if what == "head":
        return {group.id: group.name for group in farm.groups}
    offers = [offer for offer in farm.offers if offer.bought or what == "dry_matter"]
    return {offer.id: offer.name for offer in offers}


def _ids_named(word: str, known: Mapping[str, str]) -> list[str]:
    """Ids of what has this name or id in other letters; else of what has all its words."""
    same = [key for key, name in known.items() if plain(word) in (plain(key), plain(name))]
    return same or [
        key for key, name in known.items() if stems(word) and stems(word) <= stems(f"{key} {name}")
    ]


def _units(farm: Farm, what: str, of: str) -> list[str]:
    """Units that a line may have, the usual first."""
    units = list(ENTRIES[what].units)
    if what == "left":
        kind = next(store.kind for store in farm.stores if store.id == of)
        if kind == "bales":
            return ["bales", "t", "t DM"]
        return ["t", "t DM"]
    if what == "bought" and next(offer.load_t for offer in farm.offers if offer.id == of) is None:
        return ["t"]
    return units


def _figure(text: str, entry: Entry, unit: str, faults: Faults) -> float | None:
    try:
        value = parse_number(text, faults.place)
    except InputError as trouble:
        for finding in trouble.findings:
            faults.add("IN795", finding.found, finding.remedy)
        return None
    lowest, highest = entry.units[unit]
    whole = unit in ("head", "bales")
    if value is None or not lowest <= value <= highest or (whole and value != int(value)):
        words = "whole number" if whole else "number"
        remedy = f"give a {words} from {lowest:g} to {highest:g} {unit}"
        faults.add("IN795", f'"{text}" for {entry.words}', remedy)
        return None
    return value


def _check_size(farm: Farm, line: LogLine, faults: Faults) -> None:
    """A measure of more than the store can have had (IN801)."""
    if line.what not in MEASURES:
        return
    store = next(store for store in farm.stores if store.id == line.of)
    size = {"m": "length_m", "bales": "count"}.get(line.unit, "")
    highest = store.size.get(size)
    if not isinstance(highest, float) or line.figure < highest:
        return
    if line.unit != "bales" or line.figure > highest:
        problem = f"{line.figure:g} {line.unit} of a store with {size} = {highest:g}"
        faults.add("IN801", problem, f"check the figure, or {size} of the store in the farm file")


def _check_repeated(line: LogLine, before: Iterable[LogLine], faults: Faults) -> None:
    """A second line on the same thing and day (IN798); loads may come twice a day."""
    if line.what == "bought":
        return
    for other in before:
        same_sort = other.what == line.what or {other.what, line.what} <= MEASURES
        if same_sort and (other.day, other.of) == (line.day, line.of):
            problem = f"a second {line.what} of {line.of} on {line.day}"
            faults.add("IN798", problem, "keep one of them: delete the other line of log.csv")
            return
