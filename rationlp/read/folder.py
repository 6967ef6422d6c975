"""Where a farm comes from: a folder's farm.toml or a workbook as raw tables, before anything in
them is judged; and the overrides that a question applies to the files beside it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rationlp.csvfile import read_text
from rationlp.errors import Faults, Finding, InputError, Spelling, Step, spelt
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
    """A farm before its check: path of the folder or workbook, raw tables as of farm.toml, the
    workbook (None for a folder).
    """

    path: Path
    raw: Mapping[str, Any]
    notices: tuple[Finding, ...] = ()
    book: Book | None = None

    def spelling(self, raw: Mapping[str, Any]) -> Spelling:
        """How places of the raw tables are shown to a person."""
        return TomlSpelling(raw) if self.book is None else self.book.places


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
    if not is_workbook(path):
        return Source(path, *raw_tables(path))
    from rationlp.read.workbook import read_workbook

    book = read_workbook(path)
    return Source(path, book.raw, tuple(book.faults.notices), book)


def is_workbook(path: Path) -> bool:
    """Whether a farm's path names a workbook and not a folder."""
    return path.suffix.lower() == ".xlsx" and not path.is_dir()


def raw_tables(folder: Path) -> tuple[Mapping[str, Any], tuple[Finding, ...]]:
    """The tables of farm.toml as they stand, and what was noticed about the file. Raises InputError
    where it cannot be read.
    """
    path = _farm_file(folder)
    text, notices = read_text(path)
    try:
        return tomllib.loads(text), notices
    except RecursionError as trouble:
        remedy = "write each table and list on its own, as the example farm does"
        found = "lists or tables nested too deeply"
        raise InputError([Finding("IN104", path.name, found, remedy)]) from trouble
    except ValueError as trouble:
        reason = "a number with too many digits"
        if isinstance(trouble, tomllib.TOMLDecodeError):
            reason = str(trouble)
        found = f"not readable as TOML: {reason}"
        remedy = (
            "check that line: texts and not numbers in quotation marks, decimal points, one key"
            " once"
        )
        raise InputError([Finding("IN104", path.name, found, remedy)]) from trouble


def _farm_file(folder: Path) -> Path:
    """The path of farm.toml. Raises InputError where the folder is none, cannot be looked into, or
    does not hold it.
    """
    path = folder / "farm.toml"
    here = Faults(str(folder))
    begin = "`rationlp new FOLDER` writes a farm to begin with"
    try:
        there, is_folder, has_file = folder.exists(), folder.is_dir(), path.exists()
    except OSError as trouble:
        found = f"the folder cannot be looked into: {trouble.strerror or 'the system refused'}"
        here.add("IN202", found, "check the path and its permissions")
        raise InputError(here.findings) from trouble
    if not there:
        here.add("IN101", "no such folder", begin)
    elif not is_folder:
        remedy = "give the folder's path, or a workbook that ends in .xlsx"
        here.add("IN102", "a file where a farm folder was expected", remedy)
    elif not has_file:
        here.add("IN103", "no farm.toml in this folder", f"name the farm's file so; {begin}")
    here.refuse()
    return path


def beside(farm: Path, name: str) -> Path:
    """Where a file about a farm is: in its folder, or beside its workbook with the workbook's name
    before its own.
    """
    return farm.with_name(f"{farm.stem}-{name}") if is_workbook(farm) else farm / name
