"""What each class of dairy cattle needs by NRC (2001), put together from its equations. The
standard has no margins, and none is added.

Sources and status as in nrc.py. Milk, days in calf, change of weight and energy from the back are
the farm's own or ours, as under AFRC (1993). Calcium and phosphorus are those of this standard
under every standard (minerals.py).
"""

from __future__ import annotations

from collections.abc import Callable
from math import pow
from types import MappingProxyType

from rationlp.farm.farm import Margins
from rationlp.farm.group import Group
from rationlp.farm.traits import classes_with, traits
from rationlp.needs.cattle import GESTATION_DAYS
from rationlp.needs.dairy_margins import near_calving
from rationlp.needs.intake import LAST_DAY_PREGNANT
from rationlp.needs.nrc import MJ_PER_MCAL, MP_EFFICIENCY, PREGNANCY_EFFICIENCY, SHRUNK
from rationlp.needs.nrc_energy import FORM, NrcEnergy
from rationlp.needs.objects import GROWTH_NE, MILK_NE, PREGNANCY_MP, Requirement, Step
from rationlp.needs.reserves import kg_lost, reserve_ceiling
from rationlp.records import dataclass

SOURCE = "NRC (2001) Nutrient Requirements of Dairy Cattle, from memory"
MJ, G = "MJ/d", "g/d"
CALF_SHARE, SHOWS_FROM_DAY = 0.06275, 190.0
LACTOSE_PERCENT = 4.8
TRUE_PROTEIN = 0.95
RESERVE_MCAL, SPARED = 5.7, 0.82
TO_RESERVE_MILKING, TO_RESERVE_DRY = 0.64 / 0.75, 0.64 / 0.60
RESERVE_PROTEIN_G = 138.0
"""Protein in a kg of reserves [g]: laid down at 0.67; of a kg lost as much is spared of MP, as
under AFRC (1993), for NRC (2001) leaves it out (c).
"""
FROM_BODY_G_PER_MJ = 4.0
"""MP that a fresh cow may be short of at a price, for each MJ that she may take from her back [g]:
220 g in week 1, 30 in week 8. Published losses of body protein around calving come to 20 kg in some
seven weeks (from memory, b); the figure itself is chosen (c).
"""
GROWN_AT_KG = 478.0
"""Shrunk weight at which an animal of the growth equations is grown [kg]."""
MATURE_KG = MappingProxyType({"early": 550.0, "medium": 620.0, "late": 680.0})
"""Mature weight of a female by maturity where the farm gives none [kg] (c)."""
MATURE_SHARE_AT_FIRST_CALVING = 0.82
"""Weight at first calving over mature weight [-]."""
USUAL_SCORE = 3.0
USUAL_FAT_G, USUAL_PROTEIN_G = 40.0, 33.0


def conceptus(mature_kg: float, day: float) -> float:
    """Weight of calf and womb [kg] on a day in calf: (18 + 0.665 (t − 190)) CBW/45, CBW = 0.06275
    mature weight; 0 before day 190.
    """
    if day <= SHOWS_FROM_DAY:
        return 0.0
    return (18.0 + 0.665 * (day - SHOWS_FROM_DAY)) * CALF_SHARE * mature_kg / 45.0


def milk_energy(
    fat_percent: float, protein_percent: float, lactose_percent: float = LACTOSE_PERCENT
) -> float:
    """NEL of a kg of milk [Mcal] = 0.0929 fat + 0.0547 crude protein + 0.0395 lactose."""
    return 0.0929 * fat_percent + 0.0547 * protein_percent + 0.0395 * lactose_percent


def pregnancy_energy(mature_kg: float, day: float) -> float:
    """NEL [Mcal/d] = (0.00318 t − 0.0352) CBW/45/0.14 × 0.64, from day 190."""
    if day <= SHOWS_FROM_DAY:
        return 0.0
    return (0.00318 * day - 0.0352) * CALF_SHARE * mature_kg / 45.0 / 0.14 * 0.64


def pregnancy_protein(mature_kg: float, day: float) -> float:
    """MP [g/d] = (0.69 t − 69.2) CBW/45/0.33, from day 190."""
    if day <= SHOWS_FROM_DAY:
        return 0.0
    laid_down = (0.69 * day - 69.2) * CALF_SHARE * mature_kg / 45.0
    return laid_down / PREGNANCY_EFFICIENCY


def maintenance(weight_kg: float) -> float:
    """NEL of a cow [Mcal/d] = 0.08 W^0.75, W without conceptus."""
    return 0.08 * pow(weight_kg, 0.75)


