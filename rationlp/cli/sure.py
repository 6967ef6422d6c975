"""`rationlp sure`: how sure a winter or a ration is when figures are out."""

from __future__ import annotations

from collections.abc import Mapping
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
from rationlp.cli.whatif import CoresOption, progress

if TYPE_CHECKING:
    from rationlp.ask.sure import WinterSureness
    from rationlp.farm.farm import Farm
    from rationlp.rules.spreads import SpreadRow

USUAL_CHANCE = 0.9
USUAL_DRAWS = 40

ChanceOption = Annotated[
    float | None,
    typer.Option(
        "--chance",
        metavar="SHARE",
        help="With --group: chance of meeting energy, and protein; 0.9 if left out.",
    ),
]
DrawsOption = Annotated[
    int | None,
    typer.Option("--draws", metavar="N", help="Draws of the whole winter; 40 if left out."),
]
SeedOption = Annotated[
    int, typer.Option("--seed", metavar="N", help="The same seed gives the same draws.")
]
HoldOption = Annotated[
    bool,
    typer.Option("--hold-plan", help="Feed as planned in every draw, instead of planning anew."),
]
SpreadOption = Annotated[
    list[str] | None,
    typer.Option(
        "--spread",
        metavar="ID=VALUE",
        help="A standard deviation of your own, such as density_table=0.06.",
    ),
]


def sure(
    farm: FarmArgument,
    group: GroupOption = None,
    chance: ChanceOption = None,
    draws: DrawsOption = None,
    hold_plan: HoldOption = False,
    on: OnOption = None,
    seed: SeedOption = 1,
    spread: SpreadOption = None,
    cores: CoresOption = None,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Draw analyses, stores, turnout and prices, and show when stores run out and what the winter
    costs; with --group, what it costs to meet energy and protein with a chosen chance.

    Spreads are typical ones, listed with status and source by --format json; --spread states your
    own.
    """
    from rationlp.cli.options import deliver, farm_inputs, tell_notices
    from rationlp.read.changed import begin
    from rationlp.rules.spreads import spreads_with

    _together(
        group,
        {"--chance": chance, "--on": on},
        {"--draws": draws, "--hold-plan": hold_plan or None},
    )
    spreads = spreads_with(spread or ())
    begun = begin(farm)
    if group:
        wanted = USUAL_CHANCE if chance is None else chance
        answer = _rations(begun.farm, tuple(group), (wanted, on, seed), spreads)
    else:
        from rationlp.ask.sure import DrawsAsked, winter_sureness

        count = USUAL_DRAWS if draws is None else draws
        found = winter_sureness(begun, DrawsAsked(count, seed, spreads, hold_plan, cores, progress))
        answer = _winter(found)
    tell_notices(begun.farm.notices)
    deliver(answer, form, output, farm_inputs(farm))


def _together(
    group: list[str] | None, of_groups: Mapping[str, object], of_winter: Mapping[str, object]
) -> None:
    """Options that go with --group, and those that go without."""
    wrong, word = (of_winter, "without") if group else (of_groups, "with")
    for name, value in wrong.items():
        if value is not None:
            raise typer.BadParameter(f"it goes {word} --group", param_hint=name)


def _rations(
    farm: Farm,
    groups: tuple[str, ...],
    how: tuple[float, str | None, int],
    spreads: Mapping[str, SpreadRow],
) -> Answer:
    from rationlp.ask.robust import SureAsked, sure_rations
    from rationlp.ask.whatif import expanded_or_refused
    from rationlp.cli.options import farm_on_day
    from rationlp.report.answers.asked import SureAnswer
    from rationlp.report.json_answer import document
    from rationlp.report.tables.sure import sure_feeds_table, sure_line, sure_table
    from rationlp.report.terminal import closed, tables_text, wrapped

    chance, on, seed = how
    expanded_or_refused(farm, groups)
    day = None if on is None else farm_on_day(farm, on).day
    found = sure_rations(farm, groups, SureAsked(chance, spreads, day, seed))
    currency = farm.currency
    tables = [
        table for one in found for table in (sure_table(one, currency), sure_feeds_table(one))
    ]
    return Answer(
        text=lambda width: closed(
            [
                *(wrapped(sure_line(one, currency), width) for one in found),
                tables_text(tables, width),
            ],
            width,
        ),
        table=lambda: tables[0],
        document=lambda: document("sure_rations", SureAnswer(farm, found, tuple(spreads.values()))),
    )


def _winter(found: WinterSureness) -> Answer:
    from rationlp.report.json_answer import document
    from rationlp.report.tables.sure import sureness_line, sureness_money, sureness_table
    from rationlp.report.terminal import closed, tables_text, wrapped

    tables = (sureness_table(found), sureness_money(found))
    return Answer(
        text=lambda width: closed(
            [wrapped(sureness_line(found), width), tables_text(tables, width)], width
        ),
        table=lambda: tables[0],
        document=lambda: document("sure_winter", found),
    )
