"""The requirement of each class of cattle, put together from the published terms. AFRC (1993);
margins are kept apart.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import inf
from types import MappingProxyType

from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Margins
from rationlp.farm.group import Group
from rationlp.farm.traits import traits
from rationlp.needs import cattle
from rationlp.needs import cattle_steps as steps
from rationlp.needs.dairy_margins import near_calving
from rationlp.needs.energy import LACTATING_GAIN_FACTOR, EnergyNeed
from rationlp.needs.honest_gain import MAINTENANCE_FACTOR, honest_correction
from rationlp.needs.intake import LAST_DAY_PREGNANT
from rationlp.needs.objects import Requirement, Step

RICHEST_RATION_Q = 0.75
"""A gain that needs a richer ration than this is refused; practical rations lie at q 0.45–0.70."""

SUCKLER_MILK_FAT_G_PER_KG = 38.0
SUCKLER_MILK_PROTEIN_G_PER_KG = 33.0
"""Milk of a suckler cow where the farm gives none: common practice; the inventory method has 36 and
32.
"""

FIRST_CALVER_KIND = ("late", "heifer")


def _optional(group: Group, key: str) -> float | None:
    value = group.facts.get(key)
    return None if value is None else float(value)


def _number(group: Group, key: str, default: float) -> float:
    value = _optional(group, key)
    return default if value is None else value


def _maintenance(
    group: Group, allowance: str, bull: bool = False, honest: float = 1.0
) -> tuple[Step, ...]:
    """Fasting metabolism, activity and their sum; the last one is Em. honest: a factor on it
    (honest_gain.py).
    """
    w = group.number("live_weight_kg")
    rest, moving = steps.fasting(w, bull), steps.activity(w, allowance)
    return rest, moving, steps.maintenance(rest, moving, group.maint_factor, honest)


def _pregnancy(group: Group, days_pregnant: float) -> tuple[tuple[Step, ...], float, float]:
    """Steps, Mc [MJ ME/d] and MPc [g/d]; nothing before day 150."""
    if days_pregnant < cattle.PREGNANCY_COUNTS_FROM_DAY:
        return (), 0.0, 0.0
    mature = _number(group, "mature_weight_kg", group.number("live_weight_kg"))
    calf = steps.calf_weight(_optional(group, "calf_weight_kg"), mature)
    me, mp = steps.pregnancy_me(calf, days_pregnant), steps.pregnancy_mp(calf, days_pregnant)
    return (calf, me, mp), me.value, mp.value


def _milking(
    group: Group, margins: Margins, allowance: str, growth: tuple[Step, ...]
) -> Requirement:
    """A cow in milk: CL · ((F + A)/km + (milk + change)/kl + Mc); growth steps are (net energy, MP)
    or nothing.
    """
    w, yield_kg = group.number("live_weight_kg"), group.number("milk_kg_per_day")
    fat = _number(group, "milk_fat_g_per_kg", SUCKLER_MILK_FAT_G_PER_KG)
    crude = _number(group, "milk_protein_g_per_kg", SUCKLER_MILK_PROTEIN_G_PER_KG)
    change = _number(group, "live_weight_change_kg_per_day", 0.0)
    if group.reserve_mj > 0.0:
        change = min(change, 0.0)
    keep = _maintenance(group, allowance)
    value = steps.milk_value(fat, crude, _optional(group, "milk_lactose_g_per_kg"))
    milk = steps.milk(yield_kg, value)
    calf, calf_me, calf_mp = _pregnancy(group, _number(group, "days_pregnant", 0.0))
    grown = growth[0].value / LACTATING_GAIN_FACTOR if growth else 0.0
    energy = EnergyNeed(
        "additive",
        em=keep[-1].value,
        over_kl=milk.value
        + cattle.cow_change_over_kl(change)
        + grown
        - cattle.reserve_over_kl(group.reserve_mj),
        fixed_me=calf_me,
        margin=margins.me,
    )
    moved = (steps.milking_change(change), steps.change_mp(change)) if change else ()
    reserve = steps.reserve(group.reserve_mj) if group.reserve_mj > 0.0 else ()
    mp = (
        steps.maintenance_mp(w),
        steps.milk_mp(yield_kg, crude),
        *moved[1:],
        *growth[1:],
        *reserve[1:],
    )
    total = sum(step.value for step in mp) + calf_mp
    return Requirement(
        energy,
        total,
        (*keep, value, milk, *moved[:1], *growth[:1], *reserve[:1], *mp, *calf),
        _milk_remarks(fat, crude),
    )


def _milk_remarks(fat: float, crude_protein: float) -> tuple[str, ...]:
    remarks = []
    for name, value, (low, high) in (
        ("Milk fat", fat, cattle.MILK_FAT_RANGE_G_PER_KG),
        ("Milk protein", crude_protein, cattle.MILK_PROTEIN_RANGE_G_PER_KG),
    ):
        if not low <= value <= high:
            remarks.append(
                f"{name} {value:g} g/kg is outside {low:g}–{high:g} g/kg, the range of the milk"
                " energy equation."
            )
    return tuple(remarks)


def dairy_cow_milking(group: Group, margins: Margins) -> Requirement:
    """A dairy cow in milk, housed."""
    return _milking(group, margins, "milking", ())


def suckler_cow_milking(group: Group, margins: Margins) -> Requirement:
    """A suckler cow in milk, housed, with the activity allowance of a dairy cow."""
    return _milking(group, margins, "suckler_milking", ())


def first_calver_milking(group: Group, margins: Margins) -> Requirement:
    """A cow in her first lactation: a milking cow whose growth is met at 0.95 kl, as gain while
    lactating.
    """
    w, gain = group.number("live_weight_kg"), group.number("gain_kg_per_day")
    _refuse_loss(group, gain)
    if group.reserve_mj > 0.0:
        # She does not grow while she milks off her back.
        gain = 0.0
    growth = (steps.growth(w, gain, FIRST_CALVER_KIND), steps.growth_mp(w, gain, FIRST_CALVER_KIND))
    base = _milking(group, margins, "milking", growth)
    remark = (
        f"Her growth of {gain:g} kg a day is taken as that of a late-maturing heifer, its energy"
        " met at 0.95 of the efficiency for milk (AFRC 1993, gain while lactating)."
    )
    return Requirement(
        base.energy, base.mp_g, base.steps, (*base.remarks, remark, *_growth_remarks(w, gain))
    )


def _dry(group: Group, margins: Margins) -> Requirement:
    """A dry pregnant cow: CL · ((F + A + loss)/km + gain/kf + Mc). Her weight is as weighed, the
    calf included.
    """
    w = group.number("live_weight_kg")
    change = _number(group, "live_weight_change_kg_per_day", 0.0)
    keep = _maintenance(group, "housed")
    days = _days_pregnant(group)
    calf, calf_me, calf_mp = _pregnancy(group, days)
    energy = EnergyNeed(
        "additive",
        em=keep[-1].value,
        over_km=cattle.dry_cow_loss_over_km(change),
        over_kf=cattle.dry_cow_gain_over_kf(change),
        fixed_me=calf_me,
        margin=margins.me,
    )
    moved = (steps.dry_change(change), steps.change_mp(change)) if change else ()
    mp = (steps.maintenance_mp(w), *moved[1:])
    total = sum(step.value for step in mp) + calf_mp
    return Requirement(energy, total, (*keep, *moved[:1], *mp, *calf))


def _days_pregnant(group: Group) -> float:
    """Days from conception; of dairy cows and heifers no later than the last day that their intake
    is taken at.
    """
    days = cattle.GESTATION_DAYS - group.number("days_to_calving")
    return min(days, LAST_DAY_PREGNANT) if traits(group.animal_class).dairy_margin else days


def dairy_cow_dry(group: Group, margins: Margins) -> Requirement:
    """A dry dairy cow in calf, housed."""
    return _dry(group, margins)


def suckler_cow_dry(group: Group, margins: Margins) -> Requirement:
    """A dry suckler cow in calf, housed; a planned winter loss is a negative live-weight change."""
    return _dry(group, margins)


CULL_GAIN_MJ_PER_KG = 50.0
"""ME of a kg that a dry cow gains as she is finished [MJ/kg]: 45–50, the upper end since most of it
is fat. A UK levy-board page and Teagasc on cull cows, as a range; (c) as a point.
"""


def cull_cow(group: Group, margins: Margins) -> Requirement:
    """A dry cow, not in calf, that is finished: maintenance, and a fixed amount of ME for a kg of
    gain.
    """
    w, gain = group.number("live_weight_kg"), group.number("gain_kg_per_day")
    _refuse_loss(group, gain)
    keep = _maintenance(group, "housed")
    grown = steps.cull_gain(gain, CULL_GAIN_MJ_PER_KG)
    energy = EnergyNeed("additive", em=keep[-1].value, fixed_me=grown.value, margin=margins.me)
    mp = (steps.maintenance_mp(w), steps.change_mp(gain))
    return Requirement(energy, sum(step.value for step in mp), (*keep, grown, *mp))


def _growing(
    group: Group,
    margins: Margins,
    kind: tuple[str, str],
    days_pregnant: float = 0.0,
    honest: bool = False,
) -> Requirement:
    """A growing animal: the exponential form, without the correction for the level of feeding, plus
    Mc. honest: by rule H.
    """
    w, gain = group.number("live_weight_kg"), _number(group, "gain_kg_per_day", 0.0)
    _refuse_loss(group, gain)
    correction = honest_correction(kind, w, is_cereal_based(group)) if honest else None
    factor = MAINTENANCE_FACTOR if honest else 1.0
    keep = _maintenance(group, "housed", bull=kind[1] == "bull", honest=factor)
    grown, grown_mp = (
        steps.growth(w, gain, kind, correction),
        steps.growth_mp(w, gain, kind, correction),
    )
    calf, calf_me, calf_mp = _pregnancy(group, days_pregnant)
    energy = EnergyNeed(
        "exponential",
        em=keep[-1].value,
        fixed_me=calf_me,
        eg=grown.value,
        feeding_level_applies=False,
        margin=margins.me,
    )
    if energy.terms(RICHEST_RATION_Q)[0] == inf:
        raise InputError([_impossible_gain(group, gain, energy)])
    keep_mp = steps.maintenance_mp(w)
    total = keep_mp.value + grown_mp.value + calf_mp
    return Requirement(
        energy, total, (*keep, grown, keep_mp, grown_mp, *calf), _growth_remarks(w, gain)
    )


def is_cereal_based(group: Group) -> bool:
    """True where the farm says that a group lives on cereals with a little straw."""
    return group.facts.get("system") == "cereal_based"


def _refuse_loss(group: Group, gain: float) -> None:
    if gain < 0.0:
        raise InputError(
            [
                Finding(
                    "IN402",
                    f'group "{group.id}", gain_kg_per_day',
                    f"{gain:g} kg a day is a loss",
                    "give 0 or a gain: the growth equations do not hold for an animal that loses"
                    " weight",
                )
            ]
        )


def _impossible_gain(group: Group, gain: float, energy: EnergyNeed) -> Finding:
    ratio = energy.eg / energy.em
    return Finding(
        "IN401",
        f'group "{group.id}", gain_kg_per_day',
        f"{gain:g} kg a day at {group.number('live_weight_kg'):g} kg would lay down {ratio:.1f}"
        " times the energy of maintenance, more than the growth curve reaches on any ration",
        "give a smaller gain, or check the live weight",
    )


def _growth_remarks(w: float, gain: float) -> tuple[str, ...]:
    remarks = []
    low, high = cattle.WEIGHT_RANGE_KG
    if not low <= w <= high:
        remarks.append(
            f"Live weight {w:g} kg is outside {low:g}–{high:g} kg, the range of the growth"
            " equations."
        )
    if gain > cattle.GAIN_MOST_KG_PER_DAY:
        remarks.append(
            f"A gain of {gain:g} kg a day is above {cattle.GAIN_MOST_KG_PER_DAY:g} kg, the range of"
            " the growth equations."
        )
    return tuple(remarks)


def growing_cattle(group: Group, margins: Margins) -> Requirement:
    """Growing and finishing cattle and calves, housed, by sex and maturity, with rule H of
    honest_gain.py.
    """
    return _growing(group, margins, (group.text("maturity"), group.text("sex")), honest=True)


def growing_cattle_as_published(group: Group, margins: Margins) -> Requirement:
    """The same by the equations of AFRC (1993) as they are printed: the second figure that an
    answer shows.
    """
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
        "dairy_cow_milking": dairy_cow_milking,
        "first_calver_milking": first_calver_milking,
        "dairy_cow_dry": dairy_cow_dry,
        "suckler_cow_milking": suckler_cow_milking,
        "suckler_cow_dry": suckler_cow_dry,
        "in_calf_heifer": in_calf_heifer,
        "calf": growing_cattle,
        "growing_cattle": growing_cattle,
        "finishing_cattle": growing_cattle,
        "cull_cow": cull_cow,
        "breeding_bull": breeding_bull,
    }
)
"""The function of each class that has requirements of its own."""
