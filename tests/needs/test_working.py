"""The working of the energy need ends at the requirement itself, and every step says whence it
is.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from rationlp import farm_needs
from rationlp.farm.group import CSIRO
from rationlp.needs.calendar import farm_on
from rationlp.needs.energy import metabolisability
from rationlp.needs.objects import GroupNeeds, Step
from rationlp.needs.working import energy_working
from rationlp.read.farm import read_farm

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
NEEDS = [
    needs
    for name in ("dairy", "beef", "hill")
    for needs in farm_needs(farm_on(read_farm(EXAMPLES / name)))
]


BY_CSIRO = [
    needs
    for name in ("beef", "hill")
    for needs in farm_needs(farm_on(read_farm(EXAMPLES / name, CSIRO)))
    if needs.standard == CSIRO
]


@pytest.mark.parametrize("needs", BY_CSIRO, ids=lambda needs: f"{needs.group}-{needs.animal_class}")
@pytest.mark.parametrize("density", [10.0, 11.0])
def test_the_steps_by_csiro_lead_to_the_requirement(needs: GroupNeeds, density: float) -> None:
    """The terms of ME, those of eating included, add up to the requirement of the same density."""
    steps = energy_working(needs, density)
    assert needs.energy is not None
    wanted = needs.energy.required_mj(metabolisability(density))
    assert steps[-1].value == pytest.approx(wanted, rel=1e-9)
    terms = [step.value for step in steps[:-1] if step.name.startswith("ME ")]
    assert sum(terms) == pytest.approx(wanted, rel=1e-9)
    assert all("CSIRO" in step.source and step.status == "b" for step in steps)


def value(steps: tuple[Step, ...], start: str) -> float:
    """The value of the first step whose name begins so."""
    return next(step.value for step in steps if step.name.startswith(start))


@pytest.mark.parametrize("needs", NEEDS, ids=lambda needs: f"{needs.group}-{needs.animal_class}")
@pytest.mark.parametrize("density", [10.0, 11.0])
def test_the_steps_lead_to_the_requirement(needs: GroupNeeds, density: float) -> None:
    """Sum of the terms, times CL, times the margin, is the ME needed; the terms add up to their
    sum.
    """
    steps = energy_working(needs, density)
    assert needs.energy is not None
    total, factor, margin = (
        value(steps, "sum of the ME"),
        value(steps, "CL,"),
        value(steps, "margin"),
    )
    assert total * factor * margin == pytest.approx(
        needs.energy.required_mj(metabolisability(density)), rel=1e-9
    )
    assert steps[-1].value == pytest.approx(total * factor * margin, rel=1e-9)
    assert sum(step.value for step in steps[:-5] if step.name.startswith("ME ")) == pytest.approx(
        total, rel=1e-9
    )


@pytest.mark.parametrize("needs", NEEDS, ids=lambda needs: f"{needs.group}-{needs.animal_class}")
def test_every_step_has_equation_source_and_status(needs: GroupNeeds) -> None:
    """No step without them."""
    steps = energy_working(needs)
    assert len(steps) >= 6
    assert all(step.equation and step.source and step.status in "abc" for step in steps)
