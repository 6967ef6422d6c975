"""The proven lower bound of a plan: what ties the blocks is priced, and each block becomes a ration
of its own.

Take the settled plan's marginal values π of every row that ties blocks. Whatever π of the right
sign, the cost of any plan is at least the sum over the blocks of their least cost with each feed
charged π besides, plus what the other columns can make of it, plus π times the rows' limits. Each
block's least cost is bounded on its own interval of D, as for one group.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from math import inf

from rationlp.model.answer import Answer
from rationlp.model.bound import close_enough, prove
from rationlp.model.by_point import search_points
from rationlp.model.energy import EnergyCurve
from rationlp.model.levels import LEAST_POINT_LPS, search_levels
from rationlp.model.lp import Key
from rationlp.model.search import BlockModel
from rationlp.model.solution import Solution, Status
from rationlp.records import dataclass
from rationlp.wintering.collector import collector_paused
from rationlp.wintering.run_values import Middle, RunValues
from rationlp.wintering.search import WinterModel

LPS_A_RUN = 60
FEW_LPS = 12
"""Chords tried first in a large winter: they settle most runs."""


@dataclass(frozen=True)
class WinterBound:
    """lower_bound: no plan at the levels held costs less [currency]. lps: programmes solved.
    better: (run, D) of blocks that found something cheaper at these prices than the plan feeds
    them: new places to begin.
    any_level: no plan at any level of feeding costs less [currency], None where that was not asked.
    of_runs: least cost of each run at these prices [currency a head a day].
    """

    lower_bound: float
    lps: int
    better: tuple[tuple[int, float], ...]
    any_level: float | None = None
    of_runs: tuple[float, ...] = ()


Least = Callable[[int, BlockModel], float]
"""Least cost a head a day of a run by number, its model priced [currency]."""


def least_at_any_level(_: int, single: BlockModel) -> float:
    """No ration of a run costs less [currency a head a day], at any level of feeding."""
    cheapest = search_levels(single, inf, None, LPS_A_RUN)
    if cheapest.best is None:
        return cheapest.lower_bound
    return min(cheapest.lower_bound, cheapest.best.answer.objective)


def least_over_boxes(single: BlockModel, fed: float) -> float:
    """No ration of a run whose rows move with the whole ration costs less; fed: what the one in
    hand costs at the same prices [currency a head a day].
    """
    return min(search_points(single, fed, LEAST_POINT_LPS, starts=0).lower_bound, fed)


@collector_paused()
def winter_bound(
    model: WinterModel,
    solution: Solution,
    any_level: bool = False,
    least: Least = least_at_any_level,
) -> WinterBound:
    """The bound from a solution's own marginal values.

    It holds at the levels of feeding held, with `any_level` at all of them. least: of one run then.
    """
    total, prices = link_prices(model, solution.row_duals)
    told = None
    if model.is_large and not any_level:
        told = RunValues(model, solution.values, solution.row_duals)
    lps = 0
    better: list[tuple[int, float]] = []
    of_runs = []
    for number in range(len(model.singles)):
        cost, used, at = _one(model, number, prices, solution, least if any_level else None, told)
        total += cost
        lps += used
        of_runs.append(cost / model.runs[number].weight)
        if at is not None:
            better.append((number, at))
    model.lps += lps
    return WinterBound(total, lps, tuple(better), of_runs=tuple(of_runs))


def link_prices(model: WinterModel, row_duals: Sequence[float]) -> tuple[float, dict[int, float]]:
    """What the rows that tie blocks, and the columns that are no block's, count for at their
    marginal values [currency]; what each column is charged besides its cost, by its number.
    """
    live = model.live
    prices: dict[int, float] = {}
    total = 0.0
    for i in range(model.first_link, len(row_duals)):
        dual = row_duals[i]
        if live.rows[i].kind == "ceiling" or dual == 0.0:
            continue
        bound = live.row_low[i] if dual > 0.0 else live.row_high[i]
        if abs(bound) == inf:
            continue
        total += dual * bound
        for j, value in live.coefs[i].items():
            prices[j] = prices.get(j, 0.0) - dual * value
    return total + _other_columns(model, prices), prices


def run_costs(model: WinterModel, number: int, prices: Mapping[int, float]) -> dict[Key, float]:
    """What the columns of a run cost at these prices [currency a head a day]; none that costs
    nothing.
    """
    index, weight = model.live.column_index, model.runs[number].weight
    costs = {}
    for column in model.singles[number].program.columns:
        j = index[column.key]
        costs[column.key] = (model.live.cost[j] + prices.get(j, 0.0)) / weight
    return {key: cost for key, cost in costs.items() if cost}


def _other_columns(model: WinterModel, prices: dict[int, float]) -> float:
    """Least that sales, loads and the like can add at these prices."""
    live = model.live
    first = live.column_index
    blocks = {column.key for single in model.singles for column in single.program.columns}
    total = 0.0
    for key, j in first.items():
        if key in blocks:
            continue
        reduced = live.cost[j] + prices.get(j, 0.0)
        bound = live.col_low[j] if reduced > 0.0 else live.col_high[j]
        if abs(reduced) <= 1e-9 * max(1.0, abs(live.cost[j])):
            continue
        if abs(bound) == inf:
            return -inf
        total += reduced * bound
    return total


def _one(
    model: WinterModel,
    number: int,
    prices: dict[int, float],
    solution: Solution,
    least: Least | None,
    told: RunValues | None = None,
) -> tuple[float, int, float | None]:
    """(least cost of a run at these prices, programmes solved, D of something cheaper or None).
    told: what the plan's own marginal values say of the runs.
    """
    one, weight = model.singles[number], model.runs[number].weight
    middle: Middle | None = None
    if told is not None and one.curve is not None and not one.by_point:
        middle = told.around(number, one.curve, weight)
        if middle[:2] == (one.curve.low, one.curve.high):
            return min(middle[2], told.fed[number]), 0, None
    single = one.again()
    single.costs = run_costs(model, number, prices)
    single.live.set_costs(single.costs)
    if single.need is None or single.curve is None:
        answer = single.live.solve()
        return answer.objective * weight, single.live.solves, None
    here = sum(cost * model.live.value(solution, key) for key, cost in single.costs.items())
    if single.part.by_point and least in (None, least_at_any_level):
        # Its bound holds at every level of feeding: at the same prices it is not asked for twice.
        known = model.least_known.get(number)
        if known is None or known[0] != single.costs:
            known = model.least_known[number] = (single.costs, least_over_boxes(single, here))
        return known[1] * weight, single.live.solves, None
    if least is not None:
        return least(number, single) * weight, single.live.solves, None
    single.hold_level(0, *model.levels[number])
    if middle is not None:
        middle = (middle[0], middle[1], middle[2] / weight)
    bound, at = _by_chords(model, single, solution, middle)
    return bound * weight, single.live.solves, at


def _by_chords(
    model: WinterModel, single: BlockModel, solution: Solution, middle: Middle | None
) -> tuple[float, float | None]:
    """(least cost of a run at its prices and level, D of something cheaper than the plan feeds it
    or None). middle: an interval of D that is proved already [currency a head a day].
    """
    here = sum(cost * model.live.value(solution, key) for key, cost in single.costs.items())
    dm, me = (model.live.value(solution, key) for key in (single.dm, single.me))
    within, most = None, inf
    if middle is not None and single.curve is not None:
        low, high, most = middle
        within = _beside(single.curve, low, high)
        # What the plan feeds is a ration: beside it few chords settle most runs.
        fed = Answer(Solution(Status.OPTIMAL, here), (dm,), (me,), (0.0,))
        bound = min(prove(single, fed, FEW_LPS, False, within).lower_bound, most)
        if close_enough(here, bound, unit=single.live.unit):
            return bound, None
    start = single.search_from((dm,))
    proof = prove(
        single, start if start is not None and start.adequate else None, LPS_A_RUN, within=within
    )
    best = proof.best
    cheaper = best is not None and best.objective < here - 1e-7 * max(abs(here), 1e-3)
    return min(proof.lower_bound, most), best.dm_kg if cheaper and best else None


def _beside(curve: EnergyCurve, low: float, high: float) -> list[tuple[float, float]]:
    """What an interval of D leaves of a run's own, left and right [kg DM]."""
    return [(a, b) for a, b in ((curve.low, low), (high, curve.high)) if a < b]
