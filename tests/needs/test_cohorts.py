"""Cows followed by calving week: heads through the pens, mean facts, means of needs."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from rationlp.farm.farm import Margins
from rationlp.farm.group import Calendar, Group
from rationlp.farm.lactation import COWS
from rationlp.needs import group_needs
from rationlp.needs.calendar import parts_on
from rationlp.needs.cohorts import cohort_days, each_cohort, mean_over, with_milk
from rationlp.needs.intake import intake_cap

START, FIRST = date(2026, 10, 1), date(2026, 10, 15)
AFTER: dict[str, float | str] = {
    "live_weight_kg": 620.0, "milk_kg_per_day": 32.0, "milk_fat_g_per_kg": 41.0,
    "milk_protein_g_per_kg": 33.0,
    "week_of_lactation": 1.0, "live_weight_change_kg_per_day": 0.0, "days_pregnant": 0.0,
}  # fmt: skip
DRY: dict[str, float | str] = {
    "live_weight_kg": 660.0,
    "days_to_calving": 14.0,
    "live_weight_change_kg_per_day": 0.0,
}


def herd(pens: bool, weeks: float = 8.0, after: bool = True) -> Group:
    calendar = Calendar(
        START,
        FIRST,
        weeks,
        "dairy_cow_milking" if after else None,
        AFTER if after else {},
        (),
        pens,
    )
    return Group("cows", "Cows", "dairy_cow_dry", 80, "to_appetite", DRY, calendar=calendar)


def test_a_cohort_a_week() -> None:
    """Eight weeks are eight cohorts due in the middle of their weeks; all at once is one."""
    assert cohort_days(8.0) == (3.5, 10.5, 17.5, 24.5, 31.5, 38.5, 45.5, 52.5)
    assert cohort_days(0.0) == (0.0,)


def test_before_the_first_calving_all_stand_at_their_mean_days() -> None:
    """On the first day the nearest is 17.5 days off, the last 66.5: the pen stands at 42, cautions
    look at 17.5.
    """
    (dry,) = parts_on(herd(pens=False), START)
    assert (dry.head, dry.facts["days_to_calving"]) == (80, pytest.approx(42.0))
    assert dry.nearest_fact("days_to_calving") == 17.5
    assert dry.nearest_fact("live_weight_kg") == 660.0


def test_four_pens_hold_every_cow_once() -> None:
    """Week by week heads sum up to 80, walk from pen to pen, and end in milk."""
    seen = []
    for week in range(22):
        day = START + timedelta(days=7 * week)
        parts = parts_on(herd(pens=True), day, day + timedelta(days=7))
        assert sum(part.head for part in parts) == 80
        seen.append({part.id: part.head for part in parts})
    assert set(seen[0]) == {"cows", "cows_close_up"}
    assert set(seen[5]) == {"cows", "cows_close_up", "cows_fresh"}
    assert set(seen[-1]) == {"cows_calved"}
    assert seen[8]["cows_fresh"] == 40


def test_pens_keep_to_their_days() -> None:
    """Dry beyond 21 days, close to calving within, fresh to day 28: by the mean of each pen."""
    day = date(2026, 11, 16)
    parts = {part.id: part for part in parts_on(herd(pens=True), day, day + timedelta(days=7))}
    assert 0.0 < float(parts["cows_close_up"].facts["days_to_calving"]) < 21.0
    assert 1.0 <= float(parts["cows_fresh"].facts["week_of_lactation"]) <= 4.0
    assert float(parts["cows_calved"].facts["week_of_lactation"]) > 4.0
    assert parts["cows_fresh"].animal_class == "dairy_cow_milking"
    assert parts["cows_close_up"].animal_class == "dairy_cow_dry"


def test_milk_of_a_cohort_is_that_of_its_week() -> None:
    """After calving the milk stated is the peak: each week's cows give their share of it."""
    (milking,) = parts_on(herd(pens=False), FIRST + timedelta(days=100))
    for cohort in milking.cohorts:
        assert cohort.facts["milk_kg_per_day"] == pytest.approx(
            32.0 * COWS.share(float(cohort.facts["week_of_lactation"]))
        )
    mean = sum(cohort.share * float(cohort.facts["milk_kg_per_day"]) for cohort in milking.cohorts)
    assert milking.facts["milk_kg_per_day"] == pytest.approx(mean)


def test_needs_are_means_over_the_cohorts() -> None:
    """Intake, milk energy and capacity of a pen in milk: the head-weighted means."""
    _, milking = parts_on(herd(pens=False), FIRST + timedelta(days=40))
    needs, parts = group_needs(milking, Margins()), each_cohort(milking)
    own = [(share, group_needs(cows, Margins())) for share, cows in parts]
    assert len(own) > 3
    assert needs.intake is not None
    assert needs.milker is not None
    assert needs.energy is not None
    assert needs.intake.cap_kg_dm == pytest.approx(
        sum(share * one.intake.cap_kg_dm for share, one in own if one.intake)
    )
    kept = sum(share * one.milker.forage_kg_dm for share, one in own if one.milker)
    assert needs.milker.forage_kg_dm == pytest.approx(kept)
    stepped = [(share, one.milker.concentrate_kg_dm) for share, one in own if one.milker]
    assert {most is None for _, most in stepped} == {True, False}
    # 12 kg a day for cows past the weeks of stepping up (c).
    assert needs.milker.concentrate_kg_dm == pytest.approx(
        sum(share * (12.0 if most is None else most) for share, most in stepped)
    )
    assert needs.energy.over_kl == pytest.approx(
        sum(share * one.energy.over_kl for share, one in own if one.energy)
    )
    at_the_mean = intake_cap(replace(milking, cohorts=()))
    assert at_the_mean is not None
    assert needs.intake.cap_kg_dm < at_the_mean.cap_kg_dm


def test_less_milk_reaches_every_cohort() -> None:
    """Nine tenths of the milk of the pen is nine tenths in each cohort."""
    _, milking = parts_on(herd(pens=False), FIRST + timedelta(days=40))
    less = with_milk(milking, 0.9)
    milk = mean_over(less, lambda cows: cows.number("milk_kg_per_day"))
    assert milk == pytest.approx(0.9 * milking.number("milk_kg_per_day"))


def test_cows_of_which_nothing_is_known_leave_on_the_day_they_calve() -> None:
    """Never held at 0 days to calving: half have left in the middle of the spread, all of them
    after it.
    """
    group = herd(pens=False, after=False)
    (waiting,) = parts_on(group, FIRST + timedelta(days=28))
    assert waiting.head == 40
    assert float(waiting.facts["days_to_calving"]) > 0.0
    assert parts_on(group, FIRST + timedelta(days=60)) == ()
