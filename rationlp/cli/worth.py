"""`rationlp worth`: the price at which a feed enters or leaves a ration, and what a tonne in store
is worth.
"""

from __future__ import annotations

from typing import Annotated

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

FeedOption = Annotated[
    list[str] | None,
    typer.Option(
        "--feed",
        metavar="ID",
        help=(
            "Only this store or feed, or any feed of the tables by key; may be given more than"
            " once."
        ),
    ),
]
LotOption = Annotated[
    float | None,
    typer.Option(
        "--lot",
        metavar="T",
        min=0.001,
        max=1e6,
        help="Also price a lot of so many tonnes fresh (a bale: 0.65).",
    ),
]
EnergyOption = Annotated[
    str, typer.Option("--energy", metavar="ID", help="Reference feed for energy.")
]
ProteinOption = Annotated[
    str, typer.Option("--protein", metavar="ID", help="Reference feed for protein.")
]


def worth(
    farm: FarmArgument,
    feed: FeedOption = None,
    group: GroupOption = None,
    on: OnOption = None,
    lot: LotOption = None,
    energy: EnergyOption = "barley",
    protein: ProteinOption = "soya_meal_48",
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Show at what price each feed comes in or goes out, and what one tonne more of each store
    would save this winter.
    """
    from rationlp.ask.worth import WorthOptions
    from rationlp.ask.worth import worth as ask_worth
    from rationlp.cli.options import deliver, farm_inputs, farm_on_day, tell_notices
    from rationlp.needs.calendar import expanded
    from rationlp.read.farm import read_farm
    from rationlp.report.asked import worth_text
    from rationlp.report.json_answer import document
    from rationlp.report.tables.worth import worths_table

    read = read_farm(farm)
    today = farm_on_day(read, on)
    options = WorthOptions(
        tuple(feed or ()), expanded(today, group), energy, protein, lot, winter=not group
    )
    found = ask_worth(read, today, options)
    answer = Answer(
        text=lambda width: worth_text(found, width),
        table=lambda: worths_table(found),
        document=lambda: document("worth", found),
    )
    tell_notices(read.notices)
    deliver(answer, form, output, farm_inputs(farm))
