"""Cattle that are sold by weight leave on the day that they reach it; finishing cattle are asked
for it.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from rationlp.errors import InputError
from rationlp.farm.farm import Farm
from rationlp.needs.calendar import fed_days
from rationlp.read.farm import read_farm

FARM = """[farm]
name = "An invented farm"
currency = "GBP"
[winter]
start = 2026-11-01
turnout = 2027-04-10
[home_grown]
price = "nothing"
[[bought]]
feed = "barley"
price_per_t_fresh = 200
[[groups]]
id = "bulls"
class = "finishing_cattle"
head = 12
live_weight_kg = 520
gain_kg_per_day = 1.0
sex = "bull"
maturity = "late"
"""


def read(folder: Path, more: str = "") -> Farm:
    """The farm with more keys of its group."""
    (folder / "farm.toml").write_text(FARM + more, encoding="utf-8")
    return read_farm(folder)


def test_they_leave_at_their_weight(tmp_path: Path) -> None:
    """620 kg from 520 at 1.0 kg a day: 100 days; they are not fed from that day."""
    group = read(tmp_path, "sale_weight_kg = 620\n").groups[0]
    assert group.out == date(2027, 2, 9)
    assert fed_days(group, date(2027, 2, 1), date(2027, 2, 15)) == 8


def test_a_change_of_gain_moves_the_day(tmp_path: Path) -> None:
    """50 kg in the first 50 days, the rest at 2 kg a day."""
    more = "sale_weight_kg = 620\n[[groups.changes]]\nfrom = 2026-12-21\ngain_kg_per_day = 2.0\n"
    assert read(tmp_path, more).groups[0].out == date(2027, 1, 15)


def test_a_weight_not_reached_or_an_earlier_day_of_the_farm(tmp_path: Path) -> None:
    """700 kg is not reached by turnout; the farm's own `out` holds where it is earlier; a steady
    group never leaves.
    """
    assert read(tmp_path, "sale_weight_kg = 700\n").groups[0].out is None
    assert read(tmp_path, "sale_weight_kg = 620\nout = 2027-01-10\n").groups[0].out == date(
        2027, 1, 10
    )
    assert read(tmp_path, "sale_weight_kg = 620\nsteady = true\n").groups[0].out is None


def codes(farm: Farm) -> list[str]:
    """The codes of what is said of it."""
    return [notice.code for notice in farm.notices]


def test_finishing_cattle_are_asked_when_they_leave(tmp_path: Path) -> None:
    """WA235 without a weight, a date or a change of heads; with any of them, or a steady group,
    not.
    """
    farm = read(tmp_path)
    assert codes(farm) == ["WA235"]
    assert "about 680 kg at turnout" in farm.notices[0].found
    for more in (
        "sale_weight_kg = 620\n", "out = 2027-02-01\n", "steady = true\n",
        "[[groups.changes]]\nfrom = 2027-01-10\nhead = 6\n",
    ):  # fmt: skip
        assert codes(read(tmp_path, more)) == []


def test_a_sale_weight_already_reached_is_refused(tmp_path: Path) -> None:
    """IN771."""
    with pytest.raises(InputError, match="IN771"):
        read(tmp_path, "sale_weight_kg = 500\n")
