"""Price lists of eight invented shapes are read right; what may be read in two ways is asked."""

from __future__ import annotations

from pathlib import Path

import pytest
from lab_papers import write_paper
from price_papers import LISTS, PriceCase

from rationlp.errors import InputError
from rationlp.paper.lines import pasted_lines, read_lines
from rationlp.paper.take import UnderstoodPaper, take

DAIRY = Path(__file__).resolve().parents[2] / "examples" / "dairy"


def taken(text: str, **answers: str) -> UnderstoodPaper:
    """What a pasted text says for the dairy example."""
    return take(pasted_lines(text), DAIRY, answers)


@pytest.mark.parametrize("case", LISTS, ids=lambda case: case.name)
def test_a_list_is_read_right(case: PriceCase, tmp_path: Path) -> None:
    """Every price a tonne fresh, and the load where the price is for one."""
    path = write_paper(tmp_path, case.name, case.text)
    paper = take(read_lines(path), DAIRY, case.answers)
    assert paper.questions == ()
    assert {row.feed: row.per_tonne for row in paper.prices} == pytest.approx(case.prices)
    loads = tuple((row.feed, row.load_t) for row in paper.prices if row.load_t)
    assert loads == case.loads
    assert all(case.name in row.line.place for row in paper.prices)


def test_nine_prices_of_ten_need_no_answer_but_where_the_list_is_open() -> None:
    """Two lists leave something open: who pays the haulage, and which month counts."""
    assert len(LISTS) == 8
    assert {key for case in LISTS for key in case.answers} == {"haulage", "price column"}


AMBIGUOUS = {
    "haulage": ("Barley £175/t ex store\n", {"haulage": "12"}),
    "price column": ("Feed | Nov | Jan\nBarley | £185 | £188\n", {"price column": "Jan"}),
    "bag kg": ("Rolled oats £7.50 per bag\n", {"bag kg": "25"}),
    "load t": ("Brewers grains £1400 per load\n", {"load t": "28"}),
    "Beet pulp": ("Beet pulp £240/t\n", {"Beet pulp": "beet_pulp_molassed_dry"}),
    "Ewe nuts": ("Ewe nuts £310/t\n", {"Ewe nuts": "ewe_rolls_18"}),
    "Urea": ("Urea £540/t\n", {"Urea": "feed_urea"}),
    "barley price": ("Barley £185/t\nRolled barley £189/t\n", {"barley price": "189.00"}),
}


@pytest.mark.parametrize("key", AMBIGUOUS)
def test_two_readings_are_asked(key: str) -> None:
    """Nothing is taken before it is answered; a mineral, urea or a compound never unasked."""
    text, answer = AMBIGUOUS[key]
    assert [question.key for question in taken(text).questions] == [key]
    answered = taken(text, **answer)
    assert answered.questions == ()
    assert len(answered.prices) == 1


def test_thousands_and_decimals_are_told_by_size() -> None:
    """1,250 a load and 1.250,00 a load are the same money."""
    first = taken("Brewers grains, load of 25 t, £1,250 per load delivered\n").prices[0]
    second = taken("Brewers grains, load of 25 t, £1.250,00 per load delivered\n").prices[0]
    assert first.per_tonne == second.per_tonne == 50.0


def test_another_currency_is_refused() -> None:
    """The farm counts in pounds."""
    with pytest.raises(InputError) as refused:
        taken("Barley €185/t delivered\n")
    assert refused.value.findings[0].code == "PA120"


def test_what_is_not_said_is_told() -> None:
    """Delivered or not, tax or not, and what is no feed."""
    paper = taken("Barley £185/t inc VAT\nGate hinges £12\n")
    assert any("delivered" in remark for remark in paper.remarks)
    assert any("tax" in remark for remark in paper.remarks)
    assert [line.text for line in paper.aside] == ["Gate hinges £12"]
