"""The steps of a requirement: each function works out one published term for a head and says how,
whence and how sure.
"""

from __future__ import annotations

from rationlp.needs import cattle, protein
from rationlp.needs.cattle import INVENTORY, REMEMBERED, SIMULATION, GrowthCorrection
from rationlp.needs.energy import KC
from rationlp.needs.objects import Step

MJ, G = "MJ/d", "g/d"
GROWING_MAINTENANCE = "AFRC (1993) and a factor for growing cattle fitted to six published records"
CALF_WEIGHT_SOURCE = "ARC, as given in the UK agricultural greenhouse-gas inventory method"


def fasting(w: float, bull: bool = False) -> Step:
    """F [MJ/d] of an animal of live weight `w` [kg]."""
    factor = cattle.BULL_FASTING_FACTOR if bull else 1.0
    value = cattle.fasting_metabolism(w, factor)
    equation = (
        f"0.53 × ({w:g}/1.08)^0.67" if factor == 1.0 else f"{factor:g} × 0.53 × ({w:g}/1.08)^0.67"
    )
    return Step("fasting metabolism, net energy", value, MJ, equation, INVENTORY, "a")


def activity(w: float, allowance: str) -> Step:
    """A [MJ/d] by one of the allowances of `cattle.ACTIVITY`."""
    row = cattle.ACTIVITY[allowance]
    value = cattle.activity(w, row.mj_per_kg)
    equation = f"{row.mj_per_kg:g} × {w:g} ({row.build_up})"
    return Step("activity, net energy", value, MJ, equation, row.source, row.status)


def maintenance(rest: Step, moving: Step, maint_factor: float, honest: float = 1.0) -> Step:
    """Em [MJ/d] = (F + A) · maint_factor, the farm's own factor; honest: that of growing cattle
    besides (honest_gain.py).
    """
    value = (rest.value + moving.value) * maint_factor * honest
    equation = f"({rest.value:.2f} + {moving.value:.2f}) × {maint_factor:g}"
    if honest != 1.0:
        return Step(
            "maintenance, net energy",
            value,
            MJ,
            f"{equation} × {honest:g}",
            GROWING_MAINTENANCE,
            "c",
        )
    return Step("maintenance, net energy", value, MJ, equation, SIMULATION, "a")


def milk_value(fat: float, crude_protein: float, lactose: float | None) -> Step:
    """EVl [MJ/kg milk] from fat and crude protein, with lactose too where it is known; all g/kg."""
    name, unit = "energy of a kg of milk", "MJ/kg"
    if lactose is not None:
        value = cattle.milk_energy_fat_protein_lactose(fat, crude_protein, lactose)
        equation = f"0.0384 × {fat:g} + 0.0223 × {crude_protein:g} + 0.0199 × {lactose:g} − 0.108"
        return Step(name, value, unit, equation, REMEMBERED, "b")
    value = cattle.milk_energy_fat_protein(fat, crude_protein)
    return Step(
        name, value, unit, f"0.0376 × {fat:g} + 0.0209 × {crude_protein:g} + 0.948", INVENTORY, "a"
    )


def milk(milk_kg: float, value: Step) -> Step:
    """El [MJ/d] = Y · EVl."""
    energy = milk_kg * value.value
    return Step(
        "milk, net energy",
        energy,
        MJ,
        f"{milk_kg:g} × {value.value:.3f}",
        value.source,
        value.status,
    )


def milking_change(change: float) -> Step:
    """Net energy of a milking cow's live-weight change [MJ/d], as it is met with the efficiency for
    milk.
    """
    value = cattle.cow_change_over_kl(change)
    equation = f"19 × {change:g}/0.95" if change > 0.0 else f"19 × 0.84 × {change:g}"
    status = "a" if change > 0.0 else "b"
    return Step("live-weight change, net energy at kl", value, MJ, equation, SIMULATION, status)


def reserve(reserve_mj: float) -> tuple[Step, Step]:
    """Net energy [MJ/d] and MP [g/d] of so much energy from the back [MJ ME-equivalent/d], both
    taken off the need.
    """
    saved = -cattle.reserve_over_kl(reserve_mj)
    protein_g = -cattle.RESERVE_MP_G_PER_MJ * reserve_mj
    return (
        Step(
            "energy from the back, net energy at kl",
            saved,
            MJ,
            f"−19 × 0.84 × {reserve_mj:g}/25.2",
            SIMULATION,
            "a",
        ),
        Step(
            "protein from the back, MP",
            protein_g,
            G,
            f"−4.4 × {reserve_mj:g}",
            f"{SIMULATION}; 138 g in 31 MJ",
            "a",
        ),
    )


