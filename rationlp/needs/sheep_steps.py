"""The steps of a sheep's requirement: one published term a function, with source and status."""

from __future__ import annotations

from rationlp.needs import sheep
from rationlp.needs.energy import KC, KT, LACTATING_GAIN_FACTOR
from rationlp.needs.objects import GROWTH_NE, MILK_NE, MILK_VALUE, PREGNANCY_MP, YOUNG_WEIGHT, Step
from rationlp.needs.sheep import IPCC_AND_AFRC, NZ_INVENTORY, REMEMBERED

MJ, G = "MJ/d", "g/d"
OWN_FIGURE = "the farm's own figure"
LITTER_SOURCE = (
    "Animal Production (1970); more than two lambs: the reciprocal of their weight linear in litter"
    " size"
)


def fasting(w: float, adult: bool, entire: bool) -> Step:
    """F [MJ/d] of a sheep of live weight `w` [kg]."""
    value = sheep.fasting_metabolism(w, adult, entire)
    equation = (sheep.FASTING_ADULT if adult else sheep.FASTING_YOUNG).printed(w)
    if entire:
        equation = f"{sheep.ENTIRE_FACTOR:g} × {equation}"
    return Step("fasting metabolism, net energy", value, MJ, equation, IPCC_AND_AFRC, "b")


def activity(w: float, place: str) -> Step:
    """A [MJ/d] by one of the allowances of `sheep.ACTIVITY`."""
    row = sheep.ACTIVITY[place]
    equation = f"{row.mj_per_kg:g} × {w:g} ({row.words})"
    return Step("activity, net energy", row.mj_per_kg * w, MJ, equation, row.source, row.status)


def flushing(keep: Step, factor: float) -> Step:
    """Em [MJ/d] of a thin ewe around tupping: maintenance · 1.6."""
    name = "maintenance while flushed, net energy"
    equation = f"{keep.value:.2f} × {factor:g}, thin ewes around tupping"
    return Step(name, keep.value * factor, MJ, equation, "NRC (1985)", "a")


def litter(own: float | None, w: float, lambs: int) -> Step:
    """Wo [kg]: the farm's own figure, else by the ewe's weight and the number of lambs."""
    name = "lambs at birth, all together"
    if own is not None:
        return Step(name, own, "kg", "given", OWN_FIGURE, "", YOUNG_WEIGHT)
    value = sheep.litter_weight(w, lambs)
    equation = f"{lambs} lambs of {value / lambs:.1f} kg"
    if lambs in sheep.LITTER_OF:
        equation = sheep.LITTER_OF[lambs].printed(w)
    return Step(name, value, "kg", equation, LITTER_SOURCE, "a", YOUNG_WEIGHT)


def pregnancy_me(wo: Step, days_pregnant: float) -> Step:
    """Mc [MJ ME/d] of a pregnancy of `days_pregnant` [d]."""
    value = sheep.pregnancy_me(wo.value, days_pregnant)
    equation = f"pregnancy day {days_pregnant:g}, lambs {wo.value:.1f} kg: Ec/{KC:g}"
    return Step("pregnancy, ME", value, MJ, equation, NZ_INVENTORY, "a")


def pregnancy_mp(wo: Step, days_pregnant: float) -> Step:
    """MPc [g/d]."""
    value = sheep.pregnancy_mp(wo.value, days_pregnant)
    equation = f"pregnancy day {days_pregnant:g}, lambs {wo.value:.1f} kg: NPc/0.85"
    return Step("pregnancy, MP", value, G, equation, REMEMBERED, "b", PREGNANCY_MP)


def colostrum(lambs: int, days_to_lambing: float) -> Step:
    """MP of udder and colostrum [g/d], last five weeks: a shortage is priced, not forbidden."""
    value = sheep.colostrum_mp(lambs, days_to_lambing)
    days = max(days_to_lambing, sheep.LAST_STEP_DAYS)
    each, weeks = sheep.COLOSTRUM_MP_G_PER_LAMB, sheep.COLOSTRUM_DAYS
    equation = (
        f"{each:g} × {lambs} lambs × (1 − {days:g}/{weeks:g}); wanted in the last five weeks, a"
        " shortage is said"
    )
    return Step("udder and colostrum, MP", value, G, equation, "common practice, no source", "c")


