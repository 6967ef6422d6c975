"""All tables of a result, for a workbook, Python and a notebook: those of its story."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from typing import TYPE_CHECKING

from rationlp.after.farm_facts import FarmFacts
from rationlp.after.winter_facts import WinterFacts
from rationlp.ask.result_facts import ResultFacts
from rationlp.report.stories.farm import farm_story
from rationlp.report.stories.needs import needs_story
from rationlp.report.stories.ration import fed_story, ration_story
from rationlp.report.stories.winter import winter_story
from rationlp.report.story import Story, story_tables
from rationlp.report.tables.table import Table
from rationlp.report.terminal import CLOSING_LINE
from rationlp.yard.day_facts import FedFacts, RationFacts

if TYPE_CHECKING:
    import pandas as pd

OPEN_TABLES = 2
"""Tables that stand open in a notebook; the others are folded."""


def story_of(facts: ResultFacts) -> Story:
    """The story of a result."""
    if isinstance(facts, FarmFacts):
        return farm_story(facts)
    if isinstance(facts, RationFacts):
        return ration_story(facts)
    if isinstance(facts, WinterFacts):
        return winter_story(facts)
    if isinstance(facts, FedFacts):
        return fed_story(None, facts)
    return needs_story(facts)


def result_tables(facts: ResultFacts) -> tuple[Table, ...]:
    """The tables of a result that have rows, each with a name of its own."""
    return story_tables(story_of(facts))


def result_frames(facts: ResultFacts) -> dict[str, pd.DataFrame]:
    """The tables of a result as DataFrames by name; `attrs` holds units, title and notes."""
    return {table.name: table.frame() for table in result_tables(facts)}


def result_html(facts: ResultFacts) -> str:
    """A result as HTML for a notebook, all text escaped: first tables open, others folded."""
    parts = []
    for number, table in enumerate(result_tables(facts)):
        opened = ""
        if number < OPEN_TABLES:
            opened = " open"
        title = f"<summary><b>{escape(table.title)}</b></summary>"
        parts.append(f"<details{opened}>{title}{_html(table)}</details>")
    return f"<div>{''.join(parts)}<p><i>{escape(CLOSING_LINE)}</i></p></div>"


def _html(table: Table) -> str:
    styles = [f' style="text-align:{column.align}"' for column in table.columns]
    titles = [f"{column.title} {column.unit}".strip() for column in table.columns]
    head = _row("th", titles, styles)
    rows = "".join(_row("td", row, styles) for row in table.cells())
    notes = "".join(f"<p>{escape(note)}</p>" for note in table.notes)
    return f"<table><thead>{head}</thead><tbody>{rows}</tbody></table>{notes}"


def _row(tag: str, cells: Iterable[str], styles: Iterable[str]) -> str:
    pairs = zip(cells, styles, strict=True)
    return f"<tr>{''.join(f'<{tag}{style}>{escape(cell)}</{tag}>' for cell, style in pairs)}</tr>"
