"""The certificate: an optimum checked from the model's own numbers, without the solver's word.

For a minimisation with two-sided rows and columns, x is optimal if it satisfies bounds and rows,
the duals y have the signs that belong to the bounds they press on, and cost·x equals the dual
objective (linear-programming duality). The dual objective is a lower bound on the cost whoever
computed y, so it also serves as the proven bound of the search.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from math import inf

import numpy as np

from rationlp.model.solution import Numbers, Solution
from rationlp.records import dataclass

CHECK_TOLERANCE = 1e-6
_NOISE = 1e-9


@dataclass(frozen=True)
class Certificate:
    """Largest scaled violations of one linear programme [-], and its two objectives [currency].

    primal: bounds and rows. dual: signs of duals and reduced costs. complementarity: slack times
    dual. gap: relative. coefficient_range: least and greatest absolute coefficient.
    """

    primal: float
    dual: float
    complementarity: float
    gap: float
    objective: float
    dual_objective: float
    coefficient_range: tuple[float, float]

    @property
    def passed(self) -> bool:
        """All four within 1e-6."""
        return max(self.primal, self.dual, self.complementarity, self.gap) <= CHECK_TOLERANCE


def _violation(value: np.ndarray, low: np.ndarray, high: np.ndarray, scale: np.ndarray) -> float:
    below = np.where(np.isfinite(low), low - value, 0.0)
    above = np.where(np.isfinite(high), value - high, 0.0)
    return float(np.max(np.maximum(np.maximum(below, above), 0.0) / scale, initial=0.0))


def dual_bound(numbers: Numbers, row_duals: tuple[float, ...]) -> float:
    """A lower bound on the cost from any row duals [currency]; −inf where they bound nothing."""
    reduced = list(numbers.cost)
    for dual, row in zip(row_duals, numbers.coefs, strict=True):
        if dual:
            for column, value in row.items():
                reduced[column] -= value * dual
    dearest = max(map(abs, numbers.cost), default=0.0)
    return _bound_part(row_duals, numbers.row_low, numbers.row_high, numbers.unit) + _bound_part(
        reduced, numbers.col_low, numbers.col_high, numbers.unit + dearest
    )


def entries_of(numbers: Numbers) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Row, column and coefficient of every entry of A."""
    sizes = [len(row) for row in numbers.coefs]
    rows, count = np.repeat(np.arange(len(sizes)), sizes), sum(sizes)
    columns = np.fromiter(itertools.chain.from_iterable(numbers.coefs), int, count)
    values = (row.values() for row in numbers.coefs)
    return rows, columns, np.fromiter(itertools.chain.from_iterable(values), float, count)


def _bound_part(
    weights: Sequence[float], low: Sequence[float], high: Sequence[float], scale: float
) -> float:
    total = 0.0
    for weight, lower, upper in zip(weights, low, high, strict=True):
        bound = lower if weight > 0.0 else upper
        if bound in (inf, -inf):
            if abs(weight) > _NOISE * scale:
                return -inf
            continue
        total += weight * bound
    return total


def certify(
    numbers: Numbers, solution: Solution, values: tuple[float, ...] | None = None
) -> Certificate:
    """Check an optimum. values: in place of the solution's own, where a tie was broken."""
    x = np.array(solution.values if values is None else values)
    y = np.array(solution.row_duals) / numbers.unit
    cost = np.array(numbers.cost) / numbers.unit
    rows, columns, coefs = entries_of(numbers)
    row_count = len(numbers.row_low)
    activity = np.bincount(rows, weights=coefs * x[columns], minlength=row_count)
    size = 1.0 + np.bincount(rows, weights=np.abs(coefs * x[columns]), minlength=row_count)
    row_low, row_high = np.array(numbers.row_low), np.array(numbers.row_high)
    col_low, col_high = np.array(numbers.col_low), np.array(numbers.col_high)
    primal = max(
        _violation(x, col_low, col_high, 1.0 + np.abs(x)),
        _violation(activity, row_low, row_high, size),
    )
    reduced = cost - np.bincount(columns, weights=coefs * y[rows], minlength=len(cost))
    reduced_scale = (
        1.0
        + np.abs(cost)
        + np.bincount(columns, weights=np.abs(coefs * y[rows]), minlength=len(cost))
    )
    dual = max(
        _sign_fault(y, row_low, row_high, 1.0 + np.abs(y)),
        _sign_fault(reduced, col_low, col_high, reduced_scale),
    )
    objective = float(cost @ x)
    scale = 1.0 + abs(objective)
    complementarity = max(
        _slackness(activity, row_low, row_high, y) / scale,
        _slackness(
            x, col_low, col_high, np.where(np.abs(reduced) > _NOISE * reduced_scale, reduced, 0.0)
        )
        / scale,
    )
    bound = dual_bound(numbers, solution.row_duals) / numbers.unit
    sizes = np.abs(coefs[coefs != 0.0])
    span = (float(sizes.min()), float(sizes.max())) if sizes.size else (0.0, 0.0)
    return Certificate(
        primal, dual, complementarity, abs(objective - bound) / scale,
        objective * numbers.unit, bound * numbers.unit, span,
    )  # fmt: skip


def _sign_fault(weights: np.ndarray, low: np.ndarray, high: np.ndarray, scale: np.ndarray) -> float:
    positive_fault = np.where(np.isfinite(low), 0.0, np.maximum(weights, 0.0))
    negative_fault = np.where(np.isfinite(high), 0.0, np.maximum(-weights, 0.0))
    return float(np.max(np.maximum(positive_fault, negative_fault) / scale, initial=0.0))


def _slackness(value: np.ndarray, low: np.ndarray, high: np.ndarray, weights: np.ndarray) -> float:
    to_low = np.where(np.isfinite(low), value - low, 0.0)
    to_high = np.where(np.isfinite(high), high - value, 0.0)
    product = np.where(weights > 0.0, np.abs(to_low) * weights, np.abs(to_high) * -weights)
    return float(np.max(product, initial=0.0))
