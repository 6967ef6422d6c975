"""The energy requirement by NRC (2001) step by step: a sum, the same on every ration."""

from __future__ import annotations

from rationlp.needs.nrc import MJ_PER_MCAL
from rationlp.needs.nrc_classes import SOURCE
from rationlp.needs.nrc_energy import NrcEnergy
from rationlp.needs.objects import Step

STATUS = "b"


def nrc_working(need: NrcEnergy) -> tuple[Step, ...]:
    """Every step to the net energy needed, and how a ration is held to it."""
    parts = (
        ("net energy for maintenance", need.em),
        ("net energy for milk and change of weight", need.over_kl),
        ("net energy for the calf", need.fixed_me),
        ("net energy for growth", need.eg),
    )
    steps = [
        _step(name, value, "MJ/d", f"{value / MJ_PER_MCAL:.3f} Mcal × {MJ_PER_MCAL:g}")
        for name, value in parts
        if value
    ]
    total = need.required_mj(0.0)
    enough = "what its feeds bring at the discount of the ration that they make"
    if need.rears:
        enough += "; maintenance first, growth with what is left"
    discount = "1 − (0.18 − 0.103 D/N)(N/M0 − 1), from 60 % N in the dry matter and above M0"
    return (
        *steps,
        _step("TDN of maintenance, M0", need.maintenance_tdn_kg, "kg/d", "0.035 × (0.96 W)^0.75"),
        _step("net energy needed", total, "MJ/d", f"their sum; held against {enough}"),
        _step("discount of a ration", 1.0, "", f"{discount}; else 1"),
    )


def _step(name: str, value: float, unit: str, equation: str) -> Step:
    return Step(name, value, unit, equation, SOURCE, STATUS)
