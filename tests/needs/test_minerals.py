"""Mineral needs against worked figures of the named publications, and how they move with the
animal.
"""

from __future__ import annotations

import csv

import pytest
from published_quantities import needs_of

from rationlp.farm.farm import Margins
from rationlp.farm.feed import Feed, Figure
from rationlp.farm.group import Group
from rationlp.folders import feeds_folder
from rationlp.needs import group_needs
from rationlp.needs import minerals as m
from rationlp.needs import sheep_minerals as sheep
from rationlp.needs.limits import diet_limits
from rationlp.needs.near_calving import is_lime
from rationlp.needs.objects import GroupNeeds, MineralNeed
from rationlp.quantities import quantities
from rationlp.read.feeds import read_feed_tables

COW: dict[str, float | str] = {
    "live_weight_kg": 600.0,
    "milk_kg_per_day": 30.0,
    "milk_fat_g_per_kg": 40.0,
    "milk_protein_g_per_kg": 33.0,
    "week_of_lactation": 10.0,
}
EWE: dict[str, float | str] = {"live_weight_kg": 70.0, "kept": "housed", "flock": "lowland"}


def of(animal_class: str, facts: dict[str, float | str]) -> dict[str, MineralNeed]:
    """The mineral needs of a class by quantity."""
    group = Group("g", "Group", animal_class, 10, "rationed", facts)
    return {need.quantity: need for need in group_needs(group, Margins()).minerals}


def test_a_cow_of_600_kg_and_30_kg_of_milk_must_absorb_55_7_g_calcium_and_48_2_g_phosphorus() -> (
    None
):
    """NRC (2001) equations (a), worked by hand: 19.1 + 36.6 g; 1.2 + 27 g and 1.0 g for each of 20
    kg DM.
    """
    needs = of("dairy_cow_milking", COW)
    assert needs[m.CALCIUM].needed_g(20.0) == pytest.approx(55.68)
    assert needs[m.PHOSPHORUS].needed_g(20.0) == pytest.approx(48.2)
    assert needs[m.CALCIUM].absorbed_g_per_kg_dm == 0.0


def test_the_older_figures_beside_it() -> None:
    """AFRC (1991) and ARC (1980) from memory (b), the same cow on 20 kg DM, worked by hand: grams
    in the feed.
    """
    assert m.calcium_in_feed_1991(600.0, 30.0, 20.0) == pytest.approx(78.0, abs=0.5)
    assert m.phosphorus_in_feed_1991(30.0, 20.0, rich=False) == pytest.approx(85.0, abs=0.5)
    assert m.phosphorus_in_feed_1991(30.0, 20.0, rich=True) == pytest.approx(58.0, abs=0.5)
    assert m.magnesium_in_feed_1980(600.0, 30.0) == pytest.approx(33.0, abs=0.5)
    assert m.sodium_in_feed_1980(600.0, 30.0) == pytest.approx(24.0, abs=0.5)


def test_magnesium_and_sodium_of_that_cow_in_the_feed() -> None:
    """NRC (2001) from memory (b): 39 g Mg and 46 g Na in the feed at 0.16 and 0.90 absorbed."""
    needs = of("dairy_cow_milking", COW)
    assert needs[m.MAGNESIUM].absorbed_g / needs[m.MAGNESIUM].absorption.forage == pytest.approx(
        39.4, abs=0.1
    )
    assert needs[m.SODIUM].absorbed_g / needs[m.SODIUM].absorption.forage == pytest.approx(
        46.3, abs=0.1
    )


def test_each_term_of_magnesium_and_sodium() -> None:
    """A kg of live weight, of milk and of gain, and the calf, one by one [g/d]: NRC (2001) (b)."""
    terms = ((1.0, 0.0, 0.0, False), (0.0, 0.0, 1.0, False), (0.0, 0.0, 0.0, True))
    assert [m.magnesium_absorbed(*term) for term in terms] == pytest.approx([0.003, 0.45, 0.33])
    assert [m.sodium_absorbed(*term) for term in terms] == pytest.approx([0.015, 1.4, 1.4])
    assert m.magnesium_absorbed(0.0, 1.0, 0.0, False) == pytest.approx(0.15)
    assert m.sodium_absorbed(1.0, 1.0, 0.0, False) == pytest.approx(0.038 + 0.63)


