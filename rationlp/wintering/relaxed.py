"""A winter's programme that asks no adequate plan for too much, at the levels of feeding held: no
plan at these levels costs less than it, whatever its whole numbers are.

Each energy row is the chord of M*(D) on the whole interval of D. That alone says little, so rows
of value are added: at any prices π of the rows that tie the runs, a run's feeds cost at least what
bound.py proved of it,

    Σ_j (c_j − A_jᵀπ) x_j ≥ P_g(π),

a plain linear row that every adequate ration keeps. At the whole numbers of a plan and its own
prices they say together as much as its bound, and they hold for all other whole numbers as well.
"""

from __future__ import annotations

from math import floor, inf, log10

from rationlp.model.lp import Row
from rationlp.model.solution import Solution
from rationlp.model.solve import MIP_GAP
from rationlp.wintering.bound import WinterBound, link_prices, run_costs
from rationlp.wintering.search import WinterModel


def value_rows(model: WinterModel, solution: Solution, bound: WinterBound, mark: int) -> list[Row]:
    """Rows of value at the marginal values of a solution, one a run that costs anything. bound:
    made at them; mark: a number that tells them from others.
    """
    _, prices = link_prices(model, solution.row_duals)
    rows = []
    for number, (run, least) in enumerate(zip(model.runs, bound.of_runs, strict=True)):
        costs = run_costs(model, number, prices)
        if costs and least > -inf:
            key, why = ("value", str(mark), str(number)), "what a ration costs at least"
            rows.append(Row(key, costs, least, inf, "definition", "", run.block.group.name, why))
    return rows


def search_relaxed(model: WinterModel, rows: list[Row]) -> tuple[float, Solution | None]:
    """What no plan at the levels held costs less than [currency], and where that was found: the
    solver's own search over whole numbers. The model's rows and bounds come back as they were.
    """
    live, count, limits = model.live, len(model.live.rows), model.live.limits()
    live.free_whole()
    _ask_for_less(model)
    model.allow_shortage(False)
    for row in rows:
        live.add_row(row)
    answer = model.solve(cold=True)
    bound = -inf if answer is None else _rounded_down(live.whole_bound())
    live.drop_rows_from(count)
    live.put_back(limits, model.costs)
    return bound, None if answer is None else answer.solution


def _rounded_down(bound: float) -> float:
    """A bound as exact as the search that found it, whose last digits tell of its way."""
    if bound == 0.0 or abs(bound) == inf:
        return bound
    unit = MIP_GAP * 10.0 ** floor(log10(abs(bound)))
    return unit * floor(bound / unit)


def _ask_for_less(model: WinterModel) -> None:
    """Every energy row by its chord; the rows of a run that move with its whole ration are left
    out, only what it costs at least counts.
    """
    live = model.live
    for number, (part, single) in enumerate(zip(model.parts, model.singles, strict=True)):
        if part.by_point:
            for row in single.program.rows:
                live.set_row_bounds(row.key, -inf, inf)
            for column in single.program.columns:
                live.set_column_bounds(column.key, column.low, column.high)
        elif part.curve is not None:
            low, high = part.curve.low, part.curve.high
            model.hold_energy(number, part.curve.bound_row(low, high), low, high)
