"""`rationlp needs`: what each group requires, and why."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rationlp.cli.options import (
    Answer,
    FarmArgument,
    Format,
    FormatOption,
    GroupOption,
    OnOption,
    OutputOption,
)

if TYPE_CHECKING:
    from rationlp.farm.farm import Farm
    from rationlp.needs.compare import Opinion
    from rationlp.needs.objects import GroupNeeds
    from rationlp.report.tables import Table

CompareOption = Annotated[
    bool,
    typer.Option(
        "--compare", help="Show instead what other published standards ask for, beside ours."
    ),
]

WorkingOption = Annotated[
    bool,
    typer.Option(
        "--show-working",
        help="Also show every step from net energy to ME: efficiencies, level, margin.",
    ),
]


def needs(
    farm: FarmArgument,
    group: GroupOption = None,
    on: OnOption = None,
    over_winter: Annotated[
        bool,
        typer.Option(
            "--over-winter",
            help="Every fortnight of the winter in one table, as the calendar goes.",
        ),
    ] = False,
    compare: CompareOption = False,
    show_working: WorkingOption = False,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Show what a head of each group requires a day: every step with its equation and source, and
    the limits on the diet.
    """
    from rationlp import farm_needs
    from rationlp.cli.options import deliver, farm_inputs, farm_on_day, tell_notices
    from rationlp.needs.calendar import expanded
    from rationlp.read.farm import read_farm
    from rationlp.report.answers.farm import needs_answer
    from rationlp.report.json_answer import document
    from rationlp.report.results import needs_tables
    from rationlp.report.tables import compare_table, needs_table

    read = read_farm(farm)
    if over_winter:
        _over_winter(read, group, (form, output), farm)
        return
    read = farm_on_day(read, on)
    found = farm_needs(read, expanded(read, group))
    if compare:
        opinions = _opinions(read, found)
        answer = Answer(
            text=lambda width: _compared(opinions, found, width),
            table=lambda: compare_table(opinions, found),
            document=lambda: document("needs", needs_answer(read, found, opinions)),
        )
    else:
        answer = Answer(
            text=lambda width: _text(read, found, width, show_working),
            table=lambda: needs_table(found),
            document=lambda: document("needs", needs_answer(read, found, working=show_working)),
            sheets=lambda: needs_tables(found),
        )
    tell_notices(read.notices)
    deliver(answer, form, output, farm_inputs(farm))


def _over_winter(
    farm: Farm, only: list[str] | None, written: tuple[Format, Path | None], folder: Path
) -> None:
    """The needs of every group step by step through the winter."""
    from rationlp.cli.options import deliver, farm_inputs, tell_notices
    from rationlp.needs.winter import needs_over_winter
    from rationlp.report.answers.farm import winter_needs_answer
    from rationlp.report.json_answer import document
    from rationlp.report.tables import winter_needs_table
    from rationlp.report.terminal import closed, tables_text

    steps = needs_over_winter(farm, only)
    answer = Answer(
        text=lambda width: closed([tables_text([winter_needs_table(steps)], width)], width),
        table=lambda: winter_needs_table(steps),
        document=lambda: document("needs_over_winter", winter_needs_answer(farm, steps)),
    )
    tell_notices(farm.notices)
    deliver(answer, *written, farm_inputs(folder))


def _text(farm: Farm, found: tuple[GroupNeeds, ...], width: int, working: bool) -> str:
    from rationlp.report.tables import energy_table, limits_table, minerals_table, needs_table
    from rationlp.report.terminal import closed, remarks_text, tables_text

    parts = []
    for group in found:
        limits = limits_table(group, farm.own_quantities)
        tables = [needs_table(group), energy_table(group), minerals_table(group), limits]
        parts.append(tables_text([*tables[:1], *_working(group, working), *tables[1:]], width))
        parts.append(remarks_text(group.remarks, width))
    return closed(parts, width)


def _working(group: GroupNeeds, wanted: bool) -> list[Table]:
    if not wanted:
        return []
    from rationlp.report.tables.trace import working_table

    return [working_table(group)]


def _opinions(farm: Farm, found: tuple[GroupNeeds, ...]) -> dict[str, tuple[Opinion, ...]]:
    from rationlp.needs.compare import second_opinions

    groups = {group.id: group for group in farm.groups}
    return {
        needs.group: second_opinions(groups[needs.group], needs, farm.margins) for needs in found
    }


def _compared(
    opinions: dict[str, tuple[Opinion, ...]], found: tuple[GroupNeeds, ...], width: int
) -> str:
    from rationlp.report.tables import compare_table, spread
    from rationlp.report.terminal import closed, tables_text, wrapped

    parts = []
    for group in found:
        nothing = f"{group.group} states its own needs: there is nothing to set beside them."
        said = (
            f"{group.group}: {spread(opinions[group.group])}" if opinions[group.group] else nothing
        )
        parts += [wrapped(said, width), tables_text([compare_table(opinions, (group,))], width)]
    return closed(parts, width)
