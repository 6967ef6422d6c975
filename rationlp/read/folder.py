"""Where a farm comes from: a folder's farm.toml or a workbook as raw tables, before anything in
them is judged; and the overrides that a question applies to the files beside it.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rationlp.csvfile import CsvTable, read_rows, read_text
from rationlp.errors import Faults, Finding, InputError, Spelling, Step, refused, spelt
from rationlp.records import dataclass

if TYPE_CHECKING:
    from rationlp.read.workbook import Book


class TomlSpelling(Spelling):
    """Places of a farm.toml: `farm.toml groups[2] "dry".head`, an entry of a list with its name."""

    def __init__(self, raw: Mapping[str, Any]) -> None:
        self._raw = raw

    def place(self, path: Sequence[Step]) -> str:
        """A key's place in farm.toml."""
        if not path:
            return "farm.toml"
        key, *rest = path
        words = f"farm.toml {key}"
        if rest and isinstance(rest[0], int):
            words += spelt(rest[0])
            name = entry_name(_entry_at(self._raw.get(str(key)), rest.pop(0)))
            words += f' "{name}"' if name else ""
        return "".join([words, *map(spelt, rest)])


def _entry_at(entries: object, number: Step) -> object:
    """An entry of a list as it was written, or None where there is none."""
    if isinstance(entries, list) and isinstance(number, int) and number < len(entries):
        return entries[number]
    return None


def entry_name(entry: object) -> str:
    """What an entry of a list of farm.toml is named by: its id, else its feed, else ""."""
    if not isinstance(entry, Mapping):
        return ""
    return str(entry.get("id") or entry.get("feed") or "")


@dataclass(frozen=True)
class Source:
    """A farm before its check: folder or workbook, raw tables, workbook (None for a folder)."""

    path: Path
    raw: Mapping[str, Any]
    notices: tuple[Finding, ...] = ()
    book: Book | None = None

    def spelling(self, raw: Mapping[str, Any]) -> Spelling:
        """How places of the raw tables are shown to a person."""
        if self.book is None:
            return TomlSpelling(raw)
        return self.book.places


@dataclass(frozen=True)
class Overrides:
    """Overrides that a question applies to the files beside farm.toml.

    figures: of a store or bought feed by id, over its laboratory sheets. bought: keys of bought
    feeds by id that replace those of prices.csv.
    """

    figures: Mapping[str, Mapping[str, float]]
    bought: Mapping[str, frozenset[str]]


def open_source(path: Path) -> Source:
    """A farm folder or workbook (.xlsx) as it stands. Raises InputError where it cannot be read."""
    from rationlp.read.plain_words import in_plain_words

    if not is_workbook(path):
        raw, notices = raw_tables(path)
        raw, taken = in_plain_words(raw, own_feed_keys(path / "feeds.csv"), TomlSpelling(raw))
        return Source(path, raw, (*notices, *taken))
    from rationlp.read.workbook import read_workbook

    book = read_workbook(path)
    raw, taken = in_plain_words(book.raw, own_feed_keys(book.tables.get("feeds.csv")), book.places)
    return Source(path, raw, (*book.faults.notices, *taken), book)


def by_standard(source: Source, standard: str) -> Source:
    """A farm with the needs of every group by one standard, whatever its tables say."""
    raw = dict(source.raw)
    farm, groups = raw.get("farm"), raw.get("groups")
    if isinstance(farm, Mapping):
        raw["farm"] = {**farm, "standard": standard}
    if isinstance(groups, list):
        raw["groups"] = [_without_standard(group) for group in groups]
    return replace(source, raw=raw)


def _without_standard(group: object) -> object:
    if not isinstance(group, Mapping):
        return group
    return {key: value for key, value in group.items() if key != "standard"}


def own_feed_keys(own: Path | CsvTable | None) -> frozenset[str]:
    """Keys of a farm's own feed table; none where it cannot be read, which is told elsewhere."""
    if isinstance(own, Path) and not own.is_file():
        return frozenset()
    try:
        table = read_rows(own) if isinstance(own, Path) else own
    except InputError:
        return frozenset()
    rows = () if table is None else table.rows
    return frozenset(row.cells.get("key", "") for row in rows)


