"""The page to record on: what is planned week by week with empty boxes beside it, as plain text and
as HTML.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rationlp.after.cautions import store_cautions
from rationlp.planned import WinterPlan
from rationlp.report.cautions import caution_lines
from rationlp.report.html import WITHOUT_HTML, filled
from rationlp.report.plan_text import short_heads, withheld_lines
from rationlp.report.tables.record import BLANK, FOUND, group_marks_tables, store_marks_tables
from rationlp.report.tables.table import Table
from rationlp.report.terminal import (
    CLOSING_LINE,
    cautions_text,
    closed,
    remarks_text,
    table_text,
    wrapped,
)
from rationlp.yard.record import Week, record_rules

WEEKS_A_PAGE, WEEKS_OF_MANY = 8, 4
"""Weeks on a page, and where stores or groups need two tables."""


def _title(weeks: Sequence[Week]) -> str:
    return f"To check and write down, {weeks[0].first.isoformat()} to {weeks[-1].last.isoformat()}"


def _tables(plan: WinterPlan, weeks: Sequence[Week]) -> list[Table]:
    return [*store_marks_tables(weeks), *group_marks_tables(plan.farm, weeks)]


def _pages(plan: WinterPlan, weeks: Sequence[Week]) -> Iterator[Sequence[Week]]:
    step = WEEKS_A_PAGE if len(_tables(plan, weeks)) <= 2 else WEEKS_OF_MANY
    yield from (weeks[start : start + step] for start in range(0, len(weeks), step))


def rules_of(plan: WinterPlan, weeks: Sequence[Week]) -> tuple[str, ...]:
    """What a difference means; where somebody goes short, who and of what stands first."""
    return (
        *plan.carried,
        *short_heads(plan),
        *withheld_lines(plan),
        *record_rules(plan, tuple(weeks)),
    )


def record_text(plan: WinterPlan, weeks: Sequence[Week], width: int) -> str:
    """The page as plain text."""
    parts = [wrapped(f"{plan.farm.name}\n{_title(weeks)}", width)]
    parts += [table_text(table, width) for table in _tables(plan, weeks)]
    rules = remarks_text(rules_of(plan, weeks), width)
    before = cautions_text(store_cautions(plan.farm), width)
    return closed([*parts, before, f"What a difference means\n{rules}"], width)


def record_html(plan: WinterPlan, weeks: Sequence[Week]) -> str:
    """Pages of eight weeks as one HTML file that needs nothing else; every text of the farm
    escaped.

    Raises InputError (IN610) where jinja2 is not installed.
    """
    facts = {
        "farm": plan.farm.name,
        "found": FOUND,
        "blank": BLANK,
        "pages": [
            {"title": _title(part), "tables": _tables(plan, part)} for part in _pages(plan, weeks)
        ],
        "rules": rules_of(plan, weeks),
        "cautions": caution_lines(store_cautions(plan.farm)),
        "closing": CLOSING_LINE,
    }
    return filled("record.html", facts, "--html", WITHOUT_HTML)
