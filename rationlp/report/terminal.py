"""Answers as plain text that fits the terminal: the answer first, then tables, then the proof, then
what else to know.
"""

from __future__ import annotations

import os
import sys
import textwrap
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date
from functools import cached_property
from itertools import zip_longest
from shutil import get_terminal_size
from typing import TYPE_CHECKING

from rationlp.after.cautions import DEFER_LINE, farm_cautions, ration_cautions, rations_cautions
from rationlp.after.changeover import fed_before
from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Farm
from rationlp.quantities import quantities
from rationlp.records import dataclass
from rationlp.report.cautions import HEADING, caution_lists
from rationlp.report.clash import ENOUGH, NO_REMEDY, clash_line, remedy_lines
from rationlp.report.first_lines import day_line
from rationlp.report.tables.changeover import change_words, ramp_table
from rationlp.report.tables.parlour import parlour_table
from rationlp.report.tables.ration import (
    ration_overview,
    ration_table,
    shortfall_table,
    stands_of,
    supply_table,
    weighable,
)
from rationlp.report.tables.table import Table, shown, small_decimals
from rationlp.result import Caution, FedSupply, GroupRation, Rations
from rationlp.yard.parlour import parlour

if TYPE_CHECKING:
    from rationlp.after.changeover import ChangeOver

CLOSING_LINE = (
    "Planning aid: feed-table values are typical unless analysed. Have a qualified nutritionist or"
    " vet check a ration before feeding it; local rules come first."
)
NOTHING_SHORT = "Nothing that was worked out is short or over."
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
"""Signs that steer a terminal or turn the direction of writing: a name of the farm must not reach
it with one.
"""


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
    return InputError(
        [
            Finding(
                "IN741",
                "stdout",
                f"cannot be written: {trouble.strerror or 'it is closed'}",
                remedy,
            )
        ]
    )


def stdout_to_nowhere() -> None:
    """The interpreter flushes stdout once more when it ends; it must find a file there that can be
    written.
    """
    with suppress(OSError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def tell(text: str) -> None:
    """Write talk, warnings and errors to stderr; where that cannot be written, the exit code is all
    that can be said.
    """
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
    return max(map(len, text.split("\n"))) if "\n" in text else len(text)


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


def _fitted(columns: Sequence[_TextColumn], width: int, broken: bool = False) -> list[int]:
    """Widths of the columns: the widest column of text gives way first, until all fit or none can
    give more.

    broken: words that are too long may be broken.
    """
    widths = [column.widest for column in columns]
    floors = [column.narrowest if column.right or not broken else _NARROWEST for column in columns]
    while _total(widths) > width:
        able = [(have, number) for number, have in enumerate(widths) if have > floors[number]]
        if not able:
            break
        widths[max(able)[1]] -= 1
    return widths


def _folded(cell: str, width: int) -> list[str]:
    """A cell in lines; a word that is longer than they are is broken."""
    lines = [
        part
        for line in wrapped(cell, width).splitlines()
        for part in (
            [line] if len(line) <= width else textwrap.wrap(line, width, break_on_hyphens=False)
        )
    ]
    return lines or [""]


def table_text(table: Table, width: int) -> str:
    """A table as text of at most `width` columns where its words allow: title, heading, rule, rows,
    notes.

    A table that is too wide goes on below, its first column repeated.
    """
    table = with_sources_below(table)
    headings = [f"{column.title} {column.unit}".strip() for column in table.columns]
    right = [column.align == "right" for column in table.columns]
    cells = table.cells()
    headings = [
        wrapped(head, max(8, _longest(cells, n))) if right[n] else head
        for n, head in enumerate(headings)
    ]
    columns = [
        _TextColumn((headings[n], *(row[n] for row in cells)), right[n])
        for n in range(len(headings))
    ]
    blocks = [_grid(block, width) for block in _blocks(columns, width)]
    notes = "\n".join(wrapped(note, width) for note in table.notes)
    return "\n\n".join(part for part in (wrapped(table.title, width), *blocks, notes) if part)


def with_sources_below(table: Table) -> Table:
    """The table with long sources moved below it: the column keeps a number, the notes say what it
    stands for.
    """
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
    rows = tuple(
        tuple(numbers.get(str(value), value) if n in long else value for n, value in enumerate(row))
        for row in table.rows
    )
    return replace(
        table, rows=rows, notes=(*(f"{n} {text}" for text, n in numbers.items()), *table.notes)
    )


def _blocks(columns: Sequence[_TextColumn], width: int) -> list[list[_TextColumn]]:
    """The columns in as few parts as fit side by side; every part begins with the first column and
    has at least two.
    """
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
        colalign=["right" if column.right else "left" for column in columns],
        disable_numparse=True,
    )
    rule, *others = [line.rstrip() for line in text.split("\n")]
    return "\n".join([*others[: len(rows[0])], rule, *others[len(rows[0]) :]])


