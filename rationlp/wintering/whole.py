"""Plans with whole numbers: loads that are bought whole, clamps that are open or shut.

A search over whole numbers takes a thousand times as long as a programme without. So the whole
numbers that it finds are held while the plan settles, and it is asked once more at the plan's own
energy rows whether others would be cheaper there.
"""

from __future__ import annotations

from math import inf

from rationlp.model.settle import TOUCHING
from rationlp.model.solve import MIP_GAP
from rationlp.wintering.bound import WinterBound
from rationlp.wintering.levels import AcceptedPlan, settle_plan
from rationlp.wintering.search import WinterModel, begin

MOST_SEARCHES = 6


def settle_whole(model: WinterModel) -> tuple[AcceptedPlan, WinterBound] | None:
    """The plan with its whole numbers held, so that there are duals, and a bound on what any whole
    numbers cost at its energy rows, by the solver's own word; None without a plan.
    """
    live = model.live
    touches = begin(model)
    model.touch(touches)
    model.allow_shortage(True)
    search = model.solve()
    plan: AcceptedPlan | None = None
    bound = -inf
    for _ in range(MOST_SEARCHES):
        if search is None:
            break
        live.hold_whole(search.solution)
        before, plan = plan, settle_plan(model, touches if plan is None else plan.touches)
        if plan is None:
            return None
        if before is not None and before.cost - search.objective <= MIP_GAP * abs(before.cost):
            break
        live.free_whole()
        model.touch(plan.touches, TOUCHING)
        search = model.solve(cold=True)
        bound = live.whole_bound()
    return None if plan is None else (plan, WinterBound(bound, 0, ()))
