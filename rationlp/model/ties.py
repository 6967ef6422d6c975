"""Among answers of equal cost, the one that is shown: aim after aim on the optimal face.

After each aim the model is held on its optimal face: a column with a reduced cost and a row with a
dual stay at the bound they press on, which is what every other optimum does too (complementary
slackness). No cost tolerance is used.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from rationlp.model.lp import Key
from rationlp.model.settle import SettledModel
from rationlp.model.solution import Solution, Status
from rationlp.model.solve import LiveModel

PRICED = 1e-9
"""Least dual or reduced cost [share of the dearest feed] that is no rounding."""
NEED_TOLERANCE = 1e-6
"""Share of a need or a ceiling that counts as rounding [-]."""


def break_ties(
    model: SettledModel,
    solution: Solution,
    aims: Sequence[dict[Key, float]],
    cold_last: bool = False,
) -> tuple[float, ...]:
    """The values of the answer that is shown. Bounds and costs are put back afterwards; an aim
    without an answer leaves the one before it. cold_last: the last aim has one answer, which then
    does not depend on the path to it.
    """
    live = model.live
    limits = live.limits()
    sizes = [max(map(abs, row.values()), default=1.0) for row in live.coefs]
    for number, aim in enumerate(aims):
        _hold_face(live, solution, sizes)
        live.set_costs(aim)
        answer = live.solve(cold_last and number == len(aims) - 1)
        if answer.status is not Status.OPTIMAL or not model.keeps(answer, NEED_TOLERANCE):
            break
        solution = answer
    live.put_back(limits, model.costs)
    return solution.values


def _hold_face(live: LiveModel, solution: Solution, sizes: list[float]) -> None:
    """Hold what carries a price at the bound it presses on. sizes: of each row's coefficients."""
    most = max((abs(cost) for cost in live.cost), default=1.0)
    for key, j in live.column_index.items():
        reduced = solution.reduced_costs[j]
        if abs(reduced) > PRICED * most:
            bound = live.col_low[j] if reduced > 0.0 else live.col_high[j]
            if abs(bound) < inf:
                live.set_column_bounds(key, bound, bound)
    for i, row in enumerate(live.rows):
        dual = solution.row_duals[i]
        if dual and abs(dual) * sizes[i] > PRICED * most:
            bound = live.row_low[i] if dual > 0.0 else live.row_high[i]
            if abs(bound) < inf:
                live.set_row_bounds(row.key, bound, bound)
