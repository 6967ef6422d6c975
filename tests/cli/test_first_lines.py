"""Within ten lines of 100 columns each main command answers: what to feed, what runs out, what to
buy, what it costs.
"""

from __future__ import annotations

from datetime import date

import pytest
from typer.testing import CliRunner

from rationlp.cli.app import app
from rationlp.folders import examples_folder
from rationlp.report.sheet import load_line
from rationlp.report.wording import span_words

EXAMPLES = ("beef", "dairy", "hill", "short")


def first_eleven(*words: str) -> str:
    """The first eleven lines of an answer, as one running text: a blank one among them."""
    result = CliRunner(env={"COLUMNS": "100"}).invoke(app, list(words))
    assert result.exit_code == 0, result.stderr
    return " ".join(" ".join(result.stdout.splitlines()[:11]).split())


@pytest.mark.parametrize("name", EXAMPLES)
def test_ration_says_cost_purchases_stores_and_what_to_feed(name: str) -> None:
    """All groups together first, then stores at this rate, then every feed."""
    text = first_eleven("ration", str(examples_folder() / name))
    assert text.startswith("All ")
    assert "a day; bought feed " in text
    assert "the stores last: " in text
    assert "What to feed, kg fresh a head a day" in text


@pytest.mark.parametrize("name", [*EXAMPLES, "few"])
def test_winter_says_cost_purchases_run_out_days_and_what_to_feed(name: str) -> None:
    """In that order; dates as people say them, money with separators."""
    text = first_eleven("winter", str(examples_folder() / name))
    places = [
        text.find(words)
        for words in (": GBP ", " Buy: ", " Runs out before turnout (", " Feed from ")
    ]
    assert -1 not in places
    assert places == sorted(places)
    assert "kg fresh a head a day" in text
    assert "2026-" not in text


@pytest.mark.parametrize("name", EXAMPLES)
def test_last_says_first_which_stores_run_out(name: str) -> None:
    """One sentence for all stores before a sentence for each."""
    text = first_eleven("last", str(examples_folder() / name))
    assert text.startswith("Runs out before turnout (")
    assert "2026-" not in text
    assert "2027-" not in text


@pytest.mark.parametrize("name", [*EXAMPLES, "few"])
def test_sheet_says_what_goes_into_the_load_before_any_table(name: str) -> None:
    """Feed and kg in one sentence under the group's name."""
    text = first_eleven("sheet", str(examples_folder() / name))
    assert "In kg: " in text


def test_words_of_a_first_line() -> None:
    """Days with years; a load without anything says nothing."""
    assert span_words(date(2026, 10, 15), date(2027, 4, 10)) == "15 October 2026 to 10 April 2027"
    assert load_line([("Barley", "95"), ("Clamp", "910")]) == "In kg: 95 Barley; 910 Clamp."
    assert load_line([]) == ""
