"""A settled plan bounded, and made cheaper where its bound shows how."""

from __future__ import annotations

from dataclasses import replace

from rationlp.wintering.answer import GAP_TARGET
from rationlp.wintering.bound import WinterBound, winter_bound
from rationlp.wintering.levels import AcceptedPlan, restore, settle_plan
from rationlp.wintering.search import WinterModel, finish

MOST_NEW_STARTS = 3


def improve(model: WinterModel, accepted: AcceptedPlan) -> tuple[AcceptedPlan, WinterBound]:
    """Bound the plan; where a block found something cheaper at the plan's own prices, begin there
    again.

    A new start settles its own levels of feeding; it is taken only where it is cheaper and passes
    its own check.
    """
    bound = winter_bound(model, accepted.solution)
    if model.is_large and not _is_close(accepted, bound):
        # Prices are not unique: those of a cold answer may say more.
        bound = max(
            bound, winter_bound(model, finish(model, accepted.touches).solution), key=_least
        )
    for _ in range(MOST_NEW_STARTS):
        gap = accepted.cost - bound.lower_bound
        if not bound.better or gap <= 0.1 * GAP_TARGET * abs(accepted.cost):
            break
        touches = list(accepted.touches)
        for number, dm in bound.better:
            touches[number] = dm
        other = settle_plan(model, touches)
        if other is None or not _is_better(other, accepted):
            restore(model, accepted)
            break
        accepted = other
        # A bound holds at the levels of feeding it was made at: that of the plan before says
        # nothing of this one.
        again = winter_bound(model, accepted.solution)
        bound = replace(again, lps=bound.lps + again.lps)
    return accepted, bound


def _is_close(accepted: AcceptedPlan, bound: WinterBound) -> bool:
    return accepted.cost - bound.lower_bound <= GAP_TARGET * abs(accepted.cost)


def _least(bound: WinterBound) -> float:
    return bound.lower_bound


def _is_better(plan: AcceptedPlan, accepted: AcceptedPlan) -> bool:
    """Cheaper by more than rounding, and adequate unless the plan in hand is not either."""
    if plan.adequate != accepted.adequate:
        return plan.adequate
    return plan.cost < accepted.cost - 1e-9 * abs(accepted.cost)
