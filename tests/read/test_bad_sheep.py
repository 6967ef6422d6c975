"""Sheep and cattle that cannot be: impossible facts, lambs and gains are refused with the reason
and the valid range.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from rationlp import farm_needs
from rationlp.errors import InputError
from rationlp.read.farm import read_farm

HEAD = """
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
[[bought]]
feed = "ewe_rolls_18"
price_per_t_fresh = 320
[[groups]]
id = "g"
head = 10
"""
TWINS = 'class = "ewe_pregnant"\nlive_weight_kg = 70\nlambs_carried = 2\ndays_to_lambing = 30\n'
MILKING = 'class = "ewe_milking"\nlive_weight_kg = 70\nlambs_suckled = 2\nweek_of_lactation = 3\n'
LAMBS = 'class = "lamb"\nlive_weight_kg = 34\ngain_kg_per_day = 0.15\nsex = "castrate"\n'
EWE_LAMBS = 'class = "ewe_lamb"\nlive_weight_kg = 42\ngain_kg_per_day = 0.06\n'
RAMS = 'class = "ram"\nlive_weight_kg = 90\n'
DRY = 'class = "ewe_dry"\nlive_weight_kg = 65\n'
SUCKLERS = (
    'class = "suckler_cow_milking"\nlive_weight_kg = 620\nmilk_kg_per_day = 9\nweek_of_lactation'
    " = 8\n"
)
CASES = {
    "a cow of 20 kg": (SUCKLERS, "live_weight_kg = 620", "live_weight_kg = 20", "IN113", "valid from 350 to 1000"),
    "60 kg of milk from a suckler": (SUCKLERS, "milk_kg_per_day = 9", "milk_kg_per_day = 60", "IN113", "valid from 1 to 18"),
    "a ewe of 700 kg": (TWINS, "live_weight_kg = 70", "live_weight_kg = 700", "IN113", "was it 70"),
    "a ewe of 7 kg": (TWINS, "live_weight_kg = 70", "live_weight_kg = 7", "IN113", "was it 70"),
    "no lamb in the twin group": (TWINS, "lambs_carried = 2", "lambs_carried = 0", "IN113", "valid from 1 to 4"),
    "half a lamb": (TWINS, "lambs_carried = 2", "lambs_carried = 1.5", "IN113", "give a whole number"),
    "nine lambs": (TWINS, "lambs_carried = 2", "lambs_carried = 9", "IN113", "valid from 1 to 4"),
    "twins as a word": (TWINS, "lambs_carried = 2", 'lambs_carried = "twins"', "IN112", "not a number"),
    "lambing in more than a year": (TWINS, "days_to_lambing = 30", "days_to_lambing = 400", "IN113", "valid from 0 to 365"),
    "lambing last week": (TWINS, "days_to_lambing = 30", "days_to_lambing = -7", "IN113", "valid from 0 to 365"),
    "no days and no date": (TWINS, "days_to_lambing = 30\n", "", "IN120", "days_to_lambing"),
    "lambs of 20 kg": (TWINS, "lambs_carried = 2", "lambs_carried = 2\nlitter_weight_kg = 17.9", "IN134", "lambs weigh"),
    "lambs of a pound": (TWINS, "lambs_carried = 2", "lambs_carried = 3\nlitter_weight_kg = 1.6", "IN134", "lambs weigh"),
    "a fact of cows": (TWINS, "days_to_lambing", "days_to_calving = 30\ndays_to_lambing", "IN110", "days_to_lambing"),
    "a place that is none": (DRY, 'class = "ewe_dry"', 'class = "ewe_dry"\nkept = "hills"', "IN114", 'nearest: "hill"'),
    "suckling nobody": (MILKING, "lambs_suckled = 2", "lambs_suckled = 0", "IN113", "valid from 1 to 3"),
    "a cow's milk from a ewe": (MILKING, "week_of_lactation = 3", "week_of_lactation = 3\nmilk_kg_per_day = 30", "IN113", "was it 3"),
    "fat in per cent": (MILKING, "week_of_lactation = 3", "week_of_lactation = 3\nmilk_fat_g_per_kg = 7", "IN113", "was it 70"),
    "a year in milk": (MILKING, "week_of_lactation = 3", "week_of_lactation = 52", "IN113", "valid from 1 to 20"),
    "losing 300 g a day": (
        MILKING, "week_of_lactation = 3", "week_of_lactation = 3\nlive_weight_change_kg_per_day = -0.3", "IN113", "-0.1 to 0.3",
    ),
    "an unknown flock": (MILKING, "week_of_lactation = 3", 'week_of_lactation = 3\nflock = "upland"', "IN114", "lowland"),
    "a lamb gaining in grams": (LAMBS, "gain_kg_per_day = 0.15", "gain_kg_per_day = 150", "IN113", "was it 0.15"),
    "a lamb of no sex": (LAMBS, 'sex = "castrate"\n', "", "IN120", "sex"),
    "a lamb as a bull": (LAMBS, 'sex = "castrate"', 'sex = "bull"', "IN114", "male, castrate, female"),
    "a lamb losing weight": (LAMBS, "gain_kg_per_day = 0.15", "gain_kg_per_day = -0.05", "IN113", "valid from 0"),
    "a ewe lamb in lamb without a date": (EWE_LAMBS, "gain_kg_per_day", "lambs_carried = 1\ngain_kg_per_day", "IN134", "days_to_lambing"),
    "a date without a lamb": (EWE_LAMBS, "gain_kg_per_day", "days_to_lambing = 40\ngain_kg_per_day", "IN134", "lambs_carried"),
    "a date and no lamb": (
        EWE_LAMBS, "gain_kg_per_day", "lambs_carried = 0\ndays_to_lambing = 40\ngain_kg_per_day", "IN134", "carries no lamb",
    ),
    "a ram in lamb": (RAMS, "live_weight_kg = 90", "live_weight_kg = 90\nlambs_carried = 2", "IN110", "ewe_pregnant"),
    "a class misspelt": (DRY, 'class = "ewe_dry"', 'class = "ewe_drye"', "IN404", 'nearest: "ewe_dry"'),
    "a parlour for ewes": (DRY, 'class = "ewe_dry"', 'class = "ewe_dry"\nparlour_feed = "ewe_rolls_18"', "IN110", "parlour"),
    "two scores of condition and a change": (
        DRY, "live_weight_kg = 65",
        "live_weight_kg = 65\ncondition_score_change = 0.5\ncondition_change_days = 60\nlive_weight_change_kg_per_day = 0.1",
        "IN133", "condition score",
    ),
    "maintenance doubled": (DRY, 'class = "ewe_dry"', 'class = "ewe_dry"\nmaint_factor = 2.0', "IN113", "at most 1.5"),
}  # fmt: skip


def findings_of(folder: Path, text: str) -> tuple[object, ...]:
    """What is wrong with a farm of one group."""
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as trouble:
        read_farm(folder)
    return trouble.value.findings


@pytest.mark.parametrize("case", CASES)
def test_an_impossible_animal_is_refused(case: str, tmp_path: Path) -> None:
    """Code, the valid range or the nearest word, a place in farm.toml and a remedy."""
    group, old, new, code, words = CASES[case]
    assert old in group
    found = findings_of(tmp_path, HEAD + group.replace(old, new, 1))
    assert any(finding.code == code and words in str(finding) for finding in found), found  # type: ignore[attr-defined]
    assert all(finding.where.startswith("farm.toml") and finding.remedy for finding in found)  # type: ignore[attr-defined]


@pytest.mark.parametrize("group", [TWINS, MILKING, LAMBS, EWE_LAMBS, RAMS, DRY, SUCKLERS])
def test_the_animals_that_are_spoilt_above_are_good(group: str, tmp_path: Path) -> None:
    """Each of them reads without a word, but for lambs that are weaned in time, and has needs."""
    (tmp_path / "farm.toml").write_text(HEAD + group, encoding="utf-8")
    farm = read_farm(tmp_path)
    assert {notice.code for notice in farm.notices} <= {"WA236"}
    assert farm_needs(farm)[0].energy is not None
