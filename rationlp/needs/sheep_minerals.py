"""Calcium, phosphorus, magnesium and sodium of sheep. Amounts a head a day.

Calcium and phosphorus of dry ewes, rams, ewes in milk and growing lambs: AFRC (1991), milk by ARC
(1980), both from memory (b). What a litter lays down is not at hand, so ewes late in pregnancy go
by the usual content of their diet, as magnesium and sodium of every sheep do: common practice, no
source (c). What wool holds is left out: less than 0.1 g a day (c).
"""

from __future__ import annotations

from math import pow

from rationlp.farm.group import Group
from rationlp.needs.minerals import (
    CALCIUM,
    MAGNESIUM,
    PHOSPHORUS,
    SODIUM,
    Terms,
    mineral_need,
    mineral_targets,
)
from rationlp.needs.objects import Absorption, MineralNeed
from rationlp.needs.sheep import usual_milk

MILK_CALCIUM_G_PER_KG, MILK_PHOSPHORUS_G_PER_KG = 1.9, 1.5
"""Minerals of a kg of ewe's milk [g/kg]: ARC (1980), from memory (b)."""

MATURE_WEIGHT_KG = 80.0
"""Mature weight of sheep in the growth equations [kg]; (c). Enters to the power 0.28."""

CALCIUM_ABSORBED = Absorption(0.68, 0.68, 0.68)
"""AFRC (1991), from memory (b) [-]."""

PHOSPHORUS_ABSORBED = Absorption(0.58, 0.70, 0.70)
"""AFRC (1991): roughage, concentrate diets (b) [-]; minerals taken as concentrates (c)."""

AS_FED = Absorption(1.0, 1.0, 1.0)
"""For a usual content of the diet, which counts what is in the feed [-]."""

_AFRC = (
    "AFRC (1991) Nutrition Abstracts and Reviews 61, from memory; milk by ARC (1980), from memory"
)
_USUAL = "usual content of the diet; common practice, no source"


def calcium_endogenous(dm_kg: float) -> float:
    """Absorbed Ca lost in dung and urine of sheep [g/d]: 0.623 DMI + 0.228. AFRC (1991) (b)."""
    return 0.623 * dm_kg + 0.228


def phosphorus_endogenous(dm_kg: float) -> float:
    """Absorbed P lost by sheep on roughage [g/d]: 1.6 (0.693 DMI − 0.06). AFRC (1991) (b)."""
    return 1.6 * (0.693 * dm_kg - 0.06)


def calcium_of_gain(weight_kg: float, gain_kg: float, mature_kg: float = MATURE_WEIGHT_KG) -> float:
    """Absorbed Ca for gain of lambs [g/d]: 6.75 A^0.28 W^-0.28 dW. AFRC (1991) from memory (b)."""
    return 6.75 * pow(max(mature_kg / weight_kg, 1.0), 0.28) * gain_kg


def phosphorus_of_gain(
    weight_kg: float, gain_kg: float, mature_kg: float = MATURE_WEIGHT_KG
) -> float:
    """Absorbed P for gain of lambs [g/d]: (1.2 + 3.188 A^0.28 W^-0.28) dW. AFRC (1991) (b)."""
    return (1.2 + 3.188 * pow(max(mature_kg / weight_kg, 1.0), 0.28)) * gain_kg


def sheep_mineral_needs(group: Group, diet_column: str, dm_kg: float) -> tuple[MineralNeed, ...]:
    """What a head of a group of sheep must get of each mineral.

    diet_column: the group's column of the diet limits. dm_kg: the most that can be eaten [kg DM a
    day], at which the printed steps are worked out.
    """
    if diet_column == "ewe_late":
        first = [_usual(CALCIUM, diet_column), _usual(PHOSPHORUS, diet_column)]
    else:
        first = [_calcium(group), _phosphorus(group)]
    minerals = [*first, _usual(MAGNESIUM, diet_column), _usual(SODIUM, diet_column)]
    return tuple(mineral_need(terms, diet_column, dm_kg) for terms in minerals)


def _milk(group: Group) -> float:
    """Milk [kg/d] of a ewe in milk, as her energy takes it; 0 of any other."""
    if group.animal_class != "ewe_milking":
        return 0.0
    given = group.optional("milk_kg_per_day")
    return usual_milk(group) if given is None else given


def _gain(group: Group) -> tuple[float, float]:
    return group.number("live_weight_kg"), float(group.facts.get("gain_kg_per_day", 0.0))


def _calcium(group: Group) -> Terms:
    terms = (
        ("dung and urine", calcium_endogenous(0.0)),
        ("milk", MILK_CALCIUM_G_PER_KG * _milk(group)),
        ("gain", calcium_of_gain(*_gain(group))),
    )
    per_kg = calcium_endogenous(1.0) - calcium_endogenous(0.0)
    return Terms(CALCIUM, terms, per_kg, CALCIUM_ABSORBED, "", _AFRC, "b")


def _phosphorus(group: Group) -> Terms:
    terms = (
        ("dung and urine", phosphorus_endogenous(0.0)),
        ("milk", MILK_PHOSPHORUS_G_PER_KG * _milk(group)),
        ("gain", phosphorus_of_gain(*_gain(group))),
    )
    per_kg = phosphorus_endogenous(1.0) - phosphorus_endogenous(0.0)
    return Terms(PHOSPHORUS, terms, per_kg, PHOSPHORUS_ABSORBED, "", _AFRC, "b")


def _usual(quantity: str, diet_column: str) -> Terms:
    return Terms(quantity, (), mineral_targets()[diet_column, quantity][0], AS_FED, "", _USUAL, "c")
