"""`rationlp report`: the winter as one page for screen, phone and A4."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rationlp.cli.options import FarmArgument
from rationlp.cli.winter import FromOption

if TYPE_CHECKING:
    from rationlp.farm.farm import Farm
    from rationlp.planned import WinterPlan
    from rationlp.report.page_parts import SwitchPart, WhyPart

PageOption = Annotated[
    Path, typer.Option("--output", "-o", metavar="FILE.HTML", help="Write the page to this file.")
]
SwitchOption = Annotated[
    tuple[str, str] | None,
    typer.Option(
        "--switch",
        metavar="ID ID",
        help="The two forages of the switch, instead of the two fed most.",
    ),
]


def report(
    farm: FarmArgument, output: PageOption, start: FromOption = None, switch: SwitchOption = None
) -> None:
    """Write the plan in force as one page (with --from: a new plan).

    It holds answer, stores, rations, buying list, money, why, cautions, proof and sources.
    The page needs nothing else, neither network nor files. Ends with exit code 3 when the winter
    cannot be fed; the page then says who is short of what.
    """
    from dataclasses import replace

    from rationlp.after.stock import stocks_of
    from rationlp.ask.in_force import kept_for
    from rationlp.cli.options import farm_inputs, tell_notices
    from rationlp.cli.winter import planned
    from rationlp.read.farm import read_farm
    from rationlp.report.files import write_whole
    from rationlp.report.html import refuse_without
    from rationlp.report.in_force import plan_lines
    from rationlp.report.page import winter_page
    from rationlp.report.page_parts import Besides
    from rationlp.report.terminal import tell

    refuse_without(("jinja2", "matplotlib"), "page")
    read = read_farm(farm)
    kept = kept_for(read, None) if start is None else None
    plan = (
        planned(read, start, None)
        if kept is None
        else replace(kept.plan, remarks=(*plan_lines(kept), *kept.plan.remarks))
    )
    today = _first_day(plan)
    besides = Besides(
        stocks=stocks_of(plan),
        switches=_switches(plan, today, switch),
        reasons=_reasons(today),
        reasons_on=plan.periods[0].first.isoformat(),
    )
    tell_notices(read.notices)
    write_whole(output, winter_page(plan, besides), farm_inputs(farm))
    tell(f"Written: {output}")
    if plan.exit_code:
        raise typer.Exit(plan.exit_code)


def _first_day(plan: WinterPlan) -> Farm:
    """The farm on the first day planned, with those groups that are fed then."""
    from rationlp.needs.calendar import farm_on

    return farm_on(plan.farm, plan.periods[0].first)


def _switches(
    plan: WinterPlan, today: Farm, asked: tuple[str, str] | None
) -> tuple[SwitchPart, ...]:
    """The switch asked for, or of the group and the two forages that are fed most; none where no
    group eats two.
    """
    from rationlp.ask.switch import switch_by_share
    from rationlp.errors import InputError
    from rationlp.report.page_switch import forages_to_switch, switch_parts

    if asked is not None:
        return tuple(switch_parts(switch_by_share(today, asked)))
    found = forages_to_switch(plan, {group.id for group in today.groups})
    if found is None:
        return ()
    first, second, group = found
    try:
        return tuple(switch_parts(switch_by_share(today, (first, second), [group])))
    except InputError:
        # Fed over the winter, but not both of them to be had by the group on the first day: nobody
        # asked for this switch.
        return ()


def _reasons(today: Farm) -> tuple[WhyPart, ...]:
    """Why each group's ration is what it is, for those that have one on that day."""
    from rationlp.ask.why import why_ration
    from rationlp.model.ration import solve_rations
    from rationlp.report.page_why import why_parts

    rations = solve_rations(today).groups
    reasons = {ration.group: why_ration(today, ration) for ration in rations}
    names = {ration.group: ration.name for ration in rations}
    return why_parts(
        {group: why for group, why in reasons.items() if why is not None}, names, today.currency
    )
