"""Random rations: every programme against an independent solver interface, every answer against the
true requirement.

References outside the project: scipy.optimize.linprog on the same matrices; a dense sweep over the
dry matter eaten, on which the requirement is exact at every point. RATIONLP_FULL=1 runs a thousand
rations, plain pytest a tenth.
"""

from __future__ import annotations

import os

import numpy as np
import pytest
from random_groups import CONCAVE, random_block
from scipy.optimize import linprog
from scipy.sparse import coo_array

from rationlp.farm.group import AFRC, CSIRO
from rationlp.model.block_ration import NoOptimum, Optimum, solve_block
from rationlp.model.bound import prove
from rationlp.model.energy import EnergyCurve
from rationlp.model.explain import explain
from rationlp.model.rows.block import Block
from rationlp.model.search import BlockModel
from rationlp.model.settle import Answer
from rationlp.model.solution import Numbers, Solution, Status
from rationlp.model.solve import LiveModel
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.needs.supply import ration_supply

FULL = os.environ.get("RATIONLP_FULL") == "1"
BATCHES = range(100) if FULL else range(10)
STANDARD_BATCHES = [
    *((AFRC, batch) for batch in BATCHES),
    *((CSIRO, batch) for batch in (BATCHES if FULL else BATCHES[:3])),
]
SWEEPS = range(100) if FULL else range(10)
GAP = 1e-4


def by_scipy(numbers: Numbers) -> tuple[str, float]:
    """(status, objective) of the same matrices by scipy's own interface."""
    rows, columns, values = zip(*numbers.entries, strict=True)
    matrix = coo_array(
        (values, (rows, columns)), shape=(len(numbers.row_low), len(numbers.cost))
    ).tocsr()
    low, high = np.array(numbers.row_low), np.array(numbers.row_high)
    equal = low == high
    upper, lower = np.isfinite(high) & ~equal, np.isfinite(low) & ~equal
    stacked = [matrix[upper], -matrix[lower]]
    from scipy.sparse import vstack

    answer = linprog(
        np.array(numbers.cost),
        A_ub=vstack(stacked) if upper.any() or lower.any() else None,
        b_ub=np.concatenate([high[upper], -low[lower]]) if upper.any() or lower.any() else None,
        A_eq=matrix[equal] if equal.any() else None,
        b_eq=low[equal] if equal.any() else None,
        bounds=list(zip(numbers.col_low, numbers.col_high, strict=True)),
        method="highs",
    )
    return {0: "optimal", 2: "infeasible", 3: "unbounded"}.get(
        answer.status, "other"
    ), answer.fun or 0.0


@pytest.fixture
def every_solve(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Numbers, Solution]]:
    """Record the numbers and the answer of every programme that is solved."""
    kept: list[tuple[Numbers, Solution]] = []
    plain = LiveModel.solve

    def recorded(self: LiveModel, cold: bool = False) -> Solution:
        solution = plain(self, cold)
        kept.append((self.numbers(), solution))
        return solution

    monkeypatch.setattr(LiveModel, "solve", recorded)
    return kept


def check_answer(block: Block, answer: Optimum) -> None:
    """The certificate, the true requirement at the answer's own q and L, and the gap."""
    assert answer.certificate.passed
    energy = block.needs.energy
    assert energy is not None
    q = answer.me_mj / answer.dm_kg / GE_MJ_PER_KG_DM
    assert answer.me_mj >= energy.required_mj(q) * (1 - 1e-7)
    parts = [(offer.feed, answer.values[offer.id]) for offer in block.offers]
    supplied = ration_supply(parts, energy.feeding_level(q), block.needs.standard).mp_g
    assert supplied is not None
    assert supplied >= (block.needs.mp_required_g or 0.0) * (1 - 2e-6)
    assert answer.lower_bound <= answer.objective * (1 + 1e-12) + 1e-12
    assert answer.objective - answer.lower_bound <= GAP * max(answer.objective, 1e-3)
    assert answer.bound_any_level is not None
    assert answer.bound_any_level <= answer.objective * (1 + 1e-9)
    ceiling = block.needs.energy_ceiling
    if ceiling is not None:
        over = answer.me_mj - answer.over_mj
        limit = EnergyCurve(energy, ceiling, 0.0, 0.0).value(answer.dm_kg)
        assert over <= limit * (1 + 2e-6)


