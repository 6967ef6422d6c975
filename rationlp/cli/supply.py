"""`rationlp supply`: a ration already fed, set against what is needed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rationlp.cli.options import Answer, FarmArgument, Format, FormatOption, OnOption, OutputOption

if TYPE_CHECKING:
    from rationlp.ask.in_force import Followed
    from rationlp.farm.farm import Farm
    from rationlp.report.answers.day import MadeFrom
    from rationlp.result import FedSupply

FedArgument = Annotated[
    Path | None,
    typer.Argument(
        metavar="FED.CSV",
        help=(
            "What is fed: columns group, feed and kg_fresh or kg_dm, a head a day; what the plan"
            " feeds if left out."
        ),
    ),
]


def supply(
    farm: FarmArgument,
    fed: FedArgument = None,
    on: OnOption = None,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Show what a ration already fed gives against what each group needs, nutrient by nutrient.

    Without FED.CSV that is the ration of the plan in force on the day, else of the winter's plan
    made now.
    """
    from rationlp.ask.fix import explain_fed
    from rationlp.cli.options import deliver, farm_inputs, tell_notices
    from rationlp.read.farm import read_farm
    from rationlp.report.answers.day import supply_answer
    from rationlp.report.json_answer import document
    from rationlp.report.results import fed_tables
    from rationlp.report.tables import supplies_table
    from rationlp.report.terminal import fed_text, wrapped
    from rationlp.report.why import fed_lines

    read = read_farm(farm)
    today, given, lines, made_from = (
        _from_plan(read, on) if fed is None else _from_file(read, fed, on)
    )
    reasons = {one.group: explain_fed(today, one) for one in given if form is not Format.csv}

    def text(width: int) -> str:
        said = {one.group: fed_lines(reasons[one.group], one, read.currency) for one in given}
        first = "\n".join(wrapped(line, width) for line in lines)
        return "\n\n".join(part for part in (first, fed_text(today, given, width, said)) if part)

    answer = Answer(
        text=text,
        table=lambda: supplies_table(given, read.own_quantities),
        document=lambda: document("supply", supply_answer(today, given, reasons, made_from)),
        sheets=lambda: fed_tables(given, today),
    )
    tell_notices(read.notices)
    deliver(answer, form, output, (*farm_inputs(farm), *([] if fed is None else [fed])))


_Given = tuple["Farm", "tuple[FedSupply, ...]", tuple[str, ...], "MadeFrom | None"]


def _from_file(read: Farm, fed: Path, on: str | None) -> _Given:
    """What the file says is fed, and below what day; with what the plan in force feeds beside
    it."""
    from rationlp import supply as fed_against_needs
    from rationlp.ask.in_force import kept_for
    from rationlp.cli.options import day_of_winter, farm_on_day
    from rationlp.report.in_force import fed_on_day_lines

    kept = kept_for(read, day_of_winter(read, on))
    today = read if on is None else farm_on_day(read, on)
    lines = () if kept is None else tuple(fed_on_day_lines(kept))
    return today, fed_against_needs(today, fed), lines, None


def _from_plan(read: Farm, on: str | None) -> _Given:
    """What the plan feeds on the day. Raises InputError (IN803) where it feeds nobody."""
    from rationlp.ask.in_force import followed
    from rationlp.cli.options import day_of_winter
    from rationlp.errors import Finding, InputError
    from rationlp.model.fed import fed_supply
    from rationlp.report.answers.day import made_from
    from rationlp.report.in_force import made_from_lines

    plan: Followed = followed(read, day_of_winter(read, on))
    feeding = plan.rations()
    if feeding is None:
        remedy = "give FED.CSV, what is fed; `rationlp winter FARM` says who is short of what"
        raise InputError(
            [Finding("IN803", "supply", f"no plan feeds anybody on {plan.day}", remedy)]
        )
    today = feeding.rations.farm
    amounts = {
        one.group: {amount.offer: amount.kg_dm for amount in one.amounts}
        for one in feeding.rations.groups
    }
    needs = {one.group: one.needs for one in feeding.rations.groups}
    given = fed_supply(today, {group: kg for group, kg in amounts.items() if kg}, needs)
    return today, given, made_from_lines(plan), made_from(plan)
