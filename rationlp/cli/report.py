"""`rationlp report`: the winter as one page for screen, phone and A4."""

from __future__ import annotations

from dataclasses import replace

from rationlp.after.stock import stocks_of
from rationlp.ask.in_force import kept_for
from rationlp.ask.switch import switch_by_share
from rationlp.ask.why import why_ration
from rationlp.cli.options import Options
from rationlp.cli.winter import planned
from rationlp.errors import InputError
from rationlp.farm.farm import Farm
from rationlp.model.ration import solve_rations
from rationlp.needs.calendar import farm_on
from rationlp.planned import WinterPlan
from rationlp.report.html import refuse_without
from rationlp.report.in_force import plan_lines
from rationlp.report.page import winter_page
from rationlp.report.page_parts import Besides, SwitchPart, WhyPart
from rationlp.report.page_switch import forages_to_switch, switch_parts
from rationlp.report.page_why import why_parts
from rationlp.report.story import Story


def faults(options: Options) -> None:
    """Refuse at once what cannot be made."""
    refuse_without(("jinja2", "matplotlib"), "page")


def solve(read: Farm, options: Options) -> WinterPlan:
    """The plan in force, or a new one from the day asked for."""
    if options.start is None:
        in_force = kept_for(read, None)
        if in_force is not None:
            plan = in_force.plan
            return replace(plan, remarks=(*plan_lines(in_force), *plan.remarks))
    return planned(read, options.start)


def story(plan: WinterPlan, options: Options) -> Story:
    """The plan as a page; it has no other form."""
    today = farm_on(plan.farm, plan.periods[0].first)
    besides = Besides(
        stocks=stocks_of(plan),
        switches=_switches(plan, today, options.switch),
        reasons=_reasons(today),
        reasons_on=plan.periods[0].first.isoformat(),
    )
    return Story("report", (), page=lambda: winter_page(plan, besides), exit_code=plan.exit_code)


def _switches(
    plan: WinterPlan, today: Farm, forages: tuple[str, str] | None
) -> tuple[SwitchPart, ...]:
    """The switch asked for, or that of the two forages fed most; none where no group eats two."""
    if forages is not None:
        return tuple(switch_parts(switch_by_share(today, forages)))
    usual = forages_to_switch(plan, {group.id for group in today.groups})
    if usual is None:
        return ()
    first, second, group = usual
    try:
        return tuple(switch_parts(switch_by_share(today, (first, second), [group])))
    except InputError:
        # Fed over the winter, but not both of them to be had by the group on the first day: nobody
        # asked for this switch.
        return ()


def _reasons(today: Farm) -> tuple[WhyPart, ...]:
    """Why each group's ration is what it is, for those that have one on that day."""
    rations = solve_rations(today).groups
    reasons = {ration.group: why_ration(today, ration) for ration in rations}
    names = {ration.group: ration.name for ration in rations}
    return why_parts(
        {group: why for group, why in reasons.items() if why is not None}, names, today.currency
    )
