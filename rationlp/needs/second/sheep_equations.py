"""Requirements of sheep by standards other than AFRC (1993): one published equation a function.

W live weight [kg], of a ewe without her lambs. The inventory guidelines (IPCC 2006, 2019) rest on
the same British figures of maintenance as AFRC (1993): that they agree is no second proof. Status:
(a) checked in a text that quotes the publication, (b) from memory of it, (c) common practice
without a source.
"""

from __future__ import annotations

from math import pow
from types import MappingProxyType

IPCC_MAINTENANCE_ADULT, IPCC_MAINTENANCE_YOUNG = 0.217, 0.236
IPCC_ENTIRE = 1.15
"""Cfi above and up to a year [MJ net energy/kg W^0.75], rams × 1.15; IPCC (2006, 2019); (b)."""

IPCC_ACTIVITY = MappingProxyType(
    {"housed": 0.0096, "lowland": 0.0107, "hill": 0.0240, "housed_lamb": 0.0067}
)
"""Ca [MJ net energy/kg W]; IPCC (2019), as in Canada's farm greenhouse-gas method; status (a)."""

IPCC_PREGNANCY_SHARE = MappingProxyType({1: 0.077, 2: 0.126, 3: 0.150})
"""Pregnancy as a share of NEm by lambs carried, the mean of all 147 days [-]; IPCC, Canadian
government method; status (a). It is met with the efficiency of maintenance, as in cattle.
"""

IPCC_MILK_MJ_PER_KG = 4.6
"""Net energy of a kg of ewe's milk with 7 % fat [MJ/kg]; IPCC (2006), from memory; status (b)."""

MEASURED_MAINTENANCE = 0.486
MEASURED_BY_SEX = MappingProxyType({"female": 0.507, "male": 0.441, "castrate": 0.415})
"""Maintenance ME [MJ/kg W^0.75], mean and by sex: calorimetry for the levy board, 2013–17, 131
records on sheep of 5–18 months and 29–70 kg; status (a).
"""


def ipcc_maintenance(live_weight_kg: float, young: bool, entire: bool) -> float:
    """NEm [MJ/d] = Cfi W^0.75, 0.217, to a year 0.236; rams × 1.15. IPCC (2006, 2019); (a)."""
    each = IPCC_MAINTENANCE_YOUNG if young else IPCC_MAINTENANCE_ADULT
    return each * (IPCC_ENTIRE if entire else 1.0) * pow(live_weight_kg, 0.75)


def ipcc_activity(live_weight_kg: float, place: str) -> float:
    """NEa [MJ/d] = Ca W; place: `housed`, `lowland`, `hill`, `housed_lamb`. IPCC (2019); (a)."""
    return IPCC_ACTIVITY[place] * live_weight_kg


def ipcc_pregnancy(live_weight_kg: float, lambs: int, young: bool = False) -> float:
    """NEp [MJ/d] = share · NEm, mean of the pregnancy; lambs 1–3. IPCC (2006, 2019); (a)."""
    return IPCC_PREGNANCY_SHARE[lambs] * ipcc_maintenance(live_weight_kg, young, entire=False)


def ipcc_milk(milk_kg: float) -> float:
    """NEl [MJ/d] = 4.6 Y. IPCC (2006), from memory; status (b). For milk of about 70 g fat/kg."""
    return IPCC_MILK_MJ_PER_KG * milk_kg


def measured_maintenance_me(live_weight_kg: float, per_kg: float = MEASURED_MAINTENANCE) -> float:
    """Maintenance [MJ ME/d] = 0.486 W^0.75, or by sex; 29–70 kg. Levy-board calorimetry; (a)."""
    return per_kg * pow(live_weight_kg, 0.75)


def grazing_lamb_me(gain_kg_per_day: float) -> float:
    """Whole need of a grazing lamb of 35 kg [MJ ME/d] = 9 + 4 a 100 g of gain. New Zealand advisory
    article; status (a).
    """
    return 9.0 + 40.0 * gain_kg_per_day
