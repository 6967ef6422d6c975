"""A linear programme as plain data: columns, rows, programme. The solver stands behind `solve.py`
and nowhere else.

Keys are tuples of words, the kind first: `("feed", "pit1", "high", "day")`. A row or column that is
not unique, or a coefficient that is not a finite number, is refused here, before any solver sees
it.
"""

from __future__ import annotations

from functools import cached_property
from math import inf, isfinite

from rationlp.records import dataclass

Key = tuple[str, ...]


@dataclass(frozen=True)
class Column:
    """A variable. cost: objective coefficient per unit. low, high: bounds. unit: of the variable.
    title: in farm words. integer: a whole number.
    """

    key: Key
    cost: float = 0.0
    low: float = 0.0
    high: float = inf
    unit: str = ""
    title: str = ""
    integer: bool = False


@dataclass(frozen=True)
class Words:
    """How a row is told to a farmer, as far as its title, unit and bounds do not say it."""

    bound: str = ""
    """Its bound, after "at least" or "at most"; where empty, the figure of the row."""
    of: str = ""
    """What is limited, after the figure of its bound; where empty, the title."""
    need: str = ""
    """A need as one thing ("its energy"), told without a bound."""
    whole: str = ""
    """What it is without its bound, which may differ from day to day; where empty, the title."""
    unit: str = ""
    """Of what its marginal value is told for; where empty, the row's own."""
    per: float = 1.0
    """Units of the row in that unit [-], for a share of the diet of a ration of 1 kg DM."""
    of_diet: bool = False
    """A share of the diet: what it costs goes with the dry matter eaten."""
    part_of: str = ""
    """The whole need that clashes as one: `energy` or `protein`."""
    order: int = 7
    """Place in a clash: what a person would rather hear of comes first."""
    tangent: bool = False
    """One of the tangents of a curve, which are one limit: more appetite moves them all."""
    silent: bool = False
    """Not told as a reason: it only fixes what is said elsewhere."""


PLAIN = Words()


@dataclass(frozen=True)
class Row:
    """low ≤ Σ coefs·columns ≤ high.

    kind: `need` (what the animal must get), `limit` (what the ration may hold), `definition` (names
    a sum), `ceiling` or `priced` (it carries its own priced way out, so it never makes a programme
    infeasible). unit: of the row's sum. why: whose rule it is, in words. title: in farm words.
    family: of the register of rows that it belongs to.
    """

    key: Key
    coefs: dict[Key, float]
    low: float = -inf
    high: float = inf
    kind: str = "limit"
    unit: str = ""
    title: str = ""
    why: str = ""
    words: Words = PLAIN
    family: str = ""

    def of_family(self, family: str) -> Row:
        """A row that was just made, told the family that made it."""
        vars(self)["family"] = family
        return self

    @property
    def size(self) -> float:
        """Its largest coefficient."""
        return max((abs(value) for value in self.coefs.values()), default=1.0)


def at_most(
    key: Key, coefs: dict[Key, float], high: float, unit: str, title: str, why: str,
    words: Words = PLAIN, kind: str = "limit",
) -> Row:  # fmt: skip
    """A limit: Σ coefs·columns ≤ high."""
    return Row(key, coefs, -inf, high, kind, unit, title, why, words)


def at_least(
    key: Key, coefs: dict[Key, float], low: float, unit: str, title: str, why: str,
    words: Words = PLAIN, kind: str = "limit",
) -> Row:  # fmt: skip
    """A limit or need: Σ coefs·columns ≥ low."""
    return Row(key, coefs, low, inf, kind, unit, title, why, words)


@dataclass(frozen=True)
class Program:
    """A minimisation. Raises ValueError for a key twice, unknown columns, figures not finite.

    checked: its columns and rows stand in other programmes, where they were looked at.
    """

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    checked: bool = False

    @cached_property
    def column_index(self) -> dict[Key, int]:
        """The number of each column. Not to be changed by the caller."""
        return _index([column.key for column in self.columns])

    @cached_property
    def row_index(self) -> dict[Key, int]:
        """The number of each row. Not to be changed by the caller."""
        return _index([row.key for row in self.rows])

    def __post_init__(self) -> None:
        known, _ = self.column_index, self.row_index  # making them finds a key that stands twice
        if self.checked:
            return
        for column in self.columns:
            _check_bounds(column.key, column.low, column.high)
            if not isfinite(column.cost):
                raise ValueError(f"the cost of {column.key} is not a finite number")
        for row in self.rows:
            check_row(row, known)


def _index(keys: list[Key]) -> dict[Key, int]:
    index = {key: number for number, key in enumerate(keys)}
    if len(index) != len(keys):
        twice = next(key for key in keys if keys.count(key) > 1)
        raise ValueError(f"{twice} stands twice in the model")
    return index


def _check_bounds(key: Key, low: float, high: float) -> None:
    if not (low < inf and high > -inf):
        raise ValueError(f"the bounds of {key} are no bounds: {low} to {high}")


def check_row(row: Row, column_index: dict[Key, int]) -> None:
    """Raise ValueError when a row names an unknown column or holds a number that is not finite."""
    _check_bounds(row.key, row.low, row.high)
    # A sum is finite where all of it is, and quicker than asking one by one.
    if row.coefs.keys() <= column_index.keys() and isfinite(sum(row.coefs.values())):
        return
    for key, coefficient in row.coefs.items():
        if key not in column_index:
            raise ValueError(f"row {row.key} names the unknown column {key}")
        if not isfinite(coefficient):
            raise ValueError(f"row {row.key} holds {coefficient} for {key}")
