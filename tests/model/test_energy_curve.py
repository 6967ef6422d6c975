"""M*(D): its shape class by class, and the rows that stand in for it, against a dense grid."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest

from rationlp.model.energy import ME_DENSITY_MOST, EnergyCurve, energy_curve, least_dm
from rationlp.needs.energy import GE_MJ_PER_KG_DM, EnergyNeed

COW = EnergyNeed("additive", em=42.28, over_kl=30 * 3.142, margin=1.05)
LOSING_COW = EnergyNeed("additive", em=42.28, over_kl=30 * 3.142 - 0.5 * 19 * 0.84, margin=1.05)
DRY_COW = EnergyNeed("additive", em=43.2, fixed_me=30.0, margin=1.05)
GAINING_DRY_COW = EnergyNeed("additive", em=43.2, over_kf=9.5, fixed_me=20.0, margin=1.0)
THIN_DRY_COW = EnergyNeed("additive", em=43.2, over_km=-0.4 * 19 * 0.84, fixed_me=20.0, margin=1.05)
STEER = EnergyNeed("exponential", em=30.72, eg=21.5, feeding_level_applies=False, margin=1.05)
SLOW_STEER = EnergyNeed("exponential", em=30.72, eg=9.0, feeding_level_applies=False, margin=1.05)
HEIFER = EnergyNeed(
    "exponential", em=30.0, eg=12.0, fixed_me=14.0, feeding_level_applies=False, margin=1.05
)
FAST_AND_SMALL = EnergyNeed("exponential", em=4.0, eg=4.8, feeding_level_applies=False, margin=1.05)
EWE_WITH_TWINS = EnergyNeed(
    "additive", em=5.89, fixed_me=6.0, feeding_level_applies=False, margin=1.05
)
EWE_IN_MILK = EnergyNeed("additive", em=5.89, over_kl=14.0, margin=1.05)
STORE_LAMB = EnergyNeed("exponential", em=3.6, eg=0.9, feeding_level_applies=False, margin=1.05)
FINISHING_LAMB = EnergyNeed("exponential", em=3.9, eg=3.1, feeding_level_applies=False, margin=1.05)

CONCAVE = {
    "milking": COW,
    "losing": LOSING_COW,
    "dry": DRY_COW,
    "gaining dry": GAINING_DRY_COW,
    "thin dry": THIN_DRY_COW,
    "ewe with twins": EWE_WITH_TWINS,
    "ewe in milk": EWE_IN_MILK,
}
ALL = {
    **CONCAVE,
    "steer": STEER,
    "slow steer": SLOW_STEER,
    "in-calf heifer": HEIFER,
    "fast and small": FAST_AND_SMALL,
    "store lamb": STORE_LAMB,
    "finishing lamb": FINISHING_LAMB,
}


def curve_of(need: EnergyNeed, most_per_em: float = 0.55, factor: float = 1.0) -> EnergyCurve:
    """The curve from the least D that could do to `most_per_em` kg DM for every MJ of
    maintenance.
    """
    low = least_dm(need, 14.0, factor)
    return energy_curve(need, low, max(1.3 * low, most_per_em * need.em), factor)


@pytest.mark.parametrize("name", ALL)
def test_supply_just_meets_the_need_on_the_curve(name: str) -> None:
    """At every D, M*(D) equals the requirement at its own q: the definition, ceiling multiples
    included.
    """
    for factor in (1.0, 1.05, 1.10):
        curve = curve_of(ALL[name], factor=factor)
        for dm in np.linspace(curve.low, curve.high, 30):
            energy = curve.value(dm)
            assert energy == pytest.approx(
                factor * ALL[name].required_mj(energy / dm / GE_MJ_PER_KG_DM), rel=1e-10
            )


@pytest.mark.parametrize("name", ALL)
def test_slope_and_curvature_are_those_of_the_curve(name: str) -> None:
    """The derivatives used by the rows agree with differences of the curve itself."""
    curve = curve_of(ALL[name])
    step = 1e-3
    for dm in np.linspace(curve.low + 0.1, curve.high - 0.1, 9):
        before, here, after = (curve.value(dm + k * step) for k in (-1, 0, 1))
        _, slope, curvature = curve.at(dm)
        assert slope == pytest.approx((after - before) / (2 * step), rel=1e-5)
        assert curvature == pytest.approx((after - 2 * here + before) / step**2, rel=1e-3, abs=1e-4)


@pytest.mark.parametrize("name", ALL)
def test_the_curve_rises(name: str) -> None:
    """More dry matter for the same need means a leaner ration, which needs more energy."""
    curve = curve_of(ALL[name])
    values = [curve.value(dm) for dm in np.linspace(curve.low, curve.high, 60)]
    assert all(b > a for a, b in itertools.pairwise(values))


@pytest.mark.parametrize("name", CONCAVE)
def test_cows_are_concave(name: str) -> None:
    """The additive forms of milking and dry cows never bend upward, at any factor of the
    ceiling.
    """
    for factor in (1.0, 1.10):
        curve = curve_of(CONCAVE[name], 0.8, factor)
        assert all(curve.at(dm)[2] <= 0.0 for dm in np.linspace(curve.low, curve.high, 200))
        assert curve.bends == ()


@pytest.mark.parametrize("ratio", [0.2, 0.4, 0.6, 0.8, 1.0, 1.2])
def test_the_growth_curve_bends_only_at_a_high_intake(ratio: float) -> None:
    """Never concave's end for D ≤ 0.366·margin·Em; above R 0.55 it bends between 0.37 and 0.5 kg
    per MJ of Em (margin 1).
    """
    need = EnergyNeed(
        "exponential", em=10.0, eg=10.0 * ratio, feeding_level_applies=False, margin=1.0
    )
    curve = energy_curve(need, least_dm(need, 14.5), 8.0)
    assert len(curve.bends) <= 1
    assert all(bend > 0.366 * need.em for bend in curve.bends)
    if ratio >= 0.8:
        assert len(curve.bends) == 1
        assert curve.bends[0] < 0.5 * need.em


def test_cattle_within_usual_intakes_stay_concave() -> None:
    """A 400 kg steer gaining 1 kg a day does not bend up to 2.5 % of live weight; a fast small
    animal does bend.
    """
    assert energy_curve(STEER, least_dm(STEER, 14.0), 10.0).bends == ()
    assert len(energy_curve(FAST_AND_SMALL, least_dm(FAST_AND_SMALL, 14.0), 3.0).bends) == 1


@pytest.mark.parametrize("name", ALL)
def test_safe_and_bounding_rows_on_random_intervals(name: str) -> None:
    """On a dense grid the safe row never lies below the curve and the bounding row never above,
    bent part included.
    """
    rng = random.Random(20261125)
    curve = curve_of(ALL[name], 0.75)
    for _ in range(40):
        low, high = sorted(rng.uniform(curve.low, curve.high) for _ in range(2))
        safe = curve.safe_row(rng.uniform(low, high), low, high)
        bound = curve.bound_row(low, high)
        grid = np.linspace(low, high, 101)
        values = np.array([curve.value(dm) for dm in grid])
        assert np.all(safe.level + safe.slope * grid >= values * (1 - 1e-9))
        assert np.all(bound.level + bound.slope * grid <= values * (1 + 1e-9))
        assert np.min(safe.level + safe.slope * grid - values) <= 1e-3 * values.max()
        assert np.min(values - bound.level - bound.slope * grid) <= 1e-3 * values.max()


@pytest.mark.parametrize("name", ALL)
def test_the_safe_row_touches_where_it_can(name: str) -> None:
    """On the concave part of a narrow interval the safe row meets the curve at its own touching
    point.
    """
    curve = curve_of(ALL[name])
    touch = curve.low + 0.05 * (curve.high - curve.low)
    row = curve.safe_row(touch, curve.low, touch + 0.01)
    assert row.level + row.slope * touch == pytest.approx(curve.value(touch), rel=1e-12)


def test_the_least_dry_matter_is_met_by_the_richest_feed() -> None:
    """At the least D the richest ration supplies exactly the need; richer feeds than the equations
    know count as 15.04 MJ.
    """
    low = least_dm(COW, 13.0)
    assert low * 13.0 == pytest.approx(COW.required_mj(13.0 / GE_MJ_PER_KG_DM))
    assert least_dm(COW, 33.0) == least_dm(COW, ME_DENSITY_MOST)
