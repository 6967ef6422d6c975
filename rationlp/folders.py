"""Where the feed tables and the example farms are: in the checkout, else inside the package."""

from __future__ import annotations

import csv
from pathlib import Path

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
    with (feeds_folder() / name).open(encoding="utf-8", newline="") as handle:
        reader = csv.reader(handle)
        headings = next(reader)
        return [dict(zip(headings, row, strict=True)) for row in reader]
