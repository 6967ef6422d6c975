"""A story told once: what each form of an answer takes of it."""

from __future__ import annotations

from datetime import date

import pytest
from told import told

from rationlp.report.story import (
    CautionLine,
    Cautions,
    Story,
    Words,
    always,
    brief,
    full,
    in_workbook,
    on_screen,
    story_tables,
)
from rationlp.report.tables.table import Column, Table, shown
from rationlp.report.terminal import CLOSING_LINE, story_text
from rationlp.report.wording import with_day_words

KG = Table(
    "kg",
    "What to feed",
    (
        Column("feed", "Feed"),
        Column("kg", "Fresh", "kg", 1),
        Column("why", "Why", full=True),
    ),
    (("Hay", 1250.0, "cheapest"),),
    ("A note.",),
)
GAS = CautionLine("Gas", "keep out.", "", "gas")
OIL = CautionLine("Oil", "less.", "cows, oil 70 g/kg DM; warns above 60 g/kg DM", "oil", new=True)
TUB = CautionLine("Tub", "key out.", "", "tub")
CAUTIONS = Cautions("Cautions:", (GAS,), (OIL,), (TUB,), (GAS, TUB), ("Much oil",), "Ask a vet.")
STORY = Story(
    "any",
    (
        *always(Words(("Fed from 2026-10-15, turned out 2027-04-10, first cut 2025-05-20.",))),
        *brief(Words(("In short.",))),
        *always(KG, CAUTIONS),
        *full(Words(("At length.",), "", True, "remark", "cows")),
        *in_workbook(Table("long", "All", (Column("a", "A"),), (("b",),))),
        *on_screen(always(Words(("Here only.",)))),
    ),
    days=(date(2026, 10, 1), date(2027, 4, 10)),
)


def test_the_default_is_short_and_says_where_more_is() -> None:
    """Main columns, no notes, what is brief, what can kill, the names of other cautions, a hint."""
    text = story_text(STORY, 200)
    assert "In short." in text
    assert "Why" not in text
    assert "A note." not in text
    assert "At length." not in text
    assert "- Gas: keep out. [gas]\n- Tub: key out. [tub]\nMind too: Much oil.\nAsk a vet." in text
    assert STORY.hint in text
    assert text.endswith(CLOSING_LINE)


def test_full_prints_all_there_is() -> None:
    """Every column, note and caution, and nothing that only stands for them."""
    text = told(STORY)
    assert "In short." not in text
    assert "cheapest" in text
    assert "A note." in text
    assert "- At length." in text
    assert "Mind:\n- New: Oil: less. (cows, oil 70 g/kg DM; warns above 60 g/kg DM) [oil]" in text
    assert STORY.hint not in text


def test_days_are_written_as_people_do() -> None:
    """Without the year inside the winter, with it outside; commands keep theirs."""
    first = story_text(STORY, 200).splitlines()[0]
    assert first == "Fed from 15 October, turned out 10 April, first cut 20 May 2025."
    assert with_day_words("rationlp sheet FARM --on 2027-01-15") == (
        "rationlp sheet FARM --on 2027-01-15"
    )
    assert with_day_words("plan-2027-01-15.json") == "plan-2027-01-15.json"
    assert with_day_words("2026-11") == "November 2026"
    assert with_day_words("lasts (2027-13-45)") == "lasts (2027-13-45)"


@pytest.mark.parametrize(
    ("value", "decimals", "words"),
    [(95557.0, 0, "95,557"), (-0.04, 1, "0.0"), (-1234.5, 1, "-1,234.5"), (999.0, 0, "999")],
)
def test_large_figures_have_separators(value: float, decimals: int, words: str) -> None:
    """A nought is never negative."""
    assert shown(value, decimals) == words


def test_a_workbook_gets_tables_and_a_sheet_of_sentences() -> None:
    """Whatever --full prints as tables, what is for it alone, and all that is told by whom."""
    names = {table.name: table for table in story_tables(STORY)}
    assert list(names) == ["kg", "long", "said"]
    assert names["kg"].columns == KG.columns
    assert names["said"].rows == (
        ("the farm", "caution", "Gas: keep out. [gas]"),
        ("the farm", "caution", str(OIL)),
        ("the farm", "caution", "Tub: key out. [tub]"),
        ("cows", "remark", "At length."),
    )
