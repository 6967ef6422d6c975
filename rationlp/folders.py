"""Where the feed tables and the example farms are: in the checkout first, else inside the installed package."""

from __future__ import annotations

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
