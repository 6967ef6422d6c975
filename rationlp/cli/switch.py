"""`rationlp switch`: from one forage to another, by share of a ration, by tonnes in store or by
hectares grown.
"""

from __future__ import annotations

from enum import StrEnum
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
    from collections.abc import Collection

    from rationlp.farm.farm import Farm


class By(StrEnum):
    """What is switched."""

    share = "share"
    tonnes = "tonnes"
    hectares = "hectares"


FromOption = Annotated[
    str | None,
    typer.Option(
        "--from", metavar="ID", help="The forage to go from; the farm's grass silage if left out."
    ),
]
ToOption = Annotated[
    str | None,
    typer.Option(
        "--to", metavar="ID", help="The forage to go to; the farm's maize silage if left out."
    ),
]
FullOption = Annotated[
    bool,
    typer.Option(
        "--full", help="Every share at which a ration changes, and the prices at which it pays."
    ),
]
ByOption = Annotated[
    By,
    typer.Option(
        "--by",
        help="Share of a group's forage, tonnes in store, or hectares grown (needs [[growing]]).",
    ),
]


ExplainOption = Annotated[
    bool,
    typer.Option(
        "--explain",
        help="Also say why the ration at the cheapest share is what it is; by share only.",
    ),
]


def switch(
    farm: FarmArgument,
    first: FromOption = None,
    second: ToOption = None,
    by: ByOption = By.share,
    group: GroupOption = None,
    on: OnOption = None,
    explain: ExplainOption = False,
    full: FullOption = False,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Say whether going from one forage to another pays: kg a head, what to buy, cost a week, how
    far the store carries it.

    Without --from and --to from the farm's grass silage to its maize silage, or between the two
    forages it holds most of.
    """
    from rationlp.cli.options import deliver, farm_inputs, farm_on_day, tell_notices
    from rationlp.needs.calendar import expanded
    from rationlp.read.farm import read_farm

    if by is not By.share and (group or on):
        raise typer.BadParameter(
            "the whole winter of all groups is asked for", param_hint="--group, --on"
        )
    if by is not By.share and explain:
        raise typer.BadParameter("it goes with --by share", param_hint="--explain")
    read = read_farm(farm)
    words = _pair(read, first, second)
    if by is By.share:
        today = farm_on_day(read, on)
        answer = _by_share(today, words, expanded(today, group), (full or explain, explain))
    else:
        answer = _over_winter(read, words, by)
    tell_notices(read.notices)
    deliver(answer, form, output, farm_inputs(farm))


def _pair(farm: Farm, first: str | None, second: str | None) -> tuple[str, str]:
    """The two forages as named, or the usual ones. Raises InputError (IN811) where only one is
    named.
    """
    from rationlp.ask.switch_steps import usual_pair
    from rationlp.errors import Finding, InputError

    if first is not None and second is not None:
        return first, second
    if first is None and second is None:
        return usual_pair(farm)
    missing = "--from" if first is None else "--to"
    raise InputError(
        [Finding("IN811", missing, "one forage named, not the other", "give both, or neither")]
    )


def _by_share(
    farm: Farm, words: tuple[str, str], groups: Collection[str] | None, asked: tuple[bool, bool]
) -> Answer:
    """asked: the whole curve, and the reasons at the cheapest share."""
    from functools import cache

    from rationlp.ask.switch import switch_by_share, why_switch
    from rationlp.ask.switch_steps import switch_steps
    from rationlp.report.answers.asked import switch_answer
    from rationlp.report.asked import switch_text
    from rationlp.report.json_answer import document
    from rationlp.report.switch_steps import steps_tables, steps_text
    from rationlp.report.tables.switch import switches_table

    curve = cache(lambda: switch_by_share(farm, words, groups))
    steps = cache(lambda: switch_steps(farm, words, groups))
    full, explain = asked
    reasons = cache(lambda: why_switch(curve()) if explain else {})

    def text(width: int) -> str:
        return switch_text(curve(), width, reasons()) if full else steps_text(steps(), width)

    return Answer(
        text=text,
        table=lambda: switches_table(curve()),
        document=lambda: document("switch", switch_answer(curve(), reasons(), steps())),
        sheets=lambda: [*steps_tables(steps()), switches_table(curve())],
    )


def _over_winter(farm: Farm, words: tuple[str, str], by: By) -> Answer:
    from rationlp.ask.tonnes import switch_by_hectares, switch_by_tonnes
    from rationlp.report.asked import moved_text
    from rationlp.report.json_answer import document
    from rationlp.report.tables.switch import moved_table

    found = switch_by_tonnes(farm, words) if by is By.tonnes else switch_by_hectares(farm, words)
    return Answer(
        text=lambda width: moved_text(found, width),
        table=lambda: moved_table(found, short=False),
        document=lambda: document("switch_winter", found),
    )
