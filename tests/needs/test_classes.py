"""Needs of each class: how they move with the animal and the ration, what is refused and what is
said.
"""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import pytest
from published_quantities import needs_of

from rationlp.errors import InputError
from rationlp.farm.farm import Margins
from rationlp.farm.group import Group, QuantityLimit
from rationlp.farm.traits import traits
from rationlp.needs import KNOWN_CLASSES, expected_gain, group_needs
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.needs.objects import GroupNeeds

COW: dict[str, float | str] = {
    "live_weight_kg": 600.0,
    "milk_kg_per_day": 30.0,
    "milk_fat_g_per_kg": 40.0,
    "milk_protein_g_per_kg": 33.0,
    "week_of_lactation": 10.0,
}
GROWER: dict[str, float | str] = {
    "live_weight_kg": 400.0,
    "gain_kg_per_day": 1.0,
    "sex": "steer",
    "maturity": "medium",
}
CLASSES: dict[str, dict[str, float | str]] = {
    "dairy_cow_milking": COW,
    "first_calver_milking": {**COW, "live_weight_kg": 560.0, "gain_kg_per_day": 0.3},
    "dairy_cow_dry": {"live_weight_kg": 650.0, "days_to_calving": 30.0},
    "suckler_cow_milking": {
        "live_weight_kg": 650.0,
        "milk_kg_per_day": 10.0,
        "week_of_lactation": 6.0,
    },
    "suckler_cow_dry": {"live_weight_kg": 700.0, "days_to_calving": 60.0},
    "in_calf_heifer": {
        "live_weight_kg": 500.0,
        "gain_kg_per_day": 0.6,
        "days_to_calving": 80.0,
        "maturity": "late",
        "mature_weight_kg": 680.0,
    },
    "calf": {**GROWER, "live_weight_kg": 150.0, "gain_kg_per_day": 0.8},
    "growing_cattle": GROWER,
    "finishing_cattle": {**GROWER, "live_weight_kg": 550.0},
    "cull_cow": {"live_weight_kg": 650.0, "gain_kg_per_day": 0.75},
    "breeding_bull": {"live_weight_kg": 640.0, "maturity": "early"},
    "ewe_dry": {"live_weight_kg": 70.0, "kept": "housed"},
    "ewe_pregnant": {"live_weight_kg": 70.0, "lambs_carried": 2.0, "days_to_lambing": 28.0},
    "ewe_milking": {
        "live_weight_kg": 70.0,
        "lambs_suckled": 2.0,
        "week_of_lactation": 3.0,
        "flock": "lowland",
    },
    "ewe_lamb": {"live_weight_kg": 42.0, "gain_kg_per_day": 0.08},
    "lamb": {"live_weight_kg": 34.0, "gain_kg_per_day": 0.15, "sex": "castrate"},
    "ram": {"live_weight_kg": 90.0},
}


def _group(animal_class: str, **changes: float | str) -> Group:
    return Group(
        "pen", "Pen", animal_class, 10, "to_appetite", {**CLASSES[animal_class], **changes}
    )


def _me(needs: GroupNeeds, me_mj_per_kg_dm: float = 11.0) -> float:
    assert needs.energy is not None
    return needs.energy.required_mj(me_mj_per_kg_dm / GE_MJ_PER_KG_DM)


def test_every_known_class_is_tested_here() -> None:
    """Each class but `stated` has an example animal in this file."""
    assert {*CLASSES, "stated"} == set(KNOWN_CLASSES)


@pytest.mark.parametrize("animal_class", CLASSES)
def test_energy_need_falls_as_the_ration_gets_richer(animal_class: str) -> None:
    """The ME requirement of every class falls with q, step by step from 8 to 13 MJ/kg DM."""
    needs = needs_of(animal_class, **CLASSES[animal_class])
    asked = [_me(needs, density) for density in (8.5, 9.5, 10.5, 11.5, 12.5, 13.5)]
    assert all(more > less for more, less in pairwise(asked))


@pytest.mark.parametrize("animal_class", CLASSES)
def test_energy_need_rises_with_live_weight(animal_class: str) -> None:
    """A twentieth heavier costs more ME in every class."""
    heavier = {
        **CLASSES[animal_class],
        "live_weight_kg": float(CLASSES[animal_class]["live_weight_kg"]) * 1.05,
    }
    assert _me(needs_of(animal_class, **heavier)) > _me(
        needs_of(animal_class, **CLASSES[animal_class])
    )


