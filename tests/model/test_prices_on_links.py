"""Prices on the rows that tie a winter, beside one programme: the same cost within both gaps, each
certified, and the same bytes every time.

Random winters of every kind, with what may tie them besides stores: outlets, bought feed in limited
amounts, one mix for two groups, bedding, grazing, crops still to be grown, loads that are bought
whole. RATIONLP_FULL=1 solves two hundred, plain pytest ten. A failure names kind and seed.
"""

from __future__ import annotations

import os
import random
from dataclasses import replace
from datetime import timedelta

import pytest
from random_winters import KINDS, random_winter
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_matrix
from winter_farms import START, tables

from rationlp.farm.farm import Crop, Farm, Mix
from rationlp.farm.group import Bedding, Grazing
from rationlp.farm.store import Outlet, Spread, StoreStock
from rationlp.planned import WinterPlan
from rationlp.wintering import search
from rationlp.wintering.bound import link_prices, run_costs
from rationlp.wintering.growing import Growing
from rationlp.wintering.plan import settled_winter, solve_winter
from rationlp.wintering.prices import Master, start_by_prices
from rationlp.wintering.run_values import CLOSE, RunValues
from rationlp.wintering.search import WinterModel, begin
from rationlp.wintering.tied import take_apart
from rationlp.wintering.yard import WinterOptions, make_yard

FULL = os.environ.get("RATIONLP_FULL") == "1"
WINTERS = [(kind, seed) for kind in KINDS for seed in range(67 if FULL else 3)]
PLAIN = WinterOptions(faces="off", tidy=False, shortage=False)
ROUNDING = 2e-6
"""Costs of the two that differ by less are the same [share of the cost]."""


def tied_winter(seed: int, kind: str) -> tuple[Farm, dict[str, StoreStock], WinterOptions]:
    """A random winter with more that ties it."""
    farm, held = random_winter(seed, kind)
    rng = random.Random(f"ties {kind} {seed}")
    options, offers, groups = PLAIN, list(farm.offers), list(farm.groups)
    stores = [store.id for store in farm.stores]
    if rng.random() < 0.5:
        price, most = rng.uniform(20.0, 160.0), rng.choice((None, 30.0))
        outlet = Outlet("digester", "Digester", tuple(stores[:2]), None, price, None, most)
        farm = replace(farm, outlets=(outlet,))
    bought = [number for number, offer in enumerate(offers) if offer.bought]
    for number in rng.sample(bought, 2):
        offers[number] = replace(offers[number], most_t=rng.uniform(2.0, 40.0))
    if rng.random() < 0.2:
        offers[bought[0]] = replace(offers[bought[0]], load_t=5.0, whole_loads=True)
    if rng.random() < 0.3:
        grass = Grazing(START, START + timedelta(days=30), 1.0, tables()["grazed_grass_autumn"])
        groups[0] = replace(groups[0], grazing=(grass,))
    if rng.random() < 0.3 and held[stores[0]].edible_t_dm.typical > 30.0:
        farm = replace(farm, beddings=(Bedding(stores[0], groups[0].id, 0.2),))
    if len(groups) > 1 and rng.random() < 0.5:
        top_up = frozenset(offer.id for offer in offers if offer.bought)
        portions = {groups[0].id: 1.0, groups[1].id: rng.uniform(0.6, 1.2)}
        farm = replace(farm, mixes=(Mix("one mix", portions, top_up),))
    if rng.random() < 0.2:
        crop = Crop(stores[0], "crop", tables()[stores[0]], 9.0, 600.0, 0.2)
        nothing = Spread(0.0, 0.0, 0.0)
        grown = replace(held[stores[0]], t_fresh=nothing, t_dm=nothing, edible_t_dm=nothing)
        farm, held = replace(farm, beddings=()), {**held, stores[0]: grown}
        options = replace(PLAIN, growing=Growing((crop,), rng.choice((None, 40.0)), 0.1))
    return replace(farm, offers=tuple(offers), groups=tuple(groups)), held, options


def gap(plan: WinterPlan) -> float:
    """How far a plan's cost may lie above its bound [currency]."""
    assert plan.proof is not None
    assert plan.cost is not None
    return plan.proof.cost - plan.proof.lower_bound


