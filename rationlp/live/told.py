"""Stories and tables as plain data for the browser: the same as every command shows, rounded in one
place; charts as drawings of ours.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from rationlp.report import chart as charts
from rationlp.report.draw import draw
from rationlp.report.story import (
    BRIEF,
    FULL,
    SCREEN,
    Cautions,
    Chart,
    Content,
    Rule,
    Story,
    Words,
)
from rationlp.report.tables.table import Table

Json = dict[str, Any]


def story_json(story: Story, title: str) -> Json:
    """A story. Parts that stand for what is shown at length anyway are left out; what a command
    shows with --full only is marked.
    """
    parts = [
        _content(part.content, number) | {"full": part.shown == FULL}
        for number, part in enumerate(story.parts)
        if SCREEN in part.media and not (part.shown == BRIEF and isinstance(part.content, Table))
    ]
    return {"kind": story.kind, "title": title, "parts": parts}


def _content(content: Content, number: int) -> Json:
    if isinstance(content, Words):
        lines = [line for line in content.lines if line]
        return {"type": "words", "title": content.title, "lines": lines, "dashes": content.dashes}
    if isinstance(content, Table):
        return {"type": "table"} | table_json(content)
    if isinstance(content, Cautions):
        return {
            "type": "cautions",
            "heading": content.heading,
            "grave": content.grave,
            "others": content.others,
            "daily": content.daily,
            "defer": content.defer,
        }
    if isinstance(content, Rule):
        return {"type": "rule"}
    return _chart(content, number)


def table_json(table: Table) -> Json:
    """A table with its cells as they are shown."""
    return {
        "name": table.name,
        "title": table.title,
        "columns": [
            {"key": one.key, "title": one.title, "unit": one.unit, "align": one.align}
            for one in table.columns
        ],
        "rows": table.cells(),
        "notes": list(table.notes),
    }


def _chart(chart: Chart, number: int) -> Json:
    """Lines of a story, each to its own first value, as a chart of ours."""
    looks = (charts.PLAIN, charts.SECOND, charts.THIRD, charts.BELOW)
    curves = tuple(
        charts.Curve(line.name, tuple(zip(line.days, line.values, strict=True)), looks[n % 4])
        for n, line in enumerate(chart.lines)
    )
    drawn = charts.Chart(
        chart.title,
        "; ".join(_says(chart)),
        charts.Axis(),
        charts.Axis(chart.title),
        curves,
    )
    return {
        "type": "chart",
        "title": chart.title,
        "says": drawn.says,
        "svg": draw(drawn, f"chart-{number}") if any(line.days for line in chart.lines) else "",
        "legend": [list(pair) for pair in charts.legend(drawn)],
    }


def _says(chart: Chart) -> Iterator[str]:
    for line in chart.lines:
        if line.values:
            yield f"{line.name} from {line.values[0]:.0f} to {line.values[-1]:.0f}"
