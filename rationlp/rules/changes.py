"""How fast a ration may change: thresholds and days by animal, from feeds/change-over.csv."""

from __future__ import annotations

from functools import lru_cache

from rationlp.folders import packaged_rows
from rationlp.records import dataclass

ALL = "all"


@dataclass(frozen=True)
class ChangeFigure:
    """A figure of changing over with its unit, status (a, b or c) and source in words."""

    value: float
    unit: str
    status: str
    source: str


@lru_cache(maxsize=1)
def _figures() -> dict[tuple[str, str], ChangeFigure]:
    return {
        (row["animals"], row["figure"]): ChangeFigure(
            float(row["value"]), row["unit"], row["status"], row["source"]
        )
        for row in packaged_rows("change-over.csv")
    }


def change_figure(animals: str, figure: str) -> ChangeFigure | None:
    """A figure for `cattle`, `sheep` or (for animals of no known kind) `all`; None where there is
    none.

    Figures of `all` hold for every kind of animal that has none of its own.
    """
    return _figures().get((animals, figure)) or _figures().get((ALL, figure))
