"""`rationlp switch`: from one forage to another, by share of a ration, by tonnes in store or by hectares grown."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from rationlp.cli.options import Answer, FarmArgument, Format, FormatOption, GroupOption, OnOption, OutputOption

if TYPE_CHECKING:
    from collections.abc import Collection

    from rationlp.read.objects import Farm


class By(StrEnum):
    """What is switched."""

    share = "share"
    tonnes = "tonnes"
    hectares = "hectares"


FromOption = Annotated[
    str, typer.Option("--from", metavar="ID", help="The forage to go from: a store or a bought feed.")
]
ToOption = Annotated[str, typer.Option("--to", metavar="ID", help="The forage to go to.")]
ByOption = Annotated[
    By, typer.Option("--by", help="Share of a group's forage, tonnes in store, or hectares grown (needs [[growing]]).")
]


ExplainOption = Annotated[
    bool, typer.Option("--explain", help="Also say why the ration at the cheapest share is what it is; by share only.")
]


def switch(
    farm: FarmArgument,
    first: FromOption,
    second: ToOption,
    by: ByOption = By.share,
    group: GroupOption = None,
    on: OnOption = None,
    explain: ExplainOption = False,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Show what it costs to go from one forage to another, where the ration turns on the way, and when it pays."""
    from rationlp.cli.options import deliver, farm_inputs, farm_on_day, tell_notices
    from rationlp.needs.calendar import expanded
    from rationlp.read.farm import read_farm

    if by is not By.share and (group or on):
        raise typer.BadParameter("the whole winter of all groups is asked for", param_hint="--group, --on")
    if by is not By.share and explain:
        raise typer.BadParameter("it goes with --by share", param_hint="--explain")
    read = read_farm(farm)
    if by is By.share:
        today = farm_on_day(read, on)
        answer = _by_share(today, (first, second), expanded(today, group), explain)
    else:
        answer = _over_winter(read, (first, second), by)
    tell_notices(read.notices)
    deliver(answer, form, output, farm_inputs(farm))


def _by_share(farm: Farm, words: tuple[str, str], groups: Collection[str] | None, explain: bool) -> Answer:
    from rationlp.ask.switch import switch_by_share, why_switch
    from rationlp.report.asked import switch_document, switch_text
    from rationlp.report.tables.switch import switches_table

    found = switch_by_share(farm, words, groups)
    reasons = why_switch(found) if explain else {}
    return Answer(
        text=lambda width: switch_text(found, width, reasons),
        table=lambda: switches_table(found),
        document=lambda: switch_document(found, reasons),
    )


def _over_winter(farm: Farm, words: tuple[str, str], by: By) -> Answer:
    from rationlp.ask.tonnes import switch_by_hectares, switch_by_tonnes
    from rationlp.report.asked import moved_document, moved_text
    from rationlp.report.tables.switch import moved_table

    found = switch_by_tonnes(farm, words) if by is By.tonnes else switch_by_hectares(farm, words)
    return Answer(
        text=lambda width: moved_text(found, width),
        table=lambda: moved_table(found, short=False),
        document=lambda: moved_document(found),
    )
