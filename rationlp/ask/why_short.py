"""Why a group is short in a winter: looked at by itself, as if it had every store to itself."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from rationlp.model.ration import solve_rations
from rationlp.needs.calendar import parts_on
from rationlp.planned import PlanShortfall, WinterPlan
from rationlp.records import dataclass
from rationlp.result import GroupRation


@dataclass(frozen=True)
class ShortAlone:
    """A group that is short in a winter, by itself in the period in which it is short of most.

    on, until: first day of the period and the day after its last. ration: its cheapest ration if it
    had all stores to itself, or, without one, what clashes and what would be enough; then `fed` is
    False.
    """

    group: str
    name: str
    on: date
    until: date
    ration: GroupRation

    @property
    def fed(self) -> bool:
        """Whether it has a ration by itself: then the stores run out, or others eat from them."""
        return self.ration.proof is not None


def why_short(plan: WinterPlan) -> tuple[ShortAlone, ...]:
    """Every group that is short, by itself in its worst period, as the plan asks for it (those
    still to give birth as on the period's last day); nothing of a winter with a plan. Grazed grass
    is left out. Raises SolverTrouble as a ration would.
    """
    worst: dict[str, PlanShortfall] = {}
    for shortfall in plan.shortfalls:
        worst_so_far = worst.get(shortfall.group)
        if worst_so_far is None or (shortfall.t_dm, shortfall.shortfall.short) > (
            worst_so_far.t_dm,
            worst_so_far.shortfall.short,
        ):
            worst[shortfall.group] = shortfall
    groups = (_alone(plan, group) for group in worst.values())
    return tuple(group for group in groups if group is not None)


def _alone(plan: WinterPlan, short: PlanShortfall) -> ShortAlone | None:
    period = plan.periods[short.period]
    parts = (
        part for group in plan.farm.groups for part in parts_on(group, period.first, period.last)
    )
    part = next((part for part in parts if part.id == short.group), None)
    if part is None:
        return None
    farm = replace(plan.farm, groups=(part,), day=period.first)
    return ShortAlone(part.id, part.name, period.first, period.last, solve_rations(farm).groups[0])
