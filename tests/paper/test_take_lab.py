"""Lab sheets of a dozen invented shapes are read right, most figures without a question; what may
be read in two ways is asked.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from lab_papers import SHEETS, LabCase, write_paper

from rationlp.errors import InputError
from rationlp.paper.lines import pasted_lines, read_lines
from rationlp.paper.take import UnderstoodPaper, take

DAIRY = Path(__file__).resolve().parents[2] / "examples" / "dairy"


def taken(text: str, **answers: str) -> UnderstoodPaper:
    """What a pasted text says for the dairy example."""
    return take(pasted_lines(text), DAIRY, answers)


def figures(paper: UnderstoodPaper) -> dict[str, dict[str, float]]:
    """The figures read, by store and quantity."""
    return {
        row.target: {figure.quantity: figure.value for figure in row.figures}
        for row in paper.lab_rows
    }


@pytest.mark.parametrize("case", SHEETS, ids=lambda case: case.name)
def test_a_sheet_is_read_right(case: LabCase, tmp_path: Path) -> None:
    """Every figure of the sheet, none else, each with its line."""
    paper = take(
        read_lines(write_paper(tmp_path, case.name, case.text)),
        DAIRY,
        {"rows": "instead", **case.answers},
    )
    assert paper.questions == ()
    read = figures(paper)
    assert read.keys() == case.figures.keys()
    for store, expected in case.figures.items():
        assert read[store] == pytest.approx(expected, rel=1e-3)
    for row in paper.lab_rows:
        assert all(case.name in figure.line.place for figure in row.figures)
        for key, word in case.words:
            assert getattr(row, key) == word


def test_nine_figures_of_ten_need_no_answer() -> None:
    """Sheets that need an answer ahead hold fewer than a tenth of all figures."""
    count = [sum(map(len, case.figures.values())) for case in SHEETS]
    asked = [n for n, case in zip(count, SHEETS, strict=True) if case.answers]
    assert len(SHEETS) == 12
    assert sum(asked) <= 0.1 * sum(count)


AMBIGUOUS = {
    "fresh or dry": (
        "Sample: Rolled barley\nDM 86 %\nProtein 10.5 %\nOil 2.1 %\n", "basis", "dry", "fresh",
    ),
    "which store": ("Grass silage\nDM 31 %\nCP 14 % DM\n", "for", "first_cut", "second_cut"),
    "which number": (
        "Sample: maize\nDM 32.4 %\nStarch g/kg DM  312  280\n", "Starch", "312", "280",
    ),
    "rows there": ("Sample: maize\nDM 32.4 %\nCP 8 % DM\n", "rows", "instead", "beside"),
    "sheet or list": (
        "Sample: maize\nDM 32.4 %\nCP 8 % DM\nBarley £185/t\n", "as", "lab", "prices",
    ),
    "no such day": (
        "Sample: hay\nSampled 09/25/2026\nDM 86 %\nCP 10 % DM\n", "sampled", "none", "",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", AMBIGUOUS)
def test_two_readings_are_asked(name: str) -> None:
    """Both readings are named, and nothing is taken before one is chosen."""
    text, key, first, second = AMBIGUOUS[name]
    questions = {question.key: question for question in taken(text).questions}
    assert key in questions
    words = [word for word, _ in questions[key].choices]
    assert first in words
    assert not second or second in words
    line = str(questions[key].finding())
    assert first in line
    assert f"{key}=" in line
    answered = taken(text, **{key: first})
    assert key not in {question.key for question in answered.questions}


def test_answers_change_the_reading() -> None:
    """Barley's protein in the grain as it lies is more in its dry matter."""
    text = AMBIGUOUS["fresh or dry"][0]
    dry = figures(taken(text, basis="dry"))["barley"]["cp_g_per_kg_dm"]
    fresh = figures(taken(text, basis="fresh"))["barley"]["cp_g_per_kg_dm"]
    assert dry == pytest.approx(105.0)
    assert fresh == pytest.approx(105.0 / 0.86)


