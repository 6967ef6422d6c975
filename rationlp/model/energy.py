"""M*(D): the least ME that is enough when D kg DM are eaten, and the linear rows that stand in for
it.

The requirement falls as the ration gets richer, so "enough" depends on the ration itself. With D
the dry matter eaten, M*(D) is the root of E = factor · requirement(q = E/(18.8 D)): supply just
meets the need, margin included. A ration is adequate when ΣME ≥ M*(ΣDM). M* rises with D; it is
concave except for the growth curve at a high intake for the size of the animal, where it bends
upward. The rows below hold on an interval of D whatever the shape is.
"""

from __future__ import annotations

import itertools
from functools import lru_cache
from math import inf

from rationlp.halving import turn
from rationlp.needs.energy import GE_MJ_PER_KG_DM, EnergyNeed
from rationlp.needs.nrc_energy import FORM
from rationlp.records import dataclass

Q_MOST = 0.80
"""Highest metabolisability at which the equations are used [-]; usual are 0.45–0.70."""

ME_DENSITY_MOST = Q_MOST * GE_MJ_PER_KG_DM
"""The same as energy density of the whole ration [MJ ME/kg DM]."""

_Q_CEILING = 1.1
_SAMPLES = 48


@dataclass(frozen=True)
class LinearRow:
    """E − slope·D ≥ level, with E the ME eaten [MJ/d] and D the dry matter eaten [kg/d]."""

    slope: float
    level: float


@dataclass(frozen=True)
class EnergyCurve:
    """M*(D) of one head for D in [low, high] kg DM; `bends` are the D at which its curvature
    changes sign.

    Made by `energy_curve`. factor: multiple of the requirement (1, or that of an energy ceiling).
    """

    need: EnergyNeed
    factor: float
    low: float
    high: float
    bends: tuple[float, ...] = ()
    first_piece_concave: bool = True

    def at(self, dm_kg: float) -> tuple[float, float, float]:
        """M* [MJ/d], slope [MJ/kg DM], curvature [MJ/kg² DM] at D; (inf, 0, 0) if no ME will do."""
        return _root(self.need, self.factor, dm_kg)

    def value(self, dm_kg: float) -> float:
        """M* at D [MJ/d]."""
        return self.at(dm_kg)[0]

    def _pieces(self, low: float, high: float) -> list[tuple[float, float, bool]]:
        edges = [low, *(bend for bend in self.bends if low < bend < high), high]
        turned = sum(bend <= low for bend in self.bends)
        return [
            (a, b, self.first_piece_concave == ((turned + number) % 2 == 0))
            for number, (a, b) in enumerate(itertools.pairwise(edges))
        ]

    def safe_row(self, touch: float, low: float, high: float) -> LinearRow:
        """A row whose every ration with D in [low, high] is truly adequate; on the concave part the
        tangent at `touch`.

        Its level is the greatest value of M*(D) − slope·D on the interval, slope that of M* at
        `touch`.
        """
        value, slope, _ = self.at(touch)
        level = value - slope * touch
        pieces = self._pieces(low, high)
        if len(pieces) == 1 and pieces[0][2] and low <= touch <= high:
            return LinearRow(slope, level)
        for a, b, concave in pieces:
            for dm in (a, b, *((self._where_slope(slope, a, b, True),) if concave else ())):
                level = max(level, self.value(dm) - slope * dm)
        return LinearRow(slope, level)

    def bound_row(self, low: float, high: float) -> LinearRow:
        """A row that asks no adequate ration with D in [low, high] for too much: by the chord."""
        at_low, at_high = self.value(low), self.value(high)
        slope = (at_high - at_low) / (high - low) if high > low else self.at(low)[1]
        level = min(at_low - slope * low, at_high - slope * high)
        for a, b, concave in (
            self._pieces(low, high) if self.bends or not self.first_piece_concave else ()
        ):
            for dm in (a, b, *(() if concave else (self._where_slope(slope, a, b, False),))):
                level = min(level, self.value(dm) - slope * dm)
        return LinearRow(slope, level)

    def furthest(self, low: float, high: float) -> float:
        """The D in [low, high] at which M* lies furthest from its chord: where to split."""
        slope = (self.value(high) - self.value(low)) / (high - low)
        best, where = -1.0, 0.5 * (low + high)
        for a, b, concave in self._pieces(low, high):
            for dm in (self._where_slope(slope, a, b, concave, 1e-4), a, b):
                apart = abs(self.value(dm) - self.value(low) - slope * (dm - low))
                if low < dm < high and apart > best:
                    best, where = apart, dm
        return where

    def _where_slope(
        self, slope: float, low: float, high: float, concave: bool, tolerance: float = 1e-12
    ) -> float:
        """The D of one piece at which M* has this slope, or the nearer end."""

        def before(dm: float) -> bool:
            return (self.at(dm)[1] > slope) == concave

        return turn(before, low, high, tolerance * high, 60)


