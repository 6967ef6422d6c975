"""What an animal is once she has calved, where the farm does not say: a suckler cow, a heifer."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from rationlp.farm.lactation import MILK, USUAL, WEEK, WHOLE, own_curve, peak_of
from rationlp.farm.values import as_number
from rationlp.read.schema import GroupTable
from rationlp.records import dataclass

SUCKLER_MILK_KG = 9.0
"""Milk of a suckler cow [kg a day], fat 38, protein 33 g/kg; common practice, no source (c)."""
FIRST_CALVER_SHARE = 0.78
"""Milk of a first calver beside the herd's cows: common practice, no source (c)."""
FIRST_CALVER_GAIN_KG = 0.3
AT_CALVING = 0.92
"""Live weight after calving beside that before it; common practice, no source (c)."""
_COW = "dairy_cow_milking"
_SOLIDS = ("milk_fat_g_per_kg", "milk_protein_g_per_kg")


@dataclass(frozen=True)
class HerdMilk:
    """Milk of the herd's grown cows: peak [kg a day], fat and protein [g/kg]."""

    peak_kg: float
    fat_g_per_kg: float
    protein_g_per_kg: float


def herd_milk(tables: Iterable[GroupTable]) -> HerdMilk | None:
    """Milk of the first group of dairy cows that states it, in milk or after calving; else None."""
    for table in tables:
        facts: Mapping[str, Any] = (table.model_extra or {}) if table.animal_class == _COW else {}
        if table.after is not None and table.after.get("class") == _COW:
            facts = table.after
        peak = _peak(facts)
        fat, protein = (as_number(facts.get(key)) for key in _SOLIDS)
        if peak is not None and fat is not None and protein is not None:
            return HerdMilk(peak, fat, protein)
    return None


def _peak(facts: Mapping[str, Any]) -> float | None:
    """Peak milk [kg a day] by what is stated of cows; milk without a week is that of the peak."""
    milk, whole, week = (as_number(facts.get(key)) for key in (MILK, WHOLE, WEEK))
    known = {
        key: number
        for key in ("milk_curve_b", "milk_curve_c")
        if (number := as_number(facts.get(key)))
    }
    if whole is not None:
        return peak_of(_COW, dict(known), whole)
    if milk is None or week is None:
        return milk
    return milk / own_curve(USUAL[_COW], dict(known)).share(week)


def usual_after(table: GroupTable, herd: HerdMilk | None, days: float) -> dict[str, Any] | None:
    """Class and facts once calved; None where nothing is known. days: to calving."""
    if table.animal_class == "suckler_cow_dry":
        return {"class": "suckler_cow_milking", MILK: SUCKLER_MILK_KG}
    if table.animal_class != "in_calf_heifer" or herd is None:
        return None
    facts = table.model_extra or {}
    weight, gain = as_number(facts.get("live_weight_kg")), as_number(facts.get("gain_kg_per_day"))
    if weight is None or gain is None:
        return None
    return {
        "class": "first_calver_milking",
        "live_weight_kg": round(min(max(AT_CALVING * (weight + gain * days), 350.0), 800.0)),
        MILK: round(FIRST_CALVER_SHARE * herd.peak_kg, 1),
        "milk_fat_g_per_kg": herd.fat_g_per_kg,
        "milk_protein_g_per_kg": herd.protein_g_per_kg,
        "gain_kg_per_day": FIRST_CALVER_GAIN_KG,
    }


def in_words(after: Mapping[str, Any]) -> str:
    """What was taken, for a sentence."""
    if after["class"] == "suckler_cow_milking":
        return f"a suckler cow that gives {after[MILK]:g} kg milk of 38 g fat and 33 g protein"
    return (
        f"a first calver of {after['live_weight_kg']:g} kg with a peak of {after[MILK]:g} kg milk, "
        f"{FIRST_CALVER_SHARE:g} of the herd's cows"
    )
