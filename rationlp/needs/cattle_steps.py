"""The steps of a requirement: one published term a function, for a head, with source and status."""

from __future__ import annotations

from rationlp.needs import cattle, protein
from rationlp.needs.cattle import COW_CHANGE_MJ_PER_KG, INVENTORY, REMEMBERED, GrowthCorrection
from rationlp.needs.energy import KC, KT, LACTATING_GAIN_FACTOR
from rationlp.needs.objects import GROWTH_NE, MILK_NE, MILK_VALUE, PREGNANCY_MP, YOUNG_WEIGHT, Step
from rationlp.needs.terms import Term

MJ, G = "MJ/d", "g/d"
GROWING_MAINTENANCE = "AFRC (1993) and a factor for growing cattle fitted to six published records"
CALF_WEIGHT_SOURCE = "ARC, as given in the UK agricultural greenhouse-gas inventory method"


def fasting(w: float, bull: bool = False) -> Step:
    """F [MJ/d] of an animal of live weight `w` [kg]."""
    factor = cattle.BULL_FASTING_FACTOR if bull else 1.0
    value = cattle.fasting_metabolism(w, factor)
    equation = cattle.FASTING.printed(w)
    if bull:
        equation = f"{factor:g} × {equation}"
    return Step("fasting metabolism, net energy", value, MJ, equation, INVENTORY, "a")


def activity(w: float, allowance: str) -> Step:
    """A [MJ/d] by one of the allowances of `cattle.ACTIVITY`."""
    row = cattle.ACTIVITY[allowance]
    value = cattle.activity(w, row.mj_per_kg)
    equation = f"{row.mj_per_kg:g} × {w:g} ({row.words})"
    return Step("activity, net energy", value, MJ, equation, row.source, row.status)


def maintenance(rest: Step, moving: Step, maint_factor: float, honest: float = 1.0) -> Step:
    """Em [MJ/d] = (F + A) · the farm's own factor · honest (of growing cattle: honest_gain.py)."""
    value = (rest.value + moving.value) * maint_factor * honest
    equation = f"({rest.value:.2f} + {moving.value:.2f}) × {maint_factor:g}"
    source, status = REMEMBERED, "b"
    if honest != 1.0:
        equation, source, status = f"{equation} × {honest:g}", GROWING_MAINTENANCE, "c"
    return Step("maintenance, net energy", value, MJ, equation, source, status)


def milk_value(fat: float, crude_protein: float, lactose: float | None) -> Step:
    """EVl [MJ/kg milk] from fat and crude protein, with lactose too where it is known; all g/kg."""
    if lactose is None:
        value = cattle.milk_energy_fat_protein(fat, crude_protein)
        equation = cattle.MILK_BY_FAT_PROTEIN.printed(fat, crude_protein)
        source, status = INVENTORY, "a"
    else:
        value = cattle.milk_energy_fat_protein_lactose(fat, crude_protein, lactose)
        equation = cattle.MILK_BY_FAT_PROTEIN_LACTOSE.printed(fat, crude_protein, lactose)
        source, status = REMEMBERED, "b"
    name = "energy of a kg of milk"
    return Step(name, value, "MJ/kg", equation, source, status, MILK_VALUE)


def milk(milk_kg: float, value: Step) -> Step:
    """El [MJ/d] = Y · EVl."""
    equation = f"{milk_kg:g} × {value.value:.3f}"
    energy = milk_kg * value.value
    return Step("milk, net energy", energy, MJ, equation, value.source, value.status, MILK_NE)


def milking_change(change: float) -> Step:
    """Net energy of a milking cow's live-weight change [MJ/d], met with the efficiency for milk."""
    value = cattle.cow_change_over_kl(change)
    equation = f"{COW_CHANGE_MJ_PER_KG:g} × {KT:g} × {change:g}"
    if change > 0.0:
        equation = f"{COW_CHANGE_MJ_PER_KG:g} × {change:g}/{LACTATING_GAIN_FACTOR:g}"
    return Step("live-weight change, net energy at kl", value, MJ, equation, REMEMBERED, "b")


def reserve(reserve_mj: float) -> Term:
    """Net energy [MJ/d] and MP [g/d] of so much from the back [MJ ME-equivalent/d], taken off."""
    equation = f"−{COW_CHANGE_MJ_PER_KG:g} × {KT:g} × {reserve_mj:g}/{cattle.RESERVE_MJ_PER_KG:g}"
    saved = -cattle.reserve_over_kl(reserve_mj)
    name = "energy from the back, net energy at kl"
    energy = Step(name, saved, MJ, equation, REMEMBERED, "b")
    per_mj = cattle.RESERVE_MP_G_PER_MJ
    equation, source = f"−{per_mj:g} × {reserve_mj:g}", f"{REMEMBERED}; 138 g in 31 MJ"
    mp = Step("protein from the back, MP", -per_mj * reserve_mj, G, equation, source, "b")
    return Term(energy, mp)