@pytest.mark.parametrize(("kind", "seed"), WINTERS)
def test_prices_and_one_programme_agree(
    kind: str, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same winter both ways: both have a plan or neither, both are certified, and their costs
    lie no further apart than their gaps together.
    """
    farm, held, options = tied_winter(seed, kind)
    one = solve_winter(farm, options, held)
    monkeypatch.setattr(search, "LARGE", 1)
    other = solve_winter(farm, options, held)
    assert one.status == other.status, (kind, seed)
    if one.proof is None or other.proof is None:
        assert one.proof is None
        assert other.proof is None
        return
    assert one.proof.passed, (kind, seed)
    assert other.proof.passed, (kind, seed)
    apart = abs(one.proof.cost - other.proof.cost)
    assert apart <= gap(one) + gap(other) + ROUNDING * abs(one.proof.cost), (kind, seed)
    again = solve_winter(farm, options, held)
    assert repr(again.rations) == repr(other.rations), (kind, seed)
    assert repr(again.proof) == repr(other.proof), (kind, seed)


def opened(kind: str, seed: int) -> WinterModel:
    """A random winter in the solver, where its search begins."""
    farm, held, options = tied_winter(seed, kind)
    model = WinterModel(make_yard(farm, options, held))
    model.allow_shortage(True)
    model.touch(begin(model))
    return model


def least_cost(model: WinterModel) -> float:
    """The optimum of the programme as it stands, by scipy."""
    numbers = model.live.numbers()
    matrix = lil_matrix((len(numbers.coefs), len(numbers.cost)))
    for i, j, value in numbers.entries:
        matrix[i, j] = value
    answer = milp(
        numbers.cost,
        constraints=LinearConstraint(matrix.tocsr(), numbers.row_low, numbers.row_high),
        bounds=Bounds(numbers.col_low, numbers.col_high),
    )
    assert answer.success
    return float(answer.fun)


@pytest.mark.parametrize(("kind", "seed"), [("mixed", 2), ("cattle", 2)])
def test_no_price_promises_more_than_the_least_cost(
    kind: str, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """L(y) bounds the programme whatever the prices are, and comes up to its optimum as scipy finds
    it (linear-programming duality): first with the rows that the search begins with, then with
    those that the blocks settled. The joint programme stands at its optimum then.
    """
    bounds: dict[int, list[float]] = {}
    move = Master.move

    def watched(self: Master, bound: float, prices: list[float]) -> None:
        bounds.setdefault(id(self), []).append(bound)
        move(self, bound, prices)

    monkeypatch.setattr(Master, "move", watched)
    model = opened(kind, seed)
    least = least_cost(model)
    touches = start_by_prices(model, begin(model))
    model.allow_shortage(True)
    model.touch(touches)
    settled = least_cost(model)
    for found, optimum, gap_of in zip(bounds.values(), (least, settled), (1e-4, 1e-8), strict=True):
        assert max(found) <= optimum * (1.0 + 1e-8)
        assert max(found) >= optimum * (1.0 - gap_of)
    answer = model.solve()
    assert answer is not None
    assert answer.objective == pytest.approx(settled, rel=1e-8)


@pytest.mark.parametrize(("kind", "seed"), WINTERS)
def test_values_of_a_plan_prove_no_more_than_its_runs_cost(
    kind: str, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a plan's marginal values say of a run in an interval of D is no more than the programme
    of that run alone, priced and held to the interval, costs; and at the plan's own D it is what
    the plan feeds.
    """
    monkeypatch.setattr(search, "LARGE", 1)
    farm, held, options = tied_winter(seed, kind)
    model = WinterModel(make_yard(farm, options, held))
    settled = settled_winter(model)
    if settled is None or not model.is_large:
        return
    solution = settled[0].solution
    told = RunValues(model, solution.values, solution.row_duals)
    _, prices = link_prices(model, solution.row_duals)
    for number, single in enumerate(model.singles):
        curve, weight = single.curve, model.runs[number].weight
        if curve is None or single.by_point:
            continue
        alone = single.again()
        alone.costs = run_costs(model, number, prices)
        alone.live.set_costs(alone.costs)
        alone.hold_level(0, *model.levels[number])
        at = model.live.value(solution, single.dm)
        fed = told.fed[number]
        size = 1e-7 * max(abs(fed), weight)
        assert told.least(number, curve, at, at) == pytest.approx(fed, abs=size)
        low, high, proved = told.around(number, curve, weight)
        assert curve.low <= low <= at + 1e-9
        assert at - 1e-9 <= high <= curve.high
        assert proved >= fed - CLOSE * max(abs(fed), 1e-3 * weight) - size
        for a, b in ((curve.low, curve.high), (low, high), (curve.low, low), (high, curve.high)):
            answer = alone.bound(a, b)
            if answer is not None:
                assert told.least(number, curve, a, b) <= answer.objective * weight + size


def test_groups_of_one_mix_are_one_block() -> None:
    """Rows of a mix tie two runs, so they lie inside a block; stores tie blocks. Every column and
    row belongs somewhere, once.
    """
    kind, seed = next(one for one in WINTERS if tied_winter(one[1], one[0])[0].mixes)
    model = opened(kind, seed)
    tied, rows = take_apart(model), model.live.program.rows
    assert len(tied.blocks) == len(model.yard.farm.groups) - 1
    assert any(row.key[0] == "mix" for row in rows)
    assert not any(rows[i].key[0] == "mix" for i in tied.tying)
    assert {rows[i].key for i in tied.tying} >= {
        row.key for row in rows if row.key[0] == "store" and len(row.coefs) > 2
    }
    every = sorted(j for block in tied.columns for j in block) + sorted(tied.beside)
    assert sorted(every) == list(range(len(model.live.cost)))
    assert sorted([*tied.tying, *(i for block in tied.rows for i in block)]) == list(
        range(len(rows))
    )


def test_whole_numbers_are_one_programme(monkeypatch: pytest.MonkeyPatch) -> None:
    """Loads bought whole have no prices: such a winter never counts as large."""
    monkeypatch.setattr(search, "LARGE", 1)
    winters = (tied_winter(seed, kind)[0] for kind, seed in WINTERS)
    farm, held, options = next(
        tied_winter(seed, kind)
        for (kind, seed), farm in zip(WINTERS, winters, strict=True)
        if any(offer.whole_loads for offer in farm.offers)
    )
    assert not WinterModel(make_yard(farm, options, held)).is_large
