"""Last year's difference on stores of round figures, against sums on paper."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rationlp.after.lastyear import LastYear, Reason, last_year, tonnes_faults
from rationlp.farm.farm import Farm
from rationlp.farm.store import Store
from rationlp.folders import examples_folder
from rationlp.read.farm import read_farm
from rationlp.stock.dry_matter import store_stock

FARM = read_farm(Path(examples_folder()) / "dairy")


def store(kind: str, **size: float | str) -> Store:
    """A store of second-cut silage with the sizes given."""
    one = next(one for one in FARM.stores if one.id == "second_cut")
    return replace(
        one, kind=kind, size={key: v if isinstance(v, str) else float(v) for key, v in size.items()}
    )


def asked(one: Store, thought: float, had: float, farm: Farm = FARM) -> LastYear:
    """The answer for a store."""
    return last_year(farm, one, (thought, had))


def named(found: LastYear, name: str) -> Reason:
    """A reason by the beginning of its name."""
    return next(one for one in found.reasons if one.name.startswith(name))


CLAMP = store("clamp", length_m=30, width_m=10, height_m=2, density_kg_dm_per_m3=200)


def test_four_fifths_of_a_clamp_on_paper() -> None:
    """80 of 100 t: 200 kg DM would be 160, 30 m would be 24, 10 m would be 8, 2 m would be 1.6 (its
    density is given).
    """
    found = asked(CLAMP, 100, 80)
    wanted = {"density": 160.0, "length": 24.0, "width": 8.0, "settled height": 1.6}
    for name, value in wanted.items():
        assert named(found, name).needed == pytest.approx(value)


def test_a_loss_is_of_what_is_kept() -> None:
    """3 % lost, 97 % kept: four fifths of that are 77.6 %, so 22.4 % lost."""
    found = asked(CLAMP, 100, 80)
    for name in ("lost at the surface", "lost at the face", "wasted at the trough"):
        assert named(found, name).needed == pytest.approx(0.224)


def test_no_loss_is_low_enough_to_give_more() -> None:
    """110 of 100 t: even with nothing lost at the face only 100/97 would have come out."""
    assert named(asked(CLAMP, 100, 110), "lost at the face").needed is None


def test_what_the_usual_range_explains() -> None:
    """A density of the farm's own is out by 8 %: 8 of 100 t, whichever way."""
    assert named(asked(CLAMP, 100, 80), "density").explains_t == pytest.approx(8.0)
    assert named(asked(CLAMP, 100, 120), "density").explains_t == pytest.approx(8.0)


def test_believable_is_within_the_usual_range() -> None:
    """8 % either way: 93 of 100 t is, 91 of 100 is not."""
    assert named(asked(CLAMP, 100, 93), "density").believable
    assert not named(asked(CLAMP, 100, 91), "density").believable


def test_trailers_weighed_tell_no_density() -> None:
    """Where tonnes were weighed in, the weight and what was lost before are reasons, density and
    sizes are none.
    """
    found = asked(store("clamp", length_m=30, width_m=10, height_m=2, amount_t_fresh=400), 400, 320)
    names = {one.name for one in found.reasons}
    assert not names & {"density", "length", "width", "settled height"}
    assert named(found, "tonnes as weighed").needed == pytest.approx(320.0)
    # Fermentation takes 6.5 %: four fifths of 93.5 % are 74.8 %.
    assert named(found, "lost before it was in store (fermentation)").needed == pytest.approx(0.252)


def test_a_guess_is_carried_on_in_proportion() -> None:
    """A guess of 100 t of which nine tenths came: this year's 100 t are 90, and within the 12 % of
    a guess.
    """
    found = asked(store("plain", amount_t_fresh=100, weighed="guess"), 100, 90)
    carry = found.carries[0]
    assert (carry.key, carry.value, carry.believable) == ("amount_t_fresh", 90.0, True)
    assert carry.t_fresh == pytest.approx(90 * 0.97)


