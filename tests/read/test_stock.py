"""Stores to edible dry matter: shapes, densities, losses by how it was measured, faces."""

from __future__ import annotations

from math import pi, radians, tan
from pathlib import Path

import pytest
from farms import changed, write_farm
from hypothesis import given, settings
from hypothesis import strategies as st
from stocks import GRASS, HAY, MAIZE, clamp, feed, stock

from rationlp.read.farm import read_farm
from rationlp.stock.dry_matter import face_advance, farm_stocks
from rationlp.stock.losses import effluent_loss, usual_losses


def volume(**size: float | str) -> float:
    """Volume of a clamp with a density of its own."""
    found = clamp(density_kg_dm_per_m3=200, **size).volume_m3
    assert found is not None
    return found


def test_leaning_walls_count_by_the_mean_width() -> None:
    """Floor 9 m, top 11 m: as 10 m."""
    assert volume(width_m=9, top_width_m=11) == pytest.approx(750.0)


def test_each_ramp_takes_half_its_length() -> None:
    """45 degrees at the front, 30 at the back."""
    expected = (30 - 2.5 / 2 - 2.5 / tan(radians(30)) / 2) * 25
    assert volume(ramp_angle_degrees=45, back_ramp_angle_degrees=30) == pytest.approx(expected)


def test_a_rounded_cap_adds_two_thirds_of_its_box() -> None:
    """0.6 m on 10 x 30 m."""
    assert volume(crown_m=0.6) == pytest.approx(750.0 + 2 / 3 * 10 * 0.6 * 30)


def test_a_shouldered_cap_adds_the_mean_of_its_widths() -> None:
    """0.6 m, flat for 8 m."""
    assert volume(crown_m=0.6, crown_flat_m=8) == pytest.approx(750.0 + 9 * 0.6 * 30)


def test_shoulders_take_the_square_of_their_height() -> None:
    """The same body told from above: 3.1 m with shoulders of 0.6 m is 2.5 m with a flat cap of 8.8
    m.
    """
    from_above = volume(height_m=3.1, shoulder_m=0.6)
    assert from_above == pytest.approx((10 * 3.1 - 0.36) * 30)
    assert from_above == pytest.approx(volume(crown_m=0.6, crown_flat_m=8.8))


def test_a_wedge_is_half_of_its_box() -> None:
    """Length x width x height / 2, and all of it stands behind half its length at a full face."""
    found = clamp(shape="wedge", density_kg_dm_per_m3=200)
    assert found.volume_m3 == pytest.approx(375.0)
    assert found.face is not None
    assert found.face.length_m == pytest.approx(15.0)


def test_a_heap_is_exact_and_near_the_mean_of_its_ends() -> None:
    """H/6 (base + 4 middle + top) for 20 x 10 m below, 14 x 4 m above, 3 m high."""
    found = volume(
        shape="heap", length_m=20, width_m=10, top_length_m=14, top_width_m=4, height_m=3
    )
    assert found == pytest.approx(3 / 6 * (200 + 4 * 17 * 7 + 56))
    assert found == pytest.approx((10 + 4) / 2 * 3 * (20 + 14) / 2, rel=0.03)


def test_a_part_fed_clamp_has_what_lies_behind_its_face() -> None:
    """12 of 30 m fed; the ramp at the front is gone with them."""
    assert volume(fed_length_m=12, ramp_angle_degrees=45) == pytest.approx(18 * 25)


def test_a_face_within_the_ramp_leaves_the_rest_of_the_ramp() -> None:
    """1 m of a 45-degree ramp 2.5 m long is fed: a wedge of 1 x 1 m across is gone."""
    assert volume(ramp_angle_degrees=45) - volume(
        ramp_angle_degrees=45, fed_length_m=1
    ) == pytest.approx(0.5 * 10)


def test_two_cuts_in_one_clamp_add_up_to_the_whole() -> None:
    """One up to 1.4 m, the other from there to 2.5 m, with leaning walls and a ramp."""
    # The wall leans 0.4 m a side over 2.5 m; up to 1.4 m it has leant by its share.
    whole = volume(width_m=10, top_width_m=10.8, ramp_angle_degrees=45)
    lower = volume(
        width_m=10, top_width_m=10 + 0.8 * 1.4 / 2.5, height_m=1.4, ramp_angle_degrees=45
    )
    upper = volume(width_m=10, top_width_m=10.8, base_height_m=1.4, ramp_angle_degrees=45)
    assert lower + upper == pytest.approx(whole)


def test_a_slack_bag_holds_a_tenth_less() -> None:
    """The round is not full."""
    tight, slack = (
        stock("bag", feed(GRASS), length_m=50, diameter_m=2.4, packed=how)
        for how in ("tight", "slack")
    )
    assert tight.volume_m3 == pytest.approx(pi / 4 * 2.4**2 * (50 - 4.8))
    assert slack.t_dm.typical == pytest.approx(0.9 * tight.t_dm.typical)


