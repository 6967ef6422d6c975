"""`rationlp needs`: what each group requires, and why."""

from __future__ import annotations

from rationlp import farm_needs
from rationlp.cli.days import farm_on_day
from rationlp.cli.options import Options
from rationlp.farm.farm import Farm
from rationlp.needs.calendar import expanded
from rationlp.needs.compare import second_opinions
from rationlp.needs.objects import GroupNeeds
from rationlp.needs.winter import WinterStep, needs_over_winter
from rationlp.needs.working import energy_working
from rationlp.records import dataclass
from rationlp.report.answers.farm import needs_answer, winter_needs_answer
from rationlp.report.stories.needs import compared_story, needs_story, winter_needs_story
from rationlp.report.story import Story


@dataclass(frozen=True)
class Solved:
    """Needs of the groups on a day, or step by step through the winter."""

    farm: Farm
    needs: tuple[GroupNeeds, ...] = ()
    steps: tuple[WinterStep, ...] = ()


def solve(read: Farm, options: Options) -> Solved:
    """Work the needs out."""
    if options.over_winter:
        return Solved(read, steps=tuple(needs_over_winter(read, options.group)))
    today = farm_on_day(read, options.on)
    return Solved(today, farm_needs(today, expanded(today, options.group)))


def story(solved: Solved, options: Options) -> Story:
    """Needs as a story; beside other standards where that was asked for."""
    farm, needs = solved.farm, solved.needs
    if options.over_winter:
        days = farm.start, farm.turnout
        steps = solved.steps
        return winter_needs_story(steps, days).of(lambda: winter_needs_answer(farm, steps))
    if not options.compare:
        working = None
        if options.show_working:
            working = {need.group: energy_working(need) for need in needs}
        told = needs_story(needs, farm.own_quantities, working)
        return told.of(lambda: needs_answer(farm, needs, working=working))
    groups = {group.id: group for group in farm.groups}
    opinions = {
        need.group: second_opinions(groups[need.group], need, farm.margins) for need in needs
    }
    return compared_story(opinions, needs).of(lambda: needs_answer(farm, needs, opinions))