def least_dm(need: EnergyNeed, densest_mj_per_kg_dm: float, factor: float = 1.0) -> float:
    """The least dry matter [kg/d] at which the richest ration suffices; inf where none does."""
    if need.form == FORM:
        return factor * need.required_mj(0.0) / densest_mj_per_kg_dm
    density = min(densest_mj_per_kg_dm, ME_DENSITY_MOST)
    return factor * need.required_mj(density / GE_MJ_PER_KG_DM) / density


def energy_curve(need: EnergyNeed, low: float, high: float, factor: float = 1.0) -> EnergyCurve:
    """The curve M*(D) on [low, high] kg DM, its bends found once.

    Only the exponential growth form bends (R above about 0.55 and a high intake); the additive
    forms are concave.
    """
    plain = EnergyCurve(need, factor, low, high)
    if need.form in ("additive", FORM) or high <= low:
        return plain
    step = (high - low) / _SAMPLES
    points = [low + step * number for number in range(_SAMPLES + 1)]
    signs = [plain.at(point)[2] <= 0.0 for point in points]
    bends = []
    for a, b, sign_a, sign_b in zip(points, points[1:], signs, signs[1:], strict=False):
        if sign_a != sign_b:
            bends.append(_bend(plain, a, b, sign_a))
    return EnergyCurve(need, factor, low, high, tuple(bends), signs[0])


def _bend(curve: EnergyCurve, low: float, high: float, concave_at_low: bool) -> float:
    def before(dm: float) -> bool:
        return (curve.at(dm)[2] <= 0.0) == concave_at_low

    return turn(before, low, high, 0.0, 50)


@lru_cache(maxsize=8192)
def _root(need: EnergyNeed, factor: float, dm_kg: float) -> tuple[float, float, float]:
    """M*, M*′ and M*″ at D: Newton on 18.8·D·q = factor·requirement(q), kept inside a bracket. Net
    energy is the same at every D: there the feeds bend, and not the need.
    """
    if need.form == FORM:
        return factor * need.required_mj(0.0), 0.0, 0.0
    gross = GE_MJ_PER_KG_DM * dm_kg
    low, high = 0.0, _Q_CEILING
    q = min(Q_MOST, high)
    for _ in range(100):
        value, first, second = need.required(q)
        excess = gross * q - factor * value
        if value == inf or excess < 0.0:
            low = q
        else:
            high = q
        if high - low <= 1e-15:
            break
        following = 0.5 * (low + high) if value == inf else q - excess / (gross - factor * first)
        if not low <= following <= high:
            following = 0.5 * (low + high)
        if abs(following - q) <= 1e-15 * max(q, 1e-3):
            q = following
            break
        q = following
    value, first, second = need.required(q)
    if value == inf or q >= _Q_CEILING - 1e-9:
        return inf, 0.0, 0.0
    a, a_of_q = factor * first, factor * second
    energy = gross * q
    numerator, denominator = -a * q, dm_kg - a / GE_MJ_PER_KG_DM
    slope = numerator / denominator
    q_of_dm = slope / gross - q / dm_kg
    a_of_dm = a_of_q * q_of_dm
    curvature = (
        (-a_of_dm * q - a * q_of_dm) * denominator - numerator * (1.0 - a_of_dm / GE_MJ_PER_KG_DM)
    ) / denominator**2
    return energy, slope, curvature