def heifer_maintenance(weight_kg: float, score: float = USUAL_SCORE) -> float:
    """NEm of a growing animal [Mcal/d] = 0.086 (0.8 + 0.05 (S9 − 1)) W^0.75, W without conceptus;
    S9 = 2 (score − 1) + 1.
    """
    nine = 2.0 * (score - 1.0) + 1.0
    return 0.086 * (0.8 + 0.05 * (nine - 1.0)) * pow(weight_kg, 0.75)


def equivalent_weight(weight_kg: float, carried_kg: float, mature_kg: float) -> float:
    """EQSBW [kg] = (0.96 W − conceptus) 478/(0.96 mature weight)."""
    return (SHRUNK * weight_kg - carried_kg) * GROWN_AT_KG / (SHRUNK * mature_kg)


def growth_energy(equivalent_kg: float, gain_kg: float) -> float:
    """RE [Mcal/d] = 0.0635 (0.891 EQSBW)^0.75 (0.956 gain)^1.097."""
    if gain_kg <= 0.0:
        return 0.0
    return 0.0635 * pow(0.891 * equivalent_kg, 0.75) * pow(0.956 * gain_kg, 1.097)


def growth_efficiency(equivalent_kg: float) -> float:
    """Of MP for growth [-] = (83.4 − 0.114 EQSBW)/100, 0.289 above 478 kg."""
    if equivalent_kg > GROWN_AT_KG:
        return 0.289
    return (83.4 - 0.114 * equivalent_kg) / 100.0


def growth_protein(equivalent_kg: float, gain_kg: float) -> float:
    """MP [g/d] = gain (268 − 29.4 RE/gain)/efficiency."""
    if gain_kg <= 0.0:
        return 0.0
    laid_down = 268.0 * gain_kg - 29.4 * growth_energy(equivalent_kg, gain_kg)
    return max(laid_down, 0.0) / growth_efficiency(equivalent_kg)


def maintenance_protein(weight_kg: float) -> float:
    """MP that does not go with eating [g/d] = 0.3 W^0.6 + 4.1 W^0.5, W without conceptus."""
    return 0.3 * pow(weight_kg, 0.6) + 4.1 * pow(weight_kg, 0.5)


def _step(name: str, value: float, unit: str, equation: str, key: str = "") -> Step:
    return Step(name, value, unit, equation, SOURCE, "b", key)


@dataclass(frozen=True)
class _Animal:
    """weight: without conceptus [kg]; mature: mature weight [kg]; day: in calf; gain [kg/d]."""

    weight: float
    live_weight: float
    carried: float
    mature: float
    day: float
    gain: float
    change: float


def _animal(group: Group) -> _Animal:
    w, its = group.number("live_weight_kg"), traits(group.animal_class)
    day = group.number("days_pregnant", 0.0)
    if its.dry:
        day = min(GESTATION_DAYS - group.number("days_to_calving"), LAST_DAY_PREGNANT)
    usual = w
    if its.growing:
        usual = max(w, MATURE_KG[str(group.facts.get("maturity", "late"))])
    elif group.animal_class == "first_calver_milking":
        usual = w / MATURE_SHARE_AT_FIRST_CALVING
    mature = group.number("mature_weight_kg", usual)
    carried = conceptus(mature, day)
    gain = group.number("gain_kg_per_day", 0.0)
    change = group.number("live_weight_change_kg_per_day", 0.0)
    if group.reserve_mj > 0.0:
        # She does not grow while she milks off her back.
        gain, change = 0.0, min(change, 0.0) - kg_lost(group.reserve_mj)
    if group.animal_class == "in_calf_heifer" and near_calving(group):
        gain = 0.0
    return _Animal(w - carried, w, carried, mature, day, gain, change)


def _calf(animal: _Animal) -> tuple[Step, ...]:
    """Energy and protein of the calf; none before day 190."""
    if animal.day <= SHOWS_FROM_DAY:
        return ()
    born = CALF_SHARE * animal.mature
    words = f"day {animal.day:g}, calf {CALF_SHARE:g} × {animal.mature:.0f} = {born:.1f} kg"
    ne = MJ_PER_MCAL * pregnancy_energy(animal.mature, animal.day)
    mp = pregnancy_protein(animal.mature, animal.day)
    return (
        _step("pregnancy, net energy", ne, MJ, words),
        _step("pregnancy, MP", mp, G, words, PREGNANCY_MP),
    )


def _change(animal: _Animal, dry: bool) -> tuple[Step, ...]:
    """A change of condition."""
    if not animal.change:
        return ()
    each = SPARED
    if animal.change > 0.0:
        each = TO_RESERVE_DRY if dry else TO_RESERVE_MILKING
    ne = MJ_PER_MCAL * each * RESERVE_MCAL * animal.change
    words = f"{each:.3f} × {RESERVE_MCAL:g} Mcal × {animal.change:.3f} kg"
    equation, mp = f"{RESERVE_PROTEIN_G:g} × {animal.change:.3f}", RESERVE_PROTEIN_G * animal.change
    if animal.change > 0.0:
        equation, mp = f"{equation}/{MP_EFFICIENCY:g}", mp / MP_EFFICIENCY
    return (
        _step("live-weight change, net energy", ne, MJ, words),
        Step("live-weight change, MP", mp, G, equation, "own choice, as AFRC (1993)", "c"),
    )


