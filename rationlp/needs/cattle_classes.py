"""The requirement of each class of cattle, put together from the published terms. AFRC (1993);
margins are kept apart.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from math import inf
from types import MappingProxyType

from rationlp.errors import Finding, InputError, refused
from rationlp.farm.farm import Margins
from rationlp.farm.group import Group
from rationlp.farm.traits import traits
from rationlp.needs import cattle
from rationlp.needs import cattle_steps as steps
from rationlp.needs.dairy_margins import near_calving
from rationlp.needs.energy import LACTATING_GAIN_FACTOR, EnergyNeed
from rationlp.needs.honest_gain import MAINTENANCE_FACTOR, honest_correction
from rationlp.needs.intake import LAST_DAY_PREGNANT
from rationlp.needs.objects import Requirement
from rationlp.needs.terms import (
    NO_TERM,
    Maintenance,
    Pregnancy,
    Term,
    growth_remarks,
    present,
    total,
    with_priced_protein,
)

RICHEST_RATION_Q = 0.75
"""A gain that needs a richer ration than this is refused; practical rations lie at q 0.45–0.70."""

SUCKLER_MILK_FAT_G_PER_KG = 38.0
SUCKLER_MILK_PROTEIN_G_PER_KG = 33.0
"""Milk of a suckler cow where the farm gives none: (c); the inventory method has 36 and 32."""

FIRST_CALVER_KIND = ("late", "heifer")
_outside = partial(
    growth_remarks, weights=cattle.WEIGHT_RANGE_KG, most_gain=cattle.GAIN_MOST_KG_PER_DAY
)


def _maintenance(
    group: Group, allowance: str, bull: bool = False, honest: float = 1.0
) -> Maintenance:
    """Fasting metabolism, activity and Em. honest: a factor on it (honest_gain.py)."""
    w = group.number("live_weight_kg")
    rest, moving = steps.fasting(w, bull), steps.activity(w, allowance)
    return Maintenance(rest, moving, steps.maintenance(rest, moving, group.maint_factor, honest))


def _pregnancy(group: Group, days_pregnant: float) -> Pregnancy:
    """The calf from day 150 on."""
    if days_pregnant < cattle.PREGNANCY_COUNTS_FROM_DAY:
        return Pregnancy()
    mature = group.number("mature_weight_kg", group.number("live_weight_kg"))
    calf = steps.calf_weight(group.optional("calf_weight_kg"), mature)
    me, mp = steps.pregnancy_me(calf, days_pregnant), steps.pregnancy_mp(calf, days_pregnant)
    return Pregnancy(calf, me, mp)


def _milking(
    group: Group, margins: Margins, allowance: str = "milking", growth: Term = NO_TERM
) -> Requirement:
    """A cow in milk, housed: CL · ((F + A)/km + (milk + change)/kl + Mc)."""
    w, yield_kg = group.number("live_weight_kg"), group.number("milk_kg_per_day")
    fat = group.number("milk_fat_g_per_kg", SUCKLER_MILK_FAT_G_PER_KG)
    crude = group.number("milk_protein_g_per_kg", SUCKLER_MILK_PROTEIN_G_PER_KG)
    kg_a_day = group.number("live_weight_change_kg_per_day", 0.0)
    if group.reserve_mj > 0.0:
        kg_a_day = min(kg_a_day, 0.0)
    keep = _maintenance(group, allowance)
    value = steps.milk_value(fat, crude, group.optional("milk_lactose_g_per_kg"))
    milk = steps.milk(yield_kg, value)
    calf = _pregnancy(group, group.number("days_pregnant", 0.0))
    change = reserve = NO_TERM
    if kg_a_day:
        change = Term(steps.milking_change(kg_a_day), steps.change_mp(kg_a_day))
    if group.reserve_mj > 0.0:
        reserve = steps.reserve(group.reserve_mj)
    over_kl = milk.value + change.mj + growth.mj / LACTATING_GAIN_FACTOR + reserve.mj
    energy = EnergyNeed(
        "additive", em=keep.em, over_kl=over_kl, fixed_me=calf.me_mj, margin=margins.me
    )
    protein = present(
        steps.maintenance_mp(w),
        steps.milk_mp(yield_kg, crude),
        change.protein,
        growth.protein,
        reserve.protein,
    )
    others = present(change.energy, growth.energy, reserve.energy)
    of_calf = present(calf.young, calf.me, calf.mp)
    return Requirement(
        energy,
        total(protein) + calf.mp_g,
        (*keep.steps, value, milk, *others, *protein, *of_calf),
        _milk_remarks(fat, crude),
    )


def _milk_remarks(fat: float, crude_protein: float) -> tuple[str, ...]:
    milk = (
        ("Milk fat", fat, cattle.MILK_FAT_RANGE_G_PER_KG),
        ("Milk protein", crude_protein, cattle.MILK_PROTEIN_RANGE_G_PER_KG),
    )
    return tuple(
        f"{name} {value:g} g/kg is outside {low:g}–{high:g} g/kg, the range of the milk energy"
        " equation."
        for name, value, (low, high) in milk
        if not low <= value <= high
    )


def first_calver_milking(group: Group, margins: Margins) -> Requirement:
    """A cow in her first lactation: a milking cow whose growth is met at 0.95 kl."""
    w, gain = group.number("live_weight_kg"), group.number("gain_kg_per_day")
    _refuse_loss(group, gain)
    if group.reserve_mj > 0.0:
        # She does not grow while she milks off her back.
        gain = 0.0
    kind = FIRST_CALVER_KIND
    growth = Term(steps.growth(w, gain, kind), steps.growth_mp(w, gain, kind))
    need = _milking(group, margins, growth=growth)
    remark = (
        f"Her growth of {gain:g} kg a day is taken as that of a late-maturing heifer, its energy"
        " met at 0.95 of the efficiency for milk (AFRC 1993, gain while lactating)."
    )
    return replace(need, remarks=(*need.remarks, remark, *_outside(w, gain)))


def _dry(group: Group, margins: Margins) -> Requirement:
    """A dry cow in calf: CL · ((F + A + loss)/km + gain/kf + Mc). Weight as weighed, with calf."""
    kg_a_day = group.number("live_weight_change_kg_per_day", 0.0)
    keep = _maintenance(group, "housed")
    calf = _pregnancy(group, _days_pregnant(group))
    energy = EnergyNeed(
        "additive",
        em=keep.em,
        over_km=cattle.dry_cow_loss_over_km(kg_a_day),
        over_kf=cattle.dry_cow_gain_over_kf(kg_a_day),
        fixed_me=calf.me_mj,
        margin=margins.me,
    )
    change = NO_TERM
    if kg_a_day:
        change = Term(steps.dry_change(kg_a_day), steps.change_mp(kg_a_day))
    protein = present(steps.maintenance_mp(group.number("live_weight_kg")), change.protein)
    shown = (*keep.steps, change.energy, *protein, calf.young, calf.me, calf.mp)
    return Requirement(energy, total(protein) + calf.mp_g, present(*shown))


def _days_pregnant(group: Group) -> float:
    """Days from conception; of dairy cows and heifers at most the last day of their intake."""
    days = cattle.GESTATION_DAYS - group.number("days_to_calving")
    if traits(group.animal_class).dairy_margin:
        return min(days, LAST_DAY_PREGNANT)
    return days


CULL_GAIN_MJ_PER_KG = 50.0
"""ME of a kg that a dry cow gains as she is finished [MJ/kg]: 45–50, the upper end since most of it
is fat. A UK levy-board page and Teagasc on cull cows, as a range; (c) as a point.
"""


def cull_cow(group: Group, margins: Margins) -> Requirement:
    """A dry cow, not in calf, that is finished: maintenance, and a fixed ME for a kg of gain."""
    w, gain = group.number("live_weight_kg"), group.number("gain_kg_per_day")
    _refuse_loss(group, gain)
    keep = _maintenance(group, "housed")
    grown = steps.cull_gain(gain, CULL_GAIN_MJ_PER_KG)
    energy = EnergyNeed("additive", em=keep.em, fixed_me=grown.value, margin=margins.me)
    protein = (steps.maintenance_mp(w), steps.change_mp(gain))
    return Requirement(energy, total(protein), (*keep.steps, grown, *protein))


def _growing(
    group: Group,
    margins: Margins,
    kind: tuple[str, str],
    days_pregnant: float = 0.0,
    honest: bool = False,
) -> Requirement:
    """A growing animal: the exponential form, without CL, plus Mc. honest: by rule H."""
    w, gain = group.number("live_weight_kg"), group.number("gain_kg_per_day", 0.0)
    _refuse_loss(group, gain)
    correction = None
    if honest:
        correction = honest_correction(kind, w, is_cereal_based(group))
    factor = MAINTENANCE_FACTOR if honest else 1.0
    keep = _maintenance(group, "housed", bull=kind[1] == "bull", honest=factor)
    grown = steps.growth(w, gain, kind, correction)
    calf = _pregnancy(group, days_pregnant)
    energy = EnergyNeed(
        "exponential",
        em=keep.em,
        fixed_me=calf.me_mj,
        eg=grown.value,
        feeding_level_applies=False,
        margin=margins.me,
    )
    if energy.terms(RICHEST_RATION_Q)[0] == inf:
        raise InputError([_impossible_gain(group, gain, energy)])
    protein = (steps.maintenance_mp(w), steps.growth_mp(w, gain, kind, correction))
    shown = (*keep.steps, grown, *protein, *present(calf.young, calf.me, calf.mp))
    return Requirement(energy, total(protein) + calf.mp_g, shown, _outside(w, gain))


def is_cereal_based(group: Group) -> bool:
    """True where the farm says that a group lives on cereals with a little straw."""
    return group.facts.get("system") == "cereal_based"


def _refuse_loss(group: Group, gain: float) -> None:
    if gain < 0.0:
        where, found = f'group "{group.id}", gain_kg_per_day', f"{gain:g} kg a day is a loss"
        remedy = (
            "give 0 or a gain: the growth equations do not hold for an animal that loses weight"
        )
        raise refused("IN402", where, found, remedy)


def _impossible_gain(group: Group, gain: float, energy: EnergyNeed) -> Finding:
    weight, ratio = group.number("live_weight_kg"), energy.eg / energy.em
    found = (
        f"{gain:g} kg a day at {weight:g} kg would lay down {ratio:.1f} times the energy of"
        " maintenance, more than the growth curve reaches on any ration"
    )
    remedy = "give a smaller gain, or check the live weight"
    return Finding("IN401", f'group "{group.id}", gain_kg_per_day', found, remedy)


def growing_cattle(group: Group, margins: Margins) -> Requirement:
    """Growing and finishing cattle and calves, housed, by sex and maturity, with rule H."""
    need = _growing(group, margins, (group.text("maturity"), group.text("sex")), honest=True)
    if group.animal_class == "calf":
        return with_priced_protein(need)
    return need


def growing_cattle_as_published(group: Group, margins: Margins) -> Requirement:
    """The same by the equations of AFRC (1993) as printed: the second figure that is shown."""
    return _growing(group, margins, (group.text("maturity"), group.text("sex")))


def breeding_bull(group: Group, margins: Margins) -> Requirement:
    """A breeding bull, housed, with the gain he still makes."""
    return _growing(group, margins, (group.text("maturity"), "bull"))


def in_calf_heifer(group: Group, margins: Margins) -> Requirement:
    """A heifer in calf: her growth and, from day 150, the calf."""
    if near_calving(group):
        # She eats less every day: what she grows then comes after calving.
        group = replace(group, facts={**group.facts, "gain_kg_per_day": 0.0})
    return _growing(group, margins, (group.text("maturity"), "heifer"), _days_pregnant(group))


REQUIREMENTS: MappingProxyType[str, Callable[[Group, Margins], Requirement]] = MappingProxyType(
    {
        "dairy_cow_milking": _milking,
        "first_calver_milking": first_calver_milking,
        "dairy_cow_dry": _dry,
        "suckler_cow_milking": partial(_milking, allowance="suckler_milking"),
        "suckler_cow_dry": _dry,
        "in_calf_heifer": in_calf_heifer,
        "calf": growing_cattle,
        "growing_cattle": growing_cattle,
        "finishing_cattle": growing_cattle,
        "cull_cow": cull_cow,
        "breeding_bull": breeding_bull,
    }
)
"""The function of each class that has requirements of its own."""