@pytest.mark.parametrize("animal_class", CLASSES)
def test_margins_are_applied_once(animal_class: str) -> None:
    """A margin of 5 % raises the ME requirement by exactly 5 % and leaves the MP before margin as
    it was.
    """
    bare, safe = (
        needs_of(animal_class, **CLASSES[animal_class]),
        needs_of(animal_class, 1.05, **CLASSES[animal_class]),
    )
    assert _me(safe) == pytest.approx(1.05 * _me(bare), rel=1e-12)
    assert safe.mp_g == bare.mp_g
    assert safe.mp_required_g == pytest.approx(1.05 * (bare.mp_g or 0.0), rel=1e-12)


@pytest.mark.parametrize("animal_class", CLASSES)
def test_maintenance_factor_multiplies_maintenance_only(animal_class: str) -> None:
    """maint_factor 1.10 raises the net energy of maintenance by exactly a tenth and leaves growth
    and milk alone.
    """
    usual = group_needs(_group(animal_class), Margins()).energy
    more = group_needs(replace(_group(animal_class), maint_factor=1.1), Margins()).energy
    assert usual is not None
    assert more is not None
    assert more.em == pytest.approx(1.1 * usual.em, rel=1e-12)
    assert (more.over_kl, more.over_kf, more.eg) == (usual.over_kl, usual.over_kf, usual.eg)


@pytest.mark.parametrize("animal_class", CLASSES)
def test_every_step_has_equation_source_and_status(animal_class: str) -> None:
    """Each step says its equation, where it comes from and how sure it is."""
    steps = needs_of(animal_class, 1.05, **CLASSES[animal_class]).steps
    assert all(step.equation and step.source and step.status in {"a", "b", "c"} for step in steps)


@pytest.mark.parametrize("animal_class", CLASSES)
def test_sums_with_their_margins_are_what_their_equations_say(animal_class: str) -> None:
    """ME and MP with margin: the printed need times the printed margin is the printed figure."""
    steps = needs_of(animal_class, 1.05, **CLASSES[animal_class]).steps
    shown = [step for step in steps if step.name.endswith("margin included")]
    assert [step.unit for step in shown] == ["MJ/d", "g/d"]
    for step in shown:
        bare, margin = step.equation.partition(";")[0].split(" × ")
        assert float(margin) == 1.05
        assert step.value == pytest.approx(float(bare) * 1.05, rel=0.01)


@pytest.mark.parametrize("animal_class", [name for name in CLASSES if traits(name).cattle])
def test_protein_of_cattle_is_the_sum_of_its_steps(animal_class: str) -> None:
    """Maintenance, milk, growth and calf, each shown, make up the MP asked for (of sheep, wool and
    udder stand apart).
    """
    needs = needs_of(animal_class, **CLASSES[animal_class])
    parts = [step.value for step in needs.steps if step.name.endswith(", MP")]
    assert len(parts) >= 1
    assert sum(parts) == pytest.approx((needs.mp_g or 0.0) + needs.priced_mp_g, rel=1e-12)


@pytest.mark.parametrize("animal_class", ["calf", "ewe_milking"])
def test_the_last_of_some_protein_is_wanted_at_a_price(animal_class: str) -> None:
    """15 % of what the steps of calves and ewes in milk come to (c); the rest is asked for."""
    needs = needs_of(animal_class, **CLASSES[animal_class])
    whole = sum(step.value for step in needs.steps if step.name.endswith(", MP"))
    assert needs.priced_mp_g == pytest.approx(0.15 * whole)
    assert needs.mp_g == pytest.approx(0.85 * whole)


def test_steps_of_a_milking_cow_add_up_to_her_energy_constants() -> None:
    """Maintenance and milk of the steps are the constants that the model reads."""
    needs = needs_of("dairy_cow_milking", **COW)
    by_name = {step.name: step.value for step in needs.steps}
    assert needs.energy is not None
    assert by_name["maintenance, net energy"] == needs.energy.em
    assert by_name["milk, net energy"] == needs.energy.over_kl


@pytest.mark.parametrize("animal_class", ["dairy_cow_milking", "dairy_cow_dry", "suckler_cow_dry"])
def test_gain_costs_more_energy_than_the_same_loss_returns(animal_class: str) -> None:
    """A half kilo gained asks for more ME than a half kilo lost gives back."""
    facts = CLASSES[animal_class]
    level, up, down = (
        _me(needs_of(animal_class, **facts, live_weight_change_kg_per_day=change))
        for change in (0.0, 0.5, -0.5)
    )
    assert up - level > level - down > 0.0


