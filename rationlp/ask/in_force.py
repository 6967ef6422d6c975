"""What is to be fed on a day: by the plan in force, else by the winter's plan made now; never
silently the cheapest of the day."""

from __future__ import annotations

from datetime import date

from rationlp.after.followed import DayOfPlan, day_of_plan
from rationlp.after.kept import plan_in_force
from rationlp.after.since import Since, since_kept
from rationlp.ask.carry_on import plan_on, winter_so_far
from rationlp.farm.farm import Farm
from rationlp.planned import WinterPlan
from rationlp.records import dataclass

IN_FORCE, MADE_NOW, CHEAPEST = "plan_in_force", "winter_plan", "cheapest_today"


@dataclass(frozen=True)
class Followed:
    """The plan that a day is fed by. how: `plan_in_force` or `winter_plan` (none was kept: made
    just now). name: of its file, empty where none was kept. farm: as it is on the day by its
    log. since: what changed since it was kept, None where nothing did."""

    how: str
    plan: WinterPlan
    name: str
    farm: Farm
    day: date
    since: Since | None

    def rations(self) -> DayOfPlan | None:
        """What the plan feeds on the day; None where it feeds nobody then, or there is no plan."""
        found = day_of_plan(self.plan, self.farm, self.day)
        return None if found is None or not found.rations.groups else found


def kept_for(farm: Farm, day: date | None) -> Followed | None:
    """The plan in force on a day (on its own first day where none is given); None where none was
    kept that plans the day."""
    kept = plan_in_force(farm, day)
    if kept is None:
        return None
    here = kept.first if day is None else day
    if here > kept.last:
        return None
    now = winter_so_far(farm, kept.first, here).farm
    return Followed(IN_FORCE, kept.plan, kept.name, now, here, since_kept(kept, now))


def followed(farm: Farm, day: date | None) -> Followed:
    """The plan in force on a day, or the winter's plan from its first day where none was kept.

    Raises InputError and SolverTrouble as making a plan does.
    """
    kept = kept_for(farm, day)
    if kept is not None:
        return kept
    from rationlp.wintering.plan import WinterOptions, solve_winter

    here = farm.start if day is None else day
    begun = winter_so_far(farm, farm.start, here)
    plan = plan_on(begun, solve_winter(begun.farm, WinterOptions(ceilings=True), begun.stocks))
    return Followed(MADE_NOW, plan, "", begun.farm, here, None)