def is_workbook(path: Path) -> bool:
    """Whether a farm's path names a workbook and not a folder."""
    return path.suffix.lower() == ".xlsx" and not path.is_dir()


def raw_tables(folder: Path) -> tuple[Mapping[str, Any], tuple[Finding, ...]]:
    """The tables of farm.toml as they stand, and notices. Raises InputError."""
    path = _farm_file(folder)
    text, notices = read_text(path)
    try:
        return tomllib.loads(text), notices
    except RecursionError as trouble:
        remedy = "write each table and list on its own, as the example farm does"
        problem = "lists or tables nested too deeply"
        raise refused("IN104", path.name, problem, remedy) from trouble
    except ValueError as trouble:
        reason = "a number with too many digits"
        if isinstance(trouble, tomllib.TOMLDecodeError):
            reason = str(trouble)
        problem = f"not readable as TOML: {reason}"
        remedy = _toml_remedy(text, reason)
        raise refused("IN104", path.name, problem, remedy) from trouble


_LINE = re.compile(r"\(at line (\d+)")
_DAY_FIRST = re.compile(r"=\s*[\"']?(\d{1,2})[./-](\d{1,2})[./-](\d{4})\b")
_DAY_LAST = re.compile(r"=\s*(\d{4})[./](\d{1,2})[./](\d{1,2})\b")
_UNPADDED = re.compile(r"=\s*(\d{4})-(\d{1,2})-(\d{1,2})\b")
_BARE_TEXT = re.compile(r"=\s*([A-Za-z][^#\"']*)")
_DECIMAL_COMMA = re.compile(r"=\s*(\d+),(\d+)\s*(#|$)")


def _toml_remedy(text: str, trouble: str) -> str:
    """What to do about a line that is no TOML: dates, texts without quotes, decimal commas."""
    number = _LINE.search(trouble)
    lines = text.splitlines()
    line = ""
    if number and int(number[1]) <= len(lines):
        line = lines[int(number[1]) - 1]
    if match := _DAY_FIRST.search(line):
        return _date_remedy(match[3], match[2], match[1])
    if match := _DAY_LAST.search(line) or _UNPADDED.search(line):
        return _date_remedy(match[1], match[2], match[3])
    if match := _DECIMAL_COMMA.search(line):
        return f"numbers have decimal points: write {match[1]}.{match[2]}"
    bare = _BARE_TEXT.search(line)
    if bare and bare[1].strip() not in ("true", "false"):
        return f'put the text in quotation marks: "{bare[1].strip()}"'
    return "check that line: texts and not numbers in quotation marks, decimal points, one key once"


def _date_remedy(year: str, month: str, day: str) -> str:
    if int(month) > 12:
        month, day = day, month
    return f"write the date year first, without quotation marks: {year}-{month:0>2}-{day:0>2}"


def _farm_file(folder: Path) -> Path:
    """The path of farm.toml. Raises InputError where there is no folder, or none that holds it."""
    path = folder / "farm.toml"
    faults = Faults(str(folder))
    begin = "`rationlp new FOLDER` writes a farm to begin with"
    try:
        there, is_folder, has_file = folder.exists(), folder.is_dir(), path.exists()
    except OSError as trouble:
        problem = f"the folder cannot be looked into: {trouble.strerror or 'the system refused'}"
        faults.add("IN202", problem, "check the path and its permissions")
        raise InputError(faults.findings) from trouble
    if not there:
        faults.add("IN101", "no such folder", begin)
    elif not is_folder:
        remedy = "give the folder's path, or a workbook that ends in .xlsx"
        faults.add("IN102", "a file where a farm folder was expected", remedy)
    elif not has_file:
        faults.add("IN103", "no farm.toml in this folder", f"name the farm's file so; {begin}")
    faults.refuse()
    return path


def beside(farm: Path, name: str) -> Path:
    """Where a file about a farm is: in its folder, or beside its workbook, named after it."""
    if is_workbook(farm):
        return farm.with_name(f"{farm.stem}-{name}")
    return farm / name
