"""Energy equations of cattle, AFRC (1993): one published equation a function, all net energy unless
said.

Symbols: W live weight [kg]; dW live-weight change [kg/d]; t days from conception [d]; L level of
feeding [-]. "Inventory method" is the UK agricultural greenhouse-gas inventory's documentation of
its cattle equations, which states AFRC (1993) as origin. Status: (a) checked in a text that quotes
the publication, (b) from memory of it, (c) common practice without a source.
"""

from __future__ import annotations

from math import exp, pow
from types import MappingProxyType

from rationlp.farm.animals import GESTATION_OF_COWS
from rationlp.needs.energy import KC, KT, LACTATING_GAIN_FACTOR
from rationlp.needs.terms import Activity, Linear, Power
from rationlp.records import dataclass

INVENTORY = "AFRC (1993), as given in the UK agricultural greenhouse-gas inventory method"
REMEMBERED = "AFRC (1993), from memory of the publication"

GESTATION_DAYS = GESTATION_OF_COWS

PREGNANCY_COUNTS_FROM_DAY = 150.0
"""Earlier in pregnancy the unborn calf needs less than 3.5 MJ ME/d and is left out; own sum [d]."""

COW_CHANGE_MJ_PER_KG = 19.0
"""Net energy of a kg of a cow's live-weight change [MJ/kg]: AFRC (1993); status (b)."""

FASTING = Power(0.53, 0.67, 1.08)
MILK_BY_FAT_PROTEIN_LACTOSE = Linear((0.0384, 0.0223, 0.0199), -0.108)
MILK_BY_FAT_PROTEIN = Linear((0.0376, 0.0209), 0.948)
CALF_EXPONENT, CALF_LESS, CALF_DIVISOR = 0.73, 28.89, 2.064
"""Figures of the equations below, which name their sources; the printed steps show the same."""

WEIGHT_RANGE_KG = (75.0, 650.0)
GAIN_MOST_KG_PER_DAY = 1.5
MILK_FAT_RANGE_G_PER_KG = (25.0, 60.0)
MILK_PROTEIN_RANGE_G_PER_KG = (25.0, 42.0)


ACTIVITY = MappingProxyType(
    {
        "milking": Activity(
            0.0095, "500 m walked, 14 h standing, 9 changes of position", "b", REMEMBERED
        ),
        "housed": Activity(
            0.0071, "200 m walked, 12 h standing, 6 changes of position", "a", INVENTORY
        ),
        "suckler_milking": Activity(
            0.0095, "as a dairy cow; the choice is not verified", "b", REMEMBERED
        ),
    }
)
"""Activity allowances. Others, with less for walking: 0.00917 females, 0.00696 males."""


@dataclass(frozen=True)
class GrowthCorrection:
    """C2, on the energy of a kg of gain, and C6, on its protein [-], by maturity group and sex."""

    energy: float
    protein: float
    status: str
    source: str


GROWTH_CORRECTION = MappingProxyType(
    {
        ("early", "bull"): GrowthCorrection(1.00, 1.00, "b", REMEMBERED),
        ("early", "steer"): GrowthCorrection(1.15, 0.90, "b", REMEMBERED),
        ("early", "heifer"): GrowthCorrection(1.30, 0.80, "b", REMEMBERED),
        ("medium", "bull"): GrowthCorrection(0.85, 1.10, "a", INVENTORY),
        ("medium", "steer"): GrowthCorrection(1.00, 1.00, "a", INVENTORY),
        ("medium", "heifer"): GrowthCorrection(1.15, 0.90, "a", INVENTORY),
        ("late", "bull"): GrowthCorrection(0.70, 1.20, "a", INVENTORY),
        ("late", "steer"): GrowthCorrection(0.85, 1.10, "a", INVENTORY),
        ("late", "heifer"): GrowthCorrection(1.00, 1.00, "a", INVENTORY),
    }
)
"""C2 and C6 by maturity group and sex; they move in opposite directions. Groups: early (small
native breeds), medium (Hereford and such crosses), late (Charolais, Limousin, Simmental, Holstein
and Friesian).
"""

GAIN_FACTOR = MappingProxyType({"bull": 1.15, "steer": 1.15, "heifer": 1.10})
"""C4 [-] by sex: AFRC (1993), from memory; status (b), steers (b)."""

BULL_FASTING_FACTOR = 1.15
"""C1 of bulls [-], 1.00 for all others: AFRC (1993), inventory method; status (a)."""


def fasting_metabolism(live_weight_kg: float, bull_factor: float = 1.0) -> float:
    """F [MJ/d] = C1 · 0.53 (W/1.08)^0.67. AFRC (1993), inventory method; status (a).

    Range: housed, in the zone of thermal comfort. Measured maintenance of today's cattle is 8 % and
    more above it.
    """
    return FASTING.of(live_weight_kg, times=bull_factor)


def activity(live_weight_kg: float, mj_per_kg: float) -> float:
    """A [MJ/d] = allowance · W; allowances and their status in `ACTIVITY`. AFRC (1993)."""
    return mj_per_kg * live_weight_kg


def milk_energy_fat_protein_lactose(fat: float, protein: float, lactose: float) -> float:
    """EVl [MJ/kg milk] = 0.0384 f + 0.0223 p + 0.0199 la − 0.108; all g/kg, p crude protein.

    AFRC (1993) after Tyrrell and Reid; status (b), from memory. Range f 25–60, p 25–42.
    """
    return MILK_BY_FAT_PROTEIN_LACTOSE.of(fat, protein, lactose)


