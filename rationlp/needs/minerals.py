"""Calcium, phosphorus, magnesium and sodium that a head of cattle must absorb, term by term.
Amounts a head a day.

Cattle: NRC (2001), whose calcium and phosphorus equations were checked in a text that quotes them
with page numbers (a); its magnesium and sodium, and the older figures shown beside it (AFRC 1991,
ARC 1980), from memory (b). Ranges: dairy and beef cattle of 90–1400 kg, milk to 70 kg. The targets
in g/kg DM are common practice, no source (c).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import exp, pow
from types import MappingProxyType

from rationlp.farm.feed import Feed
from rationlp.farm.group import Group
from rationlp.farm.traits import traits
from rationlp.folders import packaged_rows
from rationlp.needs.cattle import GESTATION_DAYS
from rationlp.needs.near_calving import before_calving
from rationlp.needs.objects import Absorption, MineralNeed, Step
from rationlp.quantities import quantities
from rationlp.records import dataclass

CALCIUM, PHOSPHORUS, MAGNESIUM, SODIUM = (
    "ca_g_per_kg_dm",
    "p_g_per_kg_dm",
    "mg_g_per_kg_dm",
    "na_g_per_kg_dm",
)
POTASSIUM, COPPER = "k_g_per_kg_dm", "cu_mg_per_kg_dm"

LEAST_CALCIUM_TO_PHOSPHORUS = 1.3
"""Least calcium to phosphorus of a whole ration [g/g]; 1 to 7 is tolerated; (c)."""

PREGNANCY_FROM_DAY = 190.0
"""Day of pregnancy from which NRC (2001) counts minerals for the calf [d]; (a)."""

GAIN_TO_EMPTY_GAIN = 0.96
"""Empty-body gain as a share of live-weight gain in the NRC (2001) growth equations [-]; (a)."""

MATURE_WEIGHT_KG = MappingProxyType({"early": 550.0, "medium": 650.0, "late": 750.0})
"""Mature weight by maturity where the farm gives none [kg]; (c). Enters to the power 0.22."""

SUCKLER_MAGNESIUM_G = MappingProxyType({"suckler_cow_milking": 30.0, "suckler_cow_dry": 20.0})
"""Least magnesium in the whole feed of suckler cows [g a day] against staggers; 40 and 30 where
forage holds more than 20 g potassium in a kg DM: veterinary practice column on grass staggers,
British local press (a).
"""

CALCIUM_ABSORBED = Absorption(0.30, 0.60, 0.70)
"""NRC (2001): feeds by a trade text that quotes it (a), limestone 0.70 of its 0.30–0.95 (b) [-]."""

PHOSPHORUS_ABSORBED = Absorption(0.64, 0.70, 0.75)
"""NRC (2001), from memory: forage, concentrate, dicalcium phosphate (b) [-]."""

MAGNESIUM_ABSORBED = Absorption(0.16, 0.16, 0.16)
"""NRC (2001): feeds (b) [-]; mineral sources get no more, since their origins differ (c)."""

SODIUM_ABSORBED = Absorption(0.90, 0.90, 0.90)
"""NRC (2001), from memory (b) [-]."""

SODIUM_ABSORBED_1980 = Absorption(0.91, 0.91, 0.91)
"""ARC (1980), from memory (b) [-]."""

_NRC_MEMORY = "NRC (2001) Nutrient Requirements of Dairy Cattle, from memory"
_STAGGERS = "veterinary practice column on grass staggers, British local press"


def calcium_maintenance(weight_kg: float, milking: bool) -> float:
    """Absorbed Ca [g/d]: (0.031 milking, 0.0154 other) W + 0.0008 W. NRC (2001) (a)."""
    return (0.031 if milking else 0.0154) * weight_kg + 0.0008 * weight_kg


def calcium_growth(weight_kg: float, mature_kg: float, gain_kg: float) -> float:
    """Absorbed Ca for gain [g/d]: 9.83 Wm^0.22 W^-0.22 (dW/0.96). NRC (2001) (a)."""
    return 9.83 * pow(mature_kg / weight_kg, 0.22) * gain_kg / GAIN_TO_EMPTY_GAIN


def phosphorus_growth(weight_kg: float, mature_kg: float, gain_kg: float) -> float:
    """Absorbed P for gain [g/d]: (1.2 + 4.635 Wm^0.22 W^-0.22)(dW/0.96). NRC (2001) (a)."""
    return (1.2 + 4.635 * pow(mature_kg / weight_kg, 0.22)) * gain_kg / GAIN_TO_EMPTY_GAIN


def calcium_pregnancy(days_pregnant: float) -> float:
    """Absorbed Ca for the calf [g/d], from day 190: 0.02456 (e^((0.05581 − 0.00007 t) t) − same at
    t − 1). NRC (2001) (a).
    """
    return _laid_down(days_pregnant, 0.02456, 0.05581, 0.00007)


def phosphorus_pregnancy(days_pregnant: float) -> float:
    """Absorbed P for the calf [g/d], from day 190: 0.02743 (e^((0.05527 − 0.000075 t) t) − same at
    t − 1). NRC (2001) (a).
    """
    return _laid_down(days_pregnant, 0.02743, 0.05527, 0.000075)


def _laid_down(day: float, size: float, rate: float, slowing: float) -> float:
    if day < PREGNANCY_FROM_DAY:
        return 0.0
    return size * (
        exp((rate - slowing * day) * day) - exp((rate - slowing * (day - 1.0)) * (day - 1.0))
    )


def phosphorus_per_kg_dm(milking: bool) -> float:
    """Absorbed P [g/kg DM eaten]: 1.0 in milk, 0.8 others; and 0.002 W in urine. NRC (2001) (a)."""
    return 1.0 if milking else 0.8


def calcium_in_feed_1991(weight_kg: float, milk_kg: float, dm_kg: float) -> float:
    """Ca in a cow's feed [g/d]: (0.66 DMI + 0.0079 W − 0.74 + 1.2 milk)/0.68. AFRC (1991) (b)."""
    return (0.66 * dm_kg + 0.0079 * weight_kg - 0.74 + 1.2 * milk_kg) / 0.68


