"""The requirement of each class of beef cattle and sheep by CSIRO (2007), put together from its
equations. The standard has no margins, and none is added.

What it leaves to the farm, and the cautions, stay as under AFRC (1993): litter and calf weights,
milk by planning figures, season of a ewe, colostrum, no credit for a loss before lambing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from types import MappingProxyType

from rationlp.farm.farm import Margins
from rationlp.farm.group import Group
from rationlp.farm.traits import traits
from rationlp.needs import cattle, csiro, sheep
from rationlp.needs.cattle_classes import REQUIREMENTS as AFRC_CATTLE
from rationlp.needs.csiro import CATTLE, SHEEP, CsiroEnergy, Species
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.needs.ewe_year import season
from rationlp.needs.objects import GROWTH_NE, MILK_NE, PREGNANCY_MP, YOUNG_WEIGHT, Requirement, Step
from rationlp.needs.sheep_classes import SHEEP_REQUIREMENTS as AFRC_SHEEP
from rationlp.records import dataclass

AGE_DAYS = MappingProxyType(
    {
        "calf": 150.0,
        "growing_cattle": 365.0,
        "finishing_cattle": 540.0,
        "lamb": 200.0,
        "ewe_lamb": 250.0,
        "breeding_bull": 900.0,
    }
)
"""Age where no group says its own [d]; (c). Grown animals have the least fasting heat."""
GROWN_DAYS = 2200.0
PAST_A_YEAR_DAYS = 365.0

WOOL_KG_PER_DAY = 0.00575
"""Clean wool of a grown sheep [kg/d]: 3 kg of greasy wool a year (c)."""
LAMB_WOOL_KG_PER_DAY = 0.004
WALKED_KM = MappingProxyType({"housed": 0.0, "lowland": 1.0, "hill": 3.0})
"""Walked by sheep a day [km], by where they are kept: common practice, no source (c)."""

COW_MILK_MJ, COW_MILK_PROTEIN_G = 3.1, 32.0
EWE_MILK_MJ, EWE_MILK_PROTEIN_G = 4.7, 45.0
USUAL_Q = 10.5
"""Energy density at which the protein of gain takes its level of feeding [MJ/kg DM] (c): a whole
level more is worth 2 g of protein a kg gained."""

FLUSHED, MAINTAINED = "maintenance while flushed, net energy", "maintenance, net energy"
"""Names of the steps of ours from which the allowance of a flushed ewe is taken."""

STATUS = "b"
MJ, G = "MJ/d", "g/d"


@dataclass(frozen=True)
class Animal:
    """What the equations ask about an animal. z: size relative to the mature animal [-]."""

    species: Species
    live_weight_kg: float
    z: float
    age_days: float
    entire: bool


def _animal(group: Group) -> Animal:
    its = traits(group.animal_class)
    w, sex = group.number("live_weight_kg"), str(group.facts.get("sex", ""))
    if its.bull or group.animal_class == "ram":
        sex = "bull"
    if its.sheep:
        mature = group.number("mature_weight_kg", w if its.bull or not its.growing else 70.0)
        if group.animal_class == "lamb":
            mature *= csiro.OF_FEMALE.get(sex, 1.0)
    else:
        female = csiro.MATURE_KG.get(str(group.facts.get("maturity", "")), w)
        mature = group.number("mature_weight_kg", female * csiro.OF_FEMALE.get(sex, 1.0))
    age = AGE_DAYS.get(group.animal_class, GROWN_DAYS)
    entire = sex in ("bull", "male") and age >= PAST_A_YEAR_DAYS
    species = SHEEP if its.sheep else CATTLE
    return Animal(species, w, csiro.size(w, mature), age, entire)


def _step(name: str, value: float, unit: str, equation: str, key: str = "") -> Step:
    return Step(name, value, unit, equation, csiro.SOURCE, STATUS, key)


def _keep(group: Group, animal: Animal) -> Step:
    """E0 with the way walked, times the group's own factor [MJ/d]."""
    w = animal.live_weight_kg
    rest = csiro.fasting(animal.species, w, animal.age_days, animal.entire)
    walked = WALKED_KM.get(str(group.facts.get("kept", "housed")), 0.0) * csiro.KM_WALKED_MJ * w
    equation = f"{animal.species.keep:g} × {w:g}^0.75 at {animal.age_days:g} days"
    if walked:
        equation += f" + {walked:.2f} walking"
    value = (rest + walked) * group.maint_factor
    return _step("maintenance, net energy", value, MJ, f"({equation}) × {group.maint_factor:g}")


