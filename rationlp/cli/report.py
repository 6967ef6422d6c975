"""`rationlp report`: the winter as one page for screen, phone and A4."""

from __future__ import annotations

from dataclasses import replace

from rationlp.after.standards_used import standards_used
from rationlp.after.winter_facts import WinterFacts, cautions_on, winter_facts
from rationlp.ask.in_force import kept_for
from rationlp.ask.lying import forage_left_lying
from rationlp.ask.switch import Switch, switch_by_share
from rationlp.ask.why import Reasons, why_ration
from rationlp.chances.risk import held_risk
from rationlp.cli.days import day_of_winter
from rationlp.cli.options import Options
from rationlp.cli.winter import planned
from rationlp.errors import InputError
from rationlp.farm.farm import Farm
from rationlp.model.ration import solve_rations
from rationlp.needs.calendar import farm_on
from rationlp.records import dataclass
from rationlp.report.by_standard import with_standards
from rationlp.report.html import refuse_without
from rationlp.report.in_force import plan_lines
from rationlp.report.page import story_page
from rationlp.report.stories.report import Extras, report_story
from rationlp.report.stories.switch_page import forages_to_switch
from rationlp.report.story import Story


@dataclass(frozen=True)
class Solved:
    """A plan with what follows from it, and what its report tells besides."""

    facts: WinterFacts
    extras: Extras


def faults(options: Options) -> None:
    """Refuse at once what cannot be made."""
    refuse_without(("jinja2",), "page")


def solve(read: Farm, options: Options) -> Solved:
    """The plan in force, or a new one from the day asked for, and what is told besides."""
    kept = None
    if options.start is None:
        kept = kept_for(read, None)
    if kept is None:
        plan = planned(read, options.start)
    else:
        plan = replace(kept.plan, remarks=(*plan_lines(kept), *kept.plan.remarks))
    first = plan.periods[0].first
    day = day_of_winter(plan.farm, options.on) or first
    facts, today = winter_facts(plan), farm_on(plan.farm, first)
    extras = Extras(
        day,
        cautions_on(facts, day),
        forage_left_lying(plan),
        _switch(facts, today, options.switch),
        _reasons(today),
        held_risk(plan) if plan.feeds_all else None,
    )
    return Solved(facts, extras)


def story(solved: Solved, options: Options) -> Story:
    """The plan as a page; it has no other form."""
    used = standards_used(solved.facts.plan.farm)
    told = with_standards(report_story(solved.facts, solved.extras), used)
    return replace(told, page=lambda: story_page(told))


def _switch(facts: WinterFacts, today: Farm, forages: tuple[str, str] | None) -> Switch | None:
    """The switch asked for, or of the group and two forages fed most; None without two."""
    if forages is not None:
        return switch_by_share(today, forages)
    usual = forages_to_switch(facts.plan, {group.id for group in today.groups})
    if usual is None:
        return None
    from_, to, group = usual
    try:
        return switch_by_share(today, (from_, to), [group])
    except InputError:
        # Fed over the winter, but not both of them to be had by the group on the first day: nobody
        # asked for this switch.
        return None


def _reasons(today: Farm) -> tuple[tuple[str, Reasons], ...]:
    """Why each group's ration is what it is, with its name, for those that have one on that day."""
    reasons = []
    for ration in solve_rations(today).groups:
        why = why_ration(today, ration)
        if why is not None:
            reasons.append((ration.name, why))
    return tuple(reasons)
