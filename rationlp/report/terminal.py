"""Any story as plain text that fits the terminal, and the two streams that it goes to."""

from __future__ import annotations

import os
import sys
import textwrap
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import replace
from functools import cached_property
from itertools import zip_longest
from shutil import get_terminal_size

from rationlp.errors import InputError, refused
from rationlp.records import dataclass
from rationlp.report.blocks import chart_text
from rationlp.report.chart import Chart
from rationlp.report.story import KILLS, SCREEN, Cautions, Content, Rule, Story, Words
from rationlp.report.tables.table import Table
from rationlp.report.wording import Winter, with_day_words

CLOSING_LINE = (
    "Planning aid: feed-table values are typical unless analysed. Have a qualified nutritionist or"
    " vet check a ration before feeding it; local rules come first."
)
ALSO = "Mind too:"
_SOURCE_KEYS = frozenset({"whose", "source"})
_LONGEST_SOURCE = 24
_GAP = 2
_NARROWEST = 10
_LEAST_WIDTH, _MOST_WIDTH = 40, 140


def terminal_width() -> int:
    """Columns to write in: the terminal's own (or the COLUMNS variable's), within 40 to 140."""
    return min(max(get_terminal_size((100, 24)).columns, _LEAST_WIDTH), _MOST_WIDTH)


_NEVER_SHOWN = dict.fromkeys(
    [
        *range(10),
        *range(11, 32),
        *range(0x7F, 0xA0),
        0x2028,
        0x2029,
        *range(0x202A, 0x202F),
        *range(0x2066, 0x206A),
    ],
    " ",
)
"""Signs that steer a terminal or turn the direction of writing: no name of a farm brings one."""


def plain_signs(text: str) -> str:
    """Text with a blank for every sign that steers a terminal, line ends left as they are."""
    return text.translate(_NEVER_SHOWN)


def show(text: str) -> None:
    """Write an answer to stdout, at once, so that a reader who went away is noticed here.

    Raises BrokenPipeError where the reader went away, InputError (IN741) where stdout cannot be
    written for another reason.
    """
    try:
        sys.stdout.write(f"{plain_signs(text)}\n")
        sys.stdout.flush()
    except BrokenPipeError:
        raise
    except OSError as trouble:
        raise no_stdout(trouble) from trouble


def no_stdout(trouble: OSError) -> InputError:
    """What the system said about a stdout that cannot be written, and is not asked again."""
    stdout_to_nowhere()
    remedy = (
        "make room there or send it elsewhere; --output FILE writes the answer to a file, whole or"
        " not at all"
    )
    return refused(
        "IN741", "stdout", f"cannot be written: {trouble.strerror or 'it is closed'}", remedy
    )