def _longest(cells: Sequence[Sequence[str]], column: int) -> int:
    return max((len(row[column]) for row in cells), default=0)


def tables_text(tables: Iterable[Table], width: int) -> str:
    """Several tables, one below the other; a table without rows is left out."""
    return "\n\n".join(table_text(table, width) for table in tables if table.rows)


def proof_line(group: GroupRation, currency: str) -> str:
    """One sentence on what is proved about a group's ration, the gap rounded up; empty when there
    is no ration.
    """
    proof = group.proof
    if proof is None:
        return ""
    gap = f"{currency} {shown(max(proof.gap, 1e-4), 4, 'up')} a head a day"
    if not proof.passed:
        line = f"This answer failed its own check: {proof.verdict}."
    elif group.status == "proven":
        line = f"Proved cheapest to within {gap}."
    else:
        line = (
            f"Not proved cheapest: every need is met, but a ration up to {gap} cheaper is not ruled"
            " out."
        )
    if proof.bound_any_level is not None:
        least = shown(proof.bound_any_level, 4, "down")
        line += f" At any feeding level the cost cannot be below {currency} {least}."
    if group.penalty:
        put = f"{currency} {shown(group.penalty, 2)} put on energy above need and minerals short"
        line += f" The cost compared includes {put}, which is a penalty, not money."
    return line


def tidy_line(group: GroupRation, currency: str) -> str:
    """What was done to make the ration one that can be mixed, and what that costs; empty when
    nothing was done.
    """
    tidy = group.tidy
    if tidy is None:
        return ""
    extra = f"{currency} {shown(max(tidy.extra_cost, 1e-4), 4, 'up')} a head a day"
    costs = f"That costs {extra} more than the cheapest ration"
    if tidy.extra_cost < 0.0 < tidy.extra_penalty:
        costs = (
            "Its feed costs no more, but it is shorter of a mineral or further above its energy,"
            " than the cheapest ration"
        )
    line = f"Made practical to weigh: {' '.join(tidy.steps)} {costs}"
    line += f", {currency} {shown(tidy.cheapest_cost, 4)}, to which the proof belongs."
    return (
        line if tidy.passed else f"{line} The tidied ration failed its own check against the need."
    )


def feed_list(group: GroupRation | FedSupply) -> str:
    """What to feed in kg fresh, most first: `31.2 kg clamp 1; 3.0 kg rapeseed meal`."""
    base = quantities()["fresh_kg"].decimals
    ordered = sorted(weighable(group), key=lambda amount: -amount.kg_fresh)
    return "; ".join(
        f"{shown(a.kg_fresh, small_decimals(a.kg_fresh, base))} kg {a.name}" for a in ordered
    )


def _headline(group: GroupRation, currency: str, width: int) -> str:
    who = f"{group.name} ({group.head} head)"
    if group.feed_cost is None:
        proved = "no ration exists" if group.status == "none_exists" else "no ration was found"
        lacking = ", ".join(f"{s.need} {shown(s.short, 2)} {s.unit}" for s in group.shortfalls)
        return _indent(f"{who}: {proved}.", f"Short by: {lacking}." if lacking else "", width)
    fed = (
        f"{who}: {currency} {shown(group.feed_cost, 2)} a head a day. Feed fresh:"
        f" {feed_list(group)}."
    )
    return textwrap.fill(fed, width, subsequent_indent="  ", break_on_hyphens=False)


def _indent(first: str, second: str, width: int) -> str:
    below = textwrap.fill(
        second, width, initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False
    )
    return f"{wrapped(first, width)}\n{below}".rstrip()


def remarks_text(remarks: Iterable[str], width: int) -> str:
    """Remarks as hanging paragraphs, one below the other."""
    return "\n".join(
        textwrap.fill(
            remark, width, initial_indent="- ", subsequent_indent="  ", break_on_hyphens=False
        )
        for remark in remarks
    )


