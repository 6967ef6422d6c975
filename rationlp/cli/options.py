"""Options that the commands share, and the one way in which an answer leaves the program."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

import typer

if TYPE_CHECKING:
    from datetime import date

    from rationlp.errors import Finding
    from rationlp.farm.farm import Farm
    from rationlp.report.tables import Table

FILE_WIDTH = 100
"""Columns of a table written to a file, whatever the terminal."""


class Format(StrEnum):
    """How an answer is written."""

    table = "table"
    csv = "csv"
    json = "json"


FarmArgument = Annotated[
    Path,
    typer.Argument(
        metavar="FARM", help="Farm folder, the one that holds farm.toml, or a workbook (.xlsx)."
    ),
]
FormatOption = Annotated[
    Format, typer.Option("--format", help="Tables to read, or CSV or JSON for another program.")
]
OutputOption = Annotated[
    Path | None,
    typer.Option(
        "--output",
        metavar="FILE",
        help="Write the answer to this file instead of the screen; .xlsx for sheets.",
    ),
]
GroupOption = Annotated[
    list[str] | None,
    typer.Option("--group", metavar="ID", help="Only this group; may be given more than once."),
]
OnOption = Annotated[
    str | None,
    typer.Option(
        "--on",
        metavar="DATE",
        help="A day of the winter, like 2027-02-10; the first day if left out.",
    ),
]
FiguresOption = Annotated[
    bool, typer.Option("--figures", help="Also show where every figure of each feed comes from.")
]


def farm_on_day(farm: Farm, on: str | None) -> Farm:
    """The farm with its groups as they are on a day. Raises InputError (IN504) for what is no day
    of its winter.
    """
    from rationlp.needs.calendar import farm_on

    return farm_on(farm, day_of_winter(farm, on))


def day_of_winter(farm: Farm, on: str | None) -> date | None:
    """A day of the winter as typed, None where none is. Raises InputError (IN504) for what is no
    day of the winter.
    """
    from datetime import date

    from rationlp.errors import Finding, InputError

    if on is None:
        return None
    valid = f"give a day from {farm.start} to {farm.turnout}, as year-month-day"
    try:
        day = date.fromisoformat(on)
    except ValueError as trouble:
        raise InputError([Finding("IN504", "--on", f'"{on}" is no date', valid)]) from trouble
    if not farm.start <= day <= farm.turnout:
        raise InputError([Finding("IN504", "--on", f"{day} is outside the winter", valid)])
    return day


class Answer(NamedTuple):
    """An answer in its forms, each made only when it is wanted.

    text: for a given width in columns. table: the one table that CSV gets. document: what JSON
    gets. sheets: the tables that a workbook gets; the one of CSV if there are no others. drawn: the
    text with charts, for a terminal that can show them.
    """

    text: Callable[[int], str]
    table: Callable[[], Table]
    document: Callable[[], dict[str, Any]]
    sheets: Callable[[], Sequence[Table]] | None = None
    drawn: Callable[[int], str] | None = None


def deliver(answer: Answer, form: Format, output: Path | None, inputs: Iterable[Path] = ()) -> None:
    """Write an answer to stdout, or whole to a file; raises InputError where the file cannot or
    must not be written.
    """
    from rationlp.report.files import write_whole
    from rationlp.report.terminal import show, tell

    if output is not None and output.suffix.lower() == ".xlsx":
        _deliver_workbook(answer, form, output, inputs)
        return
    text = _in_form(answer, form, FILE_WIDTH if output else None)
    if output is None:
        show(text.removesuffix("\n"))
        return
    write_whole(output, f"{text.removesuffix(chr(10))}\n", inputs)
    tell(f"Written: {output}")


def _deliver_workbook(answer: Answer, form: Format, output: Path, inputs: Iterable[Path]) -> None:
    from rationlp.errors import Finding, InputError
    from rationlp.report.terminal import tell
    from rationlp.report.workbook import write_tables

    if form is not Format.table:
        remedy = f"leave out --format, or let the name end in .{form.value}"
        raise InputError(
            [Finding("IN713", str(output), f"a workbook, and --format {form.value}", remedy)]
        )
    inputs = tuple(inputs)
    tables = [answer.table()] if answer.sheets is None else answer.sheets()
    farm = next((path for path in inputs if path.suffix.lower() == ".xlsx"), None)
    first_sentences = answer.text(FILE_WIDTH).partition("\n\n")[0]
    write_tables(output, tables, inputs, first_sentences, farm)
    tell(f"Written: {output}")


def _in_form(answer: Answer, form: Format, width: int | None) -> str:
    if form is Format.json:
        from rationlp.report.documents import json_text

        return json_text(answer.document())
    if form is Format.csv:
        from rationlp.report.files import csv_text

        return csv_text(answer.table())
    if width is not None:
        return answer.text(width)
    from rationlp.report.terminal import terminal_width

    return _on_screen(answer)(terminal_width())


def _on_screen(answer: Answer) -> Callable[[int], str]:
    """The text for stdout: with charts where there are some and stdout is a terminal that can show
    them.
    """
    if answer.drawn is None:
        return answer.text
    import os
    import sys

    from rationlp.report.blocks import may_draw

    return answer.drawn if may_draw(sys.stdout, os.environ) else answer.text


def tell_notices(notices: Iterable[Finding]) -> None:
    """Warnings about the input on stderr, a line each; none of them forbids anything."""
    from rationlp.report.terminal import tell

    for notice in notices:
        tell(f"Note: {notice}")


def farm_inputs(folder: Path) -> tuple[Path, ...]:
    """The files that no answer may replace: farm.toml and every CSV beside it, read by this command
    or another; a workbook; the log and every plan that was kept.
    """
    from rationlp.after.kept import plan_files
    from rationlp.read.logbook import log_file

    own = (log_file(folder), *plan_files(folder))
    if not folder.is_dir():
        return (folder, *own)
    return (folder / "farm.toml", *sorted(folder.glob("*.csv")), *own)
