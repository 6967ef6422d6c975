"""Sheep: the worked values of the equations, what moves the need, what is refused and what is said.

tests/needs/published/sheep-worked.csv was worked out from the same published equations (AFRC 1993,
mostly from memory of the publication, status b) by a separate short calculation, margin 1.05: it
guards the assembly, it is no outside source. Published values of others stand in
tests/needs/published/sheep.csv.
"""

from __future__ import annotations

from math import exp, log, pow

import pytest
from published_quantities import needs_of, parse, rows

from rationlp.errors import InputError
from rationlp.farm.group import Group
from rationlp.needs import expected_gain, sheep
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.needs.objects import GroupNeeds

WORKED = rows("sheep-worked.csv")
NAMES = {
    "w": "live_weight_kg",
    "n": "lambs_carried",
    "gain": "gain_kg_per_day",
    "sex": "sex",
    "kept": "kept",
    "y": "milk_kg_per_day",
    "change": "live_weight_change_kg_per_day",
}


def needs_of_case(inputs: dict[str, float | str]) -> GroupNeeds:
    """Needs of the animal of a worked case, margin 1.05."""
    facts = {NAMES[key]: value for key, value in inputs.items() if key in NAMES}
    if "weeks" in inputs:
        facts["days_to_lambing"] = 7.0 * float(inputs["weeks"])
    if "day" in inputs:
        facts |= {
            "week_of_lactation": (float(inputs["day"]) + 3.5) / 7.0,
            "lambs_suckled": 1.0,
            "flock": "lowland",
        }
    return needs_of(str(inputs["class"]), 1.05, **facts)


def me(needs: GroupNeeds, density: float) -> float:
    """ME [MJ/d] on a ration of that density [MJ/kg DM]."""
    assert needs.energy is not None
    return needs.energy.required_mj(density / GE_MJ_PER_KG_DM)


def late(weeks: float, lambs: float = 2.0, **more: float | str) -> GroupNeeds:
    """A 70 kg ewe some weeks before lambing."""
    return needs_of(
        "ewe_pregnant",
        live_weight_kg=70.0,
        lambs_carried=lambs,
        days_to_lambing=7.0 * weeks,
        **more,
    )


@pytest.mark.parametrize("row", WORKED, ids=[row["case"] for row in WORKED])
def test_worked_value(row: dict[str, str]) -> None:
    """ME within 0.1 MJ and MP within 0.5 g of the worked value, colostrum aside."""
    inputs = parse(row["inputs"])
    needs = needs_of_case(inputs)
    assert me(needs, float(inputs["md"])) == pytest.approx(float(row["me_mj"]), abs=0.1)
    assert needs.mp_wanted_g - needs.colostrum_mp_g == pytest.approx(float(row["mp_g"]), abs=0.5)


@pytest.mark.parametrize(
    ("day", "energy", "protein"),
    [(105, 1.73, 9.1), (119, 2.61, 13.6), (133, 3.78, 19.5), (147, 5.25, 26.9)],
)
def test_pregnancy_of_a_four_kg_lamb(day: float, energy: float, protein: float) -> None:
    """MEc and MPc alone, by day of pregnancy; worked values of the same equations."""
    assert sheep.pregnancy_me(4.0, day) == pytest.approx(energy, abs=0.006)
    assert sheep.pregnancy_mp(4.0, day) == pytest.approx(protein, abs=0.06)


def test_the_printed_factors_of_pregnancy_are_derivatives() -> None:
    """0.07372 and 0.06744 are ln 10 · b · c of the two growth curves, to their printed digits; and
    Ec is the slope of Et.
    """
    assert log(10.0) * 4.979 * 0.00643 == pytest.approx(0.07372, abs=5e-6)
    assert log(10.0) * 4.873 * 0.00601 == pytest.approx(0.06744, abs=5e-6)

    def total(day: float) -> float:
        return pow(10.0, 3.322 - 4.979 * exp(-0.00643 * day))

    slope = (total(133.01) - total(132.99)) / 0.02
    assert sheep.pregnancy_energy(4.0, 133.0) == pytest.approx(slope, rel=1e-4)


@pytest.mark.parametrize(
    ("weight", "single", "twins", "triplets"),
    [
        (45, 3.6, 5.8, 7.3),
        (50, 3.9, 6.3, 7.8),
        (60, 4.5, 7.2, 9.0),
        (70, 5.0, 8.0, 10.0),
        (80, 5.5, 8.9, 11.1),
        (90, 6.0, 9.6, 12.0),
    ],
)
def test_litter_weights(weight: float, single: float, twins: float, triplets: float) -> None:
    """Litter weight by the ewe's weight, within 0.06 kg of the worked table (triplets by the
    reciprocal rule).
    """
    for lambs, kg in ((1, single), (2, twins), (3, triplets)):
        assert sheep.litter_weight(weight, lambs) == pytest.approx(kg, abs=0.06)
    assert sheep.litter_weight(weight, 0) == 0.0


def test_twins_share_of_the_ewe() -> None:
    """Twins are 15.2 % of a 25 kg ewe and 10.6 % of a 100 kg ewe, within 2 %: Animal Production
    (1970); status (a).
    """
    assert sheep.litter_weight(25.0, 2) / 25.0 == pytest.approx(0.152, rel=0.02)
    assert sheep.litter_weight(100.0, 2) / 100.0 == pytest.approx(0.106, rel=0.02)


