"""Stories and tables as plain data for the browser: the same as every command shows, rounded in one
place; charts as drawings of ours.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from rationlp.report.chart import Chart, legend
from rationlp.report.draw import draw, draw_swatch
from rationlp.report.glance import Glance, Slider
from rationlp.report.story import (
    BRIEF,
    FULL,
    SCREEN,
    CautionLine,
    Cautions,
    Content,
    Part,
    Rule,
    Story,
    Words,
)
from rationlp.report.tables.table import Table
from rationlp.report.wording import Winter, with_day_words

Json = dict[str, Any]


DIGITS = 6
"""So many digits of a figure are sent: more than the page shows."""


def figure(value: float | None) -> float | None:
    """A figure as it is sent; None stays."""
    if value is None:
        return None
    return float(f"{value:.{DIGITS}g}")


def story_json(story: Story, title: str, winter: Winter | None = None) -> Json:
    """A story. Parts that stand for what is shown at length anyway are left out; what a command
    shows with --full only is marked. winter: its days are written without their year.
    """
    parts = [
        _content(part.content, number, winter) | {"full": part.shown == FULL}
        for number, part in enumerate(story.parts)
        if _is_shown(part)
    ]
    return {"kind": story.kind, "title": title, "parts": parts}


def _is_shown(part: Part) -> bool:
    """What the terminal shows, and the charts of the written report."""
    if isinstance(part.content, (Chart, Slider)):
        return True
    if isinstance(part.content, Glance) or SCREEN not in part.media:
        return False
    return not (part.shown == BRIEF and isinstance(part.content, Table))


def _content(content: Content, number: int, winter: Winter | None) -> Json:
    if isinstance(content, Words):
        lines = [with_day_words(line, winter) for line in content.lines if line]
        return {"type": "words", "title": content.title, "lines": lines, "dashes": content.dashes}
    if isinstance(content, Table):
        return {"type": "table"} | table_json(content, winter)
    if isinstance(content, Cautions):
        return {"type": "cautions", "heading": content.heading} | cautions_json(content)
    if isinstance(content, Chart):
        return _chart(content, number)
    if isinstance(content, Slider):
        return _chart(content.chart, number)
    assert isinstance(content, Rule), content
    return {"type": "rule"}


def cautions_json(cautions: Cautions) -> Json:
    """Cautions by list; first: all that can kill or maim, what holds every day among them."""
    return {
        "first": _lines(cautions.first),
        "grave": _lines(cautions.grave),
        "others": _lines(cautions.others),
        "daily": _lines(cautions.daily),
        "defer": cautions.defer,
    }


def _lines(lines: Iterable[CautionLine]) -> list[Json]:
    return [
        {"name": one.name, "title": one.title, "action": one.action, "about": one.about}
        for one in lines
    ]


def table_json(table: Table, winter: Winter | None = None) -> Json:
    """A table with its cells as they are shown, days as people write them."""

    def said(text: str) -> str:
        return with_day_words(text, winter)

    return {
        "name": table.name,
        "title": said(table.title),
        "columns": [
            {
                "key": column.key,
                "title": said(column.title),
                "unit": column.unit,
                "align": column.align,
            }
            for column in table.columns
        ],
        "rows": [[said(cell) for cell in row] for row in table.cells()],
        "notes": [said(note) for note in table.notes],
    }


def _chart(chart: Chart, number: int) -> Json:
    """A chart drawn as the written report draws it. legend: names; swatches: a sample of each,
    drawn.
    """
    names = list(legend(chart))
    return {
        "type": "chart",
        "title": chart.title,
        "says": chart.says,
        "svg": draw(chart, f"chart-{number}"),
        "legend": [name for _, name in names],
        "swatches": [draw_swatch(looks) for looks, _ in names],
    }
