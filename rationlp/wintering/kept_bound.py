"""The bound of a winter that is kept open: proved run by run at any level of feeding, and kept from
one question to the next.

As in bound.py the rows that tie the runs are priced, and for whatever prices of the right sign

    plan ≥ Σ_g P_g + (what the other columns can make of it) + Σ price · limit,

P_g being what no ration of run g costs less than at those prices. A store that holds more or less
moves a limit alone: at the prices of before, nothing is proved again. Where the prices or the costs
of a run moved, P_g is proved anew on the intervals of q into which it was split before (see
model/levels.py): they cover every ration whatever it costs. It holds at every level of feeding, so
it stays a bound when a plan moves its own.
"""

from __future__ import annotations

import heapq
from collections.abc import Mapping
from math import inf

from rationlp.model.bound import close_enough
from rationlp.model.levels import NARROWEST, bound_between, free_q, q_range
from rationlp.model.lp import Key
from rationlp.model.proof import dual_bound
from rationlp.model.search import BlockModel
from rationlp.model.solution import Solution
from rationlp.model.solve import LiveModel
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.wintering.bound import LPS_A_RUN, least_over_boxes, link_prices, run_costs
from rationlp.wintering.search import WinterModel

RUN_GAP = 1e-4
"""Gap at which a run is not split further [share of its cost]."""
MOST_SPANS = 16
"""Intervals kept of a run; a run that was split further begins with the whole range again."""

Span = tuple[float, float]


class _Kept:
    """A run alone in the solver, the intervals of q that cover its rations, and its last bound."""

    def __init__(self, single: BlockModel) -> None:
        self.single = single
        self.spans: list[Span] = []
        self.costs: dict[Key, float] | None = None
        self.least = -inf


class KeptBound:
    """Bounds of an open winter's runs. lps: programmes solved for them."""

    def __init__(self, model: WinterModel) -> None:
        self._model = model
        self._duals: tuple[float, ...] = ()
        self._runs = [_Kept(single.again()) for single in model.singles]
        self.lps = 0

    def at_once(self) -> float:
        """No plan costs less [currency], by what was proved of the runs before: limits as they
        stand now. -inf where the costs of a run moved since, or nothing was proved.
        """
        total, prices = link_prices(self._model, self._duals)
        for number, run in enumerate(self._model.runs):
            kept = self._runs[number]
            if kept.costs != run_costs(self._model, number, prices):
                return -inf
            total += run.weight * kept.least
        return total

    def at(self, solution: Solution) -> float:
        """No plan costs less [currency], by the prices of a solution: runs whose costs moved are
        proved again.
        """
        self._duals = solution.row_duals
        total, prices = link_prices(self._model, self._duals)
        for number, run in enumerate(self._model.runs):
            costs = run_costs(self._model, number, prices)
            total += run.weight * self._least(number, costs, solution)
        return total

    def _least(self, number: int, costs: dict[Key, float], solution: Solution) -> float:
        """What no ration of a run costs less than at these costs [currency a head a day]."""
        kept = self._runs[number]
        if kept.costs == costs:
            return kept.least
        single, live = kept.single, self._model.live
        single.costs = costs
        single.live.set_costs(costs)
        first = single.live.solves
        if single.need is None or single.curve is None:
            answer = single.live.solve()
            kept.least = dual_bound(single.live.numbers_now(), answer.row_duals)
        elif single.part.by_point:
            kept.least = least_over_boxes(single, _fed(live, solution, costs))
        else:
            fed = _fed(live, solution, costs)
            dm, me = (live.value(solution, key) for key in (single.dm, single.me))
            kept.least = min(_proved(kept, fed, (dm, me)), fed)
        self.lps += single.live.solves - first
        kept.costs = costs
        return kept.least


def _fed(live: LiveModel, solution: Solution, costs: Mapping[Key, float]) -> float:
    """What a run is fed costs [currency a head a day]."""
    return sum(cost * live.value(solution, key) for key, cost in costs.items())


def _proved(kept: _Kept, fed: float, eaten: tuple[float, float]) -> float:
    """A bound on every ration of a run, close to what it is fed where that is the cheapest. fed:
    cost of that [currency a head a day]; eaten: its D and E [kg DM, MJ a head a day].
    """
    single = kept.single
    whole = q_range(single)
    q = eaten[1] / eaten[0] / GE_MJ_PER_KG_DM if eaten[0] > 0.0 else whole[1]
    first, count = single.live.solves, 0
    heap: list[tuple[float, int, Span]] = []
    waiting = kept.spans if 0 < len(kept.spans) <= MOST_SPANS else [whole]
    narrow: list[Span] = []
    settled = inf
    while True:
        for least, most in waiting:
            half = bound_between(single, least, most)
            if half is not None:
                count += 1
                heapq.heappush(heap, (half[0], count, (least, most)))
        enough = not heap or close_enough(fed, heap[0][0], RUN_GAP, single.live.unit)
        if enough or single.live.solves - first >= LPS_A_RUN:
            break
        bound, _, (least, most) = heapq.heappop(heap)
        if most - least <= NARROWEST:
            settled, waiting = min(settled, bound), []
            narrow.append((least, most))
            continue
        middle = _split(least, most, q)
        waiting = [(least, middle), (middle, most)]
    free_q(single)
    kept.spans = [*narrow, *(span for _, _, span in heap)]
    # A run that is fed has a ration: where none was found at all, nothing is proved.
    return min(settled, heap[0][0] if heap else inf) if kept.spans else -inf


def _split(least: float, most: float, q: float) -> float:
    """At the metabolisability that is fed, where the chord becomes exact; near an end halfway."""
    margin = 0.05 * (most - least)
    return q if least + margin < q < most - margin else 0.5 * (least + most)