@pytest.mark.parametrize(("standard", "batch"), STANDARD_BATCHES)
def test_random_rations(
    standard: str, batch: int, every_solve: list[tuple[Numbers, Solution]]
) -> None:
    """Ten rations by a standard where it holds for the class: each programme as scipy solves it to
    1e-6, each answer proven, adequate and within the gap.
    """
    answers = 0
    for seed in range(10 * batch, 10 * batch + 10):
        block = random_block(seed, standard=standard)
        every_solve.clear()
        answer = solve_block(block)
        for numbers, solution in every_solve:
            status, objective = by_scipy(numbers)
            assert status == solution.status.value, (seed, status, solution.status)
            if solution.status is Status.OPTIMAL:
                assert solution.objective == pytest.approx(objective, rel=1e-6, abs=1e-7), seed
        if isinstance(answer, NoOptimum):
            assert explain(block).shortfalls, seed
        else:
            check_answer(block, answer)
            answers += 1
    assert answers >= 1


def held(seed: int, animal_class: str | None = None) -> BlockModel | None:
    """A random block's model with its level of feeding held at a middling ration's, or None where
    nothing can be eaten.
    """
    model = BlockModel(random_block(seed, animal_class))
    model.find_interval()
    if model.infeasible or model.need is None:
        return None
    model.set_level(model.need.feeding_level(0.62))
    return model


@pytest.mark.parametrize("animal_class", ["dairy_cow_milking"])
def test_cost_never_rises_from_pass_to_pass(animal_class: str) -> None:
    """With L held, a concave class without a ceiling never gets dearer from one pass to the
    next.
    """
    assert animal_class in CONCAVE
    longest = 0
    for seed in range(40):
        model = held(seed, animal_class)
        if model is None or model.curve is None:
            continue
        for share in (0.0, 0.3, 0.7, 1.0):
            start = model.curve.low + share * (model.curve.high - model.curve.low)
            found = model.settle((start,))
            if found is None:
                continue
            longest = max(longest, len(found.costs))
            for before, after in zip(found.costs, found.costs[1:], strict=False):
                assert after <= before * (1 + 1e-9) + 1e-9
    assert longest >= 3


def sweep(model: BlockModel) -> float:
    """The cheapest ration over a dense grid of D, the requirement exact at each point, refined
    around the best point.
    """
    assert model.curve is not None
    energy_row = model.block.key("energy")
    model.allow_shortage(False)

    def cost(dm: float) -> float:
        model.live.set_coefficient(energy_row, model.dm, 0.0)
        model.live.set_row_bounds(energy_row, model.curve.value(dm), np.inf)
        model.live.set_column_bounds(model.dm, dm, dm)
        found = model.solve()
        return np.inf if found is None else found.objective

    low, high = model.curve.low, model.curve.high
    best, points = np.inf, 240
    for _ in range(4):
        grid = np.linspace(low, high, points)
        costs = [cost(dm) for dm in grid]
        where = int(np.argmin(costs))
        best, points = min(best, costs[where]), 25
        low, high = grid[max(where - 1, 0)], grid[min(where + 1, len(grid) - 1)]
    return best


@pytest.mark.parametrize("seed", SWEEPS)
def test_the_answer_is_that_of_a_dense_sweep(seed: int) -> None:
    """With L held, the searched and proven answer equals the best of a dense sweep over D to 0.02
    %.
    """
    model = held(1000 + seed)
    if model is None or model.curve is None:
        assert isinstance(solve_block(random_block(1000 + seed)), NoOptimum)
        return
    low, high = model.curve.low, model.curve.high
    found: Answer | None = model.search_from((high, 0.5 * (low + high), low))
    proof = prove(model, found if found is not None and found.adequate else None)
    swept = sweep(model)
    if proof.best is None:
        assert swept == np.inf
        return
    assert proof.best.objective <= swept * (1 + 2e-4)
    assert proof.lower_bound <= swept * (1 + 1e-9)
    assert swept <= proof.best.objective * (1 + 2e-4)