def test_the_calf_counts_from_day_190() -> None:
    """NRC (2001) (a): nothing on day 189, and by day 280 about 10 g calcium and 5 g phosphorus a
    day, worked by hand.
    """
    assert m.calcium_pregnancy(189.0) == m.phosphorus_pregnancy(189.0) == 0.0
    assert m.calcium_pregnancy(280.0) == pytest.approx(10.3, abs=0.2)
    assert m.phosphorus_pregnancy(280.0) == pytest.approx(5.4, abs=0.2)


def test_a_growing_animal_needs_minerals_for_its_gain() -> None:
    """NRC (2001) (a): 9.83 (650/300)^0.22 · 0.8/0.96 = 9.7 g calcium for 0.8 kg a day at 300 kg,
    medium maturity.
    """
    facts: dict[str, float | str] = {"live_weight_kg": 300.0, "sex": "steer", "maturity": "medium"}
    still = of("growing_cattle", {**facts, "gain_kg_per_day": 0.0})[m.CALCIUM].absorbed_g
    growing = of("growing_cattle", {**facts, "gain_kg_per_day": 0.8})[m.CALCIUM].absorbed_g
    assert growing - still == pytest.approx(9.71, abs=0.01)


def test_gain_takes_the_printed_grams_of_phosphorus() -> None:
    """NRC (2001) (a), by hand: at mature weight 1.2 + 4.635, at a 4.545th of it 1.2 + 4.635 · 1.395
    [g a kg of empty gain], a kg of gain 1/0.96 of it.
    """
    assert m.phosphorus_growth(600.0, 600.0, 0.96) == pytest.approx(5.835)
    assert m.phosphorus_growth(132.0, 600.0, 0.96) == pytest.approx(7.667, abs=0.001)


@pytest.mark.parametrize(
    ("absorbed", "shares"),
    [
        (m.CALCIUM_ABSORBED, (0.30, 0.60, 0.70)),
        (m.PHOSPHORUS_ABSORBED, (0.64, 0.70, 0.75)),
        (m.MAGNESIUM_ABSORBED, (0.16, 0.16, 0.16)),
        (m.SODIUM_ABSORBED, (0.90, 0.90, 0.90)),
        (m.SODIUM_ABSORBED_1980, (0.91, 0.91, 0.91)),
        (sheep.CALCIUM_ABSORBED, (0.68, 0.68, 0.68)),
        (sheep.PHOSPHORUS_ABSORBED, (0.58, 0.70, 0.70)),
        (sheep.AS_FED, (1.0, 1.0, 1.0)),
    ],
)
def test_shares_absorbed_of_forage_concentrate_and_mineral(
    absorbed: m.Absorption, shares: tuple[float, ...]
) -> None:
    """As the named publications have them (status beside each figure)."""
    given = tuple(
        absorbed.of(Feed("x", "X", kind, {"dm_g_per_kg": Figure(500.0, "table", "toy")}))
        for kind in ("forage", "cereal", "mineral")
    )
    assert given == shares


def test_suckler_cows_get_30_g_magnesium_in_milk_and_20_g_dry() -> None:
    """Against staggers (a): more than their uses come to, held as absorbed grams at 0.16."""
    milking = of(
        "suckler_cow_milking",
        {"live_weight_kg": 650.0, "milk_kg_per_day": 9.0, "week_of_lactation": 8.0},
    )
    dry = of("suckler_cow_dry", {"live_weight_kg": 650.0, "days_to_calving": 80.0})
    assert milking[m.MAGNESIUM].absorbed_g == pytest.approx(30.0 * 0.16)
    assert dry[m.MAGNESIUM].absorbed_g == pytest.approx(20.0 * 0.16)


@pytest.mark.parametrize(
    ("kind", "share"),
    [("forage", 0.3), ("straw", 0.3), ("root", 0.3), ("cereal", 0.6), ("mineral", 0.7)],
)
def test_calcium_is_absorbed_by_the_kind_of_feed(kind: str, share: float) -> None:
    """NRC (2001): forage 0.30, concentrate 0.60 (a), mineral 0.70 (b)."""
    feed = Feed("x", "X", kind, {"dm_g_per_kg": Figure(500.0, "table", "toy")})
    assert m.CALCIUM_ABSORBED.of(feed) == share


