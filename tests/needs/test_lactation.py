"""The lactation curve: printed facts of British and Irish herds beside the chosen b and c."""

from __future__ import annotations

import pytest

from rationlp.errors import Faults
from rationlp.farm.lactation import (
    COWS,
    FIRST_CALVERS,
    Curve,
    curve_of,
    milk_later,
    peak_of,
    whole_lactation,
)
from rationlp.read.facts import read_facts

SOLIDS = {"milk_fat_g_per_kg": 41, "milk_protein_g_per_kg": 33, "live_weight_kg": 620}


@pytest.mark.parametrize(
    ("curve", "shares"),
    [
        (COWS, (0.84, 0.99, 0.99, 0.95, 0.82, 0.65, 0.51)),
        (FIRST_CALVERS, (0.85, 0.97, 1.00, 0.99, 0.92, 0.82, 0.72)),
    ],
)
def test_shares_of_the_peak_by_week(curve: Curve, shares: tuple[float, ...]) -> None:
    """Weeks 1, 4, 8, 12, 20, 30, 40 by Wood's curve with b and c chosen (c); own arithmetic."""
    weeks = (1, 4, 8, 12, 20, 30, 40)
    assert [curve.share(week) for week in weeks] == pytest.approx(shares, abs=0.006)
    assert curve.share(curve.peak_week) == pytest.approx(1.0, rel=1e-12)


def test_the_peak_lies_where_british_friesians_peak() -> None:
    """Week 7 (cows) and 10 (first calvers) in 468 lactations of 1976–79, an abstract (a): within a
    week, and two.
    """
    assert abs(COWS.peak_week - 7.0) <= 1.0
    assert abs(FIRST_CALVERS.peak_week - 10.0) <= 2.0


def test_acceptance_12_fall_and_305_days() -> None:
    """Cows: 2.1 % a week at week 20 by a UK farm-vet page (0.3 % a day; a), within 0.4 point; 305
    days 200–235 peaks (a).
    """
    assert 100.0 * COWS.fall_a_week(20) == pytest.approx(2.1, abs=0.4)
    assert 200.0 <= whole_lactation(COWS) <= 235.0
    assert whole_lactation(FIRST_CALVERS) == pytest.approx(266.0, abs=1.0)


@pytest.mark.parametrize("curve", [COWS, FIRST_CALVERS])
def test_half_a_year_over_the_whole_as_autumn_calvers_gave(curve: Curve) -> None:
    """175 × (mean of weeks 3–28) / (305-day yield): 0.63–0.69 in eight groups of UK autumn calvers
    (abstracts, a). First calvers by these curves 0.62, a hundredth below.
    """
    mean = sum(curve.share(week) for week in range(3, 29)) / 26.0
    assert 0.615 <= 175.0 * mean / whole_lactation(curve) <= 0.69


def test_28_litres_in_week_8_are_184_in_week_30() -> None:
    """Own arithmetic: 28 × 0.65/0.99."""
    assert milk_later("dairy_cow_milking", {}, 28.0, (8.0, 30.0)) == pytest.approx(18.4, abs=0.1)


def test_a_flat_curve_and_a_curve_of_the_herd() -> None:
    """The farm's word keeps milk level; a smaller c makes it fall more slowly; other classes have
    no curve.
    """
    assert curve_of("dairy_cow_milking", {"milk_curve": "flat"}) is None
    assert milk_later("dairy_cow_milking", {"milk_curve": "flat"}, 28.0, (8.0, 30.0)) == 28.0
    slow = milk_later("dairy_cow_milking", {"milk_curve_c": 0.02}, 28.0, (8.0, 30.0))
    assert slow > milk_later("dairy_cow_milking", {}, 28.0, (8.0, 30.0))
    assert curve_of("suckler_cow_milking", {}) is None


def test_305_days_stand_in_place_of_milk_a_day() -> None:
    """7,000 kg of a cow are a peak of 30.0 and 24.5 kg in week 20; after calving the peak itself is
    kept.
    """
    stated = {**SOLIDS, "milk_305_day_kg": 7000, "week_of_lactation": 20}
    here = Faults("here")
    facts = read_facts("dairy_cow_milking", stated, here)
    assert peak_of("dairy_cow_milking", {}, 7000.0) == pytest.approx(30.0, abs=0.1)
    assert facts["milk_kg_per_day"] == pytest.approx(24.5, abs=0.1)
    stated["week_of_lactation"] = 1
    at_peak = read_facts("dairy_cow_milking", stated, here, at_peak=True)
    assert at_peak["milk_kg_per_day"] == pytest.approx(30.0, abs=0.1)
    assert here.findings == []


def test_milk_stated_twice_and_not_at_all() -> None:
    """Both are refused: IN760, and the key that is missing."""
    here = Faults("here")
    twice = {**SOLIDS, "milk_305_day_kg": 7000, "milk_kg_per_day": 30, "week_of_lactation": 20}
    read_facts("dairy_cow_milking", twice, here)
    read_facts("dairy_cow_milking", {**SOLIDS, "week_of_lactation": 20}, here)
    assert [finding.code for finding in here.findings] == ["IN760", "IN120"]