def dry_change(change: float) -> Step:
    """Net energy of a dry cow's live-weight change [MJ/d]: a gain is met with kf, a loss replaces
    maintenance.
    """
    if change > 0.0:
        value = cattle.dry_cow_gain_over_kf(change)
        return Step(
            "live-weight gain, net energy at kf", value, MJ, f"19 × {change:g}", REMEMBERED, "b"
        )
    value = cattle.dry_cow_loss_over_km(change)
    return Step(
        "live-weight loss, net energy at km", value, MJ, f"19 × 0.84 × {change:g}", REMEMBERED, "b"
    )


def calf_weight(given: float | None, mature_weight: float) -> Step:
    """Wc [kg]: the farm's own figure, else from the dam's mature weight [kg]."""
    name = "calf at birth"
    if given is not None:
        return Step(name, given, "kg", "given", "the farm's own figure", "")
    value = cattle.calf_birth_weight(mature_weight)
    return Step(
        name, value, "kg", f"({mature_weight:g}^0.73 − 28.89)/2.064", CALF_WEIGHT_SOURCE, "a"
    )


def pregnancy_me(calf: Step, days_pregnant: float) -> Step:
    """Mc [MJ ME/d] of a pregnancy of `days_pregnant` [d]."""
    value = cattle.pregnancy_me(calf.value, days_pregnant)
    equation = f"pregnancy day {days_pregnant:g}, calf {calf.value:.1f} kg: Ec/{KC:g}"
    return Step("pregnancy, ME", value, MJ, equation, SIMULATION, "b")


def growth(
    w: float, gain: float, kind: tuple[str, str], honest: GrowthCorrection | None = None
) -> Step:
    """Eg [MJ/d] of gain [kg/d] of an animal of live weight `w` [kg]; kind is (maturity, sex).
    honest: C2 and C6 in place of those printed for the kind (needs/honest_gain.py).
    """
    correction = honest or cattle.GROWTH_CORRECTION[kind]
    factor = cattle.GAIN_FACTOR[kind[1]]
    per_kg = cattle.gain_energy_value(w, gain, correction.energy)
    value = cattle.gain_energy(gain, per_kg, factor)
    equation = (
        f"C4 {factor:g} × {gain:g} × {per_kg:.2f} MJ/kg (C2 {correction.energy:g}, {kind[0]}"
        f" {kind[1]})"
    )
    if correction.status == "c":
        return Step("growth, net energy", value, MJ, equation, correction.source, "c")
    status = "b" if kind[1] == "steer" or correction.status == "b" else "a"
    return Step("growth, net energy", value, MJ, equation, SIMULATION, status)


def cull_gain(gain: float, mj_per_kg: float) -> Step:
    """ME of the gain of a finished cow [MJ/d]."""
    source = "UK levy-board page and Teagasc on finishing cull cows (45–50 MJ a kg)"
    return Step(
        "gain of a finished cow, ME", gain * mj_per_kg, MJ, f"{mj_per_kg:g} × {gain:g}", source, "c"
    )


def maintenance_mp(w: float) -> Step:
    """MPm [g/d]."""
    return Step(
        "maintenance, MP", protein.maintenance_mp(w), G, f"2.30 × {w:g}^0.75", SIMULATION, "a"
    )


def milk_mp(milk_kg: float, crude_protein: float) -> Step:
    """MPl [g/d] of `milk_kg` [kg/d] with `crude_protein` [g/kg]."""
    value = milk_kg * protein.milk_mp(crude_protein)
    equation = f"{milk_kg:g} × 0.95/0.68 × {crude_protein:g}"
    source = (
        "AFRC (1993); efficiency 0.68 of true protein in an abstract of Animal (2008), 0.95 from"
        " memory"
    )
    return Step("milk, MP", value, G, equation, source, "b")


def change_mp(change: float) -> Step:
    """MP of a cow's live-weight change [g/d]."""
    equation = f"138/0.59 × {change:g}" if change > 0.0 else f"138 × {change:g}"
    return Step(
        "live-weight change, MP", protein.cow_change_mp(change), G, equation, SIMULATION, "a"
    )


def pregnancy_mp(calf: Step, days_pregnant: float) -> Step:
    """MPc [g/d]."""
    value = protein.pregnancy_mp(calf.value, days_pregnant)
    equation = f"pregnancy day {days_pregnant:g}, calf {calf.value:.1f} kg"
    return Step("pregnancy, MP", value, G, equation, SIMULATION, "a")


def growth_mp(
    w: float, gain: float, kind: tuple[str, str], honest: GrowthCorrection | None = None
) -> Step:
    """MPf [g/d]; kind is (maturity, sex), honest as in `growth`."""
    correction = honest or cattle.GROWTH_CORRECTION[kind]
    value = protein.growth_mp(w, gain, correction.protein)
    equation = f"C6 {correction.protein:g}, {w:g} kg, {gain:g} kg a day"
    source = correction.source if correction.status == "c" else SIMULATION
    return Step("growth, MP", value, G, equation, source, correction.status)