@pytest.mark.parametrize("name", ["Barley straw", "Maize and hay"])
def test_a_name_with_a_word_of_another_feed_is_asked(name: str) -> None:
    """Barley straw is not barley, whatever the farm has of both."""
    questions = taken(f"Sample: {name}\nDM 86 %\nCP 4 % DM\n").questions
    assert [question.key for question in questions] == ["for"]


def test_what_is_no_figure_is_left_aside() -> None:
    """A quantity of no use, a temperature, an answer that is none."""
    paper = taken("Sample: hay\nDM 86 %\nCP 10 % DM\nCrude fibre 30 %\nDried at 100 °C\n")
    assert figures(paper) == {
        "hay": {"dm_g_per_kg": pytest.approx(860.0), "cp_g_per_kg_dm": pytest.approx(100.0)}
    }
    assert "Crude fibre" in paper.aside[0].text
    with pytest.raises(InputError) as refused:
        taken(AMBIGUOUS["fresh or dry"][0], basis="wet")
    assert refused.value.findings[0].code == "PA113"


def test_an_impossible_figure_is_not_taken() -> None:
    """A protein of 146 % is no figure of any feed: it is asked whether to leave it out."""
    questions = taken("Sample: hay\nDM 86 %\nCP 146 % DM\nNDF 60 % DM\n").questions
    assert [question.key for question in questions] == ["Crude protein"]
    assert questions[0].choices == (("none", "leave it out"),)


def test_a_table_laid_out_in_columns_of_a_pdf(tmp_path: Path) -> None:
    """Letters of different widths, an empty cell, a date above the table."""
    from reportlab.lib.styles import getSampleStyleSheet
    from reportlab.platypus import Paragraph, SimpleDocTemplate, Table

    rows = [
        ["Sample", "DM %", "CP % DM", "ME MJ/kg DM", "Starch g/kg DM", "pH"],
        ["First cut", "31.2", "14.6", "11.1", "", "3.9"],
        ["Maize clamp", "32.4", "8.1", "11.3", "312", "3.8"],
    ]
    path = tmp_path / "table.pdf"
    dated = Paragraph("Date sampled: 3 October 2026", getSampleStyleSheet()["Normal"])
    SimpleDocTemplate(str(path)).build([dated, Table(rows)])
    paper = take(read_lines(path), DAIRY, {"rows": "instead"})
    assert [row.sampled for row in paper.lab_rows] == ["2026-10-03", "2026-10-03"]
    read = figures(paper)
    assert "starch_g_per_kg_dm" not in read["first_cut"]
    assert read["first_cut"]["ph"] == 3.9
    assert read["maize"]["starch_g_per_kg_dm"] == 312.0


def test_units_of_nothing_known_are_not_taken() -> None:
    """Kilocalories and bare grams are left aside, not read as the nearest unit."""
    paper = taken("Sample: hay\nDM 86 %\nCrude protein 1,46 g\nME 2,655 kcal\nNDF 61 % DM\n")
    assert set(figures(paper)["hay"]) == {"dm_g_per_kg", "ndf_g_per_kg_dm"}
    assert [line.text for line in paper.aside] == ["Crude protein 1,46 g", "ME 2,655 kcal"]


def test_last_year_is_another_column() -> None:
    """Only this sample's column counts."""
    text = """Sample: hay
                 This sample   Last year
Dry matter %        86.0          85.1
Protein % DM        10.6           9.2
"""
    assert figures(taken(text))["hay"]["cp_g_per_kg_dm"] == pytest.approx(106.0)


def test_fresh_weight_is_told_by_size_only_with_three_figures() -> None:
    """A silage's protein of 45.6 g/kg beside sugar and ash cannot be in dry matter; alone it is
    asked.
    """
    head, row = "Name\tDry matter g/kg\tCrude protein g/kg", "first cut\t312\t35.6"
    three = taken(f"{head}\tSugar\tAsh\n{row}\t12\t26\n", rows="instead")
    assert figures(three)["first_cut"]["ash_g_per_kg_dm"] == pytest.approx(83.33, abs=0.01)
    alone = taken(f"{head}\n{row}\n", rows="instead")
    assert [question.key for question in alone.questions] == ["basis"]
