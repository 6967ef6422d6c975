"""Small files that would fill the memory once they are read as a workbook: judged by their parts
before any of them is read.

The library that reads workbooks makes an object of every cell that is merged or linked, whether
anything stands there or not: one line over the whole sheet is seventeen thousand million of them.
"""

from __future__ import annotations

import re
from typing import IO
from xml.parsers import expat
from zipfile import ZipFile

from rationlp.errors import InputError, refused

MOST_ELEMENTS = 1_000_000
"""Elements in all parts together; a farm's workbook of ten sheets has some ten thousand."""
MOST_AREA = 100_000
"""Cells under merges and links together; 2000 rows of fifty columns."""
_AREA = re.compile(r"\$?([A-Za-z]{1,3})\$?([0-9]{1,7})(?::\$?([A-Za-z]{1,3})\$?([0-9]{1,7}))?")
_SPREAD_OUT = frozenset({"mergeCell", "hyperlink"})


class _Count:
    """What the parts of a workbook come to. Raises InputError (IN702) where it is too much."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.elements = 0
        self.area = 0

    def begin(self, tag: str, attributes: dict[str, str]) -> None:
        self.elements += 1
        if self.elements > MOST_ELEMENTS:
            raise self._too_much(f"more than {MOST_ELEMENTS} cells and other parts")
        if tag.rpartition(" ")[2] in _SPREAD_OUT:
            self.area += _cells_of(attributes.get("ref", ""))
            if self.area > MOST_AREA:
                raise self._too_much(f"merged cells or links over more than {MOST_AREA} cells")

    def _too_much(self, problem: str) -> InputError:
        remedy = (
            "check that it is the right file; undo merges and links, and keep only the sheets of"
            " the farm in it"
        )
        return refused("IN702", self.name, problem, remedy)


def refuse_bombs(name: str, whole: IO[bytes]) -> None:
    """Raises InputError (IN702) for a workbook with more cells or merges than any farm has."""
    count = _Count(name)
    with ZipFile(whole) as packed:
        for part in packed.infolist():
            with packed.open(part) as text:
                _count_part(text, count)
    whole.seek(0)


def _count_part(text: IO[bytes], count: _Count) -> None:
    """Count the elements of a part; a part that is no XML, such as a picture, has none."""
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartElementHandler = count.begin
    try:
        parser.ParseFile(text)
    except expat.ExpatError:
        return


def _cells_of(ref: str) -> int:
    """How many cells a range such as A1:C4 has; 0 for what is none."""
    range_ = _AREA.fullmatch(ref)
    if range_ is None:
        return 0
    left, top, right, bottom = range_.groups()
    columns = _number(right or left) - _number(left)
    rows = int(bottom or top) - int(top)
    return (abs(columns) + 1) * (abs(rows) + 1)


def _number(letters: str) -> int:
    number = 0
    for letter in letters.upper():
        number = number * 26 + ord(letter) - 64
    return number
