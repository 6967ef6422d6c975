"""`rationlp winter`: one least-cost plan for all groups until turnout."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from rationlp.cli.options import Answer, FarmArgument, Format, FormatOption, OutputOption

if TYPE_CHECKING:
    from collections.abc import Collection

    from rationlp.after.sofar import SoFar
    from rationlp.ask.enough import Enough
    from rationlp.ask.why_short import ShortAlone
    from rationlp.ask.why_winter import WinterWhy
    from rationlp.planned import WinterPlan
    from rationlp.read.earlier import EarlierPlan
    from rationlp.read.objects import Farm
    from rationlp.report.tables import Table


SAME_T_DM = 1e-6
"""Tonnes of dry matter within which a store is as an earlier plan had it: it was not measured again."""


class Periods(StrEnum):
    """Steps of the plan."""

    week = "week"
    fortnight = "fortnight"
    month = "month"


FromOption = Annotated[
    str | None,
    typer.Option(
        "--from",
        metavar="DATE",
        help="Plan from this day on; stores not measured again less what the plan feeds until then. The first if left out.",
    ),
]
SinceOption = Annotated[
    Path | None,
    typer.Option(
        "--since", metavar="PLAN.json", help="An earlier plan of this winter: what was eaten against it is shown."
    ),
]
PeriodsOption = Annotated[
    Periods | None, typer.Option("--periods", help="Steps of the plan, instead of those of the farm file.")
]


ExplainOption = Annotated[
    bool,
    typer.Option(
        "--explain",
        help="Also say why: what binds in each group, when and what it costs, stores, feeds only just in or out; "
        "without a plan, what clashes in each group that is short.",
    ),
]


def winter(
    farm: FarmArgument,
    start: FromOption = None,
    periods: PeriodsOption = None,
    since: SinceOption = None,
    explain: ExplainOption = False,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Plan the winter: who eats what and when, what to buy and when, how long each store lasts, with proof.

    Ends with exit code 3 when the winter cannot be fed; then it says who is short of what, in which weeks.
    """
    from rationlp.after.sofar import so_far
    from rationlp.cli.options import deliver, farm_inputs, tell_notices
    from rationlp.read.earlier import read_earlier
    from rationlp.read.farm import read_farm
    from rationlp.read.stock import farm_stocks

    read = read_farm(farm)
    earlier = None if since is None else read_earlier(since)
    plan = planned(read, start, periods, measured_again(read, earlier))
    found = () if earlier is None else so_far(earlier, farm_stocks(read), plan.periods[0].first)
    tell_notices(read.notices)
    deliver(
        answer_of(plan, found, _reasons(plan, explain)),
        form,
        output,
        (*farm_inputs(farm), *([] if since is None else [since])),
    )
    if plan.exit_code:
        raise typer.Exit(plan.exit_code)


def measured_again(farm: Farm, earlier: EarlierPlan | None) -> frozenset[str]:
    """Ids of the stores that hold other tonnes than an earlier plan began with; none without an earlier plan."""
    from rationlp.read.stock import farm_stocks

    if earlier is None:
        return frozenset()
    now = farm_stocks(farm)
    return frozenset(
        store.store
        for store in earlier.stores
        if store.store in now and abs(now[store.store].edible_t_dm.typical - store.held_t_dm) > SAME_T_DM
    )


class _Reasons(NamedTuple):
    """Why a plan is what it is; without one, what is the matter with each group that is short, and what would be enough."""

    why: WinterWhy | None = None
    alone: tuple[ShortAlone, ...] = ()
    enough: tuple[Enough, ...] | None = None


_NO_REASONS = _Reasons()


def _reasons(plan: WinterPlan, explain: bool) -> _Reasons:
    from rationlp.after.stock import stocks_of
    from rationlp.ask.enough import enough_changes
    from rationlp.ask.why_short import why_short
    from rationlp.ask.why_winter import why_winter

    if plan.feeds_all:
        return _Reasons(why_winter(plan, stocks_of(plan))) if explain else _NO_REASONS
    short = {one.group for one in plan.shortfalls}
    enough = enough_changes(plan.farm, short, stocks_of(plan), plan.periods[0].first)
    return _Reasons(alone=why_short(plan) if explain else (), enough=enough)


def answer_of(plan: WinterPlan, found: tuple[SoFar, ...] = (), reasons: _Reasons = _NO_REASONS) -> Answer:
    """A plan in the three forms of an answer; a winter that cannot be fed included. found: eaten against an earlier plan.
    reasons: why, where that was asked for."""
    from rationlp.report.plan_documents import winter_document
    from rationlp.report.plan_text import winter_text
    from rationlp.report.tables.winter_plan import plan_shortfalls_table, winter_table

    return Answer(
        text=lambda width: winter_text(plan, width, found, _why_text(plan, reasons, width)),
        table=lambda: winter_table(plan) if plan.proof is not None else plan_shortfalls_table(plan),
        document=lambda: winter_document(plan, found, *reasons),
        sheets=lambda: _sheets(plan, found, reasons.why),
        drawn=lambda width: winter_text(plan, width, found, _why_text(plan, reasons, width), drawn=True),
    )


def _why_text(plan: WinterPlan, reasons: _Reasons, width: int) -> str:
    from rationlp.report.why_winter import enough_text, short_text, winter_why_text

    if reasons.why is not None:
        return winter_why_text(reasons.why, plan.farm.currency, width)
    parts = [short_text(reasons.alone, width)]
    if reasons.enough is not None:
        parts.append(enough_text(reasons.enough, plan.farm.currency, width))
    return "\n\n".join(part for part in parts if part)


def _sheets(plan: WinterPlan, found: tuple[SoFar, ...], why: WinterWhy | None) -> list[Table]:
    from rationlp.report.results import winter_tables
    from rationlp.report.tables.winter_plan import so_far_table
    from rationlp.report.why_winter import binding_table

    more = [] if why is None or not why.binding else [binding_table(why, plan.farm.currency)]
    return [*([so_far_table(found)] if found else []), *winter_tables(plan), *more]


def planned(farm: Farm, start: str | None, periods: Periods | None, measured: Collection[str] = ()) -> WinterPlan:
    """The plan from a day on, in periods of the person's choice. measured: ids of stores that were measured again for it.

    Raises InputError (IN504) for what is no day of the winter, (IN730) where nobody can say what is left in the stores.
    """
    from datetime import date

    from rationlp.ask.carried import plan_from
    from rationlp.errors import Finding, InputError
    from rationlp.model.winter.plan import WinterOptions, solve_winter

    stepped = stepped_farm(farm, periods)
    if start is None:
        return solve_winter(stepped, WinterOptions(ceilings=True))
    try:
        day = date.fromisoformat(start)
    except ValueError as trouble:
        remedy = f"give a day from {farm.start} to before {farm.turnout}, as year-month-day"
        raise InputError([Finding("IN504", "--from", f'"{start}" is no date', remedy)]) from trouble
    options = WinterOptions(start=day, ceilings=True)
    return plan_from(stepped, options, measured)


def stepped_farm(farm: Farm, periods: Periods | None) -> Farm:
    """The farm with its winter in other periods; as it is where none are given."""
    from dataclasses import replace

    from rationlp.read.calendar import Winter
    from rationlp.read.winter import periods_of

    if periods is None:
        return farm
    return replace(farm, periods=periods_of(Winter(farm.start, farm.turnout), periods.value))