def test_milk_by_the_planning_figures_agrees_with_measured_ewes() -> None:
    """Means of three months, lowland: 1.62 single and 2.25 twins, against 1.60 and 2.44 measured
    over 84 days (Finn × Blackface ewes housed, J. agric. Sci.; status a), within 8 %.
    """
    for lambs, measured in ((1, 1.60), (2, 2.44)):
        mean = sum(sheep.milk_yield("lowland", lambs, week) for week in (2, 6, 10)) / 3.0
        assert mean == pytest.approx(measured, rel=0.08)
    assert sheep.milk_yield("lowland", 3, 2) == pytest.approx(
        1.05 * sheep.milk_yield("lowland", 2, 2)
    )
    assert sheep.milk_yield("hill", 2, 20) == sheep.milk_yield("hill", 2, 12) == 1.10


def test_the_last_week_is_taken_at_day_140() -> None:
    """A ewe due tomorrow needs what she needed a week before lambing."""
    assert me(late(1.0), 10.5) == me(late(0.1), 10.5)
    assert me(late(2.0), 10.5) < me(late(1.0), 10.5)


def test_colostrum_is_wanted_in_the_last_five_weeks_only() -> None:
    """20 g MP a lamb carried × (1 − d/35), beside the need and not in it."""
    assert late(3.0).colostrum_mp_g == pytest.approx(16.0)
    assert late(5.0).colostrum_mp_g == 0.0
    assert late(2.0, 3.0).colostrum_mp_g == pytest.approx(36.0)
    assert late(2.0).mp_wanted_g == pytest.approx((late(2.0).mp_required_g or 0.0) + 20.4 + 24.0)


def test_wool_is_wanted_beside_the_need_where_nothing_else_gives_way() -> None:
    """20.4 g MP of dry and pregnant ewes and of rams may be short; that of ewes in milk and of
    lambs is part of their need.
    """
    assert late(5.0).wool_mp_g == needs_of("ram", live_weight_kg=90.0).wool_mp_g == 20.4
    assert needs_of("lamb", live_weight_kg=30.0, gain_kg_per_day=0.1, sex="female").wool_mp_g == 0.0
    facts = {
        "live_weight_kg": 70.0,
        "lambs_suckled": 2.0,
        "week_of_lactation": 3.0,
        "flock": "lowland",
    }
    assert needs_of("ewe_milking", **facts).wool_mp_g == 0.0


def test_no_energy_is_credited_to_a_loss_in_the_last_six_weeks() -> None:
    """A planned loss lowers the need seven weeks before lambing and not six weeks before, which is
    said.
    """
    losing = {"live_weight_change_kg_per_day": -0.05}
    assert me(late(7.0, **losing), 10.0) < me(late(7.0), 10.0)
    assert me(late(6.0, **losing), 10.0) == me(late(6.0), 10.0)
    assert any("toxaemia" in said for said in late(6.0, **losing).remarks)


def test_loss_in_milk_spares_energy_and_no_protein() -> None:
    """0.1 kg a day spares 2.0 MJ of milk energy; MP stays, and that is said."""
    facts = {
        "live_weight_kg": 70.0,
        "lambs_suckled": 2.0,
        "week_of_lactation": 3.0,
        "flock": "lowland",
    }
    steady, losing = (
        needs_of("ewe_milking", **facts),
        needs_of("ewe_milking", live_weight_change_kg_per_day=-0.1, **facts),
    )
    assert steady.energy is not None
    assert losing.energy is not None
    assert steady.energy.over_kl - losing.energy.over_kl == pytest.approx(2.0034)
    assert steady.mp_g == losing.mp_g
    assert any("tissue covers energy" in said for said in losing.remarks)


def test_feeding_level_corrects_ewes_in_milk_only() -> None:
    """CL belongs to lactating ewes; lambs, dry and pregnant ewes have none."""
    by_class = {row["case"]: needs_of_case(parse(row["inputs"])) for row in WORKED}
    for case, needs in by_class.items():
        assert needs.energy is not None
        assert needs.energy.feeding_level_applies == ("milk" in case)


def test_entire_males_keep_more_alive() -> None:
    """Rams and ram lambs burn 15 % more at rest."""
    assert sheep.fasting_metabolism(40.0, False, True) == pytest.approx(
        1.15 * sheep.fasting_metabolism(40.0, False)
    )
    assert sheep.fasting_metabolism(70.0) == pytest.approx(0.217 * 70.0**0.75, rel=0.003)
    assert sheep.fasting_metabolism(40.0, False) == pytest.approx(0.236 * 40.0**0.75, rel=0.003)


def test_a_gain_no_ration_carries_is_refused_with_the_most_that_one_would() -> None:
    """0.5 kg a day for a 20 kg ewe lamb stands beyond the growth curve; just below the figure named
    it does not.
    """
    with pytest.raises(InputError, match="IN401") as trouble:
        needs_of("lamb", live_weight_kg=20.0, gain_kg_per_day=0.75, sex="female")
    words = trouble.value.findings[0].remedy.split()
    most = float(words[words.index("than") + 1])
    assert (
        needs_of("lamb", live_weight_kg=20.0, gain_kg_per_day=most - 0.01, sex="female").energy
        is not None
    )
    with pytest.raises(InputError):
        needs_of("lamb", live_weight_kg=20.0, gain_kg_per_day=most + 0.01, sex="female")


def test_expected_gain_turns_the_need_round() -> None:
    """The ME that a gain needs carries that gain; less of it at a maintenance factor of 1.15."""
    facts = {"live_weight_kg": 35.0, "gain_kg_per_day": 0.18, "sex": "castrate"}
    needs = needs_of("lamb", **facts)
    dm = 1.1
    supply = me(needs, 11.5)
    group = Group("g", "g", "lamb", 1, "to_appetite", facts)
    assert expected_gain(group, supply, supply / 11.5) == pytest.approx(0.18, abs=1e-6)
    assert expected_gain(group, supply, dm, maint_factor=1.15) < 0.18
