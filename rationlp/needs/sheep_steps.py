"""The steps of a sheep's requirement: each function works out one published term and says how,
whence and how sure.
"""

from __future__ import annotations

from rationlp.needs import sheep
from rationlp.needs.energy import KC, KT, LACTATING_GAIN_FACTOR
from rationlp.needs.objects import Step
from rationlp.needs.sheep import EMISSIONS_MODEL, NZ_INVENTORY, REMEMBERED

MJ, G = "MJ/d", "g/d"
OWN_FIGURE = "the farm's own figure"
LITTER_SOURCE = (
    "Animal Production (1970); more than two lambs: the reciprocal of their weight linear in litter"
    " size"
)


def fasting(w: float, adult: bool, entire: bool) -> Step:
    """F [MJ/d] of a sheep of live weight `w` [kg]."""
    value = sheep.fasting_metabolism(w, adult, entire)
    equation = f"{'1.15 × ' if entire else ''}{0.23 if adult else 0.25:g} × ({w:g}/1.08)^0.75"
    return Step("fasting metabolism, net energy", value, MJ, equation, EMISSIONS_MODEL, "a")


def activity(w: float, kept: str) -> Step:
    """A [MJ/d] by one of the allowances of `sheep.ACTIVITY`."""
    row = sheep.ACTIVITY[kept]
    return Step(
        "activity, net energy",
        row.mj_per_kg * w,
        MJ,
        f"{row.mj_per_kg:g} × {w:g} ({row.words})",
        row.source,
        row.status,
    )


def maintenance(rest: Step, moving: Step, maint_factor: float) -> Step:
    """Em [MJ/d] = (F + A) · maint_factor, the farm's own factor."""
    value = (rest.value + moving.value) * maint_factor
    equation = f"({rest.value:.2f} + {moving.value:.2f}) × {maint_factor:g}"
    return Step("maintenance, net energy", value, MJ, equation, REMEMBERED, "b")


def flushing(keep: Step, factor: float) -> Step:
    """Em [MJ/d] of a thin ewe around tupping: maintenance · 1.6."""
    equation = f"{keep.value:.2f} × {factor:g}, thin ewes around tupping"
    return Step(
        "maintenance while flushed, net energy",
        keep.value * factor,
        MJ,
        equation,
        "NRC (1985)",
        "a",
    )


def litter(given: float | None, w: float, lambs: int) -> Step:
    """Wo [kg]: the farm's own figure, else by the ewe's weight and the number of lambs."""
    if given is not None:
        return Step("lambs at birth, all together", given, "kg", "given", OWN_FIGURE, "")
    value = sheep.litter_weight(w, lambs)
    equation = {1: f"0.226 × {w:g}^0.73", 2: f"0.361 × {w:g}^0.73"}.get(
        lambs, f"{lambs} lambs of {value / lambs:.1f} kg"
    )
    return Step("lambs at birth, all together", value, "kg", equation, LITTER_SOURCE, "a")


def pregnancy_me(wo: Step, days_pregnant: float) -> Step:
    """Mc [MJ ME/d] of a pregnancy of `days_pregnant` [d]."""
    value = sheep.pregnancy_me(wo.value, days_pregnant)
    equation = f"pregnancy day {days_pregnant:g}, lambs {wo.value:.1f} kg: Ec/{KC:g}"
    return Step("pregnancy, ME", value, MJ, equation, NZ_INVENTORY, "a")


def pregnancy_mp(wo: Step, days_pregnant: float) -> Step:
    """MPc [g/d]."""
    value = sheep.pregnancy_mp(wo.value, days_pregnant)
    equation = f"pregnancy day {days_pregnant:g}, lambs {wo.value:.1f} kg: NPc/0.85"
    return Step("pregnancy, MP", value, G, equation, REMEMBERED, "b")


def colostrum(lambs: int, days_to_lambing: float) -> Step:
    """MP of udder and colostrum [g/d] in the last five weeks: a shortage of it is priced, not
    forbidden.
    """
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
    equation = f"0.0328 × {fat:g} + 0.0025 × {day:g} + 2.203"
    each = Step("energy of a kg of milk", value, "MJ/kg", equation, REMEMBERED, "b")
    total = Step(
        "milk, net energy", milk_kg * value, MJ, f"{milk_kg:g} × {value:.3f}", REMEMBERED, "b"
    )
    return each, total


