"""Spreads, correlations and prices by stage from feeds/winter-chances.csv."""

from __future__ import annotations

from functools import lru_cache

from rationlp.folders import as_record, packaged_rows
from rationlp.records import dataclass


@dataclass(frozen=True)
class ChanceRow:
    """A figure with its unit, whence it is and how sure."""

    id: str
    figure: str
    value: float
    unit: str
    remark: str
    status: str
    source: str


@lru_cache(maxsize=1)
def chance_rows() -> dict[str, ChanceRow]:
    """Every row of feeds/winter-chances.csv by id. Not to be changed by the caller."""
    return {row["id"]: as_record(ChanceRow, row) for row in packaged_rows("winter-chances.csv")}


def figure(name: str) -> float:
    """The value of a row by its id, in the unit of the row."""
    return chance_rows()[name].value
