"""Where a farm comes from: a folder's farm.toml or a workbook as raw tables, before anything in
them is judged; and what a question lays over the files beside it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rationlp.csvfile import read_text
from rationlp.errors import Finding, InputError
from rationlp.records import dataclass

if TYPE_CHECKING:
    from rationlp.read.workbook import Book


@dataclass(frozen=True)
class Source:
    """A farm as it was found: path of the folder or workbook, raw tables as of farm.toml, the
    workbook (None for a folder).
    """

    path: Path
    raw: Mapping[str, Any]
    notices: tuple[Finding, ...] = ()
    book: Book | None = None


@dataclass(frozen=True)
class Over:
    """What a question lays over the files beside farm.toml.

    figures: of a store or bought feed by id, over its laboratory sheets. bought: keys of bought
    feeds by id that stand over prices.csv.
    """

    figures: Mapping[str, Mapping[str, float]]
    bought: Mapping[str, frozenset[str]]


def open_source(path: Path) -> Source:
    """A farm folder or workbook (.xlsx) as it stands. Raises InputError where it cannot be read."""
    if not is_workbook(path):
        return Source(path, *raw_tables(path))
    from rationlp.read.workbook import read_workbook

    book = read_workbook(path)
    return Source(path, book.raw, tuple(book.notices), book)


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
        raise InputError(
            [Finding("IN104", path.name, "lists or tables nested too deeply", remedy)]
        ) from trouble
    except ValueError as trouble:
        said = (
            str(trouble)
            if isinstance(trouble, tomllib.TOMLDecodeError)
            else "a number with too many digits"
        )
        remedy = (
            "check that line: texts and not numbers in quotation marks, decimal points, one key"
            " once"
        )
        raise InputError(
            [Finding("IN104", path.name, f"not readable as TOML: {said}", remedy)]
        ) from trouble


def _farm_file(folder: Path) -> Path:
    """The path of farm.toml. Raises InputError where the folder is none, cannot be looked into, or
    does not hold it.
    """
    name = str(folder)
    path = folder / "farm.toml"
    try:
        there, is_folder, held = folder.exists(), folder.is_dir(), path.exists()
    except OSError as trouble:
        found = f"the folder cannot be looked into: {trouble.strerror or 'the system refused'}"
        raise InputError(
            [Finding("IN202", name, found, "check the path and its permissions")]
        ) from trouble
    if not there:
        raise InputError(
            [
                Finding(
                    "IN101",
                    name,
                    "no such folder",
                    "`rationlp new FOLDER` writes a farm to begin with",
                )
            ]
        )
    if not is_folder:
        raise InputError(
            [
                Finding(
                    "IN102",
                    name,
                    "a file where a farm folder was expected",
                    "give the folder's path, or a workbook that ends in .xlsx",
                )
            ]
        )
    if not held:
        remedy = (
            "put the farm in a file of this name; `rationlp new FOLDER` writes one to begin with"
        )
        raise InputError([Finding("IN103", name, "no farm.toml in this folder", remedy)])
    return path


def beside(farm: Path, name: str) -> Path:
    """Where a file about a farm is: in its folder, or beside its workbook with the workbook's name
    before its own.
    """
    return farm.with_name(f"{farm.stem}-{name}") if is_workbook(farm) else farm / name
