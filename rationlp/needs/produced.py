"""What a group produces: milk and gain as its facts have them, and their nitrogen and phosphorus.

Contents: milk of cows by the group's own crude protein over 6.38 (the definition of the factor);
milk of ewes 48.9 g true protein a kg (AFRC 1993, from memory; b). Gain 26 g N/kg in cattle (25–27,
general mass-balance figures, from memory; b), 23.5 in sheep (22–25, common practice; c). Phosphorus
0.9 g/kg milk, 7 g/kg gain in cattle and 6 in sheep (general mass-balance figures, from memory; b).
"""

from __future__ import annotations

from rationlp.farm.group import Group
from rationlp.farm.traits import traits
from rationlp.needs import sheep
from rationlp.needs.cattle_classes import SUCKLER_MILK_PROTEIN_G_PER_KG

N_PER_CP = 1.0 / 6.25
N_PER_MILK_PROTEIN = 1.0 / 6.38
EWE_MILK_PROTEIN_G_PER_KG = 48.9
GAIN_N_CATTLE_G_PER_KG, GAIN_N_SHEEP_G_PER_KG = 26.0, 23.5
MILK_P_G_PER_KG = 0.9
GAIN_P_CATTLE_G_PER_KG, GAIN_P_SHEEP_G_PER_KG = 7.0, 6.0


def is_sheep(group: Group) -> bool:
    """One of the classes of sheep."""
    return traits(group.animal_class).sheep


def milk_of(group: Group) -> float | None:
    """Milk that a group is to give [kg a head a day], the planning figure of a ewe included; None
    for one that gives none.
    """
    given = group.facts.get("milk_kg_per_day")
    if given is not None:
        return float(given) or None
    if group.animal_class != "ewe_milking":
        return None
    return sheep.usual_milk(group)


def gain_of(group: Group) -> float:
    """Growth, or else the change of weight, that a group is to make [kg a head a day]; loss < 0."""
    return float(
        group.facts.get("gain_kg_per_day", group.facts.get("live_weight_change_kg_per_day", 0.0))
    )


def milk_nitrogen(group: Group, milk_kg: float) -> float:
    """Nitrogen in so much milk [g]."""
    if is_sheep(group):
        return milk_kg * EWE_MILK_PROTEIN_G_PER_KG * N_PER_MILK_PROTEIN
    crude = float(group.facts.get("milk_protein_g_per_kg", SUCKLER_MILK_PROTEIN_G_PER_KG))
    return milk_kg * crude * N_PER_MILK_PROTEIN


def gain_nitrogen(group: Group, gain_kg: float) -> float:
    """Nitrogen in so much gain [g]; negative for a loss."""
    return gain_kg * (GAIN_N_SHEEP_G_PER_KG if is_sheep(group) else GAIN_N_CATTLE_G_PER_KG)


def gain_phosphorus(group: Group, gain_kg: float) -> float:
    """Phosphorus in so much gain [g]; negative for a loss."""
    return gain_kg * (GAIN_P_SHEEP_G_PER_KG if is_sheep(group) else GAIN_P_CATTLE_G_PER_KG)
