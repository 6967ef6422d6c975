"""`rationlp ration`: the least-cost ration of each group today."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

import typer

from rationlp.cli.options import (
    Answer,
    FarmArgument,
    FiguresOption,
    Format,
    FormatOption,
    GroupOption,
    OnOption,
    OutputOption,
)

if TYPE_CHECKING:
    from rationlp.after.changeover import ChangeOver
    from rationlp.ask.why import Why
    from rationlp.cli.rate import Rate
    from rationlp.farm.farm import Farm
    from rationlp.model.trace import Trace
    from rationlp.report.tables import Table
    from rationlp.result import Rations


InsteadOption = Annotated[
    Path | None,
    typer.Option(
        "--instead-of",
        metavar="FED.CSV",
        help="What is fed now (as for supply): show how to change over.",
    ),
]
DaysOption = Annotated[
    float | None,
    typer.Option(
        "--fed-for",
        metavar="DAYS",
        min=0.0,
        help="How long that ration has been fed; with --instead-of.",
    ),
]


ExplainOption = Annotated[
    bool,
    typer.Option(
        "--explain",
        help=(
            "Also say why: what binds and what it costs, feeds only just in or out, how far amounts"
            " could move."
        ),
    ),
]
RowsOption = Annotated[
    bool,
    typer.Option("--show-rows", help="Also show every row of the model, with its coefficients."),
]
LpOption = Annotated[
    Path | None,
    typer.Option(
        "--write-lp",
        metavar="FILE",
        help="Also write the last programmes as LP text, for any solver to check.",
    ),
]


def ration(
    farm: FarmArgument,
    group: GroupOption = None,
    on: OnOption = None,
    instead_of: InsteadOption = None,
    fed_for: DaysOption = None,
    explain: ExplainOption = False,
    show_rows: RowsOption = False,
    write_lp: LpOption = None,
    figures: FiguresOption = False,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Find what to feed each group at least cost: kg fresh, cost, supply against need, and proof.

    Ends with exit code 3 when at least one group has no ration; the others are answered all the
    same. Exit code 4: an answer failed its own check, and says so.
    """
    from rationlp.cli.options import deliver, farm_inputs, farm_on_day, tell_notices
    from rationlp.cli.rate import at_this_rate
    from rationlp.model.ration import solve_rations
    from rationlp.needs.calendar import expanded
    from rationlp.read.farm import read_farm

    if fed_for is not None and instead_of is None:
        raise typer.BadParameter("it goes with --instead-of", param_hint="--fed-for")
    read = read_farm(farm)
    today = farm_on_day(read, on)
    # What is fed now is read before anything is solved, so that its faults are told at once.
    fed = (
        {}
        if instead_of is None
        else _fed_now(instead_of, replace(today, groups=(*today.groups, *read.groups)))
    )
    rations = solve_rations(today, expanded(today, group))
    changes = {} if instead_of is None else _changes(rations, fed, fed_for)
    more = _More(
        _reasons(rations) if explain else {},
        _traces(rations) if show_rows or write_lp else (),
        show_rows,
    )
    rate = at_this_rate(read, rations, on)
    answer = Answer(
        text=lambda width: _text(rations, figures, changes, more, width, rate.lines),
        table=lambda: _table(rations, None if instead_of is None else changes),
        document=lambda: _document(rations, changes, more, rate),
        sheets=lambda: _sheets(rations, figures, changes),
    )
    tell_notices(read.notices)
    inputs = (*farm_inputs(farm), *([] if instead_of is None else [instead_of]))
    if write_lp is not None:
        _write_lp(write_lp, more.traces, inputs)
    deliver(answer, form, output, inputs)
    if rations.exit_code:
        raise typer.Exit(rations.exit_code)


def _fed_now(path: Path, farm: Farm) -> dict[str, dict[str, float]]:
    from rationlp.read.fed import read_fed

    return read_fed(path, farm)


def _changes(
    rations: Rations, fed: dict[str, dict[str, float]], days: float | None
) -> dict[str, ChangeOver]:
    from rationlp.after.changeover import Past, change_overs

    return change_overs(rations, fed, Past(days))


class _More(NamedTuple):
    """What was asked for besides the answer: reasons by group id, the last programmes, and whether
    their rows are shown.
    """

    reasons: dict[str, Why]
    traces: tuple[Trace, ...]
    show_rows: bool


def _reasons(rations: Rations) -> dict[str, Why]:
    from rationlp.ask.why import why_ration

    found = {group.group: why_ration(rations.farm, group) for group in rations.groups}
    return {group: why for group, why in found.items() if why is not None}


def _traces(rations: Rations) -> tuple[Trace, ...]:
    from rationlp.ask.rows import traces

    return traces(rations)


def _write_lp(path: Path, traces: tuple[Trace, ...], inputs: Iterable[Path]) -> None:
    from rationlp.model.trace import lp_text
    from rationlp.report.files import write_whole
    from rationlp.report.terminal import tell

    write_whole(path, lp_text(traces), inputs)
    tell(f"Written: {path}")


def _text(
    rations: Rations,
    figures: bool,
    changes: Mapping[str, ChangeOver],
    more: _More,
    width: int,
    rate: tuple[str, ...] = (),
) -> str:
    from rationlp.report.terminal import rations_text

    tables = _origins(rations) if figures else []
    names = {group.group: group.name for group in rations.groups}
    if more.show_rows:
        from rationlp.report.tables.trace import rows_table

        tables += [rows_table(trace, names[trace.group]) for trace in more.traces]
    reasons = {}
    if more.reasons:
        from rationlp.report.why import why_text

        reasons = {
            group: why_text(why, names[group], rations.farm.currency, width)
            for group, why in more.reasons.items()
        }
    return rations_text(rations, width, tables, changes, reasons, rate)


def _origins(rations: Rations) -> list[Table]:
    """Where the figures of every feed come from that some group gets."""
    from rationlp.report.tables import origins_table

    used = {amount.offer for group in rations.groups for amount in group.amounts}
    offers = [offer for offer in rations.farm.offers if offer.id in used]
    return [origins_table(offer, rations.farm.own_quantities) for offer in offers]


def _sheets(rations: Rations, figures: bool, changes: Mapping[str, ChangeOver]) -> list[Table]:
    from rationlp.report.results import rations_tables
    from rationlp.report.tables import change_overs_table

    ways = [change_overs_table(rations, changes)] if changes else []
    return [*rations_tables(rations, changes), *ways, *(_origins(rations) if figures else ())]


def _table(rations: Rations, changes: Mapping[str, ChangeOver] | None) -> Table:
    from rationlp.report.tables import change_overs_table, rations_table

    return rations_table(rations) if changes is None else change_overs_table(rations, changes)


def _document(
    rations: Rations, changes: Mapping[str, ChangeOver], more: _More, rate: Rate
) -> dict[str, Any]:
    from rationlp.report.answers.day import RationAnswer, rations_of_groups
    from rationlp.report.json_answer import document

    traces = more.traces if more.show_rows else ()
    groups = rations_of_groups(rations, changes, more.reasons, traces)
    return document("ration", RationAnswer(rations.farm, groups, rate.stores, rate.plan_in_force))
