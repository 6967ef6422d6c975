"""Dates of a group that cannot be: each is refused with its place and what to do."""

from __future__ import annotations

from pathlib import Path

import pytest

from rationlp.errors import InputError
from rationlp.read.farm import read_farm

FARM = """
[farm]
name = "F"
currency = "GBP"
[winter]
start = 2026-11-01
turnout = 2027-04-20
[[stores]]
id = "hay"
feed = "hay_good"
kind = "plain"
amount_t_fresh = 50
cost_per_t_fresh = 90
[[groups]]
id = "ewes"
class = "ewe_pregnant"
head = 80
live_weight_kg = 66
lambs_carried = 2
lambing = 2027-03-01
"""
CASES = {
    "lambing before tupping": (
        "lambing = 2027-03-01",
        "lambing = 2027-03-01\ntupping = 2027-04-01",
        "IN136",
        "31 days before tupping",
    ),
    "lambing a month after tupping": (
        "lambing = 2027-03-01",
        "lambing = 2027-03-01\ntupping = 2027-02-01",
        "IN136",
        "28 days after tupping",
    ),
    "date and days": (
        "lambing = 2027-03-01",
        "lambing = 2027-03-01\ndays_to_lambing = 40",
        "IN136",
        "both given",
    ),
    "calving of ewes": (
        "lambing = 2027-03-01",
        "calving = 2027-03-01",
        "IN136",
        "calving for class ewe_pregnant",
    ),
    "calving and lambing": (
        "lambing = 2027-03-01",
        "lambing = 2027-03-01\ncalving = 2027-03-01",
        "IN136",
        "lambing to ewe_pregnant",
    ),
    "last winter's lambing": (
        "lambing = 2027-03-01",
        "lambing = 2026-03-01",
        "IN136",
        "before the winter begins",
    ),
    "lambing at the end of the calendar": (
        "lambing = 2027-03-01",
        "lambing = 9999-12-01\nspread_weeks = 9",
        "IN113",
        "out of range",
    ),
    "a winter before the calendar": (
        "turnout = 2027-04-20",
        "turnout = 0001-01-05",
        "IN113",
        "out of range",
    ),
    "a store filled at the end of the calendar": (
        'kind = "plain"',
        'kind = "plain"\nfilled = 9999-12-30',
        "IN113",
        "date of filling",
    ),
    "lambing years ahead": (
        "lambing = 2027-03-01",
        "lambing = 2029-03-01",
        "IN136",
        "long after turnout",
    ),
    "spread without a date": (
        "lambing = 2027-03-01",
        "days_to_lambing = 60\nspread_weeks = 4",
        "IN136",
        "without a date",
    ),
    "a spread of a year": (
        "lambing = 2027-03-01",
        "lambing = 2027-03-01\nspread_weeks = 52",
        "IN113",
        "at most 26",
    ),
    "steady with a date": (
        "lambing = 2027-03-01",
        "lambing = 2027-03-01\nsteady = true",
        "IN136",
        "steady, and yet",
    ),
    "a date in quotation marks": (
        "lambing = 2027-03-01",
        'lambing = "2027-03-01"',
        "IN112",
        "date",
    ),
    "no class afterwards": (
        (
            'class = "ewe_pregnant"\nhead = 80\nlive_weight_kg = 66\nlambs_carried = 2\nlambing ='
            " 2027-03-01"
        ),
        'class = "dairy_cow_dry"\nhead = 8\nlive_weight_kg = 660\ncalving = 2027-03-01',
        "IN136",
        "no word of what the animals are afterwards",
    ),
    "a class that is not in milk": (
        "lambing = 2027-03-01",
        'lambing = 2027-03-01\n[groups.after]\nclass = "ewe_milkin"',
        "IN404",
        'nearest: "ewe_milking"',
    ),
    "weeks that follow from the date": (
        "lambing = 2027-03-01",
        (
            'lambing = 2027-03-01\n[groups.after]\nclass = "ewe_milking"\nlambs_suckled ='
            " 2\nweek_of_lactation = 3"
        ),
        "IN136",
        "weeks that follow",
    ),
    "facts missing afterwards": (
        "lambing = 2027-03-01",
        'lambing = 2027-03-01\n[groups.after]\nclass = "ewe_milking"',
        "IN120",
        "lambs_suckled",
    ),
    "a change before the winter": (
        "lambing = 2027-03-01",
        "lambing = 2027-03-01\n[[groups.changes]]\nfrom = 2026-10-01\nhead = 70",
        "IN136",
        "outside the winter",
    ),
    "a change of nothing": (
        "lambing = 2027-03-01",
        "lambing = 2027-03-01\n[[groups.changes]]\nfrom = 2026-12-01",
        "IN136",
        "a change of nothing",
    ),
    "changes out of order": (
        "lambing = 2027-03-01",
        (
            "lambing = 2027-03-01\n[[groups.changes]]\nfrom = 2027-01-01\nhead ="
            " 70\n[[groups.changes]]\nfrom = 2026-12-01\nhead = 60"
        ),
        "IN136",
        "in order of date",
    ),
    "a change of a fact the class does not have": (
        "lambing = 2027-03-01",
        "lambing = 2027-03-01\n[[groups.changes]]\nfrom = 2027-01-01\nmilk_kg_per_day = 3",
        "IN110",
        "milk_kg_per_day",
    ),
    "a change out of range": (
        "lambing = 2027-03-01",
        "lambing = 2027-03-01\n[[groups.changes]]\nfrom = 2027-01-01\nlive_weight_kg = 6.6",
        "IN113",
        "was it 66",
    ),
    "an unknown key of a change": (
        "lambing = 2027-03-01",
        "lambing = 2027-03-01\n[[groups.changes]]\nfrm = 2027-01-01\nhead = 70",
        "IN111",
        "from",
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_a_bad_date_is_refused(case: str, tmp_path: Path) -> None:
    """Code, words of the finding, a place in farm.toml and a remedy."""
    old, new, code, words = CASES[case]
    assert old in FARM
    (tmp_path / "farm.toml").write_text(FARM.replace(old, new), encoding="utf-8")
    with pytest.raises(InputError) as trouble:
        read_farm(tmp_path)
    found = [
        finding
        for finding in trouble.value.findings
        if finding.code == code and words in str(finding)
    ]
    assert found, trouble.value.findings
    assert all(
        finding.where.startswith("farm.toml") and finding.remedy
        for finding in trouble.value.findings
    )


def test_a_good_date_is_read(tmp_path: Path) -> None:
    """The farm that the cases spoil reads without a word."""
    (tmp_path / "farm.toml").write_text(
        FARM.replace("lambing =", "tupping = 2026-10-05\nlambing ="), encoding="utf-8"
    )
    assert read_farm(tmp_path).notices == ()
