"""The cheapest ration at every level of feeding: branch and bound over the metabolisability q of
the whole ration.

Both what the requirement depends on, q, and what protein depends on, the level of feeding L = L(q),
are the ration's own. Where q is held (ΣME = 18.8·q·ΣDM) need and level are numbers, so the cheapest
ration of that q is one linear programme. On an interval of q a programme that asks no ration for
too much bounds the cost of every ration in it: the chord of M*(D) between the intakes of both ends,
protein with y and DUP at the greatest L and ERDP at the least. Beyond the intake of the lower end
the ray of least density lies above the chord, so the chord holds on the whole interval, whatever is
eaten.
"""

from __future__ import annotations

import heapq
import itertools
from math import inf

from rationlp.model.answer import Answer
from rationlp.model.bound import GAP_TARGET, close_enough
from rationlp.model.by_point import GAP_TARGET as POINT_GAP
from rationlp.model.by_point import search_points
from rationlp.model.cheapest import AtQ, Cheapest, cheaper
from rationlp.model.energy import Q_MOST, LinearRow
from rationlp.model.lp import Row
from rationlp.model.proof import dual_bound
from rationlp.model.search import BlockModel, densest
from rationlp.needs.energy import GE_MJ_PER_KG_DM, EnergyNeed

MOST_LPS = 400
LEAST_POINT_LPS = 300
"""A search over boxes takes more programmes than one over intervals."""
NARROWEST = 1e-7
"""Intervals of q narrower than this are not split, nor is a ration moved by less [-]."""
WIDEST_STEP = 1e-3
"""First step by which the q of a ration that is held there is moved [-]."""
_LEVEL_SAMPLES = 4


def hold_q(model: BlockModel, least: float, most: float) -> None:
    """Hold the metabolisability of the whole ration between two figures [-]."""
    for name, q, bounds in (("q_least", least, (0.0, inf)), ("q_most", most, (-inf, 0.0))):
        key = model.block.key(name)
        if key not in model.live.row_index:
            coefs = {model.me: 1.0, model.dm: -GE_MJ_PER_KG_DM * q}
            title = "metabolisability of the ration"
            model.live.add_row(Row(key, coefs, *bounds, "definition", "MJ", title, "its own"))
        model.live.set_coefficient(key, model.dm, -GE_MJ_PER_KG_DM * q)
        model.live.set_row_bounds(key, *bounds)


def free_q(model: BlockModel) -> None:
    """Let the metabolisability of the ration be what it is."""
    for name in ("q_least", "q_most"):
        if model.block.key(name) in model.live.row_index:
            model.live.set_row_bounds(model.block.key(name), -inf, inf)


def at_q(model: BlockModel, q: float, cold: bool = False) -> Answer | None:
    """The cheapest ration of metabolisability q, None where there is none."""
    assert model.need is not None
    if model.need.required_mj(q) == inf:
        return None
    ask_at_q(model, q)
    return model.solve(cold)


def ask_at_q(model: BlockModel, q: float) -> None:
    """Hold the metabolisability at q, and with it what is needed and the level of feeding."""
    assert model.need is not None and model.curve is not None
    hold_q(model, q, q)
    model.set_level(model.need.feeding_level(q))
    model.hold(LinearRow(0.0, model.need.required_mj(q)), model.curve.low, model.curve.high)


def level_range(need: EnergyNeed, least: float, most: float) -> tuple[float, float]:
    """Least and greatest level of feeding [-] of rations with q in an interval, both finite at its
    ends.

    Its slope has one sign except for animals in milk or growing that are far in calf or in lamb;
    there the samples are widened by the largest step between them.
    """
    width, count = most - least, _LEVEL_SAMPLES
    points = [least + width * number / count for number in range(count + 1)]
    levels = [need.feeding_level(q) for q in points]
    slopes = [need.level_slope(q) for q in points]
    if all(slope <= 0.0 for slope in slopes) or all(slope >= 0.0 for slope in slopes):
        return min(levels[0], levels[-1]), max(levels[0], levels[-1])
    step = max(abs(a - b) for a, b in itertools.pairwise(levels))
    return min(levels) - step, max(levels) + step