def phosphorus_in_feed_1991(milk_kg: float, dm_kg: float, rich: bool) -> float:
    """P in the feed of a cow [g/d], rich where q ≥ 0.7: (f (0.693 DMI − 0.06) + 0.90 milk)/(0.58 or
    0.70), f 1.6 or 1.0. AFRC (1991) from memory (b).
    """
    return ((1.0 if rich else 1.6) * (0.693 * dm_kg - 0.06) + 0.90 * milk_kg) / (
        0.70 if rich else 0.58
    )


def magnesium_absorbed(weight_kg: float, milk_kg: float, gain_kg: float, carrying: bool) -> float:
    """Absorbed Mg [g/d]: 0.003 W + 0.15 milk + 0.45 gain + 0.33 if late in calf. NRC (2001) (b)."""
    return 0.003 * weight_kg + 0.15 * milk_kg + 0.45 * gain_kg + 0.33 * carrying


def sodium_absorbed(weight_kg: float, milk_kg: float, gain_kg: float, carrying: bool) -> float:
    """Absorbed Na [g/d]: (0.038 milking, 0.015 other) W + 0.63 milk + 1.4 gain + 1.4 late in
    pregnancy. NRC (2001) from memory (b).
    """
    return (
        (0.038 if milk_kg > 0.0 else 0.015) * weight_kg
        + 0.63 * milk_kg
        + 1.4 * gain_kg
        + 1.4 * carrying
    )


def magnesium_in_feed_1980(weight_kg: float, milk_kg: float) -> float:
    """Mg in the feed of a cow [g/d]: (0.003 W + 0.125 milk)/0.17. ARC (1980) from memory (b)."""
    return (0.003 * weight_kg + 0.125 * milk_kg) / 0.17


def sodium_in_feed_1980(weight_kg: float, milk_kg: float) -> float:
    """Na in the feed of a cow [g/d]: (0.0068 W + 0.60 milk)/0.91. ARC (1980) from memory (b)."""
    return (0.0068 * weight_kg + 0.60 * milk_kg) / 0.91


@dataclass(frozen=True)
class _Animal:
    """What the equations read of an animal [kg, kg/d, d]; carrying: the calf is counted."""

    weight: float
    milk: float
    gain: float
    mature: float
    days_pregnant: float
    milking: bool

    @property
    def carrying(self) -> bool:
        return self.days_pregnant >= PREGNANCY_FROM_DAY


