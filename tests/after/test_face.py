"""Faces: printed examples, small herds, and what a use does to a store."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import pi
from pathlib import Path

import pytest

import rationlp
from rationlp.after.face import (
    Use,
    advance_m_per_week,
    eaters,
    keep_as,
    smallest_herd,
    stated_use,
    store_use,
    widest_face_m2,
)
from rationlp.farm.farm import Farm
from rationlp.read.farm import read_farm
from rationlp.stock.dry_matter import farm_stocks

EXAMPLES = Path(rationlp.__file__).resolve().parents[1] / "examples"
FT = 0.3048


@pytest.fixture(scope="module")
def dairy() -> Farm:
    """The dairy example."""
    return read_farm(EXAMPLES / "dairy")


@pytest.mark.parametrize(
    ("m3_per_year", "week", "area", "height", "width"),
    [
        (3600, 35, 17, 2.5, 7),
        (6000, 58, 29, 2.5, 12),
        (3000, 29, 14, 2.5, 6),
        (7500, 72, 36, 2.5, 14),
    ],
)
def test_half_a_years_silage_at_two_metres_a_week(
    m3_per_year: float, week: float, area: float, height: float, width: float
) -> None:
    """Two forages, half each, at 2.0 m a week: chamber of agriculture of Lower Saxony, two versions
    of a planning table (a).
    """
    per_week = m3_per_year / 2.0 / 52.0
    assert per_week == pytest.approx(week, abs=0.6)
    found = widest_face_m2(per_week / 7.0, 1.0, 2.0)
    assert found == pytest.approx(area, abs=0.6)
    assert found / height == pytest.approx(width, abs=0.5)


def test_a_tower_of_8_m_feeds_110_cows_at_10_cm_a_day() -> None:
    """50 m2 x 10 cm = 1,100 kg DM, 10 kg a cow: Swiss farming press (a); 165 cows at 15 cm (by
    hand).
    """
    per_metre = pi / 4 * 8**2 * 220.0
    assert smallest_herd(per_metre, 0.7, 10.0) == pytest.approx(110.0, rel=0.01)
    assert smallest_herd(per_metre, 1.05, 10.0) == pytest.approx(165.0, rel=0.01)


def test_a_foot_a_day_of_3000_lb_needs_a_face_of_214_square_feet() -> None:
    """3,000 lb DM a day at 14 lb/ft3: 214.3 ft3 a day: University of Wisconsin in the forage trade
    press, sizing a silo (a).
    """
    found = widest_face_m2(3000 * 0.453592, 14 * 16.0185, 7 * FT)
    assert found / FT**2 == pytest.approx(214.3, rel=1e-3)


def test_year_round_feeding_needs_104_to_130_m() -> None:
    """2.0-2.5 m a week for 52 weeks: German forage conservation group (a)."""
    per_metre = 30.0 * 220.0
    for step, length in ((2.0, 104.0), (2.5, 130.0)):
        per_day = step / 7.0 * per_metre
        assert advance_m_per_week(per_day, per_metre) * 52 == pytest.approx(length)


def test_filling_twice_as_high_halves_the_advance() -> None:
    """8 ft of wall sized for 6 in a day, filled 8 ft above it: 3 in (United States trade press on
    overfilled bunkers, a).
    """
    assert advance_m_per_week(100.0, 2 * 500.0) == pytest.approx(
        0.5 * advance_m_per_week(100.0, 500.0)
    )


@pytest.mark.parametrize(
    ("head", "advance", "most_m2"),
    [(6, 0.14, 2.3), (8, 0.19, 3.0), (20, 0.47, 7.5), (40, 0.94, 15)],
)
def test_small_herds_on_a_face_of_16_m2(head: int, advance: float, most_m2: float) -> None:
    """35 kg fresh a cow at 650 kg a m3 on 8 x 2 m: own arithmetic."""
    assert advance_m_per_week(35.0 * head, 16.0 * 650.0) == pytest.approx(advance, abs=0.006)
    assert widest_face_m2(35.0 * head, 650.0, 1.0) == pytest.approx(most_m2, abs=0.16)


def test_what_suits_a_herd() -> None:
    """Bales below 20 cows, a narrow clamp or bag to 40, a clamp above."""
    assert [keep_as(35.0 * cows) for cows in (8, 19, 20, 40, 41)] == [
        "bales", "bales", "narrow clamp or bag", "narrow clamp or bag", "clamp",
    ]  # fmt: skip


def test_eight_cattle_on_a_wide_clamp_fail_and_are_told_bales(dairy: Farm) -> None:
    """25 kg each from the first cut: the face hardly moves."""
    found = store_use(
        dairy, dairy.stores[0], farm_stocks(dairy)["first_cut"], Use(8, 25.0, "as stated")
    )
    assert (found.verdict, found.keep_as) == ("fail", "bales")
    assert found.widest_face_m is not None
    assert found.widest_face_m < 2.0
    assert any("better kept as bales" in words for words in found.words)
    assert any("a machine needs about 6 m" in words for words in found.words)


def test_the_smallest_herd_just_moves_the_face_enough(dairy: Farm) -> None:
    """That many are ok, one less is not."""
    stock = farm_stocks(dairy)["first_cut"]
    herd = store_use(dairy, dairy.stores[0], stock, Use(100, 20.0, "")).smallest_herd
    assert herd is not None
    assert store_use(dairy, dairy.stores[0], stock, Use(herd, 20.0, "")).verdict == "ok"
    assert store_use(dairy, dairy.stores[0], stock, Use(herd - 1, 20.0, "")).verdict == "warn"


def test_days_and_advance_eat_the_whole_clamp(dairy: Farm) -> None:
    """Advance x weeks = the length that is left: what is spoilt comes off with the rest."""
    stock = farm_stocks(dairy)["maize"]
    found = store_use(dairy, dairy.stores[2], stock, Use(150, 25.0, ""))
    assert found.advance_m_per_week is not None
    assert stock.face is not None
    assert found.advance_m_per_week * found.days / 7.0 == pytest.approx(stock.face.length_m)


def test_without_an_amount_all_is_spread_to_turnout(dairy: Farm) -> None:
    """Every store lasts the winter's days, for all head that may get it."""
    days = (date(2027, 4, 10) - date(2026, 10, 15)).days
    for store in dairy.stores:
        stock = farm_stocks(dairy)[store.id]
        use = stated_use(dairy, store, stock, None, None)
        assert use is not None
        assert use.head == sum(group.head for group in eaters(dairy, store))
        assert store_use(dairy, store, stock, use).days == pytest.approx(days)


