"""`rationlp whatif`: change something, solve again, compare."""

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
    from datetime import date

    from rationlp.ask.whatif import WhatIf
    from rationlp.farm.farm import Farm

SetOption = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        metavar="PATH=VALUE",
        help=(
            "A change, such as soya_meal_48.price_per_t_fresh=430 or winter.turnout+=21; a range is"
            " from:to:step. May be given more than once."
        ),
    ),
]
ScenariosOption = Annotated[
    Path | None,
    typer.Option(
        "--scenarios", metavar="FILE.TOML", help="Scenarios with names, several changes each."
    ),
]
StressOption = Annotated[
    bool,
    typer.Option(
        "--stress", help="The ready-made table: turnout, density, dry matter, head, prices, ME."
    ),
]
ManyOption = Annotated[bool, typer.Option("--many", help="Solve more scenarios than forty.")]
CoresOption = Annotated[
    int | None,
    typer.Option("--cores", metavar="N", min=1, help="Processes to use; all cores if left out."),
]


def whatif(
    farm: FarmArgument,
    change: SetOption = None,
    scenarios: ScenariosOption = None,
    stress: StressOption = False,
    group: GroupOption = None,
    on: OnOption = None,
    many: ManyOption = False,
    cores: CoresOption = None,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Change prices, analyses, heads, dates or stores, solve the winter (or the ration of --group)
    again, and compare.

    A change that farm.toml could not hold is refused; a scenario without a ration is a row that
    says so.
    """
    from rationlp.ask.scenarios import allowed, file_scenarios, stress_scenarios, typed_scenarios
    from rationlp.ask.whatif import Asked, what_if
    from rationlp.cli.options import deliver, farm_inputs, tell_notices
    from rationlp.read.changed import begin

    if on is not None and not group:
        raise typer.BadParameter(
            "a day goes with --group; the winter is planned whole", param_hint="--on"
        )
    begun = begin(farm)
    stated = [
        *typed_scenarios(change or (), many),
        *(() if scenarios is None else file_scenarios(scenarios, many)),
    ]
    ready = stress_scenarios(begun) if stress else ()
    allowed(len(stated) + len(ready), many)
    asked = Asked(tuple(group) if group else None, _day(begun.farm, on), cores, progress)
    answer = what_if(begun, [*stated, *ready], asked)
    tell_notices(begun.farm.notices)
    inputs = [*farm_inputs(farm), *([] if scenarios is None else [scenarios])]
    deliver(_answer(answer), form, output, inputs)


def progress(done: int, count: int) -> None:
    """How far a batch has come, on stderr and on one line, where somebody watches."""
    import sys

    if sys.stderr.isatty():
        end = "\n" if done == count else ""
        sys.stderr.write(f"\r{done} of {count} solved{end}")
        sys.stderr.flush()


def _day(farm: Farm, on: str | None) -> date | None:
    from rationlp.cli.options import farm_on_day

    return None if on is None else farm_on_day(farm, on).day


def _answer(answer: WhatIf) -> Answer:
    from rationlp.report.answers.asked import what_if_answer
    from rationlp.report.json_answer import document
    from rationlp.report.tables.whatif import headline, scenarios_table, what_if_tables
    from rationlp.report.terminal import closed, tables_text, wrapped

    return Answer(
        text=lambda width: closed(
            [wrapped(headline(answer), width), tables_text(what_if_tables(answer), width)], width
        ),
        table=lambda: scenarios_table(answer),
        document=lambda: document("what_if", what_if_answer(answer)),
    )
