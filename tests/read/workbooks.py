"""Workbooks for the tests: one filled with an example, spoilt by hand, and a farm without the
places of its figures.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from openpyxl import Workbook, load_workbook

from rationlp.farm.farm import Farm
from rationlp.folders import examples_folder
from rationlp.report.workbook_form import write_farm_workbook

Spoil = Callable[[Workbook], object]


@cache
def written(example: str) -> bytes:
    """A workbook filled with an example."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "farm.xlsx"
        write_farm_workbook(path, examples_folder() / example)
        return path.read_bytes()


def filled(folder: Path, spoil: Spoil | None = None, example: str = "dairy") -> Path:
    """A workbook filled with an example, then changed by `spoil` through openpyxl and saved."""
    path = folder / "farm.xlsx"
    path.write_bytes(written(example))
    if spoil is not None:
        book = load_workbook(path)
        spoil(book)
        book.save(path)
    return path


def cell_of(book: Workbook, sheet: str, key: str, row: int) -> str:
    """The coordinate of a cell by heading and row, headings in row 2."""
    for cell in book[sheet][2]:
        if cell.value == key:
            return f"{cell.column_letter}{row}"
    raise KeyError(key)


def put(sheet: str, key: str, row: int, value: object) -> Spoil:
    """A change that puts a value under a heading."""

    def change(book: Workbook) -> None:
        book[sheet][cell_of(book, sheet, key, row)] = value

    return change


def without_places(farm: Farm) -> Farm:
    """A farm without where its figures stand: what must be the same from a folder and from a
    workbook.
    """
    offers = []
    for offer in farm.offers:
        figures = {name: replace(one, source="") for name, one in offer.feed.figures.items()}
        offers.append(replace(offer, feed=replace(offer.feed, figures=figures)))
    notices = tuple(replace(notice, where="") for notice in farm.notices)
    own = {name: replace(one, source="") for name, one in farm.own_quantities.items()}
    return replace(
        farm, place="", offers=tuple(offers), notices=notices, own_quantities=own, feeds={}
    )
