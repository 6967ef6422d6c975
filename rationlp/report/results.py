"""All tables of a result, for a workbook, for Python and for a notebook: those of its story, in the
order in which they are read.

A result is what the public names return: a farm, the needs of its groups, its rations, its winter's
plan, or what a ration already fed gives.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from html import escape
from typing import TYPE_CHECKING

from rationlp.after.cautions import farm_cautions
from rationlp.after.winter_facts import winter_facts
from rationlp.farm.farm import Farm
from rationlp.needs.objects import GroupNeeds
from rationlp.planned import WinterPlan
from rationlp.report.stories.farm import farm_story
from rationlp.report.stories.fed import fed_story
from rationlp.report.stories.needs import needs_story
from rationlp.report.stories.ration import ration_story
from rationlp.report.stories.winter import winter_story
from rationlp.report.story import Story, story_tables
from rationlp.report.tables.table import Table
from rationlp.report.terminal import CLOSING_LINE
from rationlp.result import FedSupply, Rations
from rationlp.yard.day_facts import fed_facts, ration_facts

if TYPE_CHECKING:
    import pandas as pd

Result = (
    Farm
    | Rations
    | WinterPlan
    | GroupNeeds
    | FedSupply
    | Iterable[GroupNeeds]
    | Iterable[FedSupply]
)
"""What can be shown as tables."""

OPEN_TABLES = 2
"""Tables that stand open in a notebook; the others are folded."""


def story_of(result: Result) -> Story:
    """The story of a result. Raises TypeError for what is no result."""
    if isinstance(result, Farm):
        return farm_story(result, farm_cautions(result))
    if isinstance(result, Rations):
        return ration_story(ration_facts(result))
    if isinstance(result, WinterPlan):
        return winter_story(winter_facts(result))
    items = (result,) if isinstance(result, (GroupNeeds, FedSupply)) else _items(result)
    needs = tuple(item for item in items if isinstance(item, GroupNeeds))
    fed = tuple(item for item in items if isinstance(item, FedSupply))
    if len(needs) + len(fed) < len(items) or bool(needs) == bool(fed):
        raise TypeError(
            "tables are made of a farm, of needs, rations, a plan, or what a ration already fed"
            " gives"
        )
    if needs:
        return needs_story(needs)
    return fed_story(None, fed_facts(None, fed))


def _items(result: object) -> tuple[object, ...]:
    if not isinstance(result, Iterable) or isinstance(result, (str, bytes, Mapping)):
        raise TypeError(f"no tables can be made of a {type(result).__name__}")
    return tuple(result)


def result_tables(result: Result) -> tuple[Table, ...]:
    """The tables of a result, each with a name of its own; those without rows are left out.

    Raises TypeError for what is no result.
    """
    return story_tables(story_of(result))


def result_frames(result: Result) -> dict[str, pd.DataFrame]:
    """The tables of a result as DataFrames by name; `attrs` holds units by column, the title and
    the notes.
    """
    return {table.name: table.frame() for table in result_tables(result)}


def result_html(result: Result) -> str:
    """A result as HTML for a notebook: the first tables open, the others folded. All text is
    escaped.
    """
    parts = []
    for number, table in enumerate(result_tables(result)):
        opened = " open" if number < OPEN_TABLES else ""
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
