"""The proven lower bound of one block: split the interval of D until the best answer and the bound
agree.

Every interval has a programme that asks no adequate ration for too much; its dual objective,
evaluated from our own numbers, bounds the cost of every ration whose D lies there. The least of
these bounds over a cover of the whole interval bounds the cost of every ration.
"""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from math import inf

from rationlp.model.answer import Answer
from rationlp.model.proof import dual_bound
from rationlp.model.search import BlockModel
from rationlp.records import dataclass

GAP_TARGET = 5e-5
"""Relative gap at which splitting stops [-]; 0.01 % is promised."""

MOST_LPS = 400


@dataclass(frozen=True)
class Bound:
    """best: the cheapest adequate answer seen, or None. lower_bound: no ration costs less
    [currency/head/day], inf when the programme has no solution on any interval: then no ration
    exists at the level of feeding held.
    """

    best: Answer | None
    lower_bound: float
    lps: int


def close_enough(
    cost: float, lower_bound: float, target: float = GAP_TARGET, unit: float = 1.0
) -> bool:
    """The gap is within `target` of the cost; costs below a thousandth of the unit of money
    [currency] count as one.

    No bound is close to an infinite cost, that of no ration.
    """
    return cost < inf and cost - lower_bound <= target * max(abs(cost), 1e-3 * unit)


def cost_of(answer: Answer) -> float:
    """What an answer costs, to be compared."""
    return answer.objective


def _bounded(model: BlockModel, low: float, high: float) -> tuple[float, Answer] | None:
    answer = model.bound(low, high)
    if answer is None:
        return None
    return dual_bound(model.live.numbers_now(), answer.solution.row_duals), answer


_Span = tuple[float, int, float, float, float]
"""Bound, order, low and high of an interval of D, and the D of its bounding answer."""


def _split(model: BlockModel, low: float, high: float, at: float) -> float:
    """Split at the bounding answer's D, where the chord becomes exact; near an end elsewhere."""
    assert model.curve is not None
    margin = 0.02 * (high - low)
    if low + margin < at < high - margin:
        return at
    return model.curve.furthest(low, high)


def _cover(model: BlockModel, within: Sequence[tuple[float, float]]) -> list[_Span]:
    """Intervals of D with their bounds, as a heap; those without an answer hold no ration."""
    heap: list[_Span] = []
    for low, high in within:
        found = _bounded(model, low, high)
        if found is not None:
            heap.append((found[0], len(heap), low, high, found[1].dm_kg))
    heapq.heapify(heap)
    return heap


def prove(
    model: BlockModel,
    best: Answer | None,
    most_lps: int = MOST_LPS,
    improve: bool = True,
    within: Sequence[tuple[float, float]] | None = None,
) -> Bound:
    """Split and bound until the gap is closed or `most_lps` programmes are solved.

    With `improve`, each half that could hold something cheaper is searched from its own bounding
    answer. within: intervals of D [kg DM] to be bounded in place of the whole.
    """
    assert model.curve is not None
    first = model.live.solves
    model.allow_shortage(False)
    heap = _cover(model, within or ((model.curve.low, model.curve.high),))
    if not heap:
        return Bound(best, inf, model.live.solves - first)
    settled_bound = inf
    walked: list[tuple[float, ...]] = []
    count = len(heap)
    while heap and model.live.solves - first < most_lps:
        cost = inf if best is None else best.objective
        if close_enough(cost, heap[0][0], unit=model.live.unit):
            break
        least, _, low, high, at = heapq.heappop(heap)
        middle = _split(model, low, high, at)
        if high - low <= 1e-9 * model.curve.high:
            settled_bound = min(settled_bound, least)
            continue
        for a, b in ((low, middle), (middle, high)):
            half = _bounded(model, a, b)
            if half is None:
                continue
            count += 1
            heapq.heappush(heap, (half[0], count, a, b, half[1].dm_kg))
            if improve and half[0] < (inf if best is None else best.objective):
                # A bent curve has tighter safe rows on the half itself; a concave one gains nothing
                # from being shut in.
                if model.curve.bends:
                    answer = model.settle(half[1].dm, within=(a, b))
                else:
                    answer = model.settle(half[1].dm, walked)
                if answer is not None and answer.adequate:
                    best = answer if best is None else min(best, answer, key=cost_of)
    lower = min(settled_bound, heap[0][0] if heap else inf)
    if best is not None:
        lower = min(lower, best.objective)
    return Bound(best, lower, model.live.solves - first)
