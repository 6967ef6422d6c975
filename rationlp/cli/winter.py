"""`rationlp winter`: one least-cost plan for all groups until turnout."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from rationlp.cli.options import Answer, FarmArgument, Format, FormatOption, OutputOption

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import date

    from rationlp.after.drift import SoFarThisWinter
    from rationlp.after.sofar import SoFar
    from rationlp.ask.carry_on import WinterSoFar
    from rationlp.ask.enough import Enough
    from rationlp.ask.lying import LeftLying
    from rationlp.ask.why_short import ShortAlone
    from rationlp.ask.why_winter import WinterWhy
    from rationlp.farm.farm import Farm
    from rationlp.planned import WinterPlan
    from rationlp.read.earlier import EarlierPlan
    from rationlp.report.tables import Table


SAME_T_DM = 1e-6
"""Tonnes of dry matter within which a store is as an earlier plan had it: it was not measured
again.
"""


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
        help="Plan from this day on, with the stores as the log has them; the first if left out.",
    ),
]
SinceOption = Annotated[
    Path | None,
    typer.Option(
        "--since",
        metavar="PLAN.json",
        help="An earlier plan of this winter: what was eaten against it is shown.",
    ),
]
PeriodsOption = Annotated[
    Periods | None,
    typer.Option("--periods", help="Steps of the plan, instead of those of the farm file."),
]


ExplainOption = Annotated[
    bool,
    typer.Option(
        "--explain",
        help=(
            "Also say why: what binds in each group, when and what it costs, stores, feeds only"
            " just in or out; without a plan, what clashes in each group that is short."
        ),
    ),
]
KeepOption = Annotated[
    bool,
    typer.Option(
        "--keep",
        help="Keep this plan in the farm folder as the plan in force; an older one stays, dated.",
    ),
]


def winter(
    farm: FarmArgument,
    start: FromOption = None,
    periods: PeriodsOption = None,
    keep: KeepOption = False,
    since: SinceOption = None,
    explain: ExplainOption = False,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Plan the winter: who eats what and when, what to buy and when, how long each store lasts,
    with proof.

    Ends with exit code 3 when the winter cannot be fed; then it says who is short of what, in which
    weeks.
    """
    from rationlp.after.sofar import so_far
    from rationlp.ask.lying import forage_left_lying
    from rationlp.cli.options import deliver, farm_inputs, tell_notices
    from rationlp.read.earlier import read_earlier
    from rationlp.read.farm import read_farm
    from rationlp.stock.dry_matter import farm_stocks

    read = read_farm(farm)
    earlier = None if since is None else read_earlier(since)
    begun = begun_on(read, start)
    plan = plan_from(begun, start, periods, measured_again(read, earlier))
    found = (
        ()
        if earlier is None
        else so_far(earlier, begun.stocks or farm_stocks(read), plan.periods[0].first)
    )
    aside = Aside(begun.so_far, forage_left_lying(plan))
    tell_notices(begun.farm.notices)
    deliver(
        answer_of(plan, found, _reasons(plan, explain), aside),
        form,
        output,
        (*farm_inputs(farm), *([] if since is None else [since])),
    )
    if keep:
        _keep(plan, farm)
    if plan.exit_code:
        raise typer.Exit(plan.exit_code)


def measured_again(farm: Farm, earlier: EarlierPlan | None) -> frozenset[str]:
    """Ids of the stores that hold other tonnes than an earlier plan began with; none without an
    earlier plan.
    """
    from rationlp.stock.dry_matter import farm_stocks

    if earlier is None:
        return frozenset()
    now = farm_stocks(farm)
    return frozenset(
        store.store
        for store in earlier.stores
        if store.store in now
        and abs(now[store.store].edible_t_dm.typical - store.held_t_dm) > SAME_T_DM
    )


def _keep(plan: WinterPlan, farm: Path) -> None:
    """Keep the plan in force, and say where; a winter without a plan has said so, and nothing is
    kept.
    """
    from rationlp.report.keeping import keep_plan
    from rationlp.report.terminal import tell

    if not plan.rations:
        tell("Not kept: there is no plan to keep.")
        return
    done = keep_plan(plan, farm)
    if done.older is not None:
        tell(f"The plan in force until now stays: {done.older}")
    tell(f"Plan in force: {done.path}")


class Aside(NamedTuple):
    """What is told before the tables of a plan: where the winter stands, and forage left lying
    while feed is bought.
    """

    so_far: SoFarThisWinter | None = None
    lying: tuple[LeftLying, ...] = ()


_NOTHING_ASIDE = Aside()


class _Reasons(NamedTuple):
    """Why a plan is what it is; without one, what is the matter with each group that is short, and
    what would be enough.
    """

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