def _growth(animal: _Animal, milking: bool) -> tuple[Step, ...]:
    """Growth of a heifer, or of a cow in her first lactation, whose gain is met as reserves are."""
    if animal.gain <= 0.0:
        return ()
    equivalent = equivalent_weight(animal.live_weight, animal.carried, animal.mature)
    re = growth_energy(equivalent, animal.gain)
    factor = TO_RESERVE_MILKING if milking else 1.0
    words = f"RE {re:.3f} Mcal of {animal.gain:g} kg at an equivalent weight of {equivalent:.1f} kg"
    mp = growth_protein(equivalent, animal.gain)
    each = growth_efficiency(equivalent)
    return (
        _step("growth, net energy", MJ_PER_MCAL * re * factor, MJ, words, GROWTH_NE),
        _step("growth, MP", mp, G, f"{animal.gain:g} × (268 − 29.4 × RE/gain)/{each:.4f}"),
    )


def _milk(group: Group) -> tuple[Step, ...]:
    kg = group.optional("milk_kg_per_day")
    if not kg:
        return ()
    fat = group.number("milk_fat_g_per_kg", USUAL_FAT_G) / 10.0
    crude = group.number("milk_protein_g_per_kg", USUAL_PROTEIN_G) / 10.0
    lactose = group.number("milk_lactose_g_per_kg", 10.0 * LACTOSE_PERCENT) / 10.0
    each = milk_energy(fat, crude, lactose)
    mp = 10.0 * kg * crude * TRUE_PROTEIN / MP_EFFICIENCY
    of = f"{kg:g} × ({each:.4f} Mcal: {fat:g} % fat, {crude:g} % protein, {lactose:g} % lactose)"
    grams = f"{kg:g} × {TRUE_PROTEIN:g} × {10.0 * crude:g}/{MP_EFFICIENCY:g}"
    return (
        _step("milk, net energy", MJ_PER_MCAL * kg * each, MJ, of, MILK_NE),
        _step("milk, MP", mp, G, grams),
    )


def _summed(steps: tuple[Step, ...], unit: str) -> float:
    return sum(step.value for step in steps if step.unit == unit)


def _put_together(group: Group, margins: Margins) -> Requirement:
    """The requirement of a cow in milk, a dry cow or a heifer that is reared."""
    its, animal = traits(group.animal_class), _animal(group)
    rears = its.growing
    if rears:
        score = group.number("condition_score", USUAL_SCORE)
        each = heifer_maintenance(animal.weight, score)
        words = f"0.086 × {animal.weight:.1f}^0.75 at a condition of {score:g}, without the calf"
    else:
        each = maintenance(animal.weight)
        words = f"0.08 × {animal.weight:.1f}^0.75 Mcal, without the calf"
    em = MJ_PER_MCAL * each * group.maint_factor
    keep = _step("maintenance, net energy", em, MJ, f"({words}) × {group.maint_factor:g}")
    calf, milk = _calf(animal), _milk(group)
    change, growth = _change(animal, its.dry), _growth(animal, milking=not rears)
    mp = maintenance_protein(animal.weight)
    own = _step("maintenance, MP", mp, G, f"0.3 × {animal.weight:.1f}^0.6 + 4.1 × W^0.5")
    energy = NrcEnergy(
        FORM,
        em=em,
        over_kl=_summed((*milk, *change), MJ) + (0.0 if rears else _summed(growth, MJ)),
        fixed_me=_summed(calf, MJ),
        eg=_summed(growth, MJ) if rears else 0.0,
        feeding_level_applies=False,
        live_weight_kg=group.number("live_weight_kg"),
        rears=rears,
    )
    steps = (keep, *milk, *change, *growth, own, *calf)
    last = FROM_BODY_G_PER_MJ * reserve_ceiling(group)
    return Requirement(energy, _summed(steps, G) - last, steps, priced_mp_g=last)


NRC_REQUIREMENTS: MappingProxyType[str, Callable[[Group, Margins], Requirement]] = MappingProxyType(
    dict.fromkeys(classes_with("by_nrc"), _put_together)
)
"""The function of each class that NRC (2001) is offered for: dairy cattle. Of calves and growing
cattle, heifers alone.
"""


def offered(group: Group) -> bool:
    """Whether NRC (2001) holds for a group: dairy cows, and heifers that are reared."""
    its = traits(group.animal_class)
    return its.by_nrc and (its.breeding or group.facts.get("sex") == "heifer")
