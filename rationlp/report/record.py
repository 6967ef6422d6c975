"""The page to record on, with empty boxes beside what is planned: as plain text, as HTML."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rationlp.planned import WinterPlan
from rationlp.report.cautions import cautions_of
from rationlp.report.dates import span_words
from rationlp.report.html import WITHOUT_HTML, filled
from rationlp.report.plan_words import short_heads, withheld_lines
from rationlp.report.story import Story, Words, always, full, in_workbook, on_screen
from rationlp.report.tables.record import (
    BLANK,
    FOUND,
    group_marks_tables,
    record_table,
    store_marks_tables,
)
from rationlp.report.tables.table import Table
from rationlp.report.terminal import CLOSING_LINE
from rationlp.yard.record import RecordFacts, Week

WEEKS_A_PAGE, WEEKS_OF_MANY = 8, 4
"""Weeks on a page, and where stores or groups need two tables."""


def _title(weeks: Sequence[Week]) -> str:
    return f"To check and write down, {span_words(weeks[0].first, weeks[-1].last)}"


def _tables(plan: WinterPlan, weeks: Sequence[Week]) -> list[Table]:
    return [*store_marks_tables(weeks), *group_marks_tables(plan.farm, weeks)]


def _pages(plan: WinterPlan, weeks: Sequence[Week]) -> Iterator[Sequence[Week]]:
    step = WEEKS_A_PAGE
    if len(_tables(plan, weeks)) > 2:
        step = WEEKS_OF_MANY
    yield from (weeks[start : start + step] for start in range(0, len(weeks), step))


def rules_of(facts: RecordFacts) -> tuple[str, ...]:
    """What a difference means; where somebody goes short, who and of what stands first."""
    return (*_first_rules(facts.plan), *facts.rules)


def record_story(facts: RecordFacts) -> Story:
    """The page as a story; what is written by hand has its boxes with --full and in HTML."""
    plan, weeks = facts.plan, facts.weeks
    meaning = "What a difference means"
    parts = (
        *on_screen(always(Words((plan.farm.name, _title(weeks))), *_tables(plan, weeks))),
        *in_workbook(record_table(weeks)),
        *on_screen(always(cautions_of(facts.cautions))),
        *on_screen(always(Words(_first_rules(plan), dashes=True))),
        *on_screen(full(Words(facts.rules, meaning, dashes=True))),
    )
    return Story(
        "record",
        parts,
        lambda: record_table(weeks),
        lambda: record_html(facts),
        (plan.farm.start, plan.farm.turnout),
        plan.exit_code,
        "With boxes to write in, and what a difference means: `--full`, or --html FILE to print.",
    )


def _first_rules(plan: WinterPlan) -> tuple[str, ...]:
    """Who goes short and of what, where somebody does."""
    return (*plan.carried, *short_heads(plan), *withheld_lines(plan))


def record_html(facts: RecordFacts) -> str:
    """Pages of eight weeks as one HTML file that needs nothing else; every text of the farm
    escaped.

    Raises InputError (IN610) where jinja2 is not installed.
    """
    plan, weeks = facts.plan, facts.weeks
    filling = {
        "farm": plan.farm.name,
        "found": FOUND,
        "blank": BLANK,
        "pages": [
            {"title": _title(part), "tables": _tables(plan, part)} for part in _pages(plan, weeks)
        ],
        "rules": rules_of(facts),
        "cautions": cautions_of(facts.cautions).lines,
        "closing": CLOSING_LINE,
    }
    return filled("record.html", filling, "--html", WITHOUT_HTML)
