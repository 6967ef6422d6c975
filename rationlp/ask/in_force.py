"""What is to be fed on a day: by the plan in force, else by the winter's plan made now; never
silently the cheapest of the day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from rationlp.after.followed import DayOfPlan, day_of_plan
from rationlp.after.kept import plan_in_force
from rationlp.after.since import FarmChanges, since_kept
from rationlp.after.ways import WayFollowed
from rationlp.ask.carry_on import plan_on, way_of, winter_so_far
from rationlp.farm.farm import Farm
from rationlp.planned import WinterPlan
from rationlp.records import dataclass

IN_FORCE, MADE_NOW, CHEAPEST = "plan_in_force", "winter_plan", "cheapest_today"


@dataclass(frozen=True)
class FollowedPlan:
    """The plan that a day is fed by. how: `plan_in_force` or `winter_plan` (none was kept: made
    just now). name: of its file, empty where none was kept. farm: as it is on the day by its
    log. since: what changed since it was kept, None where nothing did. way: which way on the log
    has shown, None where there is but one."""

    how: str
    plan: WinterPlan
    name: str
    farm: Farm
    day: date
    since: FarmChanges | None
    way: WayFollowed | None = None

    def rations(self) -> DayOfPlan | None:
        """What the plan feeds on the day; None where it feeds nobody then, or there is no plan."""
        fed = day_of_plan(self.plan, self.farm, self.day)
        if fed is None or not fed.rations.groups:
            return None
        return fed


def kept_for(farm: Farm, day: date | None) -> FollowedPlan | None:
    """The plan in force on a day (on its own first day where none is given); None where none was
    kept that plans the day."""
    in_force = plan_in_force(farm, day)
    if in_force is None:
        return None
    on = day or in_force.first
    if on > in_force.last:
        return None
    farm_now = winter_so_far(farm, in_force.first, on).farm
    followed_way = way_of(in_force, farm, on)
    since = since_kept(followed_way.kept, farm_now)
    return FollowedPlan(
        IN_FORCE, followed_way.plan, in_force.name, farm_now, on, since, followed_way.way
    )


def followed(farm: Farm, day: date | None) -> FollowedPlan:
    """The plan in force on a day, or the winter's plan from its first day where none was kept.

    Raises InputError and SolverTrouble as making a plan does.
    """
    in_force = kept_for(farm, day)
    if in_force is not None:
        return in_force
    from rationlp.wintering.plan import solve_winter
    from rationlp.wintering.yard import FED_ONLY

    on = day or farm.start
    begun = winter_so_far(farm, farm.start, on)
    plan = plan_on(begun, solve_winter(begun.farm, replace(FED_ONLY, worded=True), begun.stocks))
    return FollowedPlan(MADE_NOW, plan, "", begun.farm, on, None)
