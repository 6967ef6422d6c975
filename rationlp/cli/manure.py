"""`rationlp manure`: what a planned winter excretes, and the volume to be stored."""

from __future__ import annotations

from rationlp.after.manure import winter_manure
from rationlp.ask.in_force import kept_for
from rationlp.cli.options import Options
from rationlp.farm.farm import Farm
from rationlp.planned import WinterPlan
from rationlp.report.stories.manure import manure_story
from rationlp.report.story import Story
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import FED_ONLY


def solve(read: Farm, options: Options) -> WinterPlan:
    """The plan in force, else one made now."""
    in_force = kept_for(read, None)
    if in_force is None:
        return solve_winter(read, FED_ONLY)
    return in_force.plan


def story(plan: WinterPlan, options: Options) -> Story:
    """What the plan excretes as a story; the plan's own where the winter has none."""
    if plan.proof is None:
        # Only a winter without a plan pays for loading all that a plan is told with.
        from rationlp.cli.winter import told

        return told(plan)
    answer = winter_manure(plan)
    return manure_story(answer, plan.exit_code).of(lambda: answer)
