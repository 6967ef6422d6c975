"""`rationlp ration`: the least-cost ration of each group today."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

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
    from rationlp.read.objects import Farm
    from rationlp.report.tables import Table
    from rationlp.result import Rations


InsteadOption = Annotated[
    Path | None,
    typer.Option("--instead-of", metavar="FED.CSV", help="What is fed now (as for supply): show how to change over."),
]
DaysOption = Annotated[
    float | None,
    typer.Option("--fed-for", metavar="DAYS", min=0.0, help="How long that ration has been fed; with --instead-of."),
]


def ration(
    farm: FarmArgument,
    group: GroupOption = None,
    on: OnOption = None,
    instead_of: InsteadOption = None,
    fed_for: DaysOption = None,
    figures: FiguresOption = False,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Find what to feed each group at least cost: kg fresh, cost, supply against need, and proof.

    Ends with exit code 3 when at least one group has no ration; the others are answered all the same.
    """
    from rationlp.cli.options import deliver, farm_inputs, farm_on_day, tell_notices
    from rationlp.model.ration import solve_rations
    from rationlp.needs.calendar import expanded
    from rationlp.read.farm import read_farm

    if fed_for is not None and instead_of is None:
        raise typer.BadParameter("it goes with --instead-of", param_hint="--fed-for")
    read = read_farm(farm)
    today = farm_on_day(read, on)
    # What is fed now is read before anything is solved, so that its faults are told at once.
    fed = {} if instead_of is None else _fed_now(instead_of, replace(today, groups=(*today.groups, *read.groups)))
    rations = solve_rations(today, expanded(today, group))
    changes = {} if instead_of is None else _changes(rations, fed, fed_for)
    answer = Answer(
        text=lambda width: _text(rations, figures, changes, width),
        table=lambda: _table(rations, None if instead_of is None else changes),
        document=lambda: _document(rations, changes),
        sheets=lambda: _sheets(rations, figures, changes),
    )
    tell_notices(read.notices)
    deliver(answer, form, output, (*farm_inputs(farm), *([] if instead_of is None else [instead_of])))
    if rations.exit_code:
        raise typer.Exit(rations.exit_code)


def _fed_now(path: Path, farm: Farm) -> dict[str, dict[str, float]]:
    from rationlp.read.fed import read_fed

    return read_fed(path, farm)


def _changes(rations: Rations, fed: dict[str, dict[str, float]], days: float | None) -> dict[str, ChangeOver]:
    from rationlp.after.changeover import Past, change_overs

    return change_overs(rations, fed, Past(days))


def _text(rations: Rations, figures: bool, changes: Mapping[str, ChangeOver], width: int) -> str:
    from rationlp.report.terminal import rations_text

    return rations_text(rations, width, _origins(rations) if figures else (), changes)


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
    return [*rations_tables(rations), *ways, *(_origins(rations) if figures else ())]


def _table(rations: Rations, changes: Mapping[str, ChangeOver] | None) -> Table:
    from rationlp.report.tables import change_overs_table, rations_table

    return rations_table(rations) if changes is None else change_overs_table(rations, changes)


def _document(rations: Rations, changes: Mapping[str, ChangeOver]) -> dict[str, Any]:
    from rationlp.report.documents import rations_document

    return rations_document(rations, changes)
