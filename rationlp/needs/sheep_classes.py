"""The requirement of each class of sheep, put together from the published terms. AFRC (1993);
margins are kept apart.

The correction for the level of feeding belongs to ewes in milk only (AFRC 1993, from memory; status
b).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from math import inf
from types import MappingProxyType

from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Margins
from rationlp.farm.group import Group
from rationlp.needs import sheep
from rationlp.needs import sheep_steps as steps
from rationlp.needs.cattle_steps import maintenance
from rationlp.needs.energy import EnergyNeed, kf, km
from rationlp.needs.ewe_year import season
from rationlp.needs.objects import Requirement, Step
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
"""A gain that needs a richer ration than this is refused; practical rations lie at q 0.35–0.72."""

MALES = frozenset({"male"})


def _maintenance(group: Group, adult: bool = True, entire: bool = False) -> Maintenance:
    """Fasting metabolism, activity and Em. A lamb that is housed moves less than a ewe."""
    w, place = group.number("live_weight_kg"), str(group.facts.get("kept", "housed"))
    if place == "housed" and group.animal_class == "lamb":
        place = "housed_lamb"
    rest, moving = steps.fasting(w, adult, entire), steps.activity(w, place)
    return Maintenance(rest, moving, maintenance(rest, moving, group.maint_factor))


def days_pregnant(days_to_lambing: float) -> float:
    """Day of pregnancy at which the need is taken: the last week as its first day, day 140."""
    return sheep.GESTATION_DAYS - max(days_to_lambing, sheep.LAST_STEP_DAYS)


def _pregnancy(group: Group) -> Pregnancy:
    """The litter of a ewe in lamb from day 63 on."""
    lambs, to_lambing = int(group.number("lambs_carried", 0.0)), group.optional("days_to_lambing")
    if lambs < 1 or to_lambing is None:
        return Pregnancy()
    if sheep.GESTATION_DAYS - to_lambing < sheep.PREGNANCY_COUNTS_FROM_DAY:
        return Pregnancy()
    day = days_pregnant(to_lambing)
    own = group.optional("litter_weight_kg")
    litter = steps.litter(own, group.number("live_weight_kg"), lambs)
    return Pregnancy(litter, steps.pregnancy_me(litter, day), steps.pregnancy_mp(litter, day))


def _colostrum(group: Group) -> Step | None:
    """What udder and colostrum ask for in the last five weeks."""
    lambs, to_lambing = int(group.number("lambs_carried", 0.0)), group.optional("days_to_lambing")
    if lambs < 1 or to_lambing is None or to_lambing >= sheep.COLOSTRUM_DAYS:
        return None
    return steps.colostrum(lambs, to_lambing)


def _change(kg_a_day: float, energy: Callable[[float], Step]) -> Term:
    """A change of weight; no protein is credited to a loss."""
    if kg_a_day > 0.0:
        return Term(energy(kg_a_day), steps.gain_mp(kg_a_day))
    return Term(energy(kg_a_day)) if kg_a_day else NO_TERM


NO_CREDIT = (
    "In the last six weeks before lambing no energy is credited to a loss of weight: ewes living"
    " off their backs then are at risk of pregnancy toxaemia (common practice)."
)


def _dry(group: Group, margins: Margins, entire: bool = False) -> Requirement:
    """Neither growing nor in milk: (F + A + loss)/km + gain/kf + Mc, no CL; W without lambs."""
    now = season(group.facts, group.number("live_weight_change_kg_per_day", 0.0))
    kg_a_day, remarks = now.change_kg_per_day, now.remarks
    keep, litter = _maintenance(group, entire=entire), _pregnancy(group)
    flushed = now.maintenance_factor != 1.0
    if flushed:
        keep = replace(keep, flushed=steps.flushing(keep.whole, now.maintenance_factor))
    to_lambing = group.number("days_to_lambing", inf)
    if kg_a_day < 0.0 and litter.me is not None and to_lambing <= sheep.LATE_PREGNANCY_DAYS:
        kg_a_day, remarks = 0.0, (NO_CREDIT,)
    change = _change(kg_a_day, steps.dry_change)
    energy = EnergyNeed(
        "additive",
        em=keep.em,
        over_km=min(change.mj, 0.0),
        over_kf=max(change.mj, 0.0),
        fixed_me=litter.me_mj,
        feeding_level_applies=False,
        # Flushing is an allowance over her need by itself.
        margin=1.0 if flushed else margins.me,
    )
    keep_mp = steps.maintenance_mp(group.number("live_weight_kg"))
    protein = present(keep_mp, change.protein, litter.mp)
    wool, early = steps.wool_mp(), _colostrum(group)
    shown = (*keep.steps, change.energy, litter.young, litter.me, *protein, wool, early)
    return Requirement(
        energy,
        total(protein),
        present(*shown),
        remarks,
        colostrum_mp_g=0.0 if early is None else early.value,
        wool_mp_g=wool.value,
    )


def ewe_milking(group: Group, margins: Margins) -> Requirement:
    """A ewe in milk: CL · ((F + A)/km + (milk + change)/kl). Milk as planned or as given."""
    week, lambs = group.number("week_of_lactation"), int(group.number("lambs_suckled"))
    flock = group.text("flock")
    kg_a_day = group.number("live_weight_change_kg_per_day", 0.0)
    yield_kg, planned = group.optional("milk_kg_per_day"), None
    if yield_kg is None:
        yield_kg = sheep.milk_yield(flock, lambs, week)
        planned = steps.planned_milk(yield_kg, flock, lambs, week)
    keep = _maintenance(group)
    fat = group.number("milk_fat_g_per_kg", sheep.MILK_FAT_G_PER_KG)
    value, milk = steps.milk(yield_kg, fat, 7.0 * week - 3.5)
    change = _change(kg_a_day, steps.milking_change)
    energy = EnergyNeed("additive", em=keep.em, over_kl=milk.value + change.mj, margin=margins.me)
    keep_mp = steps.maintenance_mp(group.number("live_weight_kg"))
    protein = present(keep_mp, steps.wool_mp(), steps.milk_mp(yield_kg), change.protein)
    remarks: tuple[str, ...] = ()
    if kg_a_day < 0.0:
        remarks = (
            "No protein is credited to her loss of weight: tissue covers energy, not protein.",
        )
    shown = present(*keep.steps, planned, value, milk, change.energy, *protein)
    return with_priced_protein(Requirement(energy, total(protein), shown, remarks))


def _growing(group: Group, margins: Margins) -> Requirement:
    """A growing sheep: the exponential form, without CL, plus Mc of a ewe lamb in lamb."""
    sex = str(group.facts.get("sex", "female"))
    w, gain = group.number("live_weight_kg"), group.number("gain_kg_per_day")
    keep = _maintenance(group, adult=False, entire=sex in MALES)
    grown, litter = steps.growth(w, gain, sex), _pregnancy(group)
    energy = EnergyNeed(
        "exponential",
        em=keep.em,
        fixed_me=litter.me_mj,
        eg=grown.value,
        feeding_level_applies=False,
        margin=margins.me,
    )
    if energy.terms(RICHEST_RATION_Q)[0] == inf:
        raise InputError([_impossible_gain(group, gain, energy)])
    protein = present(steps.maintenance_mp(w), *steps.growth_mp(w, gain, sex), litter.mp)
    early = _colostrum(group)
    remarks = growth_remarks(
        w, gain, sheep.WEIGHT_RANGE_KG, sheep.GAIN_MOST_KG_PER_DAY, of=" of lambs"
    )
    return Requirement(
        energy,
        total(protein),
        present(*keep.steps, grown, litter.young, litter.me, *protein, early),
        remarks,
        colostrum_mp_g=0.0 if early is None else early.value,
    )


def _impossible_gain(group: Group, gain: float, energy: EnergyNeed) -> Finding:
    most = gain * (energy.em * _most_ratio()) / energy.eg
    found = (
        f"{gain:g} kg a day at {group.number('live_weight_kg'):g} kg would lay down"
        f" {energy.eg / energy.em:.1f} times the energy of maintenance, more than the growth curve"
        " reaches on any ration"
    )
    remedy = f"give less than {most:.2f} kg a day, or check the live weight"
    return Finding("IN401", f'group "{group.id}", gain_kg_per_day', found, remedy)


def _most_ratio() -> float:
    """R below which the growth curve has an answer on the richest ration: R = kf/(km − kf)."""
    return kf(RICHEST_RATION_Q) / (km(RICHEST_RATION_Q) - kf(RICHEST_RATION_Q))


SHEEP_REQUIREMENTS: MappingProxyType[str, Callable[[Group, Margins], Requirement]] = (
    MappingProxyType(
        {
            "ewe_dry": _dry,
            "ewe_pregnant": _dry,
            "ewe_milking": ewe_milking,
            "ewe_lamb": _growing,
            "lamb": _growing,
            "ram": partial(_dry, entire=True),
        }
    )
)
"""The function of each class of sheep."""
