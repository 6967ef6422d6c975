"""`rationlp grow`: how many hectares of each forage the herd needs next year."""

from __future__ import annotations

from typing import Annotated

import typer

from rationlp.cli.options import Answer, FarmArgument, Format, FormatOption, OutputOption

ReserveOption = Annotated[
    float | None,
    typer.Option("--reserve", metavar="SHARE", help="Grown beyond what is used; 0.1 if left out."),
]


def grow(
    farm: FarmArgument,
    reserve: ReserveOption = None,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Work out how much of each forage of [[growing]] to grow for the next winter of the same
    animals, against buying and selling.

    Ends with exit code 3 when no plan feeds every group.
    """
    from rationlp.ask.grow import USUAL_RESERVE, storing_figures
    from rationlp.ask.grow import grow as answer_of
    from rationlp.cli.options import deliver, farm_inputs, tell_notices
    from rationlp.read.farm import read_farm
    from rationlp.report.answers.asked import GrowAnswer
    from rationlp.report.json_answer import document
    from rationlp.report.tables.grow import crops_table, grow_line, next_bought_table, storing_table
    from rationlp.report.terminal import closed, tables_text, wrapped

    read = read_farm(farm)
    found = answer_of(read, USUAL_RESERVE if reserve is None else reserve)
    tables = (crops_table(found), storing_table(found), next_bought_table(found))
    answer = Answer(
        text=lambda width: closed(
            [wrapped(grow_line(found), width), tables_text(tables, width)], width
        ),
        table=lambda: tables[0],
        document=lambda: document("grow", GrowAnswer(found, storing_figures())),
    )
    tell_notices(read.notices)
    deliver(answer, form, output, farm_inputs(farm))
    if found.cost is None:
        raise typer.Exit(3)
