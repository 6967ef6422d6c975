"""The energy requirement by CSIRO (2007) step by step at one energy density."""

from __future__ import annotations

from rationlp.needs.csiro import EATING, SOURCE, USES, CsiroEnergy
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.needs.objects import Step

STATUS = "b"
KM, KL, KG = "km, for maintenance", "kl, for milk", "kg, for gain and wool"


def csiro_working(need: CsiroEnergy, density: float) -> tuple[Step, ...]:
    """Every step from net energy to ME at an energy density [MJ ME/kg DM]."""
    q = density / GE_MJ_PER_KG_DM
    km, kl, kg = (slope * q + base for slope, base in USES)
    total, level = need.terms(q)[0], need.feeding_level(q)
    steps = [
        _step(KM, km, "", f"0.02 × {density:g} + 0.5"),
        *_part("ME for maintenance", need.em, "km", km),
        *_part("ME spared by loss of weight", need.over_km, "km", km),
    ]
    if need.over_kl:
        steps.append(_step(KL, kl, "", f"0.02 × {density:g} + 0.4"))
    steps += _part("ME for milk and change of weight", need.over_kl, "kl", kl)
    gain = need.over_kf + need.eg * level
    if gain:
        steps.append(_step(KG, kg, "", f"0.043 × {density:g}"))
    if need.eg:
        words = f"{need.over_kf:.3f} + {need.eg:.3f} × L"
        steps.append(_step("gain and wool, net energy", gain, "MJ/d", words))
    steps += _part("ME for gain and wool", gain, "kg", kg)
    if need.fixed_me:
        words = "Ep/0.133, whatever the ration"
        steps.append(_step("ME for pregnancy", need.fixed_me, "MJ/d", words))
    words = f"{EATING:g} × {total:.2f}"
    steps.append(_step("ME for eating and digesting", EATING * total, "MJ/d", words))
    words = f"{total:.2f}/({need.em:.3f}/km + {EATING:g} × {total:.2f})"
    steps.append(_step("sum of the ME terms", total, "MJ/d", "all of them"))
    steps.append(_step("L, level of feeding", level, "", words))
    margin = f"{total:.2f} × {need.margin:g}; the standard has no margin"
    name = "ME needed at this density, margin included"
    steps.append(_step(name, need.margin * total, "MJ/d", margin))
    return tuple(steps)


def _step(name: str, value: float, unit: str, equation: str) -> Step:
    return Step(name, value, unit, equation, SOURCE, STATUS)


def _part(name: str, amount: float, word: str, efficiency: float) -> list[Step]:
    if not amount:
        return []
    return [_step(name, amount / efficiency, "MJ/d", f"{amount:.3f}/{word}")]