def bound_between(model: BlockModel, least: float, most: float) -> tuple[float, Answer] | None:
    """A lower bound on the cost of every ration with q in an interval, and its answer, or None."""
    need, curve = model.need, model.curve
    assert need is not None and curve is not None
    low = max(curve.low, need.required_mj(most) / most / GE_MJ_PER_KG_DM)
    high = min(curve.high, need.required_mj(least) / least / GE_MJ_PER_KG_DM)
    if low > curve.high:
        return None
    hold_q(model, least, most)
    lowest, highest = level_range(need, least, most)
    model.set_level(highest, lowest, highest)
    model.hold(curve.bound_row(low, max(low, high)), low, curve.high)
    answer = model.solve()
    if answer is None:
        return None
    return dual_bound(model.live.numbers_now(), answer.solution.row_duals), answer


def q_of(answer: Answer) -> float:
    """Metabolisability of a ration [-]."""
    return answer.me_mj / answer.dm_kg / GE_MJ_PER_KG_DM


def q_range(model: BlockModel) -> tuple[float, float]:
    """Least and greatest metabolisability that an adequate ration could have [-]."""
    assert model.need is not None and model.curve is not None
    most = min(densest(model.block) / GE_MJ_PER_KG_DM, Q_MOST) * (1.0 + 1e-9)
    least = model.curve.value(model.curve.high) / model.curve.high / GE_MJ_PER_KG_DM * (1.0 - 1e-9)
    return min(least, most), most


def ask_least_of_any_level(model: BlockModel) -> tuple[float, float]:
    """Protein rows that no level of feeding could ask less of: y and DUP at the highest L, ERDP at
    the lowest. The two levels [-].
    """
    assert model.need is not None
    if model.range_of_levels is None:
        model.range_of_levels = level_range(model.need, *q_range(model))
    least, most = model.range_of_levels
    model.set_level(most, least, most)
    return least, most


def search_levels(
    model: BlockModel,
    cost: float,
    q: float | None,
    most_lps: int = MOST_LPS,
    gap: float = GAP_TARGET,
) -> Cheapest:
    """Split and bound over q until nothing can be cheaper than the best ration by more than the
    gap, or `most_lps` are solved.

    cost: of the best ration known so far [currency/head/day] (inf without one); q: its own. gap:
    relative [-]. A block whose rows move with the whole ration is searched over boxes instead.
    """
    if model.part.by_point:
        return search_points(model, cost, max(most_lps, LEAST_POINT_LPS), max(gap, POINT_GAP))
    first = model.live.solves
    model.allow_shortage(False)
    best: AtQ | None = None
    settled_bound, count = inf, 0
    heap: list[tuple[float, int, float, float]] = []

    def bounded(least: float, most: float) -> None:
        nonlocal count, best, cost, q
        half = bound_between(model, least, most)
        if half is None:
            return
        count += 1
        own = min(max(q_of(half[1]), least), most)
        heapq.heappush(heap, (half[0], count, least, most))
        if close_enough(cost, half[0], gap, model.live.unit):
            return
        answer = at_q(model, own)
        if answer is not None and cheaper(answer.objective, cost):
            best, cost, q = AtQ(own, answer), answer.objective, own

    bounded(*q_range(model))
    while heap and model.live.solves - first < most_lps:
        if close_enough(cost, heap[0][0], gap, model.live.unit):
            break
        bound, _, least, most = heapq.heappop(heap)
        if most - least <= NARROWEST:
            settled_bound = min(settled_bound, bound)
            continue
        middle = _split(least, most, q)
        bounded(least, middle)
        bounded(middle, most)
    free_q(model)
    lower = min(settled_bound, heap[0][0] if heap else inf)
    return Cheapest(best, lower)


def _split(least: float, most: float, q: float | None) -> float:
    margin = 0.05 * (most - least)
    if q is not None and least + margin < q < most - margin:
        return q
    return 0.5 * (least + most)


def polish(model: BlockModel, best: AtQ) -> AtQ:
    """The same ration, its q moved to where it costs least close by, in ever smaller steps."""
    step = WIDEST_STEP
    while step > NARROWEST:
        places = (best.q - step, best.q + step)
        answers = ((q, at_q(model, q)) for q in places)
        sides = [AtQ(q, answer) for q, answer in answers if answer is not None]
        nearest = min(sides, key=lambda side: side.answer.objective, default=best)
        if nearest.answer.objective < best.answer.objective:
            best = nearest
        else:
            step *= 0.25
    free_q(model)
    return best
