"""`rationlp supply`: a ration already fed, set against what is needed."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from rationlp.cli.options import Answer, FarmArgument, Format, FormatOption, OutputOption


def supply(
    farm: FarmArgument,
    fed: Annotated[
        Path,
        typer.Argument(metavar="FED.CSV", help="What is fed: columns group, feed and kg_fresh or kg_dm, a head a day."),
    ],
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Show what a ration already fed gives against what each group needs, nutrient by nutrient."""
    from rationlp import supply as fed_against_needs
    from rationlp.ask.fix import explain_fed
    from rationlp.cli.options import deliver, farm_inputs, tell_notices
    from rationlp.read.farm import read_farm
    from rationlp.report.documents import supply_document
    from rationlp.report.results import fed_tables
    from rationlp.report.tables import supplies_table
    from rationlp.report.terminal import fed_text
    from rationlp.report.why import fed_lines

    read = read_farm(farm)
    given = fed_against_needs(read, fed)
    reasons = {one.group: explain_fed(read, one) for one in given if form is not Format.csv}

    def text(width: int) -> str:
        said = {one.group: fed_lines(reasons[one.group], one, read.currency) for one in given}
        return fed_text(read, given, width, said)

    answer = Answer(
        text=text,
        table=lambda: supplies_table(given, read.own_quantities),
        document=lambda: supply_document(read, given, reasons),
        sheets=lambda: fed_tables(given, read),
    )
    tell_notices(read.notices)
    deliver(answer, form, output, (*farm_inputs(farm), fed))