def milk(milk_kg: float, fat: float, day: float) -> tuple[Step, Step]:
    """EVl [MJ/kg] and El [MJ/d] = Y · EVl."""
    value = sheep.milk_energy(fat, day)
    equation = sheep.MILK_BY_FAT_AND_DAY.printed(fat, day)
    name = "energy of a kg of milk"
    each = Step(name, value, "MJ/kg", equation, REMEMBERED, "b", MILK_VALUE)
    equation = f"{milk_kg:g} × {value:.3f}"
    whole = Step("milk, net energy", milk_kg * value, MJ, equation, REMEMBERED, "b", MILK_NE)
    return each, whole


def planned_milk(milk_kg: float, flock: str, lambs: int, week: float) -> Step:
    """Y [kg/d] from the planning figures."""
    equation = f"{flock} ewe suckling {lambs}, week {week:g}"
    source = (
        "MAFF and ARC planning figures, from memory; agree with Finn × Blackface ewes (J. agric."
        " Sci.)"
    )
    return Step("milk by the planning figures", milk_kg, "kg/d", equation, source, "b")


def milking_change(change: float) -> Step:
    """Net energy of a milking ewe's weight change [MJ/d], met with the efficiency for milk."""
    per_kg = sheep.CHANGE_MJ_PER_KG
    value, equation = sheep.loss_over_kl(change), f"{per_kg:g} × {KT:g} × {change:g}"
    if change > 0.0:
        value = per_kg * change / LACTATING_GAIN_FACTOR
        equation = f"{per_kg:g} × {change:g}/{LACTATING_GAIN_FACTOR:g}"
    return Step("live-weight change, net energy at kl", value, MJ, equation, REMEMBERED, "b")


def dry_change(change: float) -> Step:
    """Net energy of a dry sheep's weight change [MJ/d]: gain met with kf, loss for maintenance."""
    per_kg = sheep.CHANGE_MJ_PER_KG
    name, value = "live-weight loss, net energy at km", per_kg * KT * change
    equation = f"{per_kg:g} × {KT:g} × {change:g}"
    if change > 0.0:
        name, value = "live-weight gain, net energy at kf", per_kg * change
        equation = f"{per_kg:g} × {change:g}"
    return Step(name, value, MJ, equation, REMEMBERED, "b")


def growth(w: float, gain: float, sex: str) -> Step:
    """Eg [MJ/d] = dW · EVg."""
    per_kg = sheep.gain_energy_value(w, sex)
    equation = f"{gain:g} × {per_kg:.2f} MJ/kg ({sex})"
    return Step("growth, net energy", gain * per_kg, MJ, equation, REMEMBERED, "b", GROWTH_NE)


def maintenance_mp(w: float) -> Step:
    """MPm [g/d]."""
    equation = sheep.MAINTENANCE.printed(w)
    return Step("maintenance, MP", sheep.maintenance_mp(w), G, equation, REMEMBERED, "b")


def wool_mp() -> Step:
    """MP of an adult's wool [g/d]."""
    return Step("wool, MP", sheep.WOOL_MP_ADULT_G, G, "adult", REMEMBERED, "b")


def gain_mp(change: float) -> Step:
    """MP of an adult's gain [g/d]; a loss is given no credit."""
    value = sheep.MP_GAIN_G_PER_KG * max(change, 0.0)
    equation = f"{sheep.MP_GAIN_G_PER_KG:g} × {change:g}"
    return Step("live-weight gain, MP", value, G, equation, REMEMBERED, "b")


def milk_mp(milk_kg: float) -> Step:
    """MPl [g/d]."""
    equation = f"{sheep.MP_G_PER_KG_MILK:g} × {milk_kg:g}"
    return Step("milk, MP", sheep.milk_mp(milk_kg), G, equation, REMEMBERED, "b")


def growth_mp(w: float, gain: float, sex: str) -> tuple[Step, Step]:
    """MPf and the wool of a growing sheep [g/d]."""
    net = sheep.gain_protein(w, gain, sex)
    status = "b" if sheep.GROWTH[sex].female else "a"
    source = REMEMBERED if status == "b" else f"AFRC (1993); {sheep.STATISTICS}"
    equation = f"{sheep.MP_PER_NET_GAIN:g} × {net:.1f} ({sex}, {w:g} kg, {gain:g} kg a day)"
    grown = Step("growth, MP", sheep.gain_mp(net), G, equation, source, status)
    equation = f"{sheep.WOOL_BASE_G:g} + {sheep.WOOL_PER_NET_GAIN:g} × {net:.1f}"
    return grown, Step("wool, MP", sheep.lamb_wool_mp(net), G, equation, REMEMBERED, "b")
