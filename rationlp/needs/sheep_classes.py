"""The requirement of each class of sheep, put together from the published terms. AFRC (1993);
margins are kept apart.

The correction for the level of feeding belongs to ewes in milk only (AFRC 1993, from memory; status
b).
"""

from __future__ import annotations

from collections.abc import Callable
from math import inf
from types import MappingProxyType

from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Margins
from rationlp.farm.group import Group
from rationlp.needs import sheep
from rationlp.needs import sheep_steps as steps
from rationlp.needs.energy import EnergyNeed, kf, km
from rationlp.needs.ewe_year import season
from rationlp.needs.objects import Requirement, Step

RICHEST_RATION_Q = 0.75
"""A gain that needs a richer ration than this is refused; practical rations lie at q 0.35–0.72."""

MALES = frozenset({"male"})


def _optional(group: Group, key: str) -> float | None:
    value = group.facts.get(key)
    return None if value is None else float(value)


def _number(group: Group, key: str, default: float = 0.0) -> float:
    value = _optional(group, key)
    return default if value is None else value


def _maintenance(group: Group, adult: bool = True, entire: bool = False) -> tuple[Step, ...]:
    """Fasting metabolism, activity and their sum; the last one is Em. A lamb that is housed moves
    less than a ewe.
    """
    w, kept = group.number("live_weight_kg"), str(group.facts.get("kept", "housed"))
    if kept == "housed" and group.animal_class == "lamb":
        kept = "housed_lamb"
    rest, moving = steps.fasting(w, adult, entire), steps.activity(w, kept)
    return rest, moving, steps.maintenance(rest, moving, group.maint_factor)


def days_pregnant(days_to_lambing: float) -> float:
    """Day of pregnancy at which the need is taken: the last week as its first day, day 140."""
    return sheep.GESTATION_DAYS - max(days_to_lambing, sheep.LAST_STEP_DAYS)


def _pregnancy(group: Group) -> list[Step]:
    """Litter, Mc [MJ ME/d] and MPc [g/d]; empty for an empty ewe or before day 63."""
    lambs, to_lambing = int(_number(group, "lambs_carried")), _optional(group, "days_to_lambing")
    if (
        lambs < 1
        or to_lambing is None
        or sheep.GESTATION_DAYS - to_lambing < sheep.PREGNANCY_COUNTS_FROM_DAY
    ):
        return []
    day = days_pregnant(to_lambing)
    wo = steps.litter(_optional(group, "litter_weight_kg"), group.number("live_weight_kg"), lambs)
    return [wo, steps.pregnancy_me(wo, day), steps.pregnancy_mp(wo, day)]


def _colostrum(group: Group) -> Step | None:
    """What udder and colostrum ask for in the last five weeks."""
    lambs, to_lambing = int(_number(group, "lambs_carried")), _optional(group, "days_to_lambing")
    if lambs < 1 or to_lambing is None or to_lambing >= sheep.COLOSTRUM_DAYS:
        return None
    return steps.colostrum(lambs, to_lambing)


def _dry(group: Group, margins: Margins, entire: bool = False) -> Requirement:
    """A sheep that is neither growing nor in milk: (F + A + loss)/km + gain/kf + Mc, without CL."""
    w = group.number("live_weight_kg")
    now = season(group.facts, _number(group, "live_weight_change_kg_per_day"))
    change, remarks = now.change_kg_per_day, now.remarks
    keep, grown = _maintenance(group, entire=entire), _pregnancy(group)
    if now.maintenance_factor != 1.0:
        keep = (*keep, steps.flushing(keep[-1], now.maintenance_factor))
    to_lambing = _optional(group, "days_to_lambing")
    if (
        change < 0.0
        and grown
        and to_lambing is not None
        and to_lambing <= sheep.LATE_PREGNANCY_DAYS
    ):
        change = 0.0
        remarks = (
            (
                "In the last six weeks before lambing no energy is credited to a loss of weight:"
                " ewes living off their backs then are at risk of pregnancy toxaemia (common"
                " practice)."
            ),
        )
    moved = [steps.dry_change(change)] if change else []
    energy = EnergyNeed(
        "additive",
        em=keep[-1].value,
        over_km=moved[0].value if change < 0.0 else 0.0,
        over_kf=moved[0].value if change > 0.0 else 0.0,
        fixed_me=grown[1].value if grown else 0.0,
        feeding_level_applies=False,
        # Flushing is an allowance over her need by itself.
        margin=margins.me if now.maintenance_factor == 1.0 else 1.0,
    )
    protein = [steps.maintenance_mp(w)]
    protein += [steps.gain_mp(change)] if change > 0.0 else []
    protein += [grown[2]] if grown else []
    wool, early = steps.wool_mp(), _colostrum(group)
    total = sum(step.value for step in protein)
    shown = (*keep, *moved, *grown[:2], *protein, wool, *((early,) if early else ()))
    return Requirement(energy, total, shown, remarks, early.value if early else 0.0, wool.value)


def ewe_dry(group: Group, margins: Margins) -> Requirement:
    """A ewe that is empty, or in early or middle pregnancy (more than eight weeks to lambing)."""
    return _dry(group, margins)


