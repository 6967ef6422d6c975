"""What a dairy cow needs by NRC (2001): energy and protein, in milk and dry. Sources and status as
in nrc.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import pow

from rationlp.farm.feed import Feed
from rationlp.farm.group import Group
from rationlp.farm.traits import traits
from rationlp.needs.cattle import GESTATION_DAYS
from rationlp.needs.nrc import EATEN_MP_G_PER_KG, MCP_PER_MP, MJ_PER_MCAL, NrcSupply, nrc_supply
from rationlp.needs.produced import milk_of
from rationlp.records import dataclass

CALF_SHARE, SHOWS_FROM_DAY = 0.06275, 190.0
LACTOSE_PERCENT = 4.8
TRUE_PROTEIN = 0.95
MILK_EFFICIENCY, MP_EFFICIENCY = 0.67, 0.67
RESERVE_MCAL, SPARED = 5.7, 0.82
TO_RESERVE_MILKING, TO_RESERVE_DRY = 0.64 / 0.75, 0.64 / 0.60
RESERVE_PROTEIN_G = 138.0


@dataclass(frozen=True)
class CowNeeds:
    """nel_mcal: net energy [Mcal/d]. mp_g: protein that does not go with eating [g/d]."""

    nel_mcal: float
    mp_g: float


def conceptus(mature_kg: float, day: float) -> float:
    """Weight of calf and womb [kg] on a day in calf: (18 + 0.665 (t − 190)) CBW/45, CBW = 0.06275
    mature weight; 0 before day 190.
    """
    if day <= SHOWS_FROM_DAY:
        return 0.0
    return (18.0 + 0.665 * (day - SHOWS_FROM_DAY)) * CALF_SHARE * mature_kg / 45.0


def milk_energy(fat_percent: float, protein_percent: float) -> float:
    """NEL of a kg of milk [Mcal] = 0.0929 fat + 0.0547 crude protein + 0.0395 lactose, lactose 4.8
    %.
    """
    return 0.0929 * fat_percent + 0.0547 * protein_percent + 0.0395 * LACTOSE_PERCENT


def pregnancy_energy(mature_kg: float, day: float) -> float:
    """NEL [Mcal/d] = (0.00318 t − 0.0352) CBW/45/0.14 × 0.64, from day 190."""
    if day <= SHOWS_FROM_DAY:
        return 0.0
    return (0.00318 * day - 0.0352) * CALF_SHARE * mature_kg / 45.0 / 0.14 * 0.64


def pregnancy_protein(mature_kg: float, day: float) -> float:
    """MP [g/d] = (0.69 t − 69.2) CBW/45/0.33, from day 190."""
    if day <= SHOWS_FROM_DAY:
        return 0.0
    return (0.69 * day - 69.2) * CALF_SHARE * mature_kg / 45.0 / 0.33


def maintenance(weight_kg: float) -> float:
    """NEL [Mcal/d] = 0.08 W^0.75, W without conceptus."""
    return 0.08 * pow(weight_kg, 0.75)


def cow_needs(group: Group) -> CowNeeds:
    """What a cow needs that is housed and grown, by her facts."""
    w, milk = group.number("live_weight_kg"), milk_of(group) or 0.0
    dry = traits(group.animal_class).dry
    day = group.number("days_pregnant", 0.0)
    if dry:
        day = GESTATION_DAYS - group.number("days_to_calving")
    weight = w - conceptus(w, day)
    fat, protein = (
        group.number(name, usual) / 10.0
        for name, usual in (("milk_fat_g_per_kg", 40.0), ("milk_protein_g_per_kg", 33.0))
    )
    change = group.number("live_weight_change_kg_per_day", 0.0)
    each = SPARED
    if change > 0.0:
        each = TO_RESERVE_DRY if dry else TO_RESERVE_MILKING
    nel = maintenance(weight) + milk * milk_energy(fat, protein)
    nel += pregnancy_energy(w, day) + each * RESERVE_MCAL * change
    mp = 0.3 * pow(weight, 0.6) + 4.1 * pow(weight, 0.5) + pregnancy_protein(w, day)
    mp += milk * 10.0 * protein * TRUE_PROTEIN / MILK_EFFICIENCY
    mp += RESERVE_PROTEIN_G * max(change, 0.0) / MP_EFFICIENCY
    return CowNeeds(nel, mp)


def mp_of_eating(supply: NrcSupply) -> float:
    """MP that goes with eating [g/d] = 30 D − 0.5 (MPb/0.8 − MPb) + 4.72 D/0.67, MPb = 0.64 MCP."""
    bacterial = MCP_PER_MP * supply.mcp_g
    eaten = (30.0 + EATEN_MP_G_PER_KG / MP_EFFICIENCY) * supply.dm_kg
    return eaten - 0.5 * (bacterial / 0.8 - bacterial)


def judged_by_nrc(
    group: Group, parts: Sequence[tuple[Feed, float]]
) -> tuple[float, float, float, float] | None:
    """(net energy brought, asked for [MJ], MP brought, asked for [g]) a cow a day; None for other
    classes, for a cow that milks off her back, for pens of several weeks of calving, and where
    something is unknown of a feed.
    """
    if not traits(group.animal_class).by_nrc or group.cohorts or group.reserve_mj > 0.0:
        return None
    supply = nrc_supply(parts, group.number("live_weight_kg"))
    if supply is None:
        return None
    needs = cow_needs(group)
    energy = (MJ_PER_MCAL * supply.nel_mcal, MJ_PER_MCAL * needs.nel_mcal)
    return (*energy, supply.mp_g, needs.mp_g + mp_of_eating(supply))
