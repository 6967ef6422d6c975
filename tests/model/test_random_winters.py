"""Random winters: no plan without its own check, no balance that is out, no plan dearer than its
own start.

Every ration is added up again from its kilograms with the functions of `needs/` alone, apart from
`model/`. RATIONLP_FULL=1 runs two hundred winters, each with and without tidying, plain pytest and
the long tests together a tenth. A failure names kind and seed.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import replace

import pytest
from random_winters import KINDS, random_winter, scaled
from winter_farms import tables

from rationlp.farm.farm import Farm
from rationlp.farm.group import AFRC, CSIRO, NRC
from rationlp.farm.store import StoreStock
from rationlp.needs.standards import STANDARDS
from rationlp.needs.supply import ration_supply
from rationlp.planned import PlanRation, WinterPlan
from rationlp.read.changed import held
from rationlp.wintering.levels import settle_plan
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.search import WinterModel, begin
from rationlp.wintering.yard import WinterOptions, make_yard

FULL = os.environ.get("RATIONLP_FULL") == "1"
WINTERS = [(kind, seed) for kind in KINDS for seed in range(67 if FULL else 7)]
BY_CSIRO = [(kind, seed) for kind in ("sheep", "beef") for seed in range(67 if FULL else 3)]
BY_NRC = [("cattle", seed) for seed in range(67 if FULL else 2)]
BY_STANDARD = [
    *((AFRC, *one) for one in WINTERS),
    *((CSIRO, *one) for one in BY_CSIRO),
    *((NRC, *one) for one in BY_NRC),
]
FEW = [(kind, seed) for kind in KINDS for seed in range(12 if FULL else 2)]
TOLERANCE = 3e-6
"""Shortage that counts as none, as a share of the need [-]: amounts of less than a milligram are
left out of a plan.
"""


def solved(farm: Farm, stocks: dict[str, StoreStock], tidy: bool = False) -> WinterPlan:
    """The plan of a winter, faces left alone."""
    return solve_winter(farm, WinterOptions(faces="off", tidy=tidy, beside=False), stocks)


def lacking(ration: PlanRation) -> Iterator[tuple[str, float]]:
    """(need, share of it that is not met) of a ration, at its own q and level of feeding."""
    parts = [(tables()[amount.offer], amount.kg_dm) for amount in ration.amounts]
    need, standard = ration.needs.energy, ration.needs.standard
    assert need is not None
    level = need.level_of_ration(parts)
    supply = ration_supply(parts, level, standard)
    yield STANDARDS[standard].energy_title, 1.0 - supply.energy_mj / need.needed_mj(parts)
    if ration.needs.mp_g is not None:
        supplied = supply.mp_g
        assert supplied is not None
        yield "metabolisable protein", 1.0 - supplied / (ration.needs.mp_g * ration.needs.mp_margin)


def check_rations(plan: WinterPlan) -> None:
    """Every need is met, but for those that the plan names, and these by as much as it says."""
    said = {(one.group, one.period, one.shortfall.need): one.shortfall for one in plan.shortfalls}
    for ration in plan.rations:
        if ration.withheld:
            assert ration.amounts == ()
            assert any(mark[:2] == (ration.group, ration.period) for mark in said)
            continue
        for need, share in lacking(ration):
            short = said.get((ration.group, ration.period, need))
            expected = 0.0 if short is None else short.short / short.needed
            assert share <= expected + (2e-5 if plan.shortfalls else TOLERANCE), (
                ration.group,
                ration.period,
                need,
            )


def check_balance(plan: WinterPlan) -> None:
    """What is held is what leaves and what is left; without rations kept back, what leaves is what
    the rations take.
    """
    days = {period.number: period.days for period in plan.periods}
    for store in plan.stores:
        assert store.held_t_dm.typical == pytest.approx(
            sum(store.used_t_dm) + store.left_t_dm, abs=1e-6
        )
        assert store.left_t_dm >= -1e-6 * max(1.0, store.held_t_dm.typical)
        if any(ration.withheld for ration in plan.rations):
            continue
        taken = sum(
            amount.kg_dm
            / (1.0 - ration.waste[store.store])
            * ration.head
            * days[ration.period]
            / 1000.0
            for ration in plan.rations
            for amount in ration.amounts
            if amount.offer == store.store
        )
        assert sum(store.used_t_dm) == pytest.approx(taken, abs=1e-4)


@pytest.mark.parametrize(("standard", "kind", "seed"), BY_STANDARD)
def test_every_plan_shown_passes_its_own_check(standard: str, kind: str, seed: int) -> None:
    """With and without tidying: adequate by its kilograms, balance closed, exit code as it is; a
    tidied plan as well.
    """
    farm, stocks = random_winter(seed, kind, standard)
    for tidy in (False, True):
        plan = solved(farm, stocks, tidy)
        if plan.proof is None:
            assert plan.exit_code == 3
            assert plan.shortfalls
            continue
        passed = plan.proof.passed and (plan.tidy is None or plan.tidy.passed)
        assert plan.exit_code == (4 if not passed else 3 if plan.shortfalls else 0)
        if passed:
            check_rations(plan)
        check_balance(plan)


@pytest.mark.parametrize(("standard", "kind", "seed"), BY_STANDARD)
def test_no_plan_is_dearer_than_its_own_start(standard: str, kind: str, seed: int) -> None:
    """What the proof improves on is never lost: the plan costs no more than the first one that
    passed its check.
    """
    farm, stocks = random_winter(seed, kind, standard)
    plan = solved(farm, stocks)
    model = WinterModel(make_yard(farm, WinterOptions(), stocks))
    start = None if model.infeasible else settle_plan(model, begin(model))
    if start is None:
        assert not plan.feeds_all
    elif start.passed:
        assert plan.proof is not None
        assert plan.proof.passed
        assert plan.proof.cost <= start.cost + 1e-8 * abs(start.cost)


@pytest.mark.parametrize("factor", [0.01, 2.0, 1000.0])
@pytest.mark.parametrize(("kind", "seed"), FEW)
def test_the_unit_of_money_changes_nothing_but_the_money(
    kind: str, seed: int, factor: float
) -> None:
    """All prices times a factor, penalties included: the same cost but for the factor, within the
    gaps of the two proofs.
    """
    farm, stocks = random_winter(seed, kind)
    plan, other = solved(farm, stocks), solved(scaled(farm, factor), stocks)
    assert other.status == plan.status
    if plan.proof is not None and not plan.shortfalls:
        assert other.proof is not None
        assert other.proof.cost == pytest.approx(factor * plan.proof.cost, rel=1e-5)


@pytest.mark.parametrize(("kind", "seed"), FEW)
def test_heads_and_stores_doubled_double_the_cost(kind: str, seed: int) -> None:
    """Nothing is whole-number and no face binds: twice the farm is twice the plan, within the
    gaps. Where a group parts in whole heads as it calves, 9 of 44 and 19 of 88, twice the farm is
    another farm.
    """
    farm, stocks = random_winter(seed, kind)
    plan = solved(farm, stocks)
    groups = tuple(replace(group, head=2 * group.head) for group in farm.groups)
    doubled = {name: held(stock, 2.0 * stock.edible_t_dm.typical) for name, stock in stocks.items()}
    other = solved(replace(farm, groups=groups), doubled)
    assert other.feeds_all == plan.feeds_all
    parts = [(ration.group, ration.period, 2 * ration.head) for ration in plan.rations]
    same_parts = parts == [(ration.group, ration.period, ration.head) for ration in other.rations]
    if same_parts and plan.feeds_all and plan.proof is not None and other.proof is not None:
        slack = 2.0 * plan.proof.gap + other.proof.gap + 1e-6 * abs(plan.proof.cost)
        assert abs(other.proof.cost - 2.0 * plan.proof.cost) <= slack


@pytest.mark.parametrize(("kind", "seed"), FEW)
def test_a_store_raised_never_raises_the_cost(kind: str, seed: int) -> None:
    """A tenth more in the first store: fed if it was fed before, and no dearer than the gap
    allows.
    """
    farm, stocks = random_winter(seed, kind)
    plan = solved(farm, stocks)
    first = farm.stores[0].id
    more = {**stocks, first: held(stocks[first], 1.1 * stocks[first].edible_t_dm.typical)}
    other = solved(farm, more)
    if plan.feeds_all and plan.proof is not None:
        assert other.feeds_all
        assert other.proof is not None
        assert other.proof.cost <= plan.proof.cost + other.proof.gap + 1e-6 * abs(plan.proof.cost)


@pytest.mark.parametrize(("kind", "seed"), FEW)
def test_what_does_not_exist_does_not_exist_with_less(kind: str, seed: int) -> None:
    """A winter proved to have no plan has none with nine tenths of its stores, and one with a plan
    is not called impossible.
    """
    farm, stocks = random_winter(seed, kind)
    plan = solved(farm, stocks)
    share = 0.9 if plan.status == "none_exists" else 1.1
    changed = {
        name: held(stock, share * stock.edible_t_dm.typical) for name, stock in stocks.items()
    }
    other = solved(farm, changed)
    if plan.status == "none_exists":
        assert not other.feeds_all
    elif plan.feeds_all:
        assert other.status != "none_exists"