@dataclass(frozen=True)
class _Parts:
    """Net energy and protein that are added up; amounts a day [MJ, g]."""

    energy: CsiroEnergy
    protein_g: float
    steps: tuple[Step, ...]


def _young(group: Group, own: Requirement, parts: _Parts) -> _Parts:
    """The calf or litter, where ours has one: of its weight, on its day."""
    weights = [step for step in own.steps if step.key == YOUNG_WEIGHT]
    if not weights:
        return parts
    animal = _animal(group)
    if animal.species is SHEEP:
        to_birth = max(group.number("days_to_lambing"), sheep.LAST_STEP_DAYS)
        day = sheep.GESTATION_DAYS - to_birth + csiro.SHEEP_DAYS_LATER
    else:
        carried = cattle.GESTATION_DAYS - group.number("days_to_calving", 0.0)
        day = group.number("days_pregnant", carried)
    weight = weights[0].value
    ep = csiro.pregnancy_energy(animal.species, weight, day)
    protein = csiro.pregnancy_protein(animal.species, weight, day)
    said = f"{weight:.1f} kg at birth, day {day:g} of {animal.species.term_days:g}"
    mp = protein / csiro.DPLS_EFFICIENCY
    steps = (
        _step("pregnancy, net energy", ep, MJ, said),
        _step("pregnancy, MP", mp, G, f"{protein:.1f}/{csiro.DPLS_EFFICIENCY:g}", PREGNANCY_MP),
    )
    energy = replace(parts.energy, fixed_me=parts.energy.fixed_me + ep / csiro.KP)
    return _Parts(energy, parts.protein_g + protein, (*parts.steps, weights[0], *steps))


def _milk(group: Group, own: Requirement, parts: _Parts) -> _Parts:
    """Milk as ours has it, by kg; its energy and protein by the group's own composition."""
    found = [step for step in own.steps if step.key == MILK_NE]
    if not found:
        return parts
    usual_mj, usual_g = COW_MILK_MJ, COW_MILK_PROTEIN_G
    if _animal(group).species is SHEEP:
        usual_mj, usual_g = EWE_MILK_MJ, EWE_MILK_PROTEIN_G
    kg = group.optional("milk_kg_per_day")
    if kg is None:
        kg = sheep.usual_milk(group)
    mj = found[0].value if "milk_fat_g_per_kg" in group.facts else usual_mj * kg
    each = group.number("milk_protein_g_per_kg", usual_g)
    grams = each * kg
    steps = (
        _step("milk, net energy", mj, MJ, f"{kg:g} × {mj / kg if kg else usual_mj:.3f}", MILK_NE),
        _step("milk, protein", grams, G, f"{kg:g} × {each:g}"),
    )
    energy = replace(parts.energy, over_kl=parts.energy.over_kl + mj)
    return _Parts(energy, parts.protein_g + grams, (*parts.steps, *steps))


