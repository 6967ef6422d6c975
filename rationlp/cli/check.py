"""`rationlp check`: have I enough, before any plan; with --full everything as it was read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from rationlp.cli.options import (
    Answer,
    FarmArgument,
    FiguresOption,
    Format,
    FormatOption,
    OutputOption,
)

if TYPE_CHECKING:
    from rationlp.ask.held import HeldAgainst
    from rationlp.farm.farm import Farm
    from rationlp.report.tables import Table

FullOption = Annotated[
    bool, typer.Option("--full", help="Also show every group, store and feed as it was read.")
]


def check(
    farm: FarmArgument,
    full: FullOption = False,
    figures: FiguresOption = False,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Read the whole farm folder and say first whether the stores are enough to turnout, then
    whatever is worth a second look.

    What would be eaten is each group's cheapest ration as if no store ran out; no plan is made.
    """
    from rationlp.cli.options import deliver, farm_inputs
    from rationlp.read.farm import read_farm
    from rationlp.report.answers.farm import CheckAnswer
    from rationlp.report.json_answer import document
    from rationlp.report.tables import offers_table

    read = read_farm(farm)
    held, trouble = _held(read)
    answer = Answer(
        text=lambda width: _text(read, (held, trouble), (full, figures), width),
        table=lambda: offers_table(read),
        document=lambda: document("check", CheckAnswer(read, held)),
        sheets=lambda: _sheets(read, held, figures),
    )
    deliver(answer, form, output, farm_inputs(farm))


def _held(farm: Farm) -> tuple[HeldAgainst | None, str]:
    """What is held against what would be eaten; None and why where a figure that a ration needs is
    missing.
    """
    from rationlp.ask.held import held_against_appetite
    from rationlp.errors import InputError

    try:
        return held_against_appetite(farm), ""
    except InputError as trouble:
        first = trouble.findings[0]
        return (
            None,
            f"Have I enough? Not worked out: {first.where}: {first.found} ({first.remedy}).",
        )


def _text(
    farm: Farm, found: tuple[HeldAgainst | None, str], shows: tuple[bool, bool], width: int
) -> str:
    from rationlp.after.cautions import farm_cautions
    from rationlp.report.held import enough_line, held_table, not_counted_lines
    from rationlp.report.tables import (
        groups_table,
        notices_table,
        offers_table,
        origins_table,
        stores_table,
    )
    from rationlp.report.terminal import cautions_text, closed, remarks_text, tables_text, wrapped

    held, trouble = found
    full, figures = shows
    cautions = farm_cautions(farm)
    first = trouble if held is None else enough_line(farm, held)
    parts = [wrapped(first, width)]
    if held is not None:
        parts += [
            tables_text([held_table(held)], width),
            remarks_text(not_counted_lines(held), width),
        ]
    parts.append(wrapped(_totals(farm, len({one.id for one in cautions})), width))
    tables = [notices_table(farm.notices)]
    if full:
        tables += [groups_table(farm), stores_table(farm), offers_table(farm)]
    if figures:
        tables += [origins_table(offer, farm.own_quantities) for offer in farm.offers]
    return closed([*parts, tables_text(tables, width), cautions_text(cautions, width)], width)


def _totals(farm: Farm, cautions: int) -> str:
    """What was read, in numbers."""
    head = sum(group.head for group in farm.groups)
    counted = [
        (len(farm.groups), "group", "groups"),
        (len(farm.stores), "store", "stores"),
        (sum(offer.bought for offer in farm.offers), "bought feed", "bought feeds"),
    ]
    read = ", ".join(_counted(*one) for one in counted)
    warned = [(len(farm.notices), "note", "notes"), (cautions, "caution", "cautions")]
    worth = ", ".join(_counted(*one) for one in warned if one[0]) or "no warnings"
    return (
        f"{farm.name}: no errors. {head:,} head, {read}; {worth}. `rationlp check FARM --full`"
        " shows all of it."
    )


def _counted(number: int, singular: str, plural: str) -> str:
    return f"{number} {singular if number == 1 else plural}"


def _sheets(farm: Farm, held: HeldAgainst | None, figures: bool) -> list[Table]:
    from rationlp.report.held import held_table
    from rationlp.report.results import farm_tables
    from rationlp.report.tables import origins_table

    tables = [] if held is None else [held_table(held)]
    return [
        *tables,
        *farm_tables(farm),
        *(origins_table(offer, farm.own_quantities) for offer in farm.offers if figures),
    ]
