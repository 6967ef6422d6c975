"""Where the feed tables and the example farms are: in the checkout, else inside the package."""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping
from dataclasses import fields
from pathlib import Path
from typing import Any, TypeVar

from rationlp.records import dataclass

Record = TypeVar("Record")
_PACKAGE = Path(__file__).resolve().parent


def _data_folder(name: str) -> Path:
    """The checkout wins: an editable install can leave a stale packaged copy beside the code."""
    checkout = _PACKAGE.parent
    beside = checkout / name
    if (checkout / "pyproject.toml").is_file() and beside.is_dir():
        return beside
    return _PACKAGE / f"_{name}"


def feeds_folder() -> Path:
    """Folder of the feed tables (CSV files)."""
    return _data_folder("feeds")


def examples_folder() -> Path:
    """Folder of the example farms, one folder a farm."""
    return _data_folder("examples")


def number_in(cell: str, scale: float = 1.0) -> float | None:
    """The number of a cell times a scale, None for a blank."""
    if not cell:
        return None
    return float(cell) * scale


def packaged_rows(name: str) -> list[dict[str, str]]:
    """The rows of one of our own tables in the folder of the feed tables, each by heading.

    What is shipped is checked once, by the tests, and read here without the care that a farm's own
    files need.
    """
    return rows_of(feeds_folder() / name)


def rows_of(path: Path) -> list[dict[str, str]]:
    """The rows of any CSV of our own, each by heading."""
    with path.open(encoding="utf-8", newline="") as handle:
        reader = csv.reader(handle)
        headings = next(reader)
        return [dict(zip(headings, row, strict=True)) for row in reader]


_READ: dict[str, Callable[[str], object]] = {
    "str": str,
    "int": int,
    "float": float,
    "float | None": number_in,
    "bool": lambda cell: cell == "yes",
    "frozenset[str]": lambda cell: frozenset(cell.split()),
}
"""How the cell of a field is read, by the field's type."""


def as_record(record: type[Record], row: Mapping[str, str], **given: object) -> Record:
    """A row as a record: each field that is not given is the cell under its name."""
    made: Any = record
    names = {field.name: str(field.type) for field in fields(made) if field.name not in given}
    return record(**{name: _READ[kind](row[name]) for name, kind in names.items()}, **given)


@dataclass(frozen=True)
class SourcedFigure:
    """A figure of one of our own tables with its unit, status (a, b or c) and source in words."""

    value: float
    unit: str
    status: str
    source: str
