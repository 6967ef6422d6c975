"""Random rations: every programme against an independent solver interface, every answer against the
true requirement.

References outside the project: scipy.optimize.linprog on the same matrices; a dense sweep over the
dry matter eaten, on which the requirement is exact at every point. RATIONLP_FULL=1 runs a thousand
rations, plain pytest and the long tests together a tenth.
"""

from __future__ import annotations

import os

import numpy as np
import pytest
from random_groups import CONCAVE, random_block
from scipy.optimize import OptimizeResult, linprog
from scipy.sparse import coo_array, hstack, vstack
from sweep_nrc import short_of as short_by_nrc

from rationlp.farm.group import AFRC, CSIRO, NRC
from rationlp.model.answer import Answer
from rationlp.model.block_ration import NoOptimum, Optimum, solve_block
from rationlp.model.bound import prove
from rationlp.model.energy import EnergyCurve
from rationlp.model.explain import explain
from rationlp.model.rows.block import Block
from rationlp.model.search import BlockModel
from rationlp.model.solution import Numbers, Solution, Status
from rationlp.model.solve import LiveModel
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.needs.supply import ration_supply

FULL = os.environ.get("RATIONLP_FULL") == "1"
BATCHES = range(100) if FULL else range(10)
STANDARD_BATCHES = [
    *((AFRC, batch) for batch in BATCHES),
    *((CSIRO, batch) for batch in (BATCHES if FULL else BATCHES[:3])),
    *((NRC, batch) for batch in (BATCHES if FULL else BATCHES[:1])),
]
SWEEPS = range(100) if FULL else range(10)
GAP = 1e-4
MOST_EDGES = 1
"""Of ten rations with some two hundred programmes, one verdict may lie within what solvers tell
apart: seed 541 has the only one known, missed by 2e-11.
"""


FEASIBLE = 1e-7
"""To this the solvers take a row as kept (their published default): what is met or missed by less
is called possible by one way to the answer and impossible by another, and neither is wrong.
"""


def _solved(numbers: Numbers, margin: bool) -> OptimizeResult:
    """The matrices by scipy's own interface; margin: the most by which every inequality can be
    tightened (negative: must be loosened) together, as a share of its bound where that is above 1.
    """
    rows, columns, values = zip(*numbers.entries, strict=True)
    width = len(numbers.cost)
    matrix = coo_array((values, (rows, columns)), shape=(len(numbers.row_low), width)).tocsr()
    low, high = np.array(numbers.row_low), np.array(numbers.row_high)
    equal = low == high
    upper, lower = np.isfinite(high) & ~equal, np.isfinite(low) & ~equal
    bounds = list(zip(numbers.col_low, numbers.col_high, strict=True))
    above, below = vstack([matrix[upper], -matrix[lower]]), matrix[equal]
    most, cost = np.concatenate([high[upper], -low[lower]]), np.array(numbers.cost)
    if margin:
        tightened = coo_array(np.maximum(np.abs(most), 1.0)[:, None])
        above = hstack([above, tightened])
        below = hstack([below, coo_array((below.shape[0], 1))])
        cost, bounds = np.array([0.0] * width + [-1.0]), [*bounds, (-1.0, 1.0)]
    return linprog(
        cost,
        A_ub=above if most.size else None,
        b_ub=most if most.size else None,
        A_eq=below if equal.any() else None,
        b_eq=low[equal] if equal.any() else None,
        bounds=bounds,
        method="highs",
    )


def by_scipy(numbers: Numbers) -> tuple[str, float]:
    """(status, objective) of the same matrices by scipy's own interface."""
    answer = _solved(numbers, margin=False)
    status = {0: "optimal", 2: "infeasible", 3: "unbounded"}.get(answer.status, "other")
    return status, answer.fun or 0.0


def on_the_edge(numbers: Numbers) -> bool:
    """Whether a programme can be met, or is missed, by less than solvers tell apart: loosened by
    that it has an answer, tightened by that it has none.
    """
    answer = _solved(numbers, margin=True)
    return answer.status == 0 and abs(answer.fun) <= FEASIBLE


def _two_bounds(apart: float) -> Numbers:
    """x ≥ 1 + apart and x ≤ 1: met by nobody, or by everybody, by so much."""
    return Numbers(
        cost=(1.0,), col_low=(0.0,), col_high=(10.0,), row_low=(1.0 + apart, -np.inf),
        row_high=(np.inf, 1.0), coefs=({0: 1.0}, {0: 1.0}),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("apart", "edge"), [(2e-11, True), (-2e-11, True), (1e-5, False), (-1e-5, False)]
)
def test_an_edge_is_what_solvers_cannot_tell_apart(apart: float, edge: bool) -> None:
    """By hand: the margin is half the distance of the two bounds."""
    assert on_the_edge(_two_bounds(apart)) is edge


@pytest.fixture
def every_solve(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Numbers, Solution]]:
    """Record the numbers and the answer of every programme that is solved."""
    kept: list[tuple[Numbers, Solution]] = []
    plain = LiveModel.solve

    def recorded(self: LiveModel, cold: bool = False, presolve: bool = True) -> Solution:
        solution = plain(self, cold, presolve)
        kept.append((self.numbers(), solution))
        return solution

    monkeypatch.setattr(LiveModel, "solve", recorded)
    return kept


def check_answer(block: Block, answer: Optimum) -> None:
    """The certificate, the true requirement at the answer's own q and L, and the gap."""
    assert answer.certificate.passed
    energy = block.needs.energy
    assert energy is not None
    if block.needs.standard == NRC:
        assert short_by_nrc(block, answer.values) == []
        assert answer.objective - answer.lower_bound <= 2e-3 * max(answer.objective, 1e-3)
        return
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
    answers = edges = 0
    for seed in range(10 * batch, 10 * batch + 10):
        block = random_block(seed, standard=standard)
        every_solve.clear()
        answer = solve_block(block)
        for numbers, solution in every_solve:
            status, objective = by_scipy(numbers)
            if status != solution.status.value:
                assert {status, solution.status.value} == {"optimal", "infeasible"}, seed
                assert on_the_edge(numbers), (seed, status, solution.status)
                edges += 1
            elif solution.status is Status.OPTIMAL:
                assert solution.objective == pytest.approx(objective, rel=1e-6, abs=1e-7), seed
        if isinstance(answer, NoOptimum):
            assert explain(block).shortfalls, seed
        else:
            check_answer(block, answer)
            answers += 1
    assert answers >= 1
    assert edges <= MOST_EDGES


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