@dataclass(frozen=True)
class Terms:
    """A mineral's terms in words and absorbed g, the part by intake, an older figure in feed."""

    quantity: str
    terms: tuple[tuple[str, float], ...]
    per_kg_dm: float
    absorption: Absorption
    beside: str
    source: str
    status: str


def mineral_needs(group: Group, diet_column: str, dm_kg: float) -> tuple[MineralNeed, ...]:
    """Calcium, phosphorus, magnesium and sodium that a head of a group must absorb; empty for a
    class without equations.

    diet_column: the group's column of the diet limits, which its usual contents go by. dm_kg: the
    most that can be eaten [kg DM a day], at which the printed steps are worked out.
    """
    if not traits(group.animal_class).cattle:
        return ()
    animal = _animal(group)
    minerals = (
        _calcium(animal, dm_kg),
        _phosphorus(animal, dm_kg),
        _magnesium(group.animal_class, animal),
        _sodium(group.animal_class, animal),
    )
    needs = tuple(mineral_need(mineral, diet_column, dm_kg) for mineral in minerals)
    return before_calving(group, needs, dm_kg)


def _animal(group: Group) -> _Animal:
    facts = group.facts
    weight = group.number("live_weight_kg")
    usual = MATURE_WEIGHT_KG.get(str(facts.get("maturity", "")), weight)
    pregnant = float(facts.get("days_pregnant", 0.0))
    if "days_to_calving" in facts:
        pregnant = GESTATION_DAYS - group.number("days_to_calving")
    return _Animal(
        weight=weight,
        milk=float(facts.get("milk_kg_per_day", 0.0)),
        gain=float(facts.get("gain_kg_per_day", 0.0)),
        mature=max(float(facts.get("mature_weight_kg", usual)), weight),
        days_pregnant=pregnant,
        milking=traits(group.animal_class).milking,
    )


def _calcium(animal: _Animal, dm_kg: float) -> Terms:
    gain = calcium_growth(animal.weight, animal.mature, animal.gain)
    calf = calcium_pregnancy(animal.days_pregnant)
    terms = (
        ("maintenance", calcium_maintenance(animal.weight, animal.milking)),
        ("milk", 1.22 * animal.milk),
        ("gain", gain),
        ("calf", calf),
    )
    older = calcium_in_feed_1991(animal.weight, animal.milk, dm_kg) + (gain + calf) / 0.68
    beside = f"AFRC (1991), from memory: {older:.0f} g in the feed"
    return Terms(CALCIUM, terms, 0.0, CALCIUM_ABSORBED, beside, _NRC_MEMORY, "b")


def _phosphorus(animal: _Animal, dm_kg: float) -> Terms:
    gain = phosphorus_growth(animal.weight, animal.mature, animal.gain)
    calf = phosphorus_pregnancy(animal.days_pregnant)
    terms = (
        ("urine", 0.002 * animal.weight),
        ("milk", 0.90 * animal.milk),
        ("gain", gain),
        ("calf", calf),
    )
    lean = phosphorus_in_feed_1991(animal.milk, dm_kg, rich=False) + (gain + calf) / 0.58
    rich = phosphorus_in_feed_1991(animal.milk, dm_kg, rich=True) + (gain + calf) / 0.70
    beside = (
        f"AFRC (1991), from memory: {rich:.0f} g in the feed of a very rich ration, {lean:.0f} g of"
        " any other"
    )
    per_kg = phosphorus_per_kg_dm(animal.milking)
    return Terms(PHOSPHORUS, terms, per_kg, PHOSPHORUS_ABSORBED, beside, _NRC_MEMORY, "b")


