"""Calving dates, pens and milk that contradict one another are refused; what goes together is
read.
"""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path

import pytest

from rationlp.errors import InputError
from rationlp.read.farm import read_farm

sys.path.insert(0, str(Path(__file__).parents[1] / "model"))
from calving_farms import AUTUMN, SPRING

CASES = {
    "last before first": ("calving_last = 2026-11-20", "calving_last = 2026-09-20", "IN761"),
    "last beside a spread": (
        "calving_last = 2026-11-20",
        "calving_last = 2026-11-20\nspread_weeks = 8",
        "IN761",
    ),
    "last without first": ("calving = 2026-09-25\n", "days_to_calving = 20\n", "IN761"),
    "more than half a year": ("calving_last = 2026-11-20", "calving_last = 2027-05-20", "IN761"),
    "pens without a date": (
        "calving = 2026-09-25\ncalving_last = 2026-11-20",
        "days_to_calving = 20\npens = true",
        "IN762",
    ),
    "milk twice": ("milk_kg_per_day = 33", "milk_kg_per_day = 33\nmilk_305_day_kg = 7500", "IN760"),
}


@pytest.mark.parametrize("case", CASES)
def test_a_contradiction_is_refused(case: str, tmp_path: Path) -> None:
    """Its code, with a place and a remedy."""
    old, new, code = CASES[case]
    assert old in AUTUMN
    (tmp_path / "farm.toml").write_text(AUTUMN.replace(old, new), encoding="utf-8")
    with pytest.raises(InputError) as trouble:
        read_farm(tmp_path)
    finding = next(finding for finding in trouble.value.findings if finding.code == code)
    assert finding.where.startswith('farm.toml groups[1] "cows"')
    assert finding.remedy


def test_first_and_last_day_are_a_spread(tmp_path: Path) -> None:
    """25 September to 20 November are eight weeks; pens are off unless asked for; 6,300 kg are a
    peak of 27.
    """
    (tmp_path / "farm.toml").write_text(AUTUMN, encoding="utf-8")
    calendar = read_farm(tmp_path).groups[0].calendar
    assert calendar is not None
    assert (calendar.first_birth, calendar.spread_weeks, calendar.pens) == (
        date(2026, 9, 25),
        8.0,
        False,
    )
    (tmp_path / "farm.toml").write_text(SPRING, encoding="utf-8")
    spring = read_farm(tmp_path).groups[0].calendar
    assert spring is not None
    assert spring.pens
    assert float(spring.after["milk_kg_per_day"]) == pytest.approx(27.0, abs=0.1)
