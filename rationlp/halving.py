"""Where something that holds at one end of a bracket stops holding, by halving."""

from __future__ import annotations

from collections.abc import Callable


def halve(
    holds: Callable[[float], bool],
    inside: float,
    outside: float,
    step: float = 0.0,
    times: int = 200,
) -> tuple[float, float]:
    """The bracket (a place where it holds, one where it does not) made no wider than `step`, in at
    most `times` halvings. inside, outside: where it is known to hold, and not; either may be the
    larger.
    """
    for _ in range(times):
        if abs(outside - inside) <= step:
            break
        middle = 0.5 * (inside + outside)
        if holds(middle):
            inside = middle
        else:
            outside = middle
    return inside, outside


def turn(
    holds: Callable[[float], bool], inside: float, outside: float, step: float, times: int = 200
) -> float:
    """Where it turns: the middle of that bracket."""
    return 0.5 * sum(halve(holds, inside, outside, step, times))


def halve_whole(holds: Callable[[int], bool], inside: int, outside: int) -> tuple[int, int]:
    """The same over whole numbers: two neighbours."""
    while abs(outside - inside) > 1:
        middle = (inside + outside) // 2
        if holds(middle):
            inside = middle
        else:
            outside = middle
    return inside, outside
