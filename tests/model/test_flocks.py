"""Whole flocks: each gets a plan that is proved and believable; `ration` on a day and `winter`
follow the same rules.
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from flocks import FLOCKS, flock

from rationlp.farm.farm import Farm
from rationlp.model.believable import unusual
from rationlp.model.ration import solve_rations
from rationlp.needs.calendar import farm_on
from rationlp.planned import PlanRation, WinterPlan
from rationlp.wintering.ewe_steps import STEP_KG
from rationlp.wintering.plan import solve_winter


@pytest.fixture(scope="module", params=list(FLOCKS))
def planned(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Farm, WinterPlan]:
    """A flock and its plan."""
    farm = flock(request.param, tmp_path_factory.mktemp("flock"))
    return farm, solve_winter(farm)


def test_every_flock_gets_a_proved_plan(planned: tuple[Farm, WinterPlan]) -> None:
    """Within 0.1 % of the bound, every need met, the tidied plan as well."""
    _, plan = planned
    assert plan.proof is not None
    assert plan.proof.passed
    assert plan.status == "proven"
    assert plan.tidy is None or plan.tidy.passed


def test_every_ration_of_a_flock_is_believable(planned: tuple[Farm, WinterPlan]) -> None:
    """Inside the usual ranges of class, feeding system and weight in every period."""
    farm, plan = planned
    feeds = {offer.id: offer.feed for offer in farm.offers}
    outside = {}
    for one in plan.rations:
        fed = {amount.offer: (feeds[amount.offer], amount.kg_dm) for amount in one.amounts}
        found = {
            each.quantity
            for each in unusual(one.needs.believability, fed, one.needs.live_weight_kg)
        }
        if found:
            outside[one.group, one.period] = found
    assert outside == {}


def test_what_the_winter_feeds_the_ration_can(planned: tuple[Farm, WinterPlan]) -> None:
    """On the first day of three months every group that the winter feeds has a ration too, stores
    left out.
    """
    farm, plan = planned
    assert plan.proof is not None
    for day in (farm.start, date(2027, 2, 1), date(2027, 4, 14)):
        on = farm_on(farm, day)
        assert [one.group for one in solve_rations(on).groups if one.proof is None] == []


def concentrate(one: PlanRation, farm: Farm) -> float:
    """kg fresh a head a day."""
    feeds = {offer.id: offer.feed for offer in farm.offers}
    return sum(amount.kg_fresh for amount in one.amounts if feeds[amount.offer].is_concentrate)


def test_concentrate_before_lambing_never_falls_and_rises_by_steps(
    planned: tuple[Farm, WinterPlan],
) -> None:
    """From one fortnight to the next of the last eight weeks at most 0.25 kg more and never less
    (c).
    """
    farm, plan = planned
    steps = 0
    by_group: dict[str, list[PlanRation]] = {}
    for one in plan.rations:
        if one.needs.late_ewe is not None:
            by_group.setdefault(one.group, []).append(one)
    for rations in by_group.values():
        for before, after in itertools.pairwise(rations):
            assert before.needs.late_ewe is not None
            assert after.needs.late_ewe is not None
            if after.needs.late_ewe.weeks_to_lambing > before.needs.late_ewe.weeks_to_lambing:
                continue
            steps += 1
            rise = concentrate(after, farm) - concentrate(before, farm)
            assert -1e-6 <= rise <= STEP_KG + 1e-6
    assert steps >= 1


def test_thin_ewes_of_the_april_flock_are_flushed_and_fit_ones_are_not(tmp_path: Path) -> None:
    """In October the April flock is 186 days from lambing: no error; score 2.5 gets more than score
    3.5.
    """
    farm = flock("october and april", tmp_path)
    rations = {one.group: one for one in solve_rations(farm_on(farm, date(2026, 10, 20))).groups}
    assert rations["april"].me_mj_per_kg_dm is not None
    energy = {name: one.needs.energy for name, one in rations.items()}
    thin, fit = energy["april"], energy["april_singles"]
    assert thin is not None
    assert fit is not None
    assert thin.required_mj(0.55) > 1.4 * fit.required_mj(0.55)
    assert any("Thin ewes around tupping" in text for text in rations["april"].remarks)


def test_a_flock_may_be_any_number_of_days_from_lambing(tmp_path: Path) -> None:
    """From 365 days to lambing to 0: always needs, never an error."""
    farm = flock("october and april", tmp_path)
    ewes = next(group for group in farm.groups if group.id == "april_singles")
    for days in (365.0, 250.0, 190.0, 148.0, 147.0, 120.0, 60.0, 0.0):
        group = replace(ewes, calendar=None, facts={**ewes.facts, "days_to_lambing": days})
        answer = solve_rations(replace(farm, groups=(group,))).groups[0]
        assert answer.proof is not None
