"""Plans with whole numbers: loads that are bought whole, clamps that are open or shut.

A search over whole numbers takes a thousand times as long as a programme without. So the whole
numbers that it finds are held while the plan settles. Then all whole numbers are searched again in
a programme that asks no adequate plan for too much (relaxed.py): what comes out is a bound on
every plan, and its whole numbers are tried next, until plan and bound are close or nothing new
comes.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from rationlp.model.bound import close_enough
from rationlp.model.lp import Row
from rationlp.model.solution import Solution
from rationlp.wintering.bound import WinterBound, winter_bound
from rationlp.wintering.improved import improve
from rationlp.wintering.levels import AcceptedPlan, hold_levels, restore, settle_plan
from rationlp.wintering.relaxed import search_relaxed, value_rows
from rationlp.wintering.search import WinterModel, begin

MOST_SEARCHES = 6
CLOSE = 2e-5
"""Between plan and bound, at which the search ends [share of the cost]."""


def settle_whole(model: WinterModel) -> tuple[AcceptedPlan, WinterBound] | None:
    """The plan with its whole numbers held, so that there are duals, and a bound on what any whole
    numbers cost at its levels of feeding; None without a plan.
    """
    touches = begin(model)
    model.touch(touches)
    model.allow_shortage(True)
    first = model.solve()
    settled = None if first is None else _settled(model, first.solution, touches)
    if settled is None:
        return None
    plan, proved = settled
    at, bound = plan.solution, -inf
    tried, rows = {_whole(model, at)}, list[Row]()
    for _ in range(MOST_SEARCHES):
        rows += value_rows(model, at, proved, mark=len(rows))
        bound, found = search_relaxed(model, rows)
        close = close_enough(plan.cost, bound, CLOSE, model.live.unit)
        if close or found is None or _whole(model, found) in tried:
            break
        tried.add(_whole(model, found))
        other = _settled(model, found, plan.touches)
        if other is None:
            break
        at = other[0].solution
        if _is_better(other[0], plan):
            # What was proved of the runs holds at the levels of the plan before.
            (plan, proved), rows = other, []
        else:
            hold_levels(model, plan.levels)
            proved = winter_bound(model, at)
    model.live.hold_whole(plan.solution)
    restore(model, plan)
    return plan, WinterBound(bound, 0, ())


def _settled(
    model: WinterModel, searched: Solution, touches: Sequence[float]
) -> tuple[AcceptedPlan, WinterBound] | None:
    """The plan at the whole numbers of a search, with its bound at these."""
    model.live.hold_whole(searched)
    plan = settle_plan(model, touches)
    return None if plan is None else improve(model, plan)


def _whole(model: WinterModel, solution: Solution) -> tuple[int, ...]:
    """The whole numbers of a solution."""
    columns = model.live.program.columns
    return tuple(round(solution.values[j]) for j, one in enumerate(columns) if one.integer)


def _is_better(plan: AcceptedPlan, other: AcceptedPlan) -> bool:
    """Passes its check where the other does not, or is cheaper."""
    return (not plan.passed, plan.cost) < (not other.passed, other.cost)
