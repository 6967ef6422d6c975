"""What a plan's own marginal values prove of its runs, before any other programme is solved.

A run with the rows that tie it to others priced is a programme of its own. For any duals y of its
rows, y_E ≥ 0 that of its energy row E + short − s·D ≥ h, and reduced costs z = c − Aᵀy of its
columns, every ration whose D lies in [a, b] and whose energy is enough, E ≥ M*(D), costs at least

    Σ_{i≠E} y_i·(low_i or high_i) + Σ_{j≠D} z_j·(low_j or high_j)
        + min over D in [a, b] of z_D·D + y_E·(M*(D) − s·D)

and since M*(D) stands on or above a row `level + slope·D` made for [a, b] (the chord where M* is
concave, model/energy.py), that least is at one of the two ends or above it. At the plan's own D it
is what the plan feeds the run; with the distance from it the bound falls, slowly at first, for the
energy row is the tangent there. So the interval of D around the plan's own in which the bound is
close enough is proved without a programme, and only what lies left and right of it needs one.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, sqrt

import numpy as np

from rationlp.model.bound import GAP_TARGET
from rationlp.model.energy import EnergyCurve
from rationlp.model.proof import entries_of
from rationlp.model.solution import Numbers
from rationlp.wintering.search import WinterModel

CLOSE = 0.2 * GAP_TARGET
"""How far below what the plan feeds a run its bound may lie in the interval around the plan's own D
[share of the cost]: well within the gap at which a run is proved.
"""
MOST_STEPS = 5
"""Steps in which an end of that interval is sought."""
_NOISE = 1e-9

Middle = tuple[float, float, float]
"""Low and high of an interval of D [kg DM], and the bound of a run in it [currency]."""


class RunValues:
    """The bound of each run by the marginal values of a plan, as a function of D.

    fed: what the plan feeds each run at the prices of the rows that tie runs [currency].
    """

    def __init__(
        self, model: WinterModel, values: Sequence[float], row_duals: Sequence[float]
    ) -> None:
        live = model.live
        numbers, x = live.numbers_now(), np.array(values)
        y = np.zeros(len(numbers.row_low))
        y[: len(row_duals)] = row_duals
        row_side = _side(y, numbers.row_low, numbers.row_high)
        y[~np.isfinite(row_side)] = 0.0
        row_side[~np.isfinite(row_side)] = 0.0
        rows, columns, coefs = entries_of(numbers)
        charged = coefs * y[rows]
        owner = _owners(model, len(y))
        tied = owner[rows] < 0
        count = len(numbers.cost)
        priced = np.array(numbers.cost) - np.bincount(columns[tied], charged[tied], count)
        z = priced - np.bincount(columns[~tied], charged[~tied], count)
        starts = [first for first, _ in model.firsts]
        last = starts[-1] + len(model.singles[-1].program.columns)
        self.fed: list[float] = np.add.reduceat((priced * x)[:last], starts).tolist()
        index = live.column_index
        self._dm = [index[single.dm] for single in model.singles]
        own_rows = owner >= 0
        row_part = np.bincount(owner[own_rows], (y * row_side)[own_rows], len(starts))
        column_part = np.add.reduceat(_column_part(numbers, z, self._dm)[:last], starts)
        self._base: list[float] = (row_part + column_part).tolist()
        self._z: list[float] = z[self._dm].tolist()
        self._at: list[float] = x[self._dm].tolist()
        self._energy: list[tuple[float, float]] = []
        for number, single in enumerate(model.singles):
            i = live.row_index.get(single.energy)
            dual, slope = 0.0, 0.0
            if i is not None:
                dual, slope = float(y[i]), -live.coefs[i].get(self._dm[number], 0.0)
                self._base[number] -= dual * float(row_side[i])
            self._energy.append((dual, slope))

    def least(self, number: int, curve: EnergyCurve, low: float, high: float) -> float:
        """No ration of a run with D between two figures [kg DM] costs less [currency]."""
        dual, slope = self._energy[number]
        row = curve.bound_row(low, high)
        ends = (
            self._z[number] * dm + dual * (row.level + (row.slope - slope) * dm)
            for dm in (low, high)
        )
        return self._base[number] + min(ends)

    def around(self, number: int, curve: EnergyCurve, unit: float) -> Middle:
        """(low, high, bound) of the widest interval of D found around the plan's own in which its
        bound is close to what the plan feeds [kg DM, kg DM, currency]. unit: of money that a cost
        of nothing is measured by [currency].
        """
        at, fed = min(max(self._at[number], curve.low), curve.high), self.fed[number]
        wanted = fed - CLOSE * max(abs(fed), 1e-3 * unit)
        low, high = (self._reach(number, curve, at, end, wanted) for end in (curve.low, curve.high))
        sides = ((low, at), (at, high))
        bounds = [self.least(number, curve, a, b) for a, b in sides if b > a]
        return low, high, min(bounds, default=inf)

    def _reach(
        self, number: int, curve: EnergyCurve, at: float, end: float, wanted: float
    ) -> float:
        """How far towards an end the bound stays as high as wanted [kg DM]: at a distance d it has
        fallen by about y_E·|M*''|·d²/2.
        """
        falls = self._energy[number][0] * abs(curve.at(at)[2])
        may_fall = self.fed[number] - wanted
        tried, reach = end, inf if falls == 0.0 else sqrt(2.0 * may_fall / falls)
        for _ in range(MOST_STEPS):
            if self.least(number, curve, min(at, tried), max(at, tried)) >= wanted:
                return tried
            reach = min(0.9 * reach, 0.5 * abs(tried - at))
            tried = at + (reach if end > at else -reach)
        return at


def _side(weights: np.ndarray, low: Sequence[float], high: Sequence[float]) -> np.ndarray:
    """The bound that a weight presses on; of no weight, nought."""
    side = np.where(weights > 0.0, np.array(low), np.array(high))
    return np.where(weights == 0.0, 0.0, side)


def _column_part(numbers: Numbers, z: np.ndarray, apart: Sequence[int]) -> np.ndarray:
    """What each column adds to a bound at least [currency], those set apart nothing."""
    side = _side(z, numbers.col_low, numbers.col_high)
    dearest = np.abs(np.array(numbers.cost)).max(initial=0.0)
    endless = ~np.isfinite(side)
    part = np.where(endless, 0.0, z) * np.where(endless, 0.0, side)
    part[endless & (np.abs(z) > _NOISE * dearest)] = -inf
    part[list(apart)] = 0.0
    return part


def _owners(model: WinterModel, count: int) -> np.ndarray:
    """The run of each row, −1 of those that tie runs; tangents of ceilings are a run's own."""
    owner = np.full(count, -1)
    of_run: dict[tuple[str, ...], int] = {}
    for number, (single, (_, first)) in enumerate(zip(model.singles, model.firsts, strict=True)):
        owner[first : first + len(single.program.rows)] = number
        of_run[single.dm[-2:]] = number
    for i in range(model.first_link, len(model.live.rows)):
        row = model.live.rows[i]
        if row.kind == "ceiling":
            owner[i] = of_run[row.key[-2:]]
    return owner