def test_the_open_part_of_a_face_is_fed_for_longer() -> None:
    """Half the width open: half the face, twice the length, the same tonnes."""
    whole, half = clamp().face, clamp(face_width_m=5).face
    assert whole is not None
    assert half is not None
    assert (half.area_m2, half.length_m) == (
        pytest.approx(whole.area_m2 / 2),
        pytest.approx(2 * whole.length_m),
    )


@settings(max_examples=60, deadline=None)
@given(
    st.floats(5, 60),
    st.floats(4, 25),
    st.floats(1, 3.5),
    st.floats(0, 3),
    st.floats(35, 90),
    st.floats(0, 0.9),
)
def test_a_face_and_its_length_hold_all_that_is_there(
    length: float, width: float, height: float, lean: float, angle: float, fed: float
) -> None:
    """kg DM a metre x length left = t DM, whatever the shape; nothing is below nought or above its
    box.
    """
    found = clamp(
        length_m=length, width_m=width, height_m=height, top_width_m=width + lean,
        ramp_angle_degrees=angle,
        fed_length_m=fed * (length - height / tan(radians(angle)))
        if length > height / tan(radians(angle)) else 0.0,
        density_kg_dm_per_m3=200,
    )  # fmt: skip
    assert found.face is not None
    assert found.face.kg_dm_per_m * found.face.length_m == pytest.approx(1000 * found.t_dm.typical)
    assert found.volume_m3 is not None
    assert 0.0 < found.volume_m3 <= length * (width + lean) * height * (1 + 1e-9)


def test_a_clamp_measured_early_is_lowered_by_what_it_will_settle() -> None:
    """Ten days after filling at 30 % DM: 5 %; the same without dates: nothing."""
    early = clamp(30, filled="2026-06-01", measured="2026-06-11")
    assert early.volume_m3 == pytest.approx(0.95 * 750)
    assert clamp(30).volume_m3 == pytest.approx(750)
    assert early.measured == "2026-06-11"


def test_without_a_day_of_measuring_the_first_day_of_the_winter_counts() -> None:
    """Filled twenty days before: 3 %; filled in May: nothing."""
    assert clamp(30, filled="2026-09-25").volume_m3 == pytest.approx(0.97 * 750)
    assert clamp(30, filled="2026-05-20").volume_m3 == pytest.approx(750)


def test_density_of_grass_rises_with_depth_between_the_two_tables() -> None:
    """2.5 m: 600 kg x 0.30; 3 m: 689 x 0.30; at 2.75 m the mean of both; poorly rolled: the
    first.
    """
    found = [clamp(30, height_m=depth).density_kg_dm_per_m3 for depth in (2.5, 2.75, 3.0)]
    assert [round(one.typical, 1) for one in found if one is not None] == [180.0, 190.8, 206.7]
    poor = clamp(30, height_m=3, rolled="poorly").density_kg_dm_per_m3
    assert poor is not None
    assert (poor.typical, poor.high) == (pytest.approx(180.0), pytest.approx(206.7))


def test_a_density_of_the_farms_own_beats_the_table_with_a_smaller_spread() -> None:
    """A number 8 %, a core 6 %, marks on the wall 5 %; a table 12 %."""
    marks = {"step_m_per_week": 2.0, "fed_t_fresh_per_week": 40.0}
    found = [
        clamp(30).density_kg_dm_per_m3,
        clamp(30, density_kg_dm_per_m3=210).density_kg_dm_per_m3,
        clamp(30, core_kg_dm_per_m3=210).density_kg_dm_per_m3,
        clamp(30, **marks).density_kg_dm_per_m3,
    ]
    assert [round(one.high / one.typical, 3) for one in found if one is not None] == [
        1.12,
        1.08,
        1.06,
        1.05,
    ]
    assert found[3] is not None
    assert found[3].typical == pytest.approx(40_000 / (25 * 2) * 0.30)


def test_a_settled_clamp_loses_only_surface_and_face() -> None:
    """3 and 3 %; the trough's 3 % is kept apart."""
    found = clamp(30)
    assert found.losses == {"surface": 0.03, "face": 0.03}
    assert found.edible_t_dm.typical == pytest.approx(found.t_dm.typical * 0.97**2)
    assert found.trough_loss == 0.03


