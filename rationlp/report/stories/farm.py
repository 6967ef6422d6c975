"""The story of a farm as read: have I enough, what is worth a look, all that was read; its log."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rationlp.after.farm_facts import FarmFacts
from rationlp.ask.held import ForageBalance
from rationlp.farm.farm import Farm
from rationlp.read.logbook import ENTRIES, LogLine
from rationlp.report.cautions import cautions_of
from rationlp.report.held import enough_line, held_table, not_counted_lines
from rationlp.report.story import Part, Story, Words, always, brief, full, in_workbook, on_screen
from rationlp.report.tables.feeds import (
    groups_table,
    notices_table,
    offers_table,
    origins_table,
    stores_table,
)
from rationlp.report.tables.table import Column, Table, table_of
from rationlp.report.wording import counted, day_and_year

MOST_NOTICES = 5
"""More notes than these are told with --full only."""


def farm_story(
    facts: FarmFacts, held: ForageBalance | None = None, trouble: str = "", figures: bool = False
) -> Story:
    """The story of `check`. held: what is held against what would be eaten; trouble: why that could
    not be worked out. figures: where each figure of each feed comes from.
    """
    farm, cautions = facts.farm, cautions_of(facts.called_for)
    origins = [origins_table(offer, farm.own_quantities) for offer in farm.offers if figures]
    warned = len(cautions.first) + len(cautions.names)
    parts: list[Part] = []
    if held is None:
        parts += on_screen(always(Words((trouble,))))
    else:
        parts += on_screen(always(Words((enough_line(farm, held),))))
        parts += always(held_table(held))
        parts += on_screen(always(Words(tuple(not_counted_lines(held)), dashes=True)))
    parts += on_screen(always(Words((_totals(farm, warned),))))
    parts += brief(_notices(farm))
    parts += on_screen(full(notices_table(farm.notices)))
    parts += full(groups_table(farm), stores_table(farm, facts.stocks), offers_table(farm))
    parts += in_workbook(notices_table(farm.notices))
    parts += always(*origins, cautions)
    return Story(
        "check",
        tuple(parts),
        lambda: offers_table(farm),
        days=(farm.start, farm.turnout),
        hint="Every group, store and feed as it was read: `--full`.",
    )


def _notices(farm: Farm) -> Words:
    """What is worth a look, a line each."""
    lines = [
        f"{notice.where}: {notice.found} ({notice.remedy}) [{notice.code}]"
        for notice in farm.notices
    ]
    folded = len(lines) - MOST_NOTICES
    if folded > 0:
        notes = counted(folded, "more note")
        lines = [*lines[:MOST_NOTICES], f"and {notes}: `rationlp check FARM --full`"]
    return Words(tuple(lines), "Worth a look:", dashes=True)


def _totals(farm: Farm, cautions: int) -> str:
    """What was read, in numbers."""
    head = sum(group.head for group in farm.groups)
    bought = sum(offer.bought for offer in farm.offers)
    read = ", ".join(
        (
            counted(len(farm.groups), "group"),
            counted(len(farm.stores), "store"),
            counted(bought, "bought feed"),
        )
    )
    warned = [(len(farm.notices), "note"), (cautions, "caution")]
    worth = ", ".join(counted(number, word) for number, word in warned if number)
    return f"{farm.name}: no errors. {head:,} head, {read}; {worth or 'no warnings'}."


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


def log_story(farm: Farm, lines: Sequence[LogLine]) -> Story:
    """The story of `log`."""
    last = NEXT
    if not lines:
        last = f"{NOTHING} {HOW}"
    return Story(
        "log",
        (*always(log_table(farm, lines)), *on_screen(always(Words((last,))))),
        lambda: log_table(farm, lines),
        days=(farm.start, farm.turnout),
    )