def ewe_pregnant(group: Group, margins: Margins) -> Requirement:
    """A ewe in pregnancy, by lambs carried and days to lambing. W stays her own weight, without the
    lambs.
    """
    return _dry(group, margins)


def ram(group: Group, margins: Margins) -> Requirement:
    """A ram, resting or gaining condition before tupping."""
    return _dry(group, margins, entire=True)


def ewe_milking(group: Group, margins: Margins) -> Requirement:
    """A ewe in milk: CL · ((F + A)/km + (milk + change)/kl). Milk by planning figures unless the
    farm gives it.
    """
    w, week = group.number("live_weight_kg"), group.number("week_of_lactation")
    lambs, flock = int(group.number("lambs_suckled")), group.text("flock")
    change = _number(group, "live_weight_change_kg_per_day")
    given = _optional(group, "milk_kg_per_day")
    yield_kg = sheep.milk_yield(flock, lambs, week) if given is None else given
    planned = (steps.planned_milk(yield_kg, flock, lambs, week),) if given is None else ()
    keep = _maintenance(group)
    fat = _number(group, "milk_fat_g_per_kg", sheep.MILK_FAT_G_PER_KG)
    each, milk = steps.milk(yield_kg, fat, 7.0 * week - 3.5)
    moved = (steps.milking_change(change),) if change else ()
    energy = EnergyNeed(
        "additive",
        em=keep[-1].value,
        over_kl=milk.value + (moved[0].value if moved else 0.0),
        margin=margins.me,
    )
    protein = [steps.maintenance_mp(w), steps.wool_mp(), steps.milk_mp(yield_kg)]
    protein += [steps.gain_mp(change)] if change > 0.0 else []
    total = sum(step.value for step in protein)
    remarks = (
        ("No protein is credited to her loss of weight: tissue covers energy, not protein.",)
        if change < 0.0
        else ()
    )
    return Requirement(energy, total, (*keep, *planned, each, milk, *moved, *protein), remarks)


def _growing(group: Group, margins: Margins, sex: str) -> Requirement:
    """A growing sheep: the exponential form, without CL, plus Mc of a ewe lamb in lamb."""
    w, gain = group.number("live_weight_kg"), group.number("gain_kg_per_day")
    keep = _maintenance(group, adult=False, entire=sex in MALES)
    grown, carried = steps.growth(w, gain, sex), _pregnancy(group)
    energy = EnergyNeed(
        "exponential",
        em=keep[-1].value,
        fixed_me=carried[1].value if carried else 0.0,
        eg=grown.value,
        feeding_level_applies=False,
        margin=margins.me,
    )
    if energy.terms(RICHEST_RATION_Q)[0] == inf:
        raise InputError([_impossible_gain(group, gain, energy)])
    protein = [steps.maintenance_mp(w), *steps.growth_mp(w, gain, sex), *carried[2:]]
    early = _colostrum(group)
    shown = (*keep, grown, *carried[:2], *protein, *((early,) if early else ()))
    return Requirement(
        energy,
        sum(step.value for step in protein),
        shown,
        _growth_remarks(w, gain),
        early.value if early else 0.0,
    )


def _impossible_gain(group: Group, gain: float, energy: EnergyNeed) -> Finding:
    most = gain * (energy.em * _most_ratio()) / energy.eg
    return Finding(
        "IN401",
        f'group "{group.id}", gain_kg_per_day',
        f"{gain:g} kg a day at {group.number('live_weight_kg'):g} kg would lay down"
        f" {energy.eg / energy.em:.1f} times the energy of maintenance, more than the growth curve"
        " reaches on any ration",
        f"give less than {most:.2f} kg a day, or check the live weight",
    )


def _most_ratio() -> float:
    """R below which the growth curve has an answer on the richest ration: R = B − 1 = kf/(km −
    kf).
    """
    return kf(RICHEST_RATION_Q) / (km(RICHEST_RATION_Q) - kf(RICHEST_RATION_Q))


def _growth_remarks(w: float, gain: float) -> tuple[str, ...]:
    remarks = []
    low, high = sheep.WEIGHT_RANGE_KG
    if not low <= w <= high:
        remarks.append(
            f"Live weight {w:g} kg is outside {low:g}–{high:g} kg, the range of the growth"
            " equations of lambs."
        )
    if gain > sheep.GAIN_MOST_KG_PER_DAY:
        remarks.append(
            f"A gain of {gain:g} kg a day is above {sheep.GAIN_MOST_KG_PER_DAY:g} kg, the range of"
            " the growth equations."
        )
    return tuple(remarks)


def lamb(group: Group, margins: Margins) -> Requirement:
    """A store or finishing lamb, by sex."""
    return _growing(group, margins, group.text("sex"))


def ewe_lamb(group: Group, margins: Margins) -> Requirement:
    """A ewe lamb: her growth and, where she is in lamb, her lambs."""
    return _growing(group, margins, "female")


SHEEP_REQUIREMENTS: MappingProxyType[str, Callable[[Group, Margins], Requirement]] = (
    MappingProxyType(
        {
            "ewe_dry": ewe_dry,
            "ewe_pregnant": ewe_pregnant,
            "ewe_milking": ewe_milking,
            "ewe_lamb": ewe_lamb,
            "lamb": lamb,
            "ram": ram,
        }
    )
)
"""The function of each class of sheep."""
