"""The energy requirement step by step at one energy density: what `required_mj` does at once."""

from __future__ import annotations

from math import inf, log

from rationlp.needs.csiro import CsiroEnergy
from rationlp.needs.csiro_working import csiro_working
from rationlp.needs.energy import (
    FEEDING_LEVEL_SLOPE,
    GE_MJ_PER_KG_DM,
    EnergyNeed,
    feeding_level_factor,
    kf,
    kl,
    km,
    metabolisability,
)
from rationlp.needs.limits import typical_density
from rationlp.needs.nrc_energy import NrcEnergy
from rationlp.needs.nrc_working import nrc_working
from rationlp.needs.objects import GroupNeeds, Step

AFRC = "AFRC (1993)"


def energy_working(
    needs: GroupNeeds, density_mj_per_kg_dm: float | None = None
) -> tuple[Step, ...]:
    """Every step from net energy to ME with its margin, at an energy density of the whole ration
    [MJ ME/kg DM].

    Without a density, that of the class's usual ration. Empty for a group without an energy
    requirement, and where the gain cannot be made on such a ration.
    """
    need = needs.energy
    density = density_mj_per_kg_dm or typical_density(needs.limits)
    q = metabolisability(density)
    if need is None or need.required_mj(q) == inf:
        return ()
    if isinstance(need, NrcEnergy):
        return nrc_working(need)
    if isinstance(need, CsiroEnergy):
        return csiro_working(need, density)
    form = _additive(need, q) if need.form == "additive" else _exponential(need, q)
    return (
        _step("q, metabolisability", q, "", f"{density:g}/{GE_MJ_PER_KG_DM:g}"),
        _step("km, for maintenance", km(q), "", f"0.35 × {q:.4f} + 0.503"),
        *form,
        *_level(need, q),
    )


def _step(name: str, value: float, unit: str, equation: str) -> Step:
    return Step(name, value, unit, equation, AFRC, "a")


def _part(name: str, amount: float, word: str, efficiency: float) -> Step:
    return _step(name, amount / efficiency, "MJ/d", f"{amount:.3f}/{word}")


def _additive(need: EnergyNeed, q: float) -> list[Step]:
    steps: list[Step] = []
    if need.over_kl:
        steps.append(_step("kl, for milk", kl(q), "", f"0.35 × {q:.4f} + 0.420"))
    if need.over_kf:
        steps.append(_step("kf, for gain", kf(q), "", f"0.78 × {q:.4f} + 0.006"))
    steps.append(_part("ME for maintenance", need.em, "km", km(q)))
    if need.over_km:
        steps.append(_part("ME spared by loss of weight", need.over_km, "km", km(q)))
    if need.over_kl:
        steps.append(_part("ME for milk and change of weight", need.over_kl, "kl", kl(q)))
    if need.over_kf:
        steps.append(_part("ME for gain", need.over_kf, "kf", kf(q)))
    return steps


def _exponential(need: EnergyNeed, q: float) -> list[Step]:
    m, f = km(q), kf(q)
    ratio, b, k = need.eg / need.em, m / (m - f), m * log(m / f)
    value = need.em / k * log(b / (b - ratio - 1.0))
    words = f"({need.em:.3f}/{k:.4f}) × ln[{b:.4f}/({b:.4f} − {ratio:.4f} − 1)]"
    return [
        _step("kf, for gain", f, "", f"0.78 × {q:.4f} + 0.006"),
        _step("R, growth over maintenance", ratio, "", f"{need.eg:.3f}/{need.em:.3f}"),
        _step("B", b, "", "km/(km − kf)"),
        _step("k", k, "", "km × ln(km/kf)"),
        _step("ME for maintenance and growth", value, "MJ/d", words),
    ]


def _level(need: EnergyNeed, q: float) -> list[Step]:
    """Pregnancy, sum, level of feeding, its correction, the margin, the requirement."""
    total, level = need.terms(q)[0], need.feeding_level(q)
    steps = []
    if need.fixed_me:
        words = "Ec/0.133, whatever the ration"
        steps.append(_step("ME for pregnancy", need.fixed_me, "MJ/d", words))
    steps.append(_step("sum of the ME terms", total, "MJ/d", "all of them"))
    equation = f"{total:.2f} × {km(q):.4f}/{need.em:.3f}"
    steps.append(_step("L, level of feeding", level, "", equation))
    factor, words = 1.0, "not for this class"
    if need.feeding_level_applies:
        factor = feeding_level_factor(level)
        words = f"1 + {FEEDING_LEVEL_SLOPE:g} × ({level:.3f} − 1)"
    steps.append(_step("CL, correction for the level of feeding", factor, "", words))
    margin = "size from memory of the publication unless the farm gives its own"
    steps.append(Step("margin", need.margin, "", "applied once", f"{AFRC}; {margin}", "b"))
    equation = f"{total:.2f} × {factor:.4f} × {need.margin:g}"
    name = "ME needed at this density, margin included"
    steps.append(_step(name, need.required_mj(q), "MJ/d", equation))
    return steps