def test_lime_is_a_mineral_of_150_g_calcium_and_more() -> None:
    """Limestone is kept from cows about to calve, a dry-cow mineral is not; nor is forage."""
    feeds = read_feed_tables()
    assert is_lime(feeds["limestone"])
    assert not is_lime(feeds["minerals_dry_cow"])
    rich, poor, hay = (
        Feed("x", "X", kind, {"ca_g_per_kg_dm": Figure(grams, "table", "toy")})
        for kind, grams in (("mineral", 150.0), ("mineral", 149.9), ("forage", 150.0))
    )
    assert [is_lime(feed) for feed in (rich, poor, hay)] == [True, False, False]


def test_every_usual_content_has_a_range_a_status_and_a_source() -> None:
    """feeds/mineral-targets.csv: four minerals for every column of the diet limits."""
    with (feeds_folder() / "mineral-targets.csv").open(encoding="utf-8", newline="") as handle:
        rows = list(csv.DictReader(handle))
    with (feeds_folder() / "diet-limits.csv").open(encoding="utf-8", newline="") as handle:
        columns = {row["diet_column"] for row in csv.DictReader(handle)}
    assert {(row["diet_column"], row["quantity"]) for row in rows} == {
        (column, quantity)
        for column in columns
        for quantity in (m.CALCIUM, m.PHOSPHORUS, m.MAGNESIUM, m.SODIUM)
    }
    for row in rows:
        assert 0.0 < float(row["at_least"]) <= float(row["at_most"])
        assert row["unit"] == quantities()[row["quantity"]].unit
        assert row["status"] == "c"
        assert row["source"]


def test_an_empty_group_of_stated_needs_has_no_mineral_needs() -> None:
    """A group that states its own needs is asked for nothing besides."""
    assert needs_of("stated").minerals == ()


def balance_of(**figures: float) -> float | None:
    """The cation balance of one feed with the figures given."""
    feed = Feed(
        "x", "X", "forage", {name: Figure(value, "lab", "toy") for name, value in figures.items()}
    )
    return m.cation_balance([(feed, 3.0)])


def test_the_cation_balance_is_in_milliequivalents_in_a_kilogram() -> None:
    """2 g Na, 25 g K, 6 g Cl and 2 g S in a kg: 87 + 641 − 169 − 125 = 434 meq/kg, ten times the
    printed 43 in 100 g (a).
    """
    found = balance_of(
        na_g_per_kg_dm=2.0, k_g_per_kg_dm=25.0, cl_g_per_kg_dm=6.0, s_g_per_kg_dm=2.0
    )
    assert found == pytest.approx(434.0, abs=0.5)


def test_the_cation_balance_needs_all_four_figures() -> None:
    """Without chloride there is none: a blank is never nought."""
    assert balance_of(na_g_per_kg_dm=2.0, k_g_per_kg_dm=25.0, s_g_per_kg_dm=2.0) is None
    assert m.cation_balance([]) is None


def test_a_dry_ewe_on_one_kilogram_must_absorb_0_85_g_calcium_and_1_01_g_phosphorus() -> None:
    """AFRC (1991) from memory (b), worked by hand: 0.623 + 0.228; 1.6 (0.693 − 0.06)."""
    needs = of("ewe_dry", EWE)
    assert needs[m.CALCIUM].needed_g(1.0) == pytest.approx(0.851)
    assert needs[m.PHOSPHORUS].needed_g(1.0) == pytest.approx(1.0128)


def test_a_ewe_in_milk_needs_1_9_g_calcium_and_1_5_g_phosphorus_for_each_kilogram_of_milk() -> None:
    """ARC (1980) from memory (b); the milk is the farm's figure where it gives one."""
    facts: dict[str, float | str] = {**EWE, "lambs_suckled": 2.0, "week_of_lactation": 3.0}
    two, three = (of("ewe_milking", {**facts, "milk_kg_per_day": kg}) for kg in (2.0, 3.0))
    planned = of("ewe_milking", facts)
    assert three[m.CALCIUM].absorbed_g - two[m.CALCIUM].absorbed_g == pytest.approx(1.9)
    assert three[m.PHOSPHORUS].absorbed_g - two[m.PHOSPHORUS].absorbed_g == pytest.approx(1.5)
    assert planned[m.CALCIUM].absorbed_g > 2.0