def planned_milk(milk_kg: float, flock: str, lambs: int, week: float) -> Step:
    """Y [kg/d] from the planning figures."""
    equation = f"{flock} ewe suckling {lambs}, week {week:g}"
    source = (
        "MAFF and ARC planning figures, from memory; agree with Finn × Blackface ewes (J. agric."
        " Sci.)"
    )
    return Step("milk by the planning figures", milk_kg, "kg/d", equation, source, "b")


def milking_change(change: float) -> Step:
    """Net energy of a milking ewe's live-weight change [MJ/d], as it is met with the efficiency for
    milk.
    """
    per_kg = sheep.CHANGE_MJ_PER_KG
    if change > 0.0:
        value, equation = per_kg * change / LACTATING_GAIN_FACTOR, f"{per_kg:g} × {change:g}/0.95"
    else:
        value, equation = sheep.loss_over_kl(change), f"{per_kg:g} × 0.84 × {change:g}"
    return Step("live-weight change, net energy at kl", value, MJ, equation, REMEMBERED, "b")


def dry_change(change: float) -> Step:
    """Net energy of a dry sheep's live-weight change [MJ/d]: a gain is met with kf, a loss replaces
    maintenance.
    """
    per_kg = sheep.CHANGE_MJ_PER_KG
    if change > 0.0:
        return Step(
            "live-weight gain, net energy at kf",
            per_kg * change,
            MJ,
            f"{per_kg:g} × {change:g}",
            REMEMBERED,
            "b",
        )
    value = per_kg * KT * change
    equation = f"{per_kg:g} × 0.84 × {change:g}"
    return Step("live-weight loss, net energy at km", value, MJ, equation, REMEMBERED, "b")


def growth(w: float, gain: float, sex: str) -> Step:
    """Eg [MJ/d] = dW · EVg."""
    per_kg = sheep.gain_energy_value(w, sex)
    return Step(
        "growth, net energy",
        gain * per_kg,
        MJ,
        f"{gain:g} × {per_kg:.2f} MJ/kg ({sex})",
        REMEMBERED,
        "b",
    )


def maintenance_mp(w: float) -> Step:
    """MPm [g/d]."""
    return Step(
        "maintenance, MP", sheep.maintenance_mp(w), G, f"2.1875 × {w:g}^0.75", REMEMBERED, "b"
    )


def wool_mp() -> Step:
    """MP of an adult's wool [g/d]."""
    return Step("wool, MP", sheep.WOOL_MP_ADULT_G, G, "adult", REMEMBERED, "b")


def gain_mp(change: float) -> Step:
    """MP of an adult's gain [g/d]; a loss is given no credit."""
    value = sheep.MP_GAIN_G_PER_KG * max(change, 0.0)
    return Step(
        "live-weight gain, MP",
        value,
        G,
        f"{sheep.MP_GAIN_G_PER_KG:g} × {change:g}",
        REMEMBERED,
        "b",
    )


def milk_mp(milk_kg: float) -> Step:
    """MPl [g/d]."""
    return Step("milk, MP", sheep.milk_mp(milk_kg), G, f"71.9 × {milk_kg:g}", REMEMBERED, "b")


def growth_mp(w: float, gain: float, sex: str) -> tuple[Step, Step]:
    """MPf and the wool of a growing sheep [g/d]."""
    net = sheep.gain_protein(w, gain, sex)
    status = "b" if sheep.GROWTH[sex].female else "a"
    source = REMEMBERED if status == "b" else f"AFRC (1993); {sheep.STATISTICS}"
    grown = Step(
        "growth, MP",
        sheep.gain_mp(net),
        G,
        f"1.695 × {net:.1f} ({sex}, {w:g} kg, {gain:g} kg a day)",
        source,
        status,
    )
    wool = Step(
        "wool, MP", sheep.lamb_wool_mp(net), G, f"11.54 + 0.3846 × {net:.1f}", REMEMBERED, "b"
    )
    return grown, wool
