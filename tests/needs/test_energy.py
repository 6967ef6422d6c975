"""The requirement as a function of q: its value by the published sums, its slope and its bend by
differences.
"""

from __future__ import annotations

from math import exp, inf, log

import pytest

from rationlp.needs.energy import EnergyNeed, kf, kl, km, microbial_yield, outflow_rate

COW = EnergyNeed("additive", em=42.0, over_km=-3.0, over_kl=95.0, over_kf=4.0, fixed_me=7.0)
STEER = EnergyNeed(
    "exponential", em=32.0, eg=20.0, fixed_me=5.0, feeding_level_applies=False, margin=1.05
)
LAMB = EnergyNeed("exponential", em=3.5, eg=2.3, margin=1.05)
NEEDS = pytest.mark.parametrize("need", [COW, STEER, LAMB], ids=["cow", "steer", "lamb"])
RATIONS = pytest.mark.parametrize("q", [0.45, 0.55, 0.65])
STEP = 1e-4


@RATIONS
def test_the_sums_as_they_are_printed(q: float) -> None:
    """AFRC (1993), forms as in the docstring of `EnergyNeed`; status (a)."""
    assert COW.terms(q)[0] == pytest.approx(39.0 / km(q) + 95.0 / kl(q) + 4.0 / kf(q) + 7.0)
    b = km(q) / (km(q) - kf(q))
    k = km(q) * log(km(q) / kf(q))
    grown = 32.0 / k * log(b / (b - 20.0 / 32.0 - 1.0)) + 5.0
    assert STEER.terms(q)[0] == pytest.approx(grown)
    assert STEER.required_mj(q) == pytest.approx(1.05 * grown)


@RATIONS
def test_the_level_of_feeding_corrects_the_whole(q: float) -> None:
    """CL = 1 + 0.018 (L − 1), L the terms as a multiple of maintenance ME."""
    level = COW.terms(q)[0] / (42.0 / km(q))
    assert COW.feeding_level(q) == pytest.approx(level)
    assert COW.required_mj(q) == pytest.approx(COW.terms(q)[0] * (1.0 + 0.018 * (level - 1.0)))


@NEEDS
@RATIONS
@pytest.mark.parametrize("curve", ["terms", "required"])
def test_slope_and_bend_are_those_of_the_value(need: EnergyNeed, q: float, curve: str) -> None:
    """First and second derivative against central differences; the tangents of the model and the
    proof of their distance stand on them.
    """
    below, here, above = (getattr(need, curve)(at) for at in (q - STEP, q, q + STEP))
    assert here[1] == pytest.approx((above[0] - below[0]) / (2.0 * STEP), rel=1e-5)
    assert here[2] == pytest.approx((above[1] - below[1]) / (2.0 * STEP), rel=1e-5)


def test_a_gain_beyond_the_curve_has_no_requirement() -> None:
    """R ≥ B − 1: no ration of that energy makes it."""
    assert EnergyNeed("exponential", em=32.0, eg=320.0).terms(0.55) == (inf, 0.0, 0.0)


@pytest.mark.parametrize("level", [1.0, 2.5, 4.0])
def test_outflow_and_microbial_yield_as_they_are_printed(level: float) -> None:
    """AFRC (1993) (a): r = −0.024 + 0.179 (1 − e^(−0.278 L)); y = 7 + 6 (1 − e^(−0.35 L))."""
    assert outflow_rate(level) == pytest.approx(0.155 - 0.179 * exp(-0.278 * level))
    assert microbial_yield(level) == pytest.approx(13.0 - 6.0 * exp(-0.35 * level))
