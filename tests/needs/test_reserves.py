"""Energy from the back of fresh cows: its ceilings beside measured body energy, and what a MJ of it
takes off the need.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from rationlp.farm.farm import Margins
from rationlp.farm.group import Group
from rationlp.needs import group_needs
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.needs.reserves import kg_lost, reserve_ceiling, score_lost

FACTS: dict[str, float | str] = {
    "live_weight_kg": 600.0, "milk_kg_per_day": 30.0, "milk_fat_g_per_kg": 42.0,
    "milk_protein_g_per_kg": 33.0,
    "week_of_lactation": 1.0, "live_weight_change_kg_per_day": 0.0,
}  # fmt: skip
COW = Group("c", "c", "dairy_cow_milking", 1, "to_appetite", FACTS)
HEIFER = replace(COW, animal_class="first_calver_milking", facts={**FACTS, "gain_kg_per_day": 0.3})


def _with(group: Group, **facts: float) -> Group:
    return replace(group, facts={**group.facts, **facts})


def test_ceilings_by_week() -> None:
    """55, 42, 30, 20, 12, 12, 8, 8, 4, 4 MJ, then nothing (c)."""
    weeks = [reserve_ceiling(_with(COW, week_of_lactation=float(week))) for week in range(1, 12)]
    assert weeks == [55.0, 42.0, 30.0, 20.0, 12.0, 12.0, 8.0, 8.0, 4.0, 4.0, 0.0]
    assert reserve_ceiling(_with(COW, week_of_lactation=1.4)) == 42.0


def test_acceptance_11_the_ceilings_lie_inside_measured_body_energy() -> None:
    """Body energy −64, −35, −22 MJ a day in weeks 1, 2–4, 5–8 of cows peaking at 35 kg (abstract,
    a) is 85, 47, 29 MJ ME- equivalent (× 0.84/0.634). Over weeks 1–8 no more than 0.6 of a score at
    600 kg, whatever the plan uses.
    """
    equivalent = 0.84 / 0.634
    for week in range(1, 9):
        measured = 64.0 if week == 1 else 35.0 if week <= 4 else 22.0
        assert (
            reserve_ceiling(_with(COW, week_of_lactation=float(week)))
            <= measured * equivalent + 1e-9
        )
    total = sum(
        7.0 * reserve_ceiling(_with(COW, week_of_lactation=float(week))) for week in range(1, 9)
    )
    assert score_lost(kg_lost(total), 600.0) <= 0.6


@pytest.mark.parametrize(
    ("score", "share"), [(3.75, 1.0), (3.0, 1.0), (2.75, 0.8), (2.5, 0.5), (2.25, 0.25)]
)
def test_thin_cows_have_less_and_fat_cows_no_more(score: float, share: float) -> None:
    """Multipliers by condition score (c)."""
    assert reserve_ceiling(_with(COW, condition_score=score)) == pytest.approx(55.0 * share)


def test_first_calvers_weight_and_a_stated_loss() -> None:
    """0.7 for a first calver; in proportion to weight; nothing for a cow that loses by the farm's
    own word.
    """
    assert reserve_ceiling(HEIFER) == pytest.approx(38.5)
    assert reserve_ceiling(_with(COW, live_weight_kg=660.0)) == pytest.approx(60.5)
    assert reserve_ceiling(_with(COW, live_weight_change_kg_per_day=-0.3)) == 0.0
    assert reserve_ceiling(replace(COW, animal_class="dairy_cow_dry")) == 0.0


def test_a_mj_from_the_back_is_a_mj_of_the_diet() -> None:
    """25.2 MJ ME a kg at 11.5 MJ/kg DM (AFRC 1993, a): so 25.2 MJ from the back take 25 MJ off the
    need, level of feeding and all, and 4.4 g MP each.
    """
    q = 11.5 / GE_MJ_PER_KG_DM
    plain, leaning = (
        group_needs(replace(COW, reserve_mj=mj), Margins(1.0, 1.0)) for mj in (0.0, 25.2)
    )
    assert plain.energy is not None
    assert leaning.energy is not None
    assert plain.energy.terms(q)[0] - leaning.energy.terms(q)[0] == pytest.approx(25.2, rel=0.005)
    assert (plain.mp_g or 0.0) - (leaning.mp_g or 0.0) == pytest.approx(4.4 * 25.2)


def test_a_first_calver_does_not_grow_while_she_milks_off_her_back() -> None:
    """Growth 0 while energy from the back is in use, and a margin of 1.00."""
    leaning = group_needs(replace(HEIFER, reserve_mj=0.001), Margins(1.05, 1.0, 1.05)).energy
    empty = group_needs(_with(HEIFER, gain_kg_per_day=0.0), Margins(1.0, 1.0)).energy
    assert leaning is not None
    assert empty is not None
    assert leaning.over_kl == pytest.approx(empty.over_kl, abs=0.01)
    assert leaning.margin == 1.0