def answer_of(
    plan: WinterPlan,
    found: tuple[SoFar, ...] = (),
    reasons: _Reasons = _NO_REASONS,
    aside: Aside = _NOTHING_ASIDE,
) -> Answer:
    """A plan in the three forms of an answer; a winter that cannot be fed included. found: eaten
    against an earlier plan.
    reasons: why, where that was asked for. aside: what is told before the tables.
    """
    from rationlp.report.answers.winter import WinterAnswer
    from rationlp.report.json_answer import document
    from rationlp.report.plan_text import winter_text
    from rationlp.report.tables.winter_plan import plan_shortfalls_table, winter_table

    def text(width: int, drawn: bool = False) -> str:
        first = _aside_text(aside, plan.farm.currency, width)
        return winter_text(plan, width, found, _why_text(plan, reasons, width), drawn, first)

    return Answer(
        text=text,
        table=lambda: winter_table(plan) if plan.proof is not None else plan_shortfalls_table(plan),
        document=lambda: document(
            "winter",
            WinterAnswer(
                plan,
                found,
                reasons.why,
                tuple(reasons.alone),
                tuple(reasons.enough or ()),
                aside.so_far,
                aside.lying,
            ),
        ),
        sheets=lambda: [*_aside_tables(aside), *_sheets(plan, found, reasons.why)],
        drawn=lambda width: text(width, drawn=True),
    )


def _aside_text(aside: Aside, currency: str, width: int) -> str:
    from rationlp.report.terminal import table_text, wrapped
    from rationlp.report.winter_so_far import lying_sentences, so_far_lines

    lines = [*lying_sentences(aside.lying, currency), *so_far_lines(aside.so_far)]
    said = "\n".join(wrapped(line, width) for line in lines)
    return "\n\n".join(
        part
        for part in (said, *(table_text(table, width) for table in _aside_tables(aside)))
        if part
    )


def _aside_tables(aside: Aside) -> list[Table]:
    from rationlp.report.winter_so_far import stores_now_table

    return [] if aside.so_far is None else [stores_now_table(aside.so_far)]


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


def planned(farm: Farm, start: str | None, periods: Periods | None) -> WinterPlan:
    """The plan from a day on, by the log and in periods of the person's choice. Raises InputError
    (IN504) for what is no day of the winter, (IN730) where nobody can say what is left in the
    stores.
    """
    return plan_from(begun_on(farm, start), start, periods)


def begun_on(farm: Farm, start: str | None) -> WinterSoFar:
    """The farm on the day from which it is planned, by its log and the plan in force until then."""
    from rationlp.ask.carry_on import winter_so_far

    return winter_so_far(farm, _first_planned(farm, start) or farm.start)


def plan_from(
    begun: WinterSoFar, start: str | None, periods: Periods | None, measured: Collection[str] = ()
) -> WinterPlan:
    """The plan of the rest of a winter, in periods of the person's choice. Where neither a log nor
    a kept plan says what is in store, what the plan of the whole winter would have fed is taken
    off. measured: ids of stores measured again all the same.
    """
    from rationlp.ask.carried import plan_from as plan_carried
    from rationlp.ask.carry_on import plan_on
    from rationlp.winter.plan import WinterOptions, solve_winter

    stepped = stepped_farm(begun.farm, periods)
    options = WinterOptions(start=_first_planned(begun.farm, start), ceilings=True)
    if begun.stocks is None:
        return plan_carried(stepped, options, measured)
    return plan_on(begun, solve_winter(stepped, options, begun.stocks))


def _first_planned(farm: Farm, start: str | None) -> date | None:
    """The first day planned as typed, None where none is.

    Raises InputError (IN504) for what is no date, or no day of the winter.
    """
    from datetime import date

    from rationlp.errors import Finding, InputError

    if start is None:
        return None
    remedy = f"give a day from {farm.start} to before {farm.turnout}, as year-month-day"
    try:
        day = date.fromisoformat(start)
    except ValueError as trouble:
        raise InputError([Finding("IN504", "--from", f'"{start}" is no date', remedy)]) from trouble
    if not farm.start <= day < farm.turnout:
        raise InputError([Finding("IN504", "--from", f"{day} is outside the winter", remedy)])
    return day


def stepped_farm(farm: Farm, periods: Periods | None) -> Farm:
    """The farm with its winter in other periods; as it is where none are given."""
    from dataclasses import replace

    from rationlp.read.calendar import Winter
    from rationlp.read.winter import periods_of

    if periods is None:
        return farm
    return replace(farm, periods=periods_of(Winter(farm.start, farm.turnout), periods.value))
