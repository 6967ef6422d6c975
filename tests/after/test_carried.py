"""Milk and gain that a ration carries, against the requirement asked forwards and against sums on
paper.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from rationlp.after.carried import carried, wasted
from rationlp.farm.farm import Farm, Margins
from rationlp.farm.feed import Feed
from rationlp.farm.group import Group
from rationlp.model.ration import make_blocks, solve_rations
from rationlp.needs import REQUIREMENTS, expected_gain
from rationlp.needs.calendar import farm_on
from rationlp.needs.energy import GE_MJ_PER_KG_DM, kl, km
from rationlp.needs.supply import metabolisable_protein, ration_supply
from rationlp.read.farm import read_farm

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
CASES = [
    ("dairy", "high"),
    ("dairy", "late"),
    ("dairy", "finishers"),
    ("beef", "bulls"),
    ("hill", "store_lambs"),
]


def fed(farm_name: str, group_id: str) -> tuple[Farm, Group, list[tuple[Feed, float]]]:
    """The ration that rationlp itself finds for a group of an example."""
    farm = farm_on(read_farm(EXAMPLES / farm_name))
    ration = solve_rations(farm, [group_id]).groups[0]
    feeds = {offer.id: offer.feed for offer in farm.offers}
    group = next(group for group in farm.groups if group.id == group_id)
    return farm, group, [(feeds[amount.offer], amount.kg_dm) for amount in ration.amounts]


@pytest.mark.parametrize(("farm_name", "group_id"), CASES)
def test_what_is_carried_needs_just_what_is_there(farm_name: str, group_id: str) -> None:
    """Asked forwards without margins, the amounts carried need the ME and the MP of the ration, to
    a thousandth.
    """
    _, group, parts = fed(farm_name, group_id)
    found = carried(group, parts)
    assert found is not None
    assert found.by_energy is not None
    assert found.by_protein is not None
    supply = ration_supply(parts, None)
    q = supply.me_mj / supply.dm_kg / GE_MJ_PER_KG_DM
    fact = "milk_kg_per_day" if found.product == "milk" else "gain_kg_per_day"

    def need(amount: float):  # type: ignore[no-untyped-def]
        return REQUIREMENTS[group.animal_class](
            replace(group, facts={**group.facts, fact: amount}), Margins(1.0, 1.0)
        )

    assert need(found.by_energy).energy.required_mj(q) == pytest.approx(supply.me_mj, rel=1e-3)
    by_protein = need(found.by_protein)
    level = by_protein.energy.feeding_level(q)
    if found.by_protein < 1.5 * found.by_energy:
        assert metabolisable_protein(parts, level) == pytest.approx(by_protein.mp_g, rel=1e-3)
    assert found.by_energy >= found.asked - 1e-9


def test_milk_of_a_cow_by_hand() -> None:
    """Energy: CL·((F + A)/km + milk/kl) = ME solved for milk, with CL at the level that this milk
    gives.
    """
    _, group, parts = fed("dairy", "high")
    found = carried(group, parts)
    assert found is not None
    assert found.by_energy is not None
    supply = ration_supply(parts, None)
    q = supply.me_mj / supply.dm_kg / GE_MJ_PER_KG_DM
    none = REQUIREMENTS[group.animal_class](
        replace(group, facts={**group.facts, "milk_kg_per_day": 0.0}), Margins(1.0, 1.0)
    ).energy
    one = REQUIREMENTS[group.animal_class](
        replace(group, facts={**group.facts, "milk_kg_per_day": 1.0}), Margins(1.0, 1.0)
    ).energy
    a_kg = one.over_kl - none.over_kl
    keep = none.em / km(q)
    milk = found.by_energy
    for _ in range(200):
        total = keep + (none.over_kl + milk * a_kg) / kl(q) + none.fixed_me
        correction = 1.0 + 0.018 * (total / keep - 1.0)
        milk = ((supply.me_mj / correction - none.fixed_me - keep) * kl(q) - none.over_kl) / a_kg
    assert milk == pytest.approx(found.by_energy, rel=1e-6)


def test_gain_agrees_with_the_expected_gain() -> None:
    """The scarcer of energy and protein is what `expected_gain` gives for both together."""
    _, group, parts = fed("beef", "bulls")
    found = carried(group, parts)
    assert found is not None
    assert found.by_energy is not None
    supply = ration_supply(parts, None)
    assert expected_gain(group, supply.me_mj, supply.dm_kg) == pytest.approx(
        found.by_energy, rel=1e-9
    )


def test_a_dry_cow_carries_neither() -> None:
    """Nothing is said of a group that makes neither milk nor gain."""
    _, group, parts = fed("dairy", "dry")
    assert carried(group, parts) is None


def test_protein_without_energy_is_wasted() -> None:
    """With rapeseed meal beyond what the ration needs, MP above need and ERDP beyond what microbes
    can use both grow.
    """
    farm, group, parts = fed("beef", "stock_bull")
    meal = next(offer.feed for offer in farm.offers if offer.id == "rapeseed_meal_extracted")
    needs = make_blocks(farm, [group.id])[0].needs
    before, after = wasted(needs, parts), wasted(needs, [*parts, (meal, 1.5)])
    assert before is not None
    assert after is not None
    assert after.erdp_g > before.erdp_g + 50.0
    assert after.mp_g > before.mp_g + 50.0


def test_a_starved_cow_carries_nothing() -> None:
    """Two kg of straw do not cover maintenance: no milk is promised."""
    farm, group, _ = fed("dairy", "high")
    straw = next(offer.feed for offer in farm.offers if offer.id == "straw")
    found = carried(group, [(straw, 2.0)])
    assert found is not None
    assert found.by_energy is None