def test_bales_by_weight_and_count() -> None:
    """100 bales of 500 kg, nine tenths of them: 450 kg a bale, or 90 bales."""
    found = asked(store("bales", count=100, weight_kg=500, shape="round"), 50, 45)
    assert named(found, "weight of a bale").needed == pytest.approx(450.0)
    assert named(found, "number of bales").needed == pytest.approx(90.0)
    assert found.carries[0].key == "weight_kg"


def test_what_was_fed_since_does_not_change_the_reasons() -> None:
    """The whole clamp is asked about, but what is carried on is what is left: 20 of 30 m."""
    half = replace(CLAMP, size={**CLAMP.size, "fed_length_m": 10.0})
    whole, left = asked(CLAMP, 100, 80), asked(half, 100, 80)
    assert [one.needed for one in left.reasons] == [one.needed for one in whole.reasons]
    assert left.carries[0].t_fresh == pytest.approx(whole.carries[0].t_fresh * 20 / 30)


def test_marks_on_the_wall_give_way_to_a_stated_density() -> None:
    """Both cannot stand in one store: the keys to take out are named, and what was measured this
    year is said to know more.
    """
    marked = store(
        "clamp", length_m=30, width_m=10, height_m=2, step_m_per_week=1, fed_t_fresh_per_week=13
    )
    found = asked(marked, 100, 90)
    carry = next(one for one in found.carries if one.key == "density_kg_dm_per_m3")
    assert carry.in_place_of == ("fed_t_fresh_per_week", "step_m_per_week")
    assert any("step_m_per_week" in words and "keep it" in words for words in found.words)


def test_settled_already_is_no_reason() -> None:
    """Measured ten days after filling the air is taken off; without a day of filling it may have
    been forgotten.
    """
    early = replace(CLAMP, size={**CLAMP.size, "filled": "2026-09-01", "measured": "2026-09-11"})
    assert all(not one.name.startswith("air") for one in asked(early, 100, 95).reasons)
    assert named(asked(CLAMP, 100, 95), "air").needed == pytest.approx(0.05)


def test_as_thought_is_nothing_to_explain() -> None:
    """No reasons and nothing to carry on."""
    found = asked(CLAMP, 100, 100)
    assert (found.reasons, found.carries) == ((), ())


def test_losses_not_taken_off_are_told() -> None:
    """97 % of 97 % of 100 t leave 94 t: ask again with that."""
    assert "ask again with --thought 94" in asked(CLAMP, 100, 80).words[0]
    assert "that is all of it" in asked(CLAMP, 100, 95).words[0]


@given(ratio=st.floats(0.7, 1.3))
def test_every_figure_found_gives_the_share(ratio: float) -> None:
    """Whatever the ratio, a sloping clamp of the height found gives just so much to eat."""
    one = store(
        "clamp", length_m=39, width_m=11, height_m=2.6, ramp_angle_degrees=45, top_width_m=12
    )
    needed = named(asked(one, 100, 100 * ratio), "settled height").needed if ratio != 1.0 else 2.6
    assert needed is not None
    feed = next(offer.feed for offer in FARM.offers if offer.id == one.id)
    day = date(2026, 10, 15)
    whole, other = (
        store_stock(replace(one, size={**one.size, "height_m": h}), feed, day)
        for h in (2.6, needed)
    )
    assert other.edible_t_dm.typical / whole.edible_t_dm.typical == pytest.approx(ratio, rel=1e-6)


@pytest.mark.parametrize(
    ("thought", "had", "where"),
    [
        (None, 5.0, "--thought"),
        (5.0, None, "--had"),
        (0.0, 5.0, "--thought"),
        (5.0, -1.0, "--had"),
        (float("nan"), 5.0, "--thought"),
        (5.0, float("inf"), "--had"),
        (600.0, 60.0, "--had"),
        (100.0, 301.0, "--had"),
    ],
)
def test_weights_that_are_none(thought: float | None, had: float | None, where: str) -> None:
    """One missing, none above 0, not finite, or so far apart that one is a slip."""
    faults = tonnes_faults(thought, had)
    assert [(one.code, one.where) for one in faults] == [("IN522", where)]


def test_two_weights_that_can_be() -> None:
    """Nothing is wrong with 600 and 520."""
    assert tonnes_faults(600.0, 520.0) == []