def cautions_text(
    cautions: Iterable[Caution], width: int, winter: tuple[date, date] | None = None
) -> str:
    """Cautions as lists, gravest first, with the line that defers under them; empty when there are
    none.

    winter: first day and first day after of the plan that they are of.
    """
    lists = caution_lists(cautions, winter)
    parts = [f"{heading}\n{remarks_text(those, width)}" for heading, those in lists if those]
    if not parts:
        return ""
    return "\n".join([wrapped(HEADING, width), *parts, wrapped(DEFER_LINE, width)])


def _group_text(group: GroupRation, farm: Farm, width: int) -> str:
    if group.proof is None:
        parts = [tables_text([shortfall_table(group)], width)]
        if group.at_limit:
            parts.append(wrapped(f"At its limit there: {'; '.join(group.at_limit)}.", width))
        parts.append(wrapped(clash_line(group), width))
        lines = remedy_lines(group)
        parts.append(
            f"{wrapped(ENOUGH, width)}\n{remarks_text(lines, width)}"
            if lines
            else wrapped(NO_REMEDY, width)
        )
    else:
        tables = [ration_table(group, farm.currency), supply_table(group, farm.own_quantities)]
        parts = [tables_text(tables, width), wrapped(tidy_line(group, farm.currency), width)]
        parts.append(wrapped(proof_line(group, farm.currency), width))
        sheet = parlour(farm, group)
        if sheet is not None:
            parts.append(table_text(parlour_table(sheet, group.name), width))
    parts.append(remarks_text(group.remarks, width))
    return "\n\n".join(part for part in parts if part)


def _change_text(group: GroupRation, farm: Farm, change: ChangeOver | None, width: int) -> str:
    if change is None:
        return ""
    table = table_text(ramp_table(change, farm, group.name), width)
    return f"{table}\n\n{remarks_text(change_words(change, farm.currency), width)}"


def rations_text(
    rations: Rations,
    width: int,
    figures: Iterable[Table] = (),
    changes: Mapping[str, ChangeOver] | None = None,
    reasons: Mapping[str, str] | None = None,
    rate: Iterable[str] = (),
) -> str:
    """The whole answer of `ration`: a headline a group, the overview, then each group's tables,
    proof and remarks.

    figures: tables to add at the end, such as where each figure comes from. changes: by group id,
    the way from what is fed now, told after the group's ration; reasons: by group id, why it is
    what it is. rate: how long stores last at this rate, in sentences.
    """
    currency = rations.farm.currency
    parts = ["\n".join(wrapped(line, width) for line in (day_line(rations), *rate) if line)]
    parts.append("\n".join(_headline(group, currency, width) for group in rations.groups))
    if len(rations.groups) > 1:
        parts.append(table_text(ration_overview(rations), width))
    for group in rations.groups:
        parts += [_group_text(group, rations.farm, width), (reasons or {}).get(group.group, "")]
        parts.append(_change_text(group, rations.farm, (changes or {}).get(group.group), width))
    cautions = list(farm_cautions(rations.farm))
    for group in rations.groups:
        cautions += ration_cautions(rations.farm, group, fed_before(changes, group.group))
    return closed([*parts, cautions_text(cautions, width), tables_text(figures, width)], width)


def fed_text(
    farm: Farm,
    fed: Iterable[FedSupply],
    width: int,
    reasons: Mapping[str, Iterable[str]] | None = None,
) -> str:
    """The answer of `supply`: for each group what is short or over, then its feeds, supply against
    need, remarks.

    reasons: by group id, what the ration carries, wastes and leaves, and what puts it right.
    """
    heads, parts, given = [], [], tuple(fed)
    for group in given:
        stands = stands_of(group)
        said = "; ".join(f"{word}: {', '.join(stands[word])}" for word in stands if stands[word])
        cost = f"{group.name}: {farm.currency} {shown(group.feed_cost, 2)} a head a day."
        heads.append(
            _indent(cost, f"{said[:1].upper()}{said[1:]}." if said else NOTHING_SHORT, width)
        )
        tables = [ration_table(group, farm.currency), supply_table(group, farm.own_quantities)]
        said = "\n\n".join(wrapped(line, width) for line in (reasons or {}).get(group.group, ()))
        parts += [tables_text(tables, width), said, remarks_text(group.remarks, width)]
    cautions = [*rations_cautions(farm, given), *farm_cautions(farm)]
    return closed(["\n".join(heads), *parts, cautions_text(cautions, width)], width)


def closed(parts: Iterable[str], width: int) -> str:
    """Parts below one another, ending with the line that stands under every page and sheet."""
    return "\n\n".join([*(part for part in parts if part), wrapped(CLOSING_LINE, width)])