def test_pregnancy_counts_from_day_150() -> None:
    """A milking cow in calf for 149 days needs what an empty one needs, at 150 days more."""
    empty, early, late = (
        _me(needs_of("dairy_cow_milking", **COW, days_pregnant=t)) for t in (0.0, 149.0, 150.0)
    )
    assert early == empty
    assert late > empty


def test_heavier_calf_asks_for_more() -> None:
    """A calf weight given by the farm takes the place of the one from the dam's mature weight."""
    facts = CLASSES["dairy_cow_dry"]
    light, heavy = (
        _me(needs_of("dairy_cow_dry", **facts, calf_weight_kg=weight)) for weight in (30.0, 50.0)
    )
    assert light < _me(needs_of("dairy_cow_dry", **facts)) < heavy


def test_lactose_where_known_is_used() -> None:
    """With milk lactose 46 g/kg the energy of milk is the three-component 3.079 MJ/kg (AFRC 1993;
    status b).
    """
    needs = needs_of("dairy_cow_milking", **COW, milk_lactose_g_per_kg=46.0)
    assert needs.energy is not None
    assert needs.energy.over_kl == pytest.approx(30.0 * 3.0793, abs=0.01)


def test_first_calver_needs_her_growth_besides() -> None:
    """A first calver needs more ME and MP than a cow of the same facts, and the answer says how
    growth was taken.
    """
    grown = needs_of("first_calver_milking", **COW, gain_kg_per_day=0.3)
    cow = needs_of("dairy_cow_milking", **COW)
    assert _me(grown) > _me(cow)
    assert (grown.mp_g or 0.0) > (cow.mp_g or 0.0)
    assert any("efficiency for milk" in remark for remark in grown.remarks)


def test_in_calf_heifer_adds_the_calf_to_her_growth() -> None:
    """Sixty days before calving a heifer needs as much more ME as the pregnancy step says."""
    near = needs_of("in_calf_heifer", **{**CLASSES["in_calf_heifer"], "days_to_calving": 60.0})
    far = needs_of("in_calf_heifer", **{**CLASSES["in_calf_heifer"], "days_to_calving": 200.0})
    extra = next(step.value for step in near.steps if step.name == "pregnancy, ME")
    assert _me(near) - _me(far) == pytest.approx(extra, rel=1e-9)


@pytest.mark.parametrize(("first", "then"), [("bull", "steer"), ("steer", "heifer")])
def test_gain_costs_least_energy_in_bulls_and_most_in_heifers(first: str, then: str) -> None:
    """Energy of growth rises from bull to steer to heifer of one maturity group (C2 of AFRC
    1993).
    """
    leaner, fatter = (
        needs_of("growing_cattle", **{**GROWER, "sex": sex}).energy for sex in (first, then)
    )
    assert leaner is not None
    assert fatter is not None
    assert leaner.eg < fatter.eg


def test_an_impossible_gain_is_refused_with_its_place() -> None:
    """A gain that no ration allows is an input error naming group and key."""
    with pytest.raises(InputError) as trouble:
        group_needs(
            _group("growing_cattle", sex="heifer", maturity="early", gain_kg_per_day=3.0), Margins()
        )
    assert [finding.code for finding in trouble.value.findings] == ["IN401"]
    assert trouble.value.findings[0].where == 'group "pen", gain_kg_per_day'
    keep, growth = (
        group_needs(_group("growing_cattle", sex="heifer", maturity="early"), Margins()).steps[at]
        for at in (2, 3)
    )
    times = re.findall(r"lay down ([\d.]+) times", trouble.value.findings[0].found)
    assert 2.0 < float(times[0]) < 12.0
    assert float(times[0]) > 3.0 * growth.value / keep.value


@pytest.mark.parametrize("animal_class", ["growing_cattle", "first_calver_milking"])
def test_a_loss_of_growing_stock_is_refused(animal_class: str) -> None:
    """A negative gain is an input error."""
    with pytest.raises(InputError) as trouble:
        group_needs(_group(animal_class, gain_kg_per_day=-0.2), Margins())
    assert [finding.code for finding in trouble.value.findings] == ["IN402"]


def test_an_unknown_class_is_refused_with_the_nearest() -> None:
    """A class misspelt is an input error that names the nearest one."""
    with pytest.raises(InputError) as trouble:
        group_needs(Group("pen", "Pen", "dairy_cow_miking", 1, "to_appetite", {}), Margins())
    assert trouble.value.findings[0].remedy == 'nearest: "dairy_cow_milking"'