def milk_energy_fat_protein(fat: float, protein: float) -> float:
    """EVl [MJ/kg milk] = 0.0376 f + 0.0209 p + 0.948; g/kg, p crude protein.

    AFRC (1993), inventory method; status (a). Range f 25–60, p 25–42.
    """
    return MILK_BY_FAT_PROTEIN.of(fat, protein)


def cow_change_over_kl(change_kg_per_day: float) -> float:
    """Net energy [MJ/d] that a milking cow's live-weight change adds to what is met with efficiency
    kl.

    Gain 19 dW/0.95 (efficiency 0.95 kl); loss −19·0.84·loss (reserves into milk, kt 0.84). AFRC
    (1993), from memory; status (b).
    """
    if change_kg_per_day > 0.0:
        return COW_CHANGE_MJ_PER_KG * change_kg_per_day / LACTATING_GAIN_FACTOR
    return COW_CHANGE_MJ_PER_KG * KT * change_kg_per_day


RESERVE_MJ_PER_KG = 25.2
"""ME-equivalent of a kg lost in milk, 19·0.84/kl at 11.5 MJ/kg DM [MJ/kg]: AFRC (1993); status (a).
Measured in weeks 1–10: 31 (cows) and 49 (heifers), so a loss is planned in MJ and printed in kg at
31.
"""

RESERVE_MJ_PER_KG_SEEN = 31.0
RESERVE_MP_G_PER_MJ = 4.4
"""MP from a MJ from the back [g/MJ]: 138 g over the 31 MJ measured a kg; own sum of (a) figures."""


def reserve_over_kl(reserve_mj: float) -> float:
    """Net energy at kl [MJ/d] that energy from the back [MJ ME-equivalent/d] takes off.

    19·0.84·e/25.2: AFRC (1993); status (a).
    """
    return COW_CHANGE_MJ_PER_KG * KT * reserve_mj / RESERVE_MJ_PER_KG


def dry_cow_gain_over_kf(change_kg_per_day: float) -> float:
    """Net energy [MJ/d] of a dry cow's gain, met with kf: 19 dW; 0 for a loss. AFRC (1993); (b)."""
    return max(0.0, COW_CHANGE_MJ_PER_KG * change_kg_per_day)


def dry_cow_loss_over_km(change_kg_per_day: float) -> float:
    """Net energy [MJ/d, negative] that a dry cow's loss puts in place of maintenance:
    −19·0.84·loss; 0 for a gain.

    AFRC (1993), from memory; status (b), weak.
    """
    return min(0.0, COW_CHANGE_MJ_PER_KG * KT * change_kg_per_day)


def gain_energy_value(
    live_weight_kg: float, gain_kg_per_day: float, energy_correction: float
) -> float:
    """EVg [MJ/kg gain] = C2 (4.1 + 0.0332 W − 0.000009 W²)/(1 − 0.1475 dW).

    AFRC (1993), inventory method; status (a). Range W 75–650, dW up to 1.5 and not negative (the
    factor C3 of the publication, 0 at or below maintenance, is 1 throughout that range).
    """
    w = live_weight_kg
    return (
        energy_correction * (4.1 + 0.0332 * w - 0.000009 * w * w) / (1.0 - 0.1475 * gain_kg_per_day)
    )


def gain_energy(gain_kg_per_day: float, energy_value: float, gain_factor: float) -> float:
    """Eg [MJ/d] = C4 · dW · EVg. AFRC (1993), from memory; status (b), C4 of steers (b)."""
    return gain_factor * gain_kg_per_day * energy_value


def conceptus_energy(days_pregnant: float) -> float:
    """Et [MJ], energy of the gravid uterus with a 40 kg calf: log10 Et = 151.665 − 151.64
    e^(−0.0000576 t).

    AFRC (1993), from memory; status (b). Range t 0–289 days from conception.
    """
    return pow(10.0, 151.665 - 151.64 * exp(-0.0000576 * days_pregnant))


def pregnancy_energy(calf_weight_kg: float, days_pregnant: float) -> float:
    """Ec [MJ/d] = 0.025 Wc · Et · 0.0201 e^(−0.0000576 t), the daily energy laid down for the calf.

    AFRC (1993). 0.025 status (a), inventory method; 0.0201 = ln 10 · 151.64 · 0.0000576, status
    (b). Wc scales from the 40 kg calf once.
    """
    decay = exp(-0.0000576 * days_pregnant)
    return 0.025 * calf_weight_kg * conceptus_energy(days_pregnant) * 0.0201 * decay


def pregnancy_me(calf_weight_kg: float, days_pregnant: float) -> float:
    """Mc [MJ ME/d] = Ec/0.133. AFRC (1993), inventory method; status (a). Does not move with q."""
    return pregnancy_energy(calf_weight_kg, days_pregnant) / KC


def calf_birth_weight(mature_weight_kg: float) -> float:
    """Wc [kg] = (Wm^0.73 − 28.89)/2.064, Wm of the dam [kg]. ARC, inventory method; status (a)."""
    return (pow(mature_weight_kg, CALF_EXPONENT) - CALF_LESS) / CALF_DIVISOR
