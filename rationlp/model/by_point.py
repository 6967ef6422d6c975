"""The cheapest ration of a block whose rows move with the whole ration (NRC 2001): tangents from
several starts, and boxes that bound every ration from below.

A search by tangents comes to rest where no small change is cheaper; another place may be. So it
begins where the bounding programme of each box would feed, and ends when no box can hold anything
cheaper by more than the gap.
"""

from __future__ import annotations

import heapq
from math import inf

from rationlp.model.answer import Answer
from rationlp.model.bound import close_enough
from rationlp.model.box import Box
from rationlp.model.boxes import Boxes
from rationlp.model.cheapest import AtQ, Cheapest, cheaper
from rationlp.model.points import Point, plain_point, point_at
from rationlp.model.search import BlockModel
from rationlp.model.solution import Solution
from rationlp.needs.energy import GE_MJ_PER_KG_DM

GAP_TARGET = 2e-4
"""Relative gap at which splitting stops [-]."""
MOST_LPS = 800
PROMISED_GAP = 2e-3
"""Gap that is promised where rows move with the whole ration [share of the cost]: most are closed
to 0.02 %, but a curved optimum takes ever more boxes.
"""
MOST_STARTS = 12
"""Boxes from which a search by tangents begins; later ones only bound."""
NEAR_STARTS, NEAR_GAP = 3, 1e-3
"""The same of a ration of which a near one is known; the gap at which splitting stops where a bound
is only told in per cent [-].
"""
_NARROWEST = 1e-6


def begin_at(model: BlockModel, point: Point | None = None) -> Answer | None:
    """Settle by tangents from a point, or from a middling ration; the answer where it is adequate,
    its rows left touching there.
    """
    first = point or _middling(model)
    model.hold_level(0, first)
    answer = model.settle((first.totals.dm_kg,))
    if answer is None or not answer.adequate:
        return None
    return answer


def _middling(model: BlockModel) -> Point:
    assert model.curve is not None
    return plain_point(model.block, 0.9 * model.curve.high)


def point_of(model: BlockModel) -> Point | None:
    """Where the model's rows touch."""
    held = model.levels[0][0]
    if isinstance(held, Point):
        return held
    return None


def search_points(
    model: BlockModel,
    cost: float,
    most_lps: int = MOST_LPS,
    gap: float = GAP_TARGET,
    boxes: type[Boxes] = Boxes,
    starts: int = MOST_STARTS,
    first: AtQ | None = None,
) -> Cheapest:
    """Split and bound over boxes until nothing can be cheaper than the best ration by more than the
    gap, or `most_lps` are solved; cost: of the best ration known so far [currency/head/day];
    starts: boxes from whose answers a search by tangents begins; first: a ration settled before.
    """
    model.allow_shortage(False)
    bounds = boxes(model)
    search = _Search(model, bounds, cost, starts)
    if first is not None:
        search.best, search.cost = first, first.answer.objective
    for root in bounds.roots():
        search.look_at(root)
    heap = search.heap
    while heap and bounds.live.solves < most_lps:
        if close_enough(search.cost, heap[0][0], gap, model.live.unit):
            break
        bound, _, box, solution = heapq.heappop(heap)
        dimension, at = bounds.where_to_split(box, solution)
        low, high = box.along(dimension)
        if high - low <= _NARROWEST:
            search.settled = min(search.settled, bound)
            continue
        for half in box.halves(dimension, at):
            search.look_at(half)
    model.live.solves += bounds.live.solves
    lower = min(search.settled, heap[0][0] if heap else inf)
    if search.best is not None and search.best.point is not None:
        model.hold_level(0, search.best.point)
    return Cheapest(search.best, lower)


def settled_from(model: BlockModel, point: Point | None) -> AtQ | None:
    """The ration that tangents from a point come to rest on; None without a point or an answer."""
    if point is None:
        return None
    answer, own = begin_at(model, point), point_of(model)
    if answer is None or own is None:
        return None
    return AtQ(answer.me_mj / answer.dm_kg / GE_MJ_PER_KG_DM, answer, own)


class _Search:
    """What a search over boxes has come upon: open boxes by their bound, the best ration."""

    def __init__(self, model: BlockModel, boxes: Boxes, cost: float, starts: int) -> None:
        self.model, self.boxes, self.cost, self.starts = model, boxes, cost, starts
        self.best: AtQ | None = None
        self.settled = inf
        self.heap: list[tuple[float, int, Box, Solution]] = []
        self._count = 0

    def look_at(self, box: Box) -> None:
        """Bound a box, and begin a search from its answer while few have begun."""
        bounded = self.boxes.bound(box)
        if bounded is None:
            return
        self._count += 1
        heapq.heappush(self.heap, (bounded[0], self._count, box, bounded[1]))
        if self.starts > 0 and cheaper(bounded[0], self.cost):
            self.starts -= 1
            self._begin(bounded[1])

    def _begin(self, solution: Solution) -> None:
        model, index = self.model, self.boxes.live.column_index
        kg = [max(solution.values[index[key]], 0.0) for key in model.block.feed_keys]
        found = settled_from(model, point_at(model.block, kg) or _middling(model))
        if found is not None and cheaper(found.answer.objective, self.cost):
            self.best, self.cost = found, found.answer.objective
