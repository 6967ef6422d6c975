"""No concentrate comes and goes: read from plans as they are printed, and one case on paper."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest
from winter_farms import MILKERS, TIGHT, steady, stocks, winter_farm

from rationlp.farm.farm import YardRules
from rationlp.planned import PlanRation, WinterPlan
from rationlp.read.farm import read_farm
from rationlp.wintering.plan import solve_winter

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
FORTNIGHTS = 5
GROUND = frozenset({"forage", "straw", "root"})


@lru_cache(maxsize=1)
def dairy() -> WinterPlan:
    return solve_winter(read_farm(EXAMPLES / "dairy"))


def kind_of(plan: WinterPlan, offer: str) -> str:
    return next((one.feed.kind for one in plan.farm.offers if one.id == offer), "forage")


def stage_of(plan: WinterPlan, ration: PlanRation) -> tuple[str, str | None, frozenset[str]]:
    """Part, limits and forages of a ration: while these stay, nothing should come and go."""
    fed = (one.offer for one in ration.amounts)
    forages = frozenset(offer for offer in fed if kind_of(plan, offer) in GROUND)
    return ration.group, ration.needs.limits_key, forages


def out_and_back(plan: WinterPlan) -> Iterator[tuple[str, str, int]]:
    """(part, feed, period) of every feed that leaves a ration and is back within some fortnights,
    while forages and limits are the same.
    """
    rations = sorted(plan.rations, key=lambda one: (one.group, one.period))
    for number, first in enumerate(rations):
        stage = stage_of(plan, first)
        fed = {one.offer for one in first.amounts}
        gone: set[str] = set()
        for later in rations[number + 1 : number + FORTNIGHTS]:
            if stage_of(plan, later) != stage:
                break
            now = {one.offer for one in later.amounts}
            for feed in gone & now:
                yield later.group, feed, later.period
            gone |= fed - now


@pytest.mark.parametrize("name", ["beef", "calving", "few", "hill", "short"])
def test_no_feed_of_an_example_goes_out_and_comes_back(name: str) -> None:
    assert not list(out_and_back(solve_winter(read_farm(EXAMPLES / name))))


def test_no_feed_of_the_dairy_farm_goes_out_and_comes_back() -> None:
    assert not list(out_and_back(dairy()))


def barley(plan: WinterPlan, part: str) -> list[float]:
    """Barley of a group, fortnight by fortnight [kg fresh a head a day]."""
    return [
        sum(one.kg_fresh for one in ration.amounts if one.offer == "barley")
        for ration in plan.rations
        if ration.group == part
    ]


def test_young_cattle_that_grow_get_more_barley_and_never_less_in_between() -> None:
    amounts = barley(dairy(), "young")
    assert amounts == pytest.approx(sorted(amounts), abs=1e-6)
    assert amounts[-1] > amounts[0] + 0.1


def test_what_it_costs_is_told_and_is_part_of_the_distance_to_the_bound() -> None:
    plan = dairy()
    assert plan.tidy is not None
    assert plan.proof is not None
    rule = next(one for one in plan.tidy.rules if one.rule == "one_way")
    assert 0.0 < rule.cost < 0.002 * plan.proof.cost
    assert "comes and goes" in rule.words
    assert plan.tidy.above_least is not None
    told = plan.tidy.above_least * (plan.proof.cost + plan.tidy.extra_cost)
    assert rule.cost <= told <= plan.proof.cost + plan.tidy.extra_cost - plan.proof.lower_bound


def test_a_farm_that_pays_nothing_for_steady_rations_lets_it_come_and_go() -> None:
    farm = replace(read_farm(EXAMPLES / "dairy"), yard_rules=YardRules(hold_saving=0.0))
    plan = solve_winter(farm)
    assert plan.tidy is not None
    rule = next(one for one in plan.tidy.rules if one.rule == "one_way")
    assert rule.cost == pytest.approx(0.0, abs=0.01)
    assert rule.cost == 0.0 or "not for" in rule.words


def test_a_farm_whose_groups_are_fed_alike_all_winter_has_nothing_to_move() -> None:
    """One steady group is one run: there is no stage, and the plan is tidied as it is."""
    plan = solve_winter(winter_farm((steady(MILKERS),)), None, stocks(TIGHT))
    assert plan.tidy is not None
    assert plan.proof is not None
    assert plan.proof.passed
    assert len({ration.amounts for ration in plan.rations}) == 1
