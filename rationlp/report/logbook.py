"""The log of a winter: its lines as sentences and as a table."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from rationlp.farm.farm import Farm
from rationlp.read.logbook import ENTRIES, LogLine
from rationlp.report.dates import day_and_year
from rationlp.report.story import Story, Words, always, on_screen
from rationlp.report.tables.table import Column, Table, table_of

NOTHING = "Nothing has been logged yet."
HOW = "Add a line: rationlp log FARM face first_cut 12.5 --on 2027-01-15."
NEXT = "Plan the rest of the winter from it: rationlp winter FARM --from DATE."


def line_words(line: LogLine, farm: Farm) -> str:
    """A line of the log as a sentence."""
    return (
        f"{day_and_year(line.day)}, {name_of(farm, line)}: {ENTRIES[line.what].words},"
        f" {line.figure:g} {line.unit}."
    )


def name_of(farm: Farm, line: LogLine) -> str:
    """The name of what a line is of."""
    names = {offer.id: offer.name for offer in farm.offers}
    if line.what == "head":
        names = {group.id: group.name for group in farm.groups}
    return names.get(line.of, line.of)


def log_table(farm: Farm, lines: Iterable[LogLine]) -> Table:
    """The lines of a log, in order of date."""
    columns = (
        Column("date", "Date", of=lambda line: line.day.isoformat()),
        Column("what", "What"),
        Column("of", "Of"),
        Column("name", "Name", of=lambda line: name_of(farm, line)),
        Column("figure", "Figure", "", 1),
        Column("unit", "Unit"),
        Column("note", "Note"),
    )
    return table_of("log", "What has been logged", lines, columns)


def log_story(
    farm: Farm, lines: Sequence[LogLine], document: Callable[[], dict[str, Any]] = dict
) -> Story:
    """The story of `log`."""
    last = NEXT
    if not lines:
        last = f"{NOTHING} {HOW}"
    return Story(
        "log",
        (*always(log_table(farm, lines)), *on_screen(always(Words((last,))))),
        lambda: log_table(farm, lines),
        document,
        days=(farm.start, farm.turnout),
    )
