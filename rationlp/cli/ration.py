"""`rationlp ration`: the least-cost ration of each group today."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

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
    from rationlp.report.tables import Table
    from rationlp.result import Rations


def ration(
    farm: FarmArgument,
    group: GroupOption = None,
    on: OnOption = None,
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

    read = read_farm(farm)
    today = farm_on_day(read, on)
    rations = solve_rations(today, expanded(today, group))
    answer = Answer(
        text=lambda width: _text(rations, figures, width),
        table=lambda: _table(rations),
        document=lambda: _document(rations),
    )
    tell_notices(read.notices)
    deliver(answer, form, output, farm_inputs(farm))
    if rations.exit_code:
        raise typer.Exit(rations.exit_code)


def _text(rations: Rations, figures: bool, width: int) -> str:
    from rationlp.report.tables import origins_table
    from rationlp.report.terminal import rations_text

    used = {amount.offer for group in rations.groups for amount in group.amounts}
    offers = [offer for offer in rations.farm.offers if figures and offer.id in used]
    return rations_text(rations, width, [origins_table(offer, rations.farm.own_quantities) for offer in offers])


def _table(rations: Rations) -> Table:
    from rationlp.report.tables import rations_table

    return rations_table(rations)


def _document(rations: Rations) -> dict[str, Any]:
    from rationlp.report.documents import rations_document

    return rations_document(rations)
