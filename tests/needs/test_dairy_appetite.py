"""What a cow in milk eats of forage: substitution, its tangents, capacity, fill of forages, fibre,
floor, step-up.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from rationlp.errors import Faults
from rationlp.farm.farm import Margins
from rationlp.farm.feed import Feed
from rationlp.farm.group import Group
from rationlp.needs import group_needs
from rationlp.needs.appetite import appetite_rows
from rationlp.needs.dairy_appetite import (
    capacity,
    fill,
    forage_fibre,
    fresh_concentrate,
    least_eaten,
    milker_intake,
    pushed_out,
    total_rise,
)
from rationlp.needs.intake import dmi_nrc_2001, fat_corrected_milk
from rationlp.read.feeds import overlay_own, read_feed_tables
from rationlp.rules.blanks import complete

TABLES = read_feed_tables()
COW = Group(
    "herd", "Herd", "dairy_cow_milking", 80, "to_appetite",
    {
        "live_weight_kg": 620.0, "milk_kg_per_day": 31.0, "milk_fat_g_per_kg": 42.0,
        "milk_protein_g_per_kg": 33.0,
        "week_of_lactation": 14.0,
    },
)  # fmt: skip


def _feed(key: str, **own: float) -> Feed:
    return complete(overlay_own(TABLES[key], own, Faults(key)))


def _with(**facts: float) -> Group:
    return replace(COW, facts={**COW.facts, **facts})


@pytest.mark.parametrize(("concentrate", "rate"), [(0.0, 0.16), (6.0, 0.39), (12.0, 0.61)])
def test_substitution_rises_with_concentrate(concentrate: float, rate: float) -> None:
    """Huhtanen et al. (2008): total intake 0.8371 C − 0.01882 C² (a), so a kg pushes out 0.16, 0.39
    and 0.61 kg of forage.
    """
    assert pushed_out(concentrate + 0.001) - pushed_out(concentrate) == pytest.approx(
        0.001 * rate, abs=1e-5
    )
    assert total_rise(concentrate) + pushed_out(concentrate) == pytest.approx(concentrate)


@pytest.mark.parametrize(
    ("milk", "weight", "kept"), [(20.6, 600.0, 12.3), (30.9, 620.0, 15.4), (41.2, 660.0, 18.8)]
)
def test_capacity_of_three_cows(milk: float, weight: float, kept: float) -> None:
    """S0 at 20, 30 and 40 litres: 12.3, 15.4 and 18.8 kg DM (own arithmetic on NRC 2001, 40 g fat,
    week 14).
    """
    intake = dmi_nrc_2001(weight, fat_corrected_milk(milk, 40.0), 14.0)
    assert capacity(intake) == pytest.approx(kept, abs=0.45)


def test_tangents_lie_under_the_curve_by_five_hundredths_at_most() -> None:
    """The rows stand for S + h(C) ≤ S0 to 0.05 kg for C from 0 to 19.5 kg DM, and never ask for
    more than it.
    """
    intake = milker_intake(COW)
    assert intake is not None
    feeds = [
        _feed("grass_silage_1st_typical", me_mj_per_kg_dm=10.8, dm_g_per_kg=300.0),
        _feed("barley"),
    ]
    rows = [
        row
        for row in appetite_rows(group_needs(COW, Margins()), feeds)
        if row.name.startswith("forage_beside")
    ]
    for step in range(79):
        c = step / 4.0
        most = min((row.most - row.weights[1] * c) / row.weights[0] for row in rows)
        assert -1e-9 <= most - (intake.forage_kg_dm - pushed_out(c)) <= 0.05 + 1e-9


def test_fill_by_forage() -> None:
    """The standard silage fills 1; a MJ more is half a kg more eaten; maize 0.82, whole-crop 0.9,
    hay 1.15, straw 1.6.
    """
    standard = _feed("grass_silage_1st_typical", me_mj_per_kg_dm=10.8, dm_g_per_kg=300.0)
    better = _feed("grass_silage_1st_typical", me_mj_per_kg_dm=11.8, dm_g_per_kg=300.0)
    wetter = _feed("grass_silage_1st_typical", me_mj_per_kg_dm=10.8, dm_g_per_kg=220.0)
    acid = _feed(
        "grass_silage_1st_typical",
        me_mj_per_kg_dm=10.8,
        dm_g_per_kg=300.0,
        total_acids_g_per_kg_dm=120.0,
    )
    assert fill(standard, 15.0) == pytest.approx(1.0)
    assert 15.0 / fill(better, 15.0) == pytest.approx(15.5)
    assert 15.0 / fill(wetter, 15.0) == pytest.approx(15.0 - 0.60, abs=0.02)
    assert 15.0 / fill(acid, 15.0) == pytest.approx(15.0 - 0.0128 * 40.0)
    keys = (
        "maize_silage_typical",
        "wholecrop_wheat_fermented",
        "hay_average",
        "straw_barley",
        "barley",
    )
    assert [fill(_feed(key), 15.0) for key in keys] == [0.82, 0.90, 1.15, 1.60, 0.0]
    assert fill(_feed("grazed_grass_spring"), 15.0) < 1.1


def test_forage_fibre_and_its_limit() -> None:
    """Forage NDF up to 0.010 of live weight, 0.009 to week 3; maize NDF counts 0.90; NDF of
    concentrates does not count.
    """
    assert forage_fibre(_feed("maize_silage_typical", ndf_g_per_kg_dm=400.0)) == pytest.approx(0.36)
    assert forage_fibre(_feed("soya_hulls")) == 0.0
    intakes = [milker_intake(_with(week_of_lactation=week)) for week in (3.0, 3.1)]
    assert [
        None if intake is None else intake.forage_ndf_kg for intake in intakes
    ] == pytest.approx([5.58, 6.2])
    assert milker_intake(replace(COW, animal_class="dairy_cow_dry")) is None


def test_the_herds_own_factor_moves_capacity_alone() -> None:
    """1.1 gives a tenth more forage; intake and fibre stay."""
    usual, more = (
        group_needs(COW, Margins()),
        group_needs(_with(forage_intake_factor=1.1), Margins()),
    )
    assert usual.milker is not None
    assert more.milker is not None
    assert more.milker.forage_kg_dm == pytest.approx(1.1 * usual.milker.forage_kg_dm)
    assert (more.milker.forage_ndf_kg, more.intake) == (usual.milker.forage_ndf_kg, usual.intake)


def test_concentrate_is_stepped_up() -> None:
    """7, 8.5 and 10 kg DM in weeks 1, 2 and 3 (c), then free; the row is there and counts beet too,
    but no mineral.
    """
    assert [fresh_concentrate(week) for week in (1.0, 1.5, 3.0, 3.2)] == [7.0, 8.5, 10.0, None]
    feeds = [_feed("barley"), _feed("fodder_beet"), _feed("limestone"), _feed("grass_silage_2nd")]
    fresh = {
        row.name: row
        for row in appetite_rows(group_needs(_with(week_of_lactation=2.0), Margins()), feeds)
    }
    assert fresh["fresh_concentrate"].weights == (1.0, 1.0, 0.0, 0.0)
    assert fresh["fresh_concentrate"].most == 8.5
    later = {row.name for row in appetite_rows(group_needs(COW, Margins()), feeds)}
    assert "fresh_concentrate" not in later


def test_floor_is_that_of_the_most_filling_forage_but_straw() -> None:
    """0.90 of the least that hay, or silage, would be eaten alone; straw is left out; no forage, no
    floor.
    """
    intake = milker_intake(COW)
    assert intake is not None
    silage, hay, straw = (
        _feed("grass_silage_1st_early"),
        _feed("hay_average"),
        _feed("straw_barley"),
    )
    by_fibre = 0.9 * intake.forage_ndf_kg / forage_fibre(hay)
    assert least_eaten(intake, [silage, hay, straw]) == pytest.approx(by_fibre)
    assert least_eaten(intake, [straw]) is None


def test_margin_of_cows_in_milk() -> None:
    """1.00 unless the farm says otherwise, and said where other groups have more; with the same
    margin nothing is said.
    """
    needs = group_needs(COW, Margins(1.05, 1.05))
    assert needs.energy is not None
    assert needs.energy.margin == 1.0
    assert any("me_milking" in remark for remark in needs.remarks)
    own = group_needs(COW, Margins(1.05, 1.05, 1.05))
    assert own.energy is not None
    assert own.energy.margin == 1.05
    assert not any("me_milking" in remark for remark in own.remarks)