def stdout_to_nowhere() -> None:
    """The interpreter flushes stdout when it ends; it must find a file that can be written."""
    with suppress(OSError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def tell(text: str) -> None:
    """Write talk, warnings and errors to stderr; if that fails, the exit code says it all."""
    with suppress(OSError):
        sys.stderr.write(f"{plain_signs(text)}\n")
        sys.stderr.flush()


def wrapped(text: str, width: int) -> str:
    """Text in lines of at most `width` columns; words and hyphens are kept whole."""
    if len(text) <= width and "\n" not in text and "  " not in text:
        return text.strip()
    return "\n".join(
        textwrap.fill(line, width, break_long_words=False, break_on_hyphens=False)
        for line in text.split("\n")
    )


def _widest(text: str) -> int:
    if "\n" in text:
        return max(map(len, text.split("\n")))
    return len(text)


@dataclass(frozen=True)
class _TextColumn:
    """A column as text: its heading, then its cells. right: numbers, which are never wrapped."""

    cells: tuple[str, ...]
    right: bool

    @cached_property
    def widest(self) -> int:
        return max(1, *(_widest(cell) for cell in self.cells))

    @cached_property
    def narrowest(self) -> int:
        if self.right:
            return self.widest
        return min(
            self.widest,
            max([_NARROWEST, *(len(word) for cell in self.cells for word in cell.split())]),
        )


def _total(widths: Sequence[int]) -> int:
    return sum(widths) + _GAP * (len(widths) - 1)


_ALIGN = {True: "right", False: "left"}


def _fitted(columns: Sequence[_TextColumn], width: int, broken: bool = False) -> list[int]:
    """Widths of the columns: the widest column of text gives way first, until all fit or none can
    give more.

    broken: words that are too long may be broken.
    """
    widths = [column.widest for column in columns]
    floors = [column.narrowest for column in columns]
    for number, column in enumerate(columns):
        if broken and not column.right:
            floors[number] = _NARROWEST
    while _total(widths) > width:
        able = [(have, number) for number, have in enumerate(widths) if have > floors[number]]
        if not able:
            break
        widths[max(able)[1]] -= 1
    return widths


def _folded(cell: str, width: int) -> list[str]:
    """A cell in lines; a word that is longer than they are is broken."""
    lines: list[str] = []
    for line in wrapped(cell, width).splitlines():
        if len(line) <= width:
            lines.append(line)
        else:
            lines += textwrap.wrap(line, width, break_on_hyphens=False)
    return lines or [""]


def main_columns(table: Table) -> Table:
    """The table without the columns and notes that only --full prints."""
    always = [number for number, column in enumerate(table.columns) if not column.full]
    columns = tuple(table.columns[number] for number in always)
    rows = tuple(tuple(row[number] for number in always) for row in table.rows)
    return replace(table, columns=columns, rows=rows, notes=())


def table_text(table: Table, width: int, winter: Winter | None = None) -> str:
    """A table as text of at most `width` columns where its words allow: title, heading, rule, rows,
    notes.

    A table that is too wide goes on below, its first column repeated. winter: its days are written
    without their year.
    """
    table = with_sources_below(table)
    titles = [with_day_words(column.title, winter) for column in table.columns]
    headings = [
        f"{title} {column.unit}".strip()
        for title, column in zip(titles, table.columns, strict=True)
    ]
    right = [column.align == "right" for column in table.columns]
    cells = [[with_day_words(cell, winter) for cell in row] for row in table.cells()]
    for n, numbers in enumerate(right):
        if numbers:
            headings[n] = wrapped(headings[n], max(8, _longest(cells, n)))
    columns = [
        _TextColumn((headings[n], *(row[n] for row in cells)), right[n])
        for n in range(len(headings))
    ]
    blocks = [_grid(block, width) for block in _blocks(columns, width)]
    notes = "\n".join(wrapped(with_day_words(note, winter), width) for note in table.notes)
    title = wrapped(with_day_words(table.title, winter), width)
    return "\n\n".join(part for part in (title, *blocks, notes) if part)


def with_sources_below(table: Table) -> Table:
    """The table with long sources moved below: the column keeps a number, the notes say which."""
    long = [
        n
        for n, column in enumerate(table.columns)
        if column.key in _SOURCE_KEYS
        and any(len(str(row[n] or "")) > _LONGEST_SOURCE for row in table.rows)
    ]
    if not long:
        return table
    texts = [str(row[n]) for row in table.rows for n in long if row[n]]
    numbers = {text: f"[{n}]" for n, text in enumerate(dict.fromkeys(texts), 1)}
    rows = []
    for row in table.rows:
        values = list(row)
        for n in long:
            values[n] = numbers.get(str(row[n]), row[n])
        rows.append(tuple(values))
    return replace(
        table,
        rows=tuple(rows),
        notes=(*(f"{n} {text}" for text, n in numbers.items()), *table.notes),
    )


def _blocks(columns: Sequence[_TextColumn], width: int) -> list[list[_TextColumn]]:
    """The columns in as few parts as fit side by side; every part begins with the first column."""
    blocks: list[list[_TextColumn]] = []
    part = [columns[0]]
    for column in columns[1:]:
        if len(part) > 1 and _total(_fitted([*part, column], width)) > width:
            blocks.append(part)
            part = [columns[0]]
        part.append(column)
    return [*blocks, part]


def _grid(columns: Sequence[_TextColumn], width: int) -> str:
    from tabulate import tabulate

    widths = _fitted(columns, width)
    if _total(widths) > width:
        widths = _fitted(columns, width, broken=True)
    folded = [
        [_folded(cell, most) for cell in column.cells]
        for column, most in zip(columns, widths, strict=True)
    ]
    rows = [list(zip_longest(*row, fillvalue="")) for row in zip(*folded, strict=True)]
    rules = ["-" * max(len(line) for lines in cells for line in lines) for cells in folded]
    # Each column goes in as one cell of many lines, which is laid out in a third of the time. The
    # heading is not given as one, or it would be padded beyond its width; the rule comes first,
    # because a cell loses blank lines at its ends.
    lines = [rules, *(line for row in rows for line in row)]
    text = tabulate(
        [["\n".join(column) for column in zip(*lines, strict=True)]],
        tablefmt="plain",
        colalign=[_ALIGN[column.right] for column in columns],
        disable_numparse=True,
    )
    rule, *others = [line.rstrip() for line in text.split("\n")]
    return "\n".join([*others[: len(rows[0])], rule, *others[len(rows[0]) :]])


def _longest(cells: Sequence[Sequence[str]], column: int) -> int:
    return max((len(row[column]) for row in cells), default=0)


def remarks_text(remarks: Iterable[str], width: int) -> str:
    """Remarks as hanging paragraphs, one below the other."""
    return "\n".join(
        textwrap.fill(
            remark, width, initial_indent="- ", subsequent_indent="  ", break_on_hyphens=False
        )
        for remark in remarks
    )


def hung(line: str, width: int) -> str:
    """A line wrapped, further indented below where it begins with spaces."""
    if not line.startswith("  "):
        return wrapped(line, width)
    return textwrap.fill(line, width, subsequent_indent="    ", break_on_hyphens=False)


def words_text(sentences: Words, width: int) -> str:
    """Sentences as text, their title above them."""
    lines = [line for line in sentences.lines if line]
    if sentences.dashes:
        body = remarks_text(lines, width)
    else:
        body = "\n".join(hung(line, width) for line in lines)
    if sentences.title:
        return f"{wrapped(sentences.title, width)}\n{body}"
    return body


def cautions_text(cautions: Cautions, width: int, full: bool = True) -> str:
    """Cautions as lists, gravest first, with the line that defers under them; empty when there are
    none.

    full: every caution in its sentence; else what can kill or maim, and the names of the others.
    """
    lists = [(KILLS, tuple(map(str, cautions.first)))]
    if full:
        lists = list(cautions.lists)
    parts = [f"{heading}\n{remarks_text(lines, width)}" for heading, lines in lists if lines]
    if not full and cautions.names:
        parts.append(wrapped(f"{ALSO} {'; '.join(cautions.names)}.", width))
    if not parts:
        return ""
    heading = []
    if full:
        heading = [wrapped(cautions.heading, width)]
    return "\n".join([*heading, *parts, wrapped(cautions.defer, width)])


def content_text(
    content: Content, width: int, full: bool = True, winter: Winter | None = None
) -> str:
    """One content of a story as text of at most `width` columns where its words allow."""
    if isinstance(content, Table):
        if not full:
            content = main_columns(content)
        return table_text(content, width, winter)
    if isinstance(content, Rule):
        return "=" * width
    if isinstance(content, Chart):
        return chart_text(content, width)
    if isinstance(content, Cautions):
        return cautions_text(content, width, full)
    if not isinstance(content, Words):
        return ""
    lines = tuple(with_day_words(line, winter) for line in content.lines)
    return words_text(replace(content, lines=lines), width)


def story_text(story: Story, width: int, full: bool = False, drawn: bool = False) -> str:
    """A story as text of at most `width` columns, ended by the line that stands under every page.

    full: all of it; else what is shown by default. drawn: with its charts.
    """
    contents = [
        content for content in story.told(SCREEN, full) if drawn or not isinstance(content, Chart)
    ]
    parts = [content_text(content, width, full, story.days) for content in contents]
    last = wrapped(CLOSING_LINE, width)
    if story.has_more and not full:
        last = f"{wrapped(story.hint, width)}\n{last}"
    return "\n\n".join([*(part for part in parts if part), last])