def dry_change(change: float) -> Step:
    """Net energy of a dry cow's weight change [MJ/d]: gain met with kf, loss for maintenance."""
    if change > 0.0:
        name, equation = "live-weight gain, net energy at kf", f"{COW_CHANGE_MJ_PER_KG:g}"
        value = cattle.dry_cow_gain_over_kf(change)
    else:
        name, equation = "live-weight loss, net energy at km", f"{COW_CHANGE_MJ_PER_KG:g} × {KT:g}"
        value = cattle.dry_cow_loss_over_km(change)
    return Step(name, value, MJ, f"{equation} × {change:g}", REMEMBERED, "b")


def calf_weight(own: float | None, mature_weight: float) -> Step:
    """Wc [kg]: the farm's own figure, else from the dam's mature weight [kg]."""
    name = "calf at birth"
    if own is not None:
        return Step(name, own, "kg", "given", "the farm's own figure", "", YOUNG_WEIGHT)
    value = cattle.calf_birth_weight(mature_weight)
    equation = (
        f"({mature_weight:g}^{cattle.CALF_EXPONENT:g} − {cattle.CALF_LESS:g})"
        f"/{cattle.CALF_DIVISOR:g}"
    )
    return Step(name, value, "kg", equation, CALF_WEIGHT_SOURCE, "a", YOUNG_WEIGHT)


def pregnancy_me(calf: Step, days_pregnant: float) -> Step:
    """Mc [MJ ME/d] of a pregnancy of `days_pregnant` [d]."""
    value = cattle.pregnancy_me(calf.value, days_pregnant)
    equation = f"pregnancy day {days_pregnant:g}, calf {calf.value:.1f} kg: Ec/{KC:g}"
    return Step("pregnancy, ME", value, MJ, equation, REMEMBERED, "b")


def growth(
    w: float, gain: float, kind: tuple[str, str], honest: GrowthCorrection | None = None
) -> Step:
    """Eg [MJ/d] of gain [kg/d] of an animal of live weight `w` [kg]; kind is (maturity, sex).
    honest: C2 and C6 in place of those printed for the kind (needs/honest_gain.py).
    """
    maturity, sex = kind
    correction = honest or cattle.GROWTH_CORRECTION[kind]
    factor = cattle.GAIN_FACTOR[sex]
    per_kg = cattle.gain_energy_value(w, gain, correction.energy)
    value = cattle.gain_energy(gain, per_kg, factor)
    what = f"C2 {correction.energy:g}, {maturity} {sex}"
    equation = f"C4 {factor:g} × {gain:g} × {per_kg:.2f} MJ/kg ({what})"
    source, status = REMEMBERED, "b"
    if correction.status == "c":
        source, status = correction.source, "c"
    return Step("growth, net energy", value, MJ, equation, source, status, GROWTH_NE)


def cull_gain(gain: float, mj_per_kg: float) -> Step:
    """ME of the gain of a finished cow [MJ/d]."""
    source = "UK levy-board page and Teagasc on finishing cull cows (45–50 MJ a kg)"
    equation = f"{mj_per_kg:g} × {gain:g}"
    return Step("gain of a finished cow, ME", gain * mj_per_kg, MJ, equation, source, "c")


def maintenance_mp(w: float) -> Step:
    """MPm [g/d]."""
    equation = protein.MAINTENANCE.printed(w, decimals=".2f")
    return Step("maintenance, MP", protein.maintenance_mp(w), G, equation, REMEMBERED, "b")


def milk_mp(milk_kg: float, crude_protein: float) -> Step:
    """MPl [g/d] of `milk_kg` [kg/d] with `crude_protein` [g/kg]."""
    value = milk_kg * protein.milk_mp(crude_protein)
    per_g = f"{protein.MILK_TRUE_PROTEIN:g}/{protein.KN_MILK:g}"
    source = (
        "AFRC (1993); efficiency 0.68 of true protein in an abstract of Animal (2008), 0.95 from"
        " memory"
    )
    return Step("milk, MP", value, G, f"{milk_kg:g} × {per_g} × {crude_protein:g}", source, "b")


def change_mp(change: float) -> Step:
    """MP of a cow's live-weight change [g/d]."""
    per_kg = f"{protein.COW_GAIN_NP_G_PER_KG:g}"
    if change > 0.0:
        per_kg += f"/{protein.KN_GROWTH:g}"
    value = protein.cow_change_mp(change)
    return Step("live-weight change, MP", value, G, f"{per_kg} × {change:g}", INVENTORY, "a")


def pregnancy_mp(calf: Step, days_pregnant: float) -> Step:
    """MPc [g/d]."""
    value = protein.pregnancy_mp(calf.value, days_pregnant)
    equation = f"pregnancy day {days_pregnant:g}, calf {calf.value:.1f} kg"
    return Step("pregnancy, MP", value, G, equation, REMEMBERED, "b", PREGNANCY_MP)


def growth_mp(
    w: float, gain: float, kind: tuple[str, str], honest: GrowthCorrection | None = None
) -> Step:
    """MPf [g/d]; kind is (maturity, sex), honest as in `growth`."""
    correction = honest or cattle.GROWTH_CORRECTION[kind]
    value = protein.growth_mp(w, gain, correction.protein)
    equation = f"C6 {correction.protein:g}, {w:g} kg, {gain:g} kg a day"
    source, status = REMEMBERED, "b"
    if correction.status == "c":
        source, status = correction.source, "c"
    return Step("growth, MP", value, G, equation, source, status)
