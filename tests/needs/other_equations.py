"""Published equations that the program does not use, as a check of those that it does."""

from __future__ import annotations

from math import pow

from rationlp.needs.energy import LACTATING_GAIN_FACTOR, kf, kl, km


def milk_energy_fat(fat: float) -> float:
    """EVl [MJ/kg milk] = 0.0406 f + 1.509; f g/kg. AFRC (1993), inventory method; status (a)."""
    return 0.0406 * fat + 1.509


def milk_energy_fat_solids(fat: float, solids_not_fat: float) -> float:
    """EVl [MJ/kg milk] = 0.0386 f + 0.0205 snf − 0.236; g/kg. Published lecture notes on UK dairy
    feeding standards; (a).
    """
    return 0.0386 * fat + 0.0205 * solids_not_fat - 0.236


def growth_me_simplified(em: float, eg: float, q: float) -> float:
    """ME [MJ/d] of a growing animal by the simplified form Em/km + Eg/kf, for a rough check only.

    Inventory method; status (a). Within −3 to +4 % of the exponential form for Eg/Em 0.3–0.7. Never
    with CL.
    """
    return em / km(q) + eg / kf(q)


def kg_lactating(q: float) -> float:
    """Efficiency of ME use for gain while in milk [-]: 0.95 kl. AFRC (1993); status (a)."""
    return LACTATING_GAIN_FACTOR * kl(q)


def dmi_korean_2021(live_weight_kg: float, fcm_kg: float, ndf_percent_of_dm: float) -> float:
    """DMI [kg/d] = 4.103 + 0.112 W^0.75 + 0.284 FCM − 0.119 NDF %; a check, not linear in the
    ration.

    Korean equation for dairy cows, Animal Bioscience (2021); status (a). Root mean square error 2.7
    kg.
    """
    return 4.103 + 0.112 * pow(live_weight_kg, 0.75) + 0.284 * fcm_kg - 0.119 * ndf_percent_of_dm


def dmi_nrc_beef(live_weight_kg: float, nem_mcal_per_kg_dm: float, calf: bool = False) -> float:
    """DMI [kg/d] = W^0.75 (0.2435 N − 0.0466 N² − 0.1128)/N, 0.0869 for 0.1128 in calves; a check,
    not linear.

    NRC (1996) for beef yearlings and calves, from memory; status (b). N
    [Mcal NEm/kg DM].
    """
    n = nem_mcal_per_kg_dm
    return (
        pow(live_weight_kg, 0.75) * (0.2435 * n - 0.0466 * n * n - (0.0869 if calf else 0.1128)) / n
    )