def _change(group: Group, kg: float, milking: bool, parts: _Parts) -> _Parts:
    """Growth, or a change of condition; a loss spares energy, and no protein."""
    if not kg:
        return parts
    z, empty, energy = _animal(group).z, kg / csiro.EMPTY_BODY, parts.energy
    plain, a_level = csiro.gain_energy(z, 0.0), csiro.gain_energy_a_level(z)
    if kg < 0.0:
        mj = empty * csiro.gain_energy(z, 2.0)
        if milking:
            energy = replace(energy, over_kl=energy.over_kl + csiro.LOSS_TO_MILK * mj)
        else:
            energy = replace(energy, over_km=energy.over_km + csiro.LOSS_TO_MAINTENANCE * mj)
        said = f"{empty:.3f} × {csiro.gain_energy(z, 2.0):.2f}"
        step = _step("loss of weight, net energy", mj, MJ, said, GROWTH_NE)
        return _Parts(energy, parts.protein_g, (*parts.steps, step))
    if milking:
        mj = empty * csiro.gain_energy(z, 2.0)
        energy = replace(energy, over_kl=energy.over_kl + mj / csiro.GAIN_IN_MILK)
    else:
        over = energy.over_kf + empty * plain
        energy = replace(energy, over_kf=over, eg=empty * a_level)
    level = energy.feeding_level(USUAL_Q / GE_MJ_PER_KG_DM)
    content = csiro.gain_energy(z, level)
    grams = empty * csiro.gain_protein(z, level)
    steps = (
        _step("growth, net energy", empty * content, MJ, f"{empty:.3f} × {content:.2f}", GROWTH_NE),
        _step("growth, protein", grams, G, f"{empty:.3f} × {csiro.gain_protein(z, level):.1f}"),
    )
    return _Parts(energy, parts.protein_g + grams, (*parts.steps, *steps))


def _wool_kg(group: Group) -> float:
    its = traits(group.animal_class)
    if not its.sheep:
        return 0.0
    if its.growing:
        return LAMB_WOOL_KG_PER_DAY
    return WOOL_KG_PER_DAY


def _kg_a_day(group: Group, own: Requirement) -> float:
    """Change of live weight that counts: as ours, which credits no loss shortly before lambing."""
    if "gain_kg_per_day" in group.facts:
        return group.number("gain_kg_per_day")
    asked, energy = group.number("live_weight_change_kg_per_day", 0.0), own.energy
    if not traits(group.animal_class).sheep or energy.over_kl:
        return asked
    if not energy.over_km and not energy.over_kf:
        return 0.0
    return season(group.facts, asked).change_kg_per_day


def _requirement(ours: Callable[[Group, Margins], Requirement]) -> Callable[..., Requirement]:
    def by_csiro(group: Group, margins: Margins) -> Requirement:
        return _put_together(group, ours(group, Margins(1.0, 1.0, 1.0)))

    return by_csiro


def _put_together(group: Group, own: Requirement) -> Requirement:
    """The requirement by CSIRO (2007) of an animal that ours describes: milk, young and season."""
    animal, keep, wool = _animal(group), _keep(group, _animal(group)), _wool_kg(group)
    ew = csiro.wool_energy(wool, animal.z)
    values, em = {step.name: step.value for step in own.steps}, keep.value
    if FLUSHED in values:
        em *= values[FLUSHED] / values[MAINTAINED]
    energy = CsiroEnergy("additive", em=em, over_kf=ew, feeding_level_applies=False)
    lost = csiro.endogenous_protein(animal.species, animal.live_weight_kg)
    first = _step("protein lost in urine and skin", lost, G, f"{animal.live_weight_kg:g} kg")
    parts = _young(group, own, _milk(group, own, _Parts(energy, lost, (keep, first))))
    parts = _change(group, _kg_a_day(group, own), parts.energy.over_kl > 0.0, parts)
    wool_mp, apart = 1000.0 * wool / csiro.WOOL_EFFICIENCY, own.wool_mp_g > 0.0
    mp = parts.protein_g / csiro.DPLS_EFFICIENCY + (0.0 if apart else wool_mp)
    shown = list(parts.steps)
    if wool:
        shown.append(_step("wool, net energy", ew, MJ, f"{1000 * wool:g} g clean wool"))
        shown.append(_step("wool, MP", wool_mp, G, f"{1000 * wool:g}/{csiro.WOOL_EFFICIENCY:g}"))
    return Requirement(
        parts.energy,
        mp,
        tuple(shown),
        own.remarks,
        colostrum_mp_g=own.colostrum_mp_g,
        wool_mp_g=wool_mp if apart else 0.0,
    )


CSIRO_REQUIREMENTS: MappingProxyType[str, Callable[[Group, Margins], Requirement]] = (
    MappingProxyType(
        {
            name: _requirement(ours)
            for name, ours in {**AFRC_CATTLE, **AFRC_SHEEP}.items()
            if traits(name).by_csiro
        }
    )
)
"""The function of each class that CSIRO (2007) is offered for: beef cattle and sheep."""
