"""Requirements of cattle by standards other than AFRC (1993): one published equation a function.

W live weight [kg]. Net energy where the standard is a net-energy system, metabolisable energy (ME)
where it gives ME. Status: (a) checked in a text that quotes the publication, (b) from memory of it,
(c) common practice without a source.
"""

from __future__ import annotations

from math import pow
from types import MappingProxyType

MJ_PER_MCAL = 4.184

MAFF_LOSS_MJ_PER_KG, MAFF_GAIN_MJ_PER_KG = 28.0, 34.0
"""ME of a kg of a milking cow's live-weight change [MJ/kg], MAFF (1975) allowances: 28 spared by a
kg lost, abstract on the energy value of live-weight change in the lactating cow, status (a); 34
asked for by a kg gained, from memory, status (b).
"""

IPCC_MAINTENANCE = MappingProxyType({"milking": 0.386, "other": 0.322, "bull": 0.370})
"""Cfi [MJ net energy/kg W^0.75], activity apart; IPCC (2006, 2019) volume 4 chapter 10; (a)."""

IPCC_SEX = MappingProxyType({"heifer": 0.8, "steer": 1.0, "bull": 1.2})
"""C [-] of the growth equation by sex; IPCC (2006, 2019) volume 4 chapter 10; status (a)."""

IPCC_PREGNANCY_SHARE = 0.10
"""Pregnancy as a share of the net energy of maintenance, mean of the whole year [-]; IPCC (2006,
2019); status (a). It is met with the efficiency of maintenance, unlike the energy laid down in the
calf (kc 0.133): the two are compared as ME.
"""

MILK_KL_OF_PRODUCTION_DATA = 0.655
MAINTENANCE_OF_PRODUCTION_DATA = 0.605
"""Middles of kl 0.64–0.67 and MEm 0.59–0.62 MJ/kg W^0.75, production data; abstract, 2003; (a)."""

ECM_MJ_PER_KG = 3.14
"""Net energy of a kg of energy-corrected milk [MJ/kg]; the usual Nordic definition; (b)."""

MEASURED_DRY_COW = 0.569
"""Maintenance ME of lean dry beef cows [MJ/kg W^0.75]; abstract on double-muscled cows; (a)."""

MEASURED_GROWING_BULL, MEASURED_GROWING_BULL_KM = 0.672, 0.65
"""Maintenance ME of a growing bull of 300 kg [MJ/kg W^0.75] and the efficiency at which it was
worked out [-]: review of beef cattle energy, Animals 2021; status (a). The product is net energy
and does not depend on the ration.
"""


def metabolic_weight(live_weight_kg: float) -> float:
    """W^0.75 [kg^0.75]."""
    return pow(live_weight_kg, 0.75)


def maff_maintenance_me(live_weight_kg: float) -> float:
    """Maintenance [MJ ME/d] = 8.3 + 0.091 W, margin included. MAFF (1975), published lecture notes;
    (a), the margin (b).

    Range 100–700 kg, from memory of the printed table; status (b).
    """
    return 8.3 + 0.091 * live_weight_kg


def maff_milk_me(milk_kg: float, energy_value: float) -> float:
    """Milk [MJ ME/d] = 1.694 EVl a kg (1.05/0.62, margin in); EVl [MJ/kg]. MAFF (1975); (b)."""
    return 1.694 * energy_value * milk_kg


def maff_change_me(change_kg_per_day: float) -> float:
    """Weight change in milk [MJ ME/d]: 34 a kg gained, −28 lost. MAFF (1975); −28 (a), 34 (b)."""
    each = MAFF_GAIN_MJ_PER_KG if change_kg_per_day > 0.0 else MAFF_LOSS_MJ_PER_KG
    return each * change_kg_per_day


def ipcc_maintenance(live_weight_kg: float, kind: str) -> float:
    """NEm [MJ/d] = Cfi W^0.75, housed; kind: `milking`, `other` or `bull`. IPCC (2006, 2019) volume
    4 chapter 10; (a).
    """
    return IPCC_MAINTENANCE[kind] * metabolic_weight(live_weight_kg)


def ipcc_milk(milk_kg: float, fat_g_per_kg: float) -> float:
    """NEl [MJ/d] = Y (1.47 + 0.40 fat %). IPCC (2006, 2019) volume 4 chapter 10; status (a)."""
    return milk_kg * (1.47 + 0.40 * fat_g_per_kg / 10.0)


def ipcc_pregnancy(live_weight_kg: float, kind: str) -> float:
    """NEp [MJ/d] = 0.10 NEm, mean of the year. IPCC (2006, 2019) volume 4 chapter 10; (a)."""
    return IPCC_PREGNANCY_SHARE * ipcc_maintenance(live_weight_kg, kind)


def ipcc_growth(
    live_weight_kg: float, mature_weight_kg: float, gain_kg_per_day: float, sex: str
) -> float:
    """NEg [MJ/d] = 22.02 (W/(C·MW))^0.75 dW^1.097, MW of a female [kg]. IPCC (2006, 2019); (a)."""
    relative = live_weight_kg / (IPCC_SEX[sex] * mature_weight_kg)
    return 22.02 * pow(relative, 0.75) * pow(gain_kg_per_day, 1.097)


def nrc_dairy_maintenance(live_weight_kg: float) -> float:
    """NEm [MJ/d] = 0.080 W^0.75 Mcal, cows dry or in milk. NRC (2001) dairy, from memory; (b)."""
    return 0.080 * MJ_PER_MCAL * metabolic_weight(live_weight_kg)


def nrc_dairy_milk(milk_kg: float, fat: float, protein: float, lactose: float) -> float:
    """NEL [MJ/d], per kg 0.0929 fat % + 0.0547 crude protein % + 0.0395 lactose % Mcal; milk in
    g/kg here. NRC (2001); (a).
    """
    return milk_kg * MJ_PER_MCAL * (0.0929 * fat + 0.0547 * protein + 0.0395 * lactose) / 10.0


def nrc_beef_maintenance(live_weight_kg: float, bull: bool = False) -> float:
    """NEm [MJ/d] = 0.077 (0.96 W)^0.75 Mcal, bulls 15 % more; not for cows in milk. NRC (1996)
    beef, from memory; (b).

    0.96 W is the weight after a fast. A farming paper's 8.5 Mcal for a moderate dry beef cow agrees
    within 7 %; status (a).
    """
    return 0.077 * MJ_PER_MCAL * metabolic_weight(0.96 * live_weight_kg) * (1.15 if bull else 1.0)


def finnish_cow_me(live_weight_kg: float, energy_corrected_milk_kg: float) -> float:
    """A milking cow's need [MJ ME/d] = 0.63 W^0.75 + 5.0 ECM. Finnish institute, 2026; (a)."""
    return 0.63 * metabolic_weight(live_weight_kg) + 5.0 * energy_corrected_milk_kg


def production_data_me(live_weight_kg: float, milk_energy: float) -> float:
    """Whole need of a cow in milk [MJ ME/d] = 0.605 W^0.75 + El/0.655; milk_energy El [MJ net
    energy/d].

    Middle figures of a regression on production data, abstract of 2003; status (a). No gain, loss
    or pregnancy.
    """
    return (
        MAINTENANCE_OF_PRODUCTION_DATA * metabolic_weight(live_weight_kg)
        + milk_energy / MILK_KL_OF_PRODUCTION_DATA
    )