def _magnesium(animal_class: str, animal: _Animal) -> Terms:
    need = magnesium_absorbed(animal.weight, animal.milk, animal.gain, animal.carrying)
    older = (
        f"ARC (1980), from memory: {magnesium_in_feed_1980(animal.weight, animal.milk):.0f} g in"
        " the feed"
    )
    against_staggers = SUCKLER_MAGNESIUM_G.get(animal_class, 0.0) * MAGNESIUM_ABSORBED.forage
    if against_staggers > need:
        in_feed = SUCKLER_MAGNESIUM_G[animal_class]
        beside = (
            f"{in_feed:g} g in the feed against staggers, {in_feed + 10.0:g} g where forage holds"
            " more than 20 g potassium in a kg DM; NRC (2001), from memory:"
            f" {need / MAGNESIUM_ABSORBED.forage:.0f} g"
        )
        terms = (("against staggers", against_staggers),)
        return Terms(MAGNESIUM, terms, 0.0, MAGNESIUM_ABSORBED, beside, _STAGGERS, "a")
    return Terms(MAGNESIUM, (("all uses", need),), 0.0, MAGNESIUM_ABSORBED, older, _NRC_MEMORY, "b")


def _sodium(animal_class: str, animal: _Animal) -> Terms:
    """NRC (2001), but ARC (1980) for a suckler cow in milk: the newer one is for dairy milk."""
    older = sodium_in_feed_1980(animal.weight, animal.milk)
    if animal_class == "suckler_cow_milking":
        terms = (("all uses", older * SODIUM_ABSORBED_1980.forage),)
        return Terms(SODIUM, terms, 0.0, SODIUM_ABSORBED_1980, "", "ARC (1980), from memory", "b")
    need = sodium_absorbed(animal.weight, animal.milk, animal.gain, animal.carrying)
    beside = f"ARC (1980), from memory: {older:.0f} g in the feed"
    return Terms(SODIUM, (("all uses", need),), 0.0, SODIUM_ABSORBED, beside, _NRC_MEMORY, "b")


def mineral_need(mineral: Terms, diet_column: str, dm_kg: float) -> MineralNeed:
    """The need made of its terms, with the step that is printed at `dm_kg` [kg DM eaten] and the
    usual contents of the diet.
    """
    fixed = sum(grams for _, grams in mineral.terms)
    words = [f"{name} {grams:.1f}" for name, grams in mineral.terms if grams != 0.0]
    if mineral.per_kg_dm:
        words.append(f"{mineral.per_kg_dm:.3g} for each kg DM eaten, here {dm_kg:.1f}")
    equation = " + ".join(words)
    if mineral.beside:
        equation = f"{equation}; {mineral.beside}"
    where = "to be absorbed"
    if mineral.absorption.forage == 1.0:
        where = "in the feed"
    name = f"{quantities()[mineral.quantity].title.lower()} {where}"
    amount = fixed + mineral.per_kg_dm * dm_kg
    step = Step(name, amount, "g/d", equation, mineral.source, mineral.status)
    low, high = mineral_targets().get((diet_column, mineral.quantity), (None, None))
    return MineralNeed(
        mineral.quantity,
        fixed,
        mineral.per_kg_dm,
        mineral.absorption,
        low,
        high,
        (step,),
        mineral.source,
        mineral.status,
    )


@lru_cache(maxsize=1)
def mineral_targets() -> dict[tuple[str, str], tuple[float, float]]:
    """Usual contents [g/kg DM] by (diet column, quantity): feeds/mineral-targets.csv (c)."""
    return {
        (row["diet_column"], row["quantity"]): (float(row["at_least"]), float(row["at_most"]))
        for row in packaged_rows("mineral-targets.csv")
    }


def cation_balance(parts: Sequence[tuple[Feed, float]]) -> float | None:
    """Dietary cations less anions of a ration of (feed, kg DM) [meq/kg DM]; None unless all four
    are known of every feed.

    (Na/0.023 + K/0.039) − (Cl/0.0355 + S/0.016) with g/kg DM gives meq/kg DM. The printed form
    takes per cent and gives meq in 100 g, a tenth of that: US feed-trade text on dry cows, 2020
    (a).
    """
    total = dm = 0.0
    for feed, kg in parts:
        figures = [feed.value(name) for name in _IONS]
        if any(figure is None for figure in figures):
            return None
        total += kg * sum(
            (figure or 0.0) / size for figure, size in zip(figures, _IONS.values(), strict=True)
        )
        dm += kg
    return total / dm if dm > 0.0 else None


_IONS = MappingProxyType(
    {SODIUM: 0.023, POTASSIUM: 0.039, "cl_g_per_kg_dm": -0.0355, "s_g_per_kg_dm": -0.016}
)
"""Milliequivalents of the ions: grams per milliequivalent, anions negative [g/meq]."""
