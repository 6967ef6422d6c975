"""The corners between two goals: least cost, and least of something else that each choice brings.

V(w) = least (cost + w · amount) is concave in the weight w whatever may be chosen from, as a least
of straight lines. Solve at two weights; where V at the weight at which both answers count for the
same, w = (cost_B − cost_A)/(amount_A − amount_B), lies below, its answer is a new corner and both
halves are looked at; else there is none between. p corners take 2p − 1 solves. With a proven lower
bound of V at every weight, no choice of a given amount costs less than the highest of
bound(w) − w · amount. Choices above the straight line between two corners may exist too (rations
are not quite convex); none lies below it.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence
from math import inf
from typing import Generic, TypeVar

from rationlp.records import dataclass

T = TypeVar("T")
MOST_CORNERS = 60
_SAME_AMOUNT = 1e-7
"""Amounts that differ by less are the same [share of the largest]."""
_STEP = 10.0
_MOST_STEPS = 7


@dataclass(frozen=True)
class Place(Generic[T]):
    """The answer at a weight [currency a unit]. cost: without the weight's share. lower_bound:
    nothing has less cost + weight · amount. answer: what was chosen.
    """

    weight: float
    cost: float
    amount: float
    lower_bound: float
    answer: T

    def at(self, weight: float) -> float:
        """What this choice counts for at another weight."""
        return self.cost + weight * self.amount


@dataclass(frozen=True)
class Frontier(Generic[T]):
    """corners: from the least cost to the least amount. places: all that was solved."""

    corners: tuple[Place[T], ...]
    places: tuple[Place[T], ...]

    def least_cost(self, amount: float) -> float:
        """No choice of so much or less costs less: the highest of the proven lines."""
        return max(
            (place.lower_bound - place.weight * amount for place in self.places), default=-inf
        )

    def joined(self, more: Iterable[Place[T]]) -> Frontier[T]:
        """The same with further places solved."""
        places = (*self.places, *more)
        return Frontier(_lowest(places, _same_as(places)), places)

    def gap(self, corner: Place[T]) -> float:
        """What a corner may cost above the least cost of its amount, at most."""
        return max(corner.cost - self.least_cost(corner.amount), 0.0)


def walk(solve: Callable[[float], Place[T] | None], scale: float, tolerance: float) -> Frontier[T]:
    """Every corner from the least cost to the least amount. scale: money below which costs count as
    the same size [currency]. tolerance: a corner is looked for no closer to the line between two
    others than this [share of the least cost].

    solve: the best choice at a weight, None where there is none; then there are no corners.
    """
    first = solve(0.0)
    if first is None:
        return Frontier((), ())
    size = max(abs(first.cost), scale)
    walker = _Walker(solve, tolerance * size, first)
    walker.out_to_the_least(size)
    known = sorted(walker.places, key=lambda place: place.weight)
    for left, right in itertools.pairwise(known):
        walker.between(left, right)
    return Frontier(_lowest(walker.places, walker.same), tuple(walker.places))


class _Walker(Generic[T]):
    """What was solved so far."""

    def __init__(
        self, solve: Callable[[float], Place[T] | None], tolerance: float, first: Place[T]
    ) -> None:
        self._solve, self._tolerance = solve, tolerance
        self.places = [first]
        self.same = _same_as(self.places)

    def solve(self, weight: float) -> Place[T] | None:
        place = self._solve(weight)
        if place is not None:
            self.places.append(place)
        return place

    def out_to_the_least(self, size: float) -> None:
        """Ever larger weights, until two of them leave the amount as it is."""
        amount = abs(self.places[0].amount)
        if amount <= self.same:
            return
        weight, still = _STEP * size / amount, 0
        for _ in range(_MOST_STEPS):
            before = self.places[-1]
            place = self.solve(weight)
            if place is None:
                return
            still = still + 1 if before.amount - place.amount <= self.same else 0
            if still == 2 or place.amount <= self.same:
                return
            weight *= _STEP

    def between(self, left: Place[T], right: Place[T]) -> None:
        """Corners between two, the left one of the larger amount."""
        less = left.amount - right.amount
        if less <= self.same or len(self.places) >= 2 * MOST_CORNERS:
            return
        weight = (right.cost - left.cost) / less
        if weight <= 0.0:
            return
        place = self.solve(weight)
        if place is None or place.at(weight) >= left.at(weight) - self._tolerance:
            return
        self.between(left, place)
        self.between(place, right)


def _same_as(places: Sequence[Place[T]]) -> float:
    """Amounts that differ by less are the same: of the first place, with a weight of nought."""
    return _SAME_AMOUNT * max(abs(places[0].amount), 1e-6)


def _lowest(places: Sequence[Place[T]], same: float) -> tuple[Place[T], ...]:
    """The places on the lower hull, from the least cost to the least amount."""
    hull: list[Place[T]] = []
    for place in sorted(places, key=lambda place: (place.cost, place.amount)):
        if hull and place.amount >= hull[-1].amount - same:
            continue
        while len(hull) > 1 and _price(hull[-1], place) <= _price(hull[-2], hull[-1]):
            hull.pop()
        hull.append(place)
    return tuple(hull)


def _price(left: Place[T], right: Place[T]) -> float:
    """What a unit less costs from one place to the next [currency]."""
    return (right.cost - left.cost) / (left.amount - right.amount)
