"""Where a curve of least cost turns: other feeds in the ration, or other limits that press."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence

from rationlp.records import dataclass

Basis = tuple[frozenset[str], frozenset[str]]
"""Feeds in the ration, and limits and needs that carry a price."""
NO_BASIS: Basis = (frozenset(), frozenset())
_MOST_DEPTH = 60
_KINK_WIDTH = 1e-4
_KINK = 1e-7
_MOST_MIDDLES = 4


@dataclass(frozen=True)
class Reading:
    """The curve at one place: cost and basis."""

    at: float
    cost: float
    basis: Basis


@dataclass(frozen=True)
class Turn:
    """A breakpoint, with the basis on both sides of it."""

    at: float
    before: Basis
    after: Basis


def find_turns(
    ask: Callable[[float], Reading], places: Sequence[float], step: float, tolerance: float
) -> tuple[list[Turn], list[float]]:
    """The breakpoints within the range of `places` to `step`, and the places to draw the curve
    through so that a straight line between neighbours (breakpoints included) is within `tolerance`
    of the cost in the middle.

    places: rising; a stretch between two of them whose ends share their basis is taken to be free
    of breakpoints.
    """
    readings_at: dict[float, Reading] = {}

    def read(at: float) -> Reading:
        if at not in readings_at:
            readings_at[at] = ask(at)
        return readings_at[at]

    readings = [read(place) for place in places]
    turns: list[Turn] = []
    for a, b in itertools.pairwise(readings):
        for turn in _between(read, a, b, step, _MOST_DEPTH):
            if turns and turn.at - turns[-1].at <= 2.0 * step:
                turns[-1] = Turn(turns[-1].at, turns[-1].before, turn.after)
            else:
                turns.append(turn)
    turns = [t for t in turns if t.before[0] != t.after[0] or _kinked(read, t.at, places)]
    drawn = {places[0], places[-1]}
    knots = sorted({*drawn, *(turn.at for turn in turns)})
    for left, right in itertools.pairwise(knots):
        drawn |= set(_middles(read, (left, right), tolerance, _MOST_MIDDLES))
    return turns, sorted(drawn)


def _between(
    read: Callable[[float], Reading], a: Reading, b: Reading, step: float, depth: int
) -> list[Turn]:
    """Breakpoints between two readings, by halving wherever the bases differ."""
    if a.basis == b.basis:
        return []
    if b.at - a.at <= step or depth == 0:
        return [Turn(0.5 * (a.at + b.at), a.basis, b.basis)]
    middle = read(0.5 * (a.at + b.at))
    before = _between(read, a, middle, step, depth - 1)
    return before + _between(read, middle, b, step, depth - 1)


def _kinked(read: Callable[[float], Reading], at: float, places: Sequence[float]) -> bool:
    """Whether the slope changes where only limits do: two that coincide may take turns."""
    width = _KINK_WIDTH * (places[-1] - places[0])
    low, high = max(at - width, places[0]), min(at + width, places[-1])
    if high - low < 2.0 * width * (1.0 - 1e-6):
        return True
    left, middle, right = (read(place).cost for place in (low, at, high))
    return abs(left + right - 2.0 * middle) > _KINK * max(abs(middle), 1e-3)


def _middles(
    read: Callable[[float], Reading], ends: tuple[float, float], tolerance: float, depth: int
) -> list[float]:
    """Places to add between two ends until the curve is straight enough between neighbours."""
    low, high = ends
    if depth == 0 or high - low <= 1e-3:
        return []
    middle = 0.5 * (low + high)
    left, centre, right = (read(place).cost for place in (low, middle, high))
    if abs(centre - 0.5 * (left + right)) <= tolerance * max(abs(centre), 1e-3):
        return []
    before = _middles(read, (low, middle), tolerance, depth - 1)
    return [*before, middle, *_middles(read, (middle, high), tolerance, depth - 1)]
