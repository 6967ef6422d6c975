"""`rationlp needs`: what each group requires, and why."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rationlp.cli.options import Answer, FarmArgument, Format, FormatOption, GroupOption, OutputOption

if TYPE_CHECKING:
    from rationlp.needs.objects import GroupNeeds
    from rationlp.read.objects import Farm


def needs(
    farm: FarmArgument,
    group: GroupOption = None,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Show what a head of each group requires a day: every step with its equation and source, and the limits on the diet."""
    from rationlp import farm_needs
    from rationlp.cli.options import deliver, farm_inputs, tell_notices
    from rationlp.read.farm import read_farm
    from rationlp.report.documents import needs_document
    from rationlp.report.tables import needs_table

    read = read_farm(farm)
    found = farm_needs(read, group)
    answer = Answer(
        text=lambda width: _text(read, found, width),
        table=lambda: needs_table(found),
        document=lambda: needs_document(read, found),
    )
    tell_notices(read.notices)
    deliver(answer, form, output, farm_inputs(farm))


def _text(farm: Farm, found: tuple[GroupNeeds, ...], width: int) -> str:
    from rationlp.report.tables import energy_table, limits_table, needs_table
    from rationlp.report.terminal import closed, remarks_text, tables_text

    parts = []
    for group in found:
        parts.append(
            tables_text([needs_table(group), energy_table(group), limits_table(group, farm.own_quantities)], width)
        )
        parts.append(remarks_text(group.remarks, width))
    return closed(parts, width)
