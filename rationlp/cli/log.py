"""`rationlp log`: what was measured, tested, moved or delivered through the winter, a line each."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rationlp.cli.options import Answer, FarmArgument, Format, FormatOption, OutputOption

if TYPE_CHECKING:
    from rationlp.farm.farm import Farm
    from rationlp.read.logbook import LogLine

WhatArgument = Annotated[
    str | None,
    typer.Argument(
        metavar="WHAT",
        help=(
            "face (metres fed), left (t, t DM or bales), dry_matter (%), head or bought (t or"
            " loads); nothing to show the log."
        ),
    ),
]
OfArgument = Annotated[
    str | None, typer.Argument(metavar="ID", help="Store, feed or group that it is of.")
]
FigureArgument = Annotated[
    str | None, typer.Argument(metavar="FIGURE", help="The figure, such as 12.5.")
]
DayOption = Annotated[
    str | None, typer.Option("--on", metavar="DATE", help="The day it holds for, like 2027-01-15.")
]
UnitOption = Annotated[
    str | None,
    typer.Option("--unit", metavar="UNIT", help="m, t, 't DM', bales, %, head or loads."),
]
NoteOption = Annotated[
    str | None, typer.Option("--note", metavar="TEXT", help="Anything to remember with it.")
]


def log(
    farm: FarmArgument,
    what: WhatArgument = None,
    of: OfArgument = None,
    figure: FigureArgument = None,
    on: DayOption = None,
    unit: UnitOption = None,
    note: NoteOption = None,
    form: FormatOption = Format.table,
    output: OutputOption = None,
) -> None:
    """Write down what was measured, tested, moved or delivered, or show what has been.

    `winter --from DATE` plans the rest of the winter from it, and sheets use its heads and dry
    matter.
    """
    from rationlp.cli.options import deliver, farm_inputs, tell_notices
    from rationlp.errors import Finding, InputError
    from rationlp.read.farm import read_farm
    from rationlp.read.logbook import read_log

    read = read_farm(farm)
    lines = read_log(read)
    if what is None:
        if on or unit or note:
            remedy = "give WHAT, ID and FIGURE with it, or leave it out to see the log"
            raise InputError([Finding("IN802", "log", "an option of a line, and no line", remedy)])
        tell_notices(read.notices)
        deliver(_answer(read, lines), form, output, farm_inputs(farm))
        return
    if of is None or figure is None or on is None:
        missing = [
            name for name, given in (("ID", of), ("FIGURE", figure), ("--on", on)) if given is None
        ]
        remedy = "write it like: rationlp log FARM face first_cut 12.5 --on 2027-01-15"
        raise InputError([Finding("IN802", "log", f"no {', '.join(missing)}", remedy)])
    cells = {
        "date": on,
        "what": what,
        "of": of,
        "figure": figure,
        "unit": unit or "",
        "note": note or "",
    }
    _add(farm, read, lines, cells)


def _add(farm: Path, read: Farm, lines: tuple[LogLine, ...], cells: dict[str, str]) -> None:
    """Check a line, with all that the log says by then, and write the log anew."""
    from rationlp.read.logbook import log_file, log_text, new_line
    from rationlp.read.logged import logged_farm
    from rationlp.report.files import write_whole
    from rationlp.report.logbook import line_words
    from rationlp.report.terminal import tell

    line = new_line(read, cells, lines)
    every = tuple(sorted((*lines, line), key=lambda one: one.day))
    # Read once more with the line in it, so that nothing is written down that the farm file
    # contradicts.
    logged_farm(read, every, every[-1].day)
    path = log_file(farm)
    write_whole(path, log_text(every), ())
    tell(f"{line_words(line, read)} Written: {path}")


def _answer(read: Farm, lines: tuple[LogLine, ...]) -> Answer:
    from rationlp.report.answers.farm import LogAnswer
    from rationlp.report.json_answer import document
    from rationlp.report.logbook import log_table, log_words

    return Answer(
        text=lambda width: log_words(read, lines, width),
        table=lambda: log_table(read, lines),
        document=lambda: document("log", LogAnswer(read, lines)),
    )