def test_weighed_trailers_lose_fermentation_and_effluent_too() -> None:
    """500 t at 22 %: weight times dry matter, then each loss once; the density follows from the
    weight.
    """
    found = clamp(22, amount_t_fresh=500)
    assert found.t_fresh.typical == pytest.approx(500)
    assert list(found.losses) == ["fermentation", "effluent", "surface", "face"]
    kept = 0.935 * (1 - effluent_loss(220).share) * 0.97**2
    assert found.edible_t_dm.typical == pytest.approx(110 * kept)
    assert found.density_kg_dm_per_m3 is not None
    assert found.density_kg_dm_per_m3.typical == pytest.approx(110_000 * kept / 0.97**2 / 750)


def test_a_weighed_clamp_that_is_half_fed_holds_half() -> None:
    """15 of 30 m."""
    assert clamp(30, amount_t_fresh=500, fed_length_m=15).t_fresh.typical == pytest.approx(250)


def test_weighed_as_it_lies_and_guessed_lose_nothing_more_before_the_trough() -> None:
    """The same tonnes, another spread."""
    weighed, guessed = (
        stock("plain", feed(GRASS), amount_t_fresh=100, weighed=how) for how in ("store", "guess")
    )
    assert weighed.losses == guessed.losses == {}
    assert weighed.edible_t_dm.typical == guessed.edible_t_dm.typical == pytest.approx(29.0)
    assert guessed.edible_t_dm.low < weighed.edible_t_dm.low


def test_a_standing_crop_loses_from_the_field_on() -> None:
    """10 ha at 5 t DM, 30 % DM: every loss once; near the short form 15 % to store, 10 % to trough
    (housing handbook, a).
    """
    found = stock("plain", feed(GRASS, 30), area_ha=10, yield_t_dm_per_ha=5)
    assert list(found.losses) == ["field", "fermentation", "surface", "face"]
    eaten = found.edible_t_dm.typical * (1 - found.trough_loss)
    assert eaten == pytest.approx(50 * 0.85 * 0.90, rel=0.06)


def test_damaged_bales_lose_a_third_of_themselves() -> None:
    """A tenth of them with holes: 3.3 %, and nothing for surface or face."""
    found = stock("bales", feed(GRASS), count=100, weight_kg=700, damaged_share=0.1)
    assert found.losses == {"damaged bales": pytest.approx(0.033)}
    assert found.face is None


def test_losses_of_the_farms_own_replace_the_usual_ones() -> None:
    """A badly sheeted clamp fed on the ground."""
    found = clamp(30, loss_surface=0.15, loss_face=0.0, loss_trough=0.10)
    assert (found.losses, found.trough_loss) == ({"surface": 0.15}, 0.10)


def test_roots_in_a_clamp_have_no_face_and_a_density_by_weight() -> None:
    """Fodder beet 550-650 kg fresh a m3."""
    found = stock("clamp", feed("fodder_beet"), length_m=20, width_m=3, height_m=1.5)
    assert found.t_fresh.typical == pytest.approx(90 * 0.6)
    assert found.face is None
    assert found.losses == {"surface": 0.05}


def test_the_reserve_is_handed_on_as_dry_matter(tmp_path: Path) -> None:
    """20 t fresh at 29 %."""
    farm = read_farm(
        write_farm(
            tmp_path / "farm", changed("height_m = 2.5\n", "height_m = 2.5\nreserve_t_fresh = 20\n")
        )
    )
    assert farm_stocks(farm)["pit"].reserve_t_dm == pytest.approx(5.8)


def test_stores_come_in_the_farms_order_with_who_they_are_kept_for(tmp_path: Path) -> None:
    """kept_for stands on the store."""
    farm = read_farm(
        write_farm(
            tmp_path / "farm", changed("height_m = 2.5\n", 'height_m = 2.5\nkept_for = ["cows"]\n')
        )
    )
    assert list(farm_stocks(farm)) == ["pit", "straw"]
    assert farm.stores[0].kept_for == ("cows",)


def test_maize_and_wholecrop_want_a_faster_face_than_grass() -> None:
    """Own choice between published minima (c)."""
    assert face_advance(feed(GRASS)) == (1.0, 0.7)
    assert (
        face_advance(feed(MAIZE)) == face_advance(feed("wholecrop_wheat_fermented")) == (1.5, 1.0)
    )


def test_every_step_says_where_it_comes_from() -> None:
    """Each has a source, and a status where it comes from a publication or practice."""
    for found in (
        clamp(30),
        clamp(22, amount_t_fresh=400),
        stock("stack", feed(HAY), length_m=8, width_m=5, height_m=4),
    ):
        assert all(step.name and step.unit and step.source for step in found.steps)
        assert all(step.status in ("a", "b", "c", "") for step in found.steps)
        assert {step.status for step in found.steps if step.name.startswith("lost")} <= {"b", "c"}


def test_every_usual_loss_has_a_status_and_a_source() -> None:
    """The rows of the table of losses."""
    assert all(
        0.0 < loss.share < 0.5 and loss.status in "abc" and loss.source
        for loss in usual_losses().values()
    )
