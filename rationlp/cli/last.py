"""`rationlp last`: how long each store lasts, under the plan or under rations that the farm states."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rationlp.cli.options import Answer, FarmArgument, Format, FormatOption, OutputOption

if TYPE_CHECKING:
    from collections.abc import Callable

    from rationlp.after.stock import Spring
    from rationlp.read.objects import Farm

FedOption = Annotated[
    Path | None,
    typer.Option(
        "--fed", metavar="FED.CSV", help="What is fed all winter (as for supply), instead of the least-cost plan."
    ),
]


def last(
    farm: FarmArgument,
    fed: FedOption = None,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Show what is left of each store by date, the day it runs out, and the same with turnout three weeks early and late.

    Ends with exit code 3 when there is no plan to go by, or when a store runs out before turnout under the rations stated.
    """
    from rationlp.after.stock import springs
    from rationlp.cli.options import deliver, farm_inputs, tell_notices
    from rationlp.errors import EXIT_NO_RATION
    from rationlp.read.farm import read_farm
    from rationlp.report.plan_documents import last_document
    from rationlp.report.plan_text import last_text
    from rationlp.report.tables.winter_plan import lasting_table

    read = read_farm(farm)
    found = springs(read, _under_plan() if fed is None else _under_fed(read, fed))
    now = next(spring for spring in found if not spring.days)
    answer = Answer(
        text=lambda width: last_text(now.stores, found, read.currency, width),
        table=lambda: lasting_table(now.stores),
        document=lambda: last_document(read, "plan" if fed is None else "fed", now.stores, found),
    )
    tell_notices(read.notices)
    deliver(answer, form, output, (*farm_inputs(farm), *([] if fed is None else [fed])))
    if any(one.short_t_dm.typical > 0.0 for one in now.stores):
        raise typer.Exit(EXIT_NO_RATION)


def _under_plan() -> Callable[[Farm], Spring]:
    from rationlp.after.stock import spring_of
    from rationlp.model.winter.plan import solve_winter

    return lambda farm: spring_of(solve_winter(farm))


def _under_fed(farm: Farm, path: Path) -> Callable[[Farm], Spring]:
    from rationlp.after.stock import Spring, each_lasting, fixed_uses
    from rationlp.read.fed import read_fed
    from rationlp.read.stock import farm_stocks

    fed, stocks = read_fed(path, farm), farm_stocks(farm)
    return lambda one: Spring(0, one.turnout, each_lasting(fixed_uses(one, fed, stocks)))
