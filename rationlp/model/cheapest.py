"""The cheapest ration of a search over everything that its rows are held at, and its bound."""

from __future__ import annotations

from math import inf

from rationlp.model.answer import Answer
from rationlp.model.points import Point
from rationlp.records import dataclass

ROUNDING = 1e-6
"""Costs that differ by less are the same [share of the cost]."""


@dataclass(frozen=True)
class AtQ:
    """The cheapest ration of metabolisability q: adequate at its own need and level of feeding.
    point: where the rows touch that move with the whole ration, else None.
    """

    q: float
    answer: Answer
    point: Point | None = None


@dataclass(frozen=True)
class Cheapest:
    """best: the cheapest ration met on the way, None where none beat the cost to begin with.
    lower_bound: no ration costs less at any dry matter and any level of feeding
    [currency/head/day]; inf where no ration exists.
    """

    best: AtQ | None
    lower_bound: float


def cheaper(cost: float, other: float) -> bool:
    """A cost is less than another by more than the solver's rounding."""
    if other < inf:
        return cost < other - ROUNDING * abs(other)
    return cost < inf