@pytest.mark.parametrize(
    ("animal_class", "changes", "words"),
    [
        ("growing_cattle", {"live_weight_kg": 60.0, "gain_kg_per_day": 0.3}, "outside 75–650 kg"),
        ("growing_cattle", {"gain_kg_per_day": 1.6}, "above 1.5 kg"),
        ("lamb", {"live_weight_kg": 48.0}, "outside 15–45 kg"),
        ("calf", {"live_weight_kg": 260.0}, "meant for 100–200 kg"),
        ("dairy_cow_milking", {"milk_fat_g_per_kg": 4.0}, "outside 25–60 g/kg"),
    ],
)
def test_figures_outside_the_range_of_an_equation_are_said(
    animal_class: str, changes: dict[str, float | str], words: str
) -> None:
    """A figure outside the range of the equations is worked with, and said."""
    remarks = group_needs(_group(animal_class, **changes), Margins()).remarks
    assert any(words in remark for remark in remarks)


def test_a_group_inside_every_range_has_no_remark() -> None:
    """A usual milking cow fed to appetite gives rise to no remark."""
    assert needs_of("dairy_cow_milking", 1.05, **COW).remarks == ()


def test_maintenance_factor_beside_a_margin_is_said() -> None:
    """A maintenance factor above 1.10 together with the energy margin is said."""
    remarks = group_needs(replace(_group("dairy_cow_dry"), maint_factor=1.2), Margins()).remarks
    assert any("both applied" in remark for remark in remarks)


@pytest.mark.parametrize("animal_class", CLASSES)
def test_energy_ceiling_is_for_dry_animals_only(animal_class: str) -> None:
    """Dry cows, dry ewes, rams and bulls at rest have a ceiling of 1.10 times their need, priced
    when fed to appetite; others have none.
    """
    needs = group_needs(_group(animal_class), Margins())
    dry = animal_class in {"dairy_cow_dry", "suckler_cow_dry", "ewe_dry", "ram", "breeding_bull"}
    assert needs.energy_ceiling == (1.10 if dry else None)
    assert needs.ceiling_priced == dry


def test_energy_ceiling_is_hard_for_a_rationed_group() -> None:
    """Fed a set amount, the ceiling is a hard limit."""
    assert not group_needs(
        replace(_group("suckler_cow_dry"), fed="rationed"), Margins()
    ).ceiling_priced


def test_a_stated_group_has_its_own_limits_only() -> None:
    """Class `stated` has no requirement, no diet limit, and an intake cap only where the farm gives
    one.
    """
    own = (QuantityLimit("cp_g_per_kg_dm", "head_day", at_least=100.0),)
    group = Group("mix", "Mix", "stated", 1, "rationed", {}, quantity_limits=own)
    needs = group_needs(group, Margins())
    assert (needs.energy, needs.mp_g, needs.intake, needs.limits, needs.own_limits) == (
        None,
        None,
        None,
        (),
        own,
    )
    capped = group_needs(replace(group, intake_kg_dm=12.0), Margins()).intake
    assert capped is not None
    assert capped.cap_kg_dm == 12.0


@pytest.mark.parametrize(
    "animal_class", ["growing_cattle", "finishing_cattle", "calf", "in_calf_heifer"]
)
def test_expected_gain_is_the_gain_the_ration_was_made_for(animal_class: str) -> None:
    """A ration that just meets the need without margins gives back the gain it was made for."""
    group = _group(animal_class)
    needs = group_needs(group, Margins(1.0, 1.0))
    me = _me(needs, 11.5)
    assert expected_gain(group, me, me / 11.5) == pytest.approx(
        group.number("gain_kg_per_day"), abs=1e-6
    )


def test_expected_gain_is_less_with_more_maintenance() -> None:
    """At maint_factor 1.10 the same ration gives less gain than at 1.00."""
    group = _group("growing_cattle")
    assert 0.0 < expected_gain(group, 90.0, 8.0, maint_factor=1.1) < expected_gain(group, 90.0, 8.0)


def test_expected_gain_is_held_back_by_short_protein() -> None:
    """A ration with too little MP gives the gain whose MP it covers."""
    group = _group("growing_cattle")
    gain = expected_gain(group, 95.0, 8.0, mp_g=350.0)
    mp = group_needs(_group("growing_cattle", gain_kg_per_day=gain), Margins()).mp_g
    assert gain < expected_gain(group, 95.0, 8.0)
    assert mp == pytest.approx(350.0, abs=1e-6)


@pytest.mark.parametrize(("me_mj", "dm_kg"), [(20.0, 3.0), (0.0, 0.0)])
def test_expected_gain_below_maintenance_is_nought(me_mj: float, dm_kg: float) -> None:
    """A ration that does not cover maintenance gives no gain."""
    assert expected_gain(_group("growing_cattle"), me_mj, dm_kg) == 0.0