def test_a_ewe_near_lambing_goes_by_the_usual_content_of_her_diet() -> None:
    """4.5 g calcium in a kg DM (c), counted as it is in the feed."""
    needs = of("ewe_pregnant", {**EWE, "lambs_carried": 2.0, "days_to_lambing": 20.0})
    assert needs[m.CALCIUM].needed_g(2.0) == pytest.approx(9.0)
    assert needs[m.CALCIUM].absorption == sheep.AS_FED
    assert needs[m.CALCIUM].status == "c"


def test_a_lamb_lays_down_minerals_with_its_gain() -> None:
    """AFRC (1991) from memory (b), worked by hand: 0.25 kg a day at 40 kg of 80: 2.05 g Ca and 1.27
    g P.
    """
    assert sheep.calcium_of_gain(40.0, 0.25) == pytest.approx(2.05, abs=0.01)
    assert sheep.phosphorus_of_gain(40.0, 0.25) == pytest.approx(1.27, abs=0.01)


@pytest.mark.parametrize("column", ["ewe_dry", "ewe_late", "ewe_milking", "lamb"])
def test_every_sheep_ration_holds_at_most_15_mg_copper(column: str) -> None:
    """The legal limit of complete sheep feed (a), held in the dry matter of the whole diet."""
    limit = next(limit for limit in diet_limits(column) if limit.quantity == m.COPPER)
    assert (limit.at_most, limit.kind, limit.unit, limit.status) == (15.0, "row", "mg/kg DM", "a")


def test_the_steps_name_their_terms_source_and_status() -> None:
    """What is printed: maintenance and milk with the sum, the older figure beside it."""
    needs: GroupNeeds = group_needs(
        Group("g", "Group", "dairy_cow_milking", 10, "rationed", COW), Margins()
    )
    step = needs.minerals[0].steps[0]
    assert step.equation.startswith("maintenance 19.1 + milk 36.6; AFRC (1991), from memory:")
    assert (step.unit, step.status) == ("g/d", "b")
    assert step.value == pytest.approx(55.68)


def test_the_older_figures_count_gain_and_calf_by_their_own_absorption() -> None:
    """A heifer that grows 0.6 kg a day, 60 days before calving (day 221): what the gain and the
    calf must absorb, over 0.68 of calcium and 0.58 or 0.70 of phosphorus, beside AFRC (1991) (b).
    """
    facts: dict[str, float | str] = {
        "live_weight_kg": 500.0, "gain_kg_per_day": 0.6, "days_to_calving": 60.0,
        "maturity": "late", "mature_weight_kg": 680.0,
    }  # fmt: skip
    heifer = Group("g", "Group", "in_calf_heifer", 10, "to_appetite", facts)
    needs = group_needs(heifer, Margins())
    assert needs.intake is not None
    eaten = needs.intake.cap_kg_dm
    gain = m.calcium_growth(500.0, 680.0, 0.6), m.phosphorus_growth(500.0, 680.0, 0.6)
    calf = m.calcium_pregnancy(221.0), m.phosphorus_pregnancy(221.0)
    assert min(*gain, *calf) > 0.3
    calcium, phosphorus = (need.steps[0].equation for need in needs.minerals[:2])
    assert f"gain {gain[0]:.1f} + calf {calf[0]:.1f}" in calcium
    old = m.calcium_in_feed_1991(500.0, 0.0, eaten) + (gain[0] + calf[0]) / 0.68
    assert f"{old:.0f} g in the feed" in calcium
    lean = m.phosphorus_in_feed_1991(0.0, eaten, rich=False) + (gain[1] + calf[1]) / 0.58
    rich = m.phosphorus_in_feed_1991(0.0, eaten, rich=True) + (gain[1] + calf[1]) / 0.70
    assert f"{rich:.0f} g in the feed of a very rich ration, {lean:.0f} g" in phosphorus
