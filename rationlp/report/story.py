"""An answer told once: first sentences, tables, charts, cautions. Every form of an answer is made
of its story: terminal, CSV, JSON, workbook, page, notebook; none of them knows a farm.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from datetime import date

from rationlp.records import dataclass
from rationlp.report.chart import Chart
from rationlp.report.glance import Glance
from rationlp.report.tables.table import Column, Table

SCREEN, WORKBOOK, PAGE = "screen", "workbook", "page"
EVERYWHERE = frozenset({SCREEN, WORKBOOK, PAGE})

ALWAYS, BRIEF, FULL = "always", "brief", "full"
"""When a part is printed: by default and with --full, by default only, with --full only."""


@dataclass(frozen=True)
class Words:
    """Sentences, one below the other.

    title: printed above them, or empty. dashes: each hangs behind a dash. what, about: what kind
    of sentences they are and of whom, for the sheet of a workbook that holds all sentences; empty
    where they stand in no workbook.
    """

    lines: tuple[str, ...]
    title: str = ""
    dashes: bool = False
    what: str = ""
    about: str = ""


KILLS, MIND, EVERY_DAY = "Can kill or maim:", "Mind:", "Every day:"


@dataclass(frozen=True)
class CautionLine:
    """One caution. action: what to do, or what it says; about: whom or what it is about, in which
    weeks, what was found and what it warns of, empty for what holds every day; name: of its row in
    feeds/cautions.csv; new: not yet told on the day before. As text: all of it in a sentence.
    """

    title: str
    action: str
    about: str
    name: str
    new: bool = False

    def __str__(self) -> str:
        new = "New: " if self.new else ""
        about = f" ({self.about})" if self.about else ""
        return f"{new}{self.title}: {self.action}{about} [{self.name}]"


@dataclass(frozen=True)
class Cautions:
    """Cautions in sentences. grave: what can kill or maim; others; daily: what holds every day.

    first: the sentences of all that can kill or maim, the daily ones too: always printed. names:
    titles of the others, which stand for them where there is no room.
    """

    heading: str
    grave: tuple[CautionLine, ...]
    others: tuple[CautionLine, ...]
    daily: tuple[CautionLine, ...]
    first: tuple[CautionLine, ...]
    names: tuple[str, ...]
    defer: str
    about: str = "the farm"

    @property
    def lines(self) -> tuple[str, ...]:
        """All of them, gravest first."""
        return tuple(map(str, (*self.grave, *self.others, *self.daily)))

    @property
    def lists(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """The three lists with their headings."""
        lists = ((KILLS, self.grave), (MIND, self.others), (EVERY_DAY, self.daily))
        return tuple((heading, tuple(map(str, lines))) for heading, lines in lists)


@dataclass(frozen=True)
class Rule:
    """A line across, between one sheet of paper and the next."""


Content = Table | Words | Chart | Cautions | Rule | Glance


@dataclass(frozen=True)
class Part:
    """A part of a story. shown: ALWAYS, BRIEF or FULL. media: the forms that have it. place: the
    heading under which a page folds it; empty on its first page, and in a story without folds.
    """

    content: Content
    shown: str = ALWAYS
    media: frozenset[str] = EVERYWHERE
    place: str = ""


def no_table() -> Table:
    """The table of an answer that has none."""
    return Table("answer", "", (Column("answer", "Answer"),), ())


@dataclass(frozen=True)
class Story:
    """An answer. kind: of what; parts: in the order in which they are read.

    table: the one table that CSV gets. answer: the record that JSON is made of. Both are made only
    when they are wanted. page: the answer as a file of HTML, where it has one. days: first day and
    turnout of the winter: days within it are written without their year. exit_code: what the
    command ends with. hint: where more is said than by default, what `--full` adds.
    """

    kind: str
    parts: tuple[Part, ...]
    table: Callable[[], Table] = no_table
    page: Callable[[], str] | None = None
    days: tuple[date, date] | None = None
    exit_code: int = 0
    hint: str = "`--full` shows every table, remark and proof."
    answer: Callable[[], object] = object

    def of(self, answer: Callable[[], object]) -> Story:
        """The same story, told of this answer."""
        return replace(self, answer=answer)

    def told(self, medium: str, full: bool) -> Iterator[Content]:
        """The contents for one medium, all of them or those shown by default."""
        left_out = FULL
        if full:
            left_out = BRIEF
        for part in self.parts:
            if medium in part.media and part.shown != left_out:
                yield part.content

    @property
    def has_more(self) -> bool:
        """Whether `--full` prints more than the default."""
        return any(part.shown == FULL and SCREEN in part.media for part in self.parts)


def story_tables(story: Story) -> tuple[Table, ...]:
    """The tables of a story, the last of all that is told in sentences; each with its own name."""
    tables: dict[str, Table] = {}
    sentences: list[tuple[str, str, str]] = []
    for content in story.told(WORKBOOK, full=True):
        if isinstance(content, Table):
            _add_named(tables, content)
        elif isinstance(content, Cautions):
            sentences += [(content.about, "caution", line) for line in content.lines]
        elif isinstance(content, Words) and content.what:
            sentences += [(content.about, content.what, line) for line in content.lines if line]
    columns = (Column("about", "About"), Column("what", "What"), Column("says", "Says"))
    if sentences:
        _add_named(tables, Table("said", "What else to know", columns, tuple(sentences)))
    return tuple(tables.values())


def _add_named(tables: dict[str, Table], table: Table) -> None:
    """Add a table that has rows, a second one of a name numbered."""
    name, number = table.name, 1
    while name in tables:
        number += 1
        name = f"{table.name} {number}"
    tables[name] = replace(table, name=name)


def always(*contents: Content) -> tuple[Part, ...]:
    """Contents that are printed by default and with --full; tables without rows are left out."""
    return _parts(contents, ALWAYS)


def brief(*contents: Content) -> tuple[Part, ...]:
    """Contents that stand for what --full prints at length; on the screen only."""
    return _parts(contents, BRIEF, frozenset({SCREEN}))


def full(*contents: Content) -> tuple[Part, ...]:
    """Contents that are printed with --full only."""
    return _parts(contents, FULL)


def in_workbook(*contents: Content) -> tuple[Part, ...]:
    """Contents for a workbook only."""
    return _parts(contents, ALWAYS, frozenset({WORKBOOK}))


def on_screen(parts: Iterable[Part]) -> tuple[Part, ...]:
    """The same parts, for the screen only."""
    return tuple(replace(part, media=frozenset({SCREEN})) for part in parts)


def on_page(*contents: Content) -> tuple[Part, ...]:
    """Contents for a page only."""
    return _parts(contents, ALWAYS, frozenset({PAGE}))


def placed(place: str, parts: Iterable[Part]) -> tuple[Part, ...]:
    """The same parts, folded under a heading where a page has folds."""
    return tuple(replace(part, place=place) for part in parts)


def _parts(
    contents: Iterable[Content], shown: str, media: frozenset[str] = EVERYWHERE
) -> tuple[Part, ...]:
    return tuple(Part(content, shown, media) for content in contents if _holds(content))


def _holds(content: Content) -> bool:
    """Whether there is anything in it."""
    if isinstance(content, Table):
        return bool(content.rows)
    if isinstance(content, Words):
        return any(content.lines)
    if isinstance(content, Cautions):
        return bool(content.lines)
    return isinstance(content, (Rule, Glance)) or bool(content.layers)