def test_spread_evenly_nobody_is_given_more_than_it_can_eat(dairy: Farm) -> None:
    """24 dry cows alone on the first cut: 3 % of 670 kg each, so that the clamp outlasts the
    winter.
    """
    store = replace(dairy.stores[0], kept_for=("dry",))
    stock = farm_stocks(dairy)["first_cut"]
    use = stated_use(dairy, store, stock, None, None)
    assert use is not None
    found = store_use(dairy, store, stock, use)
    assert use.head == 24
    assert (
        found.taken_kg_dm_per_day * stock.edible_t_dm.typical / stock.t_dm.typical
        == pytest.approx(0.03 * 670 * 24)
    )
    assert found.days > (dairy.turnout - dairy.start).days


def test_an_opened_bale_must_not_stand_for_long() -> None:
    """640 kg to six head of 20 kg: five days, where two are advised (University of Georgia, a)."""
    beef = read_farm(EXAMPLES / "beef")
    stock = farm_stocks(beef)["early_bales"]
    found = store_use(beef, beef.stores[0], stock, Use(6, 20.0, ""))
    assert found.bale_days == pytest.approx(640 / 120.0)
    assert "after 2 it heats" in found.words[0]
    assert store_use(beef, beef.stores[0], stock, Use(40, 20.0, "")).words == ()
