"""The metabolisable-energy requirement of a head as a function of the metabolisability q of its
whole ration.

AFRC (1993) as set out in the texts named beside each function. The requirement is kept in the few
constants that do not depend on the ration (`EnergyNeed`); the efficiencies are applied when q is
known, because q moves with the ration.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, inf, log

from rationlp.farm.feed import Feed
from rationlp.needs.nrc_state import NrcState
from rationlp.records import dataclass

Level = float | NrcState
"""What the protein of feeds goes by: the level of feeding [-]; by NRC (2001) more than one."""
Parts = Sequence[tuple[Feed, float]]
"""A ration as (feed, kg DM a head a day)."""

GE_MJ_PER_KG_DM = 18.8
"""Gross energy of a ration [MJ/kg DM], a constant in AFRC (1993); status (b)."""

KM_SLOPE, KM_BASE = 0.35, 0.503
KL_SLOPE, KL_BASE = 0.35, 0.420
KF_SLOPE, KF_BASE = 0.78, 0.006
KC = 0.133
KT = 0.84
LACTATING_GAIN_FACTOR = 0.95
FEEDING_LEVEL_SLOPE = 0.018


def metabolisability(me_mj_per_kg_dm: float) -> float:
    """q [-] of a ration from M/D [MJ ME/kg DM]: q = (M/D)/GE. Practical range 0.45–0.70. (a)."""
    return me_mj_per_kg_dm / GE_MJ_PER_KG_DM


def _q_of(parts: Parts) -> float:
    dm = sum(kg for _, kg in parts)
    me = sum(kg * (feed.value("me_mj_per_kg_dm") or 0.0) for feed, kg in parts)
    return me / dm / GE_MJ_PER_KG_DM


def km(q: float) -> float:
    """Efficiency of ME use for maintenance [-]: 0.35 q + 0.503. AFRC (1993); status (a)."""
    return KM_SLOPE * q + KM_BASE


def kl(q: float) -> float:
    """Efficiency of ME use for milk [-]: 0.35 q + 0.420. AFRC (1993); status (a)."""
    return KL_SLOPE * q + KL_BASE


def kf(q: float) -> float:
    """Efficiency of ME for growth and fattening, dry [-]: 0.78 q + 0.006. AFRC (1993); (a)."""
    return KF_SLOPE * q + KF_BASE


def feeding_level_factor(level: float) -> float:
    """CL [-], for the level of feeding L: 1 + 0.018 (L − 1). AFRC (1993); status (a)."""
    return 1.0 + FEEDING_LEVEL_SLOPE * (level - 1.0)


@dataclass(frozen=True)
class EnergyNeed:
    """The constants of one head's ME requirement; `margin` is applied once, in `required_mj`.

    form `additive`: S(q) = (em + over_km)/km + over_kl/kl + over_kf/kf + fixed_me, times CL where
    `feeding_level_applies`. form `exponential`: (em/k)·ln[B/(B − R − 1)] + fixed_me with R = eg/em
    (AFRC 1993 growth curve; status (a)).

    em: maintenance net energy, F + A, times maint_factor [MJ/d]. over_km: net energy met with
    efficiency km besides maintenance (negative for a dry cow living off her back) [MJ/d]. over_kl:
    net energy of milk, plus 19·gain/0.95, less 19·0.84·loss [MJ/d]. over_kf: net energy of gain of
    a dry cow [MJ/d]. fixed_me: ME that does not depend on q (pregnancy: Ec/0.133) [MJ/d]. eg: net
    energy of growth [MJ/d].
    """

    form: str
    em: float
    over_km: float = 0.0
    over_kl: float = 0.0
    over_kf: float = 0.0
    fixed_me: float = 0.0
    eg: float = 0.0
    feeding_level_applies: bool = True
    margin: float = 1.0

    def terms(self, q: float) -> tuple[float, float, float]:
        """Sum of the ME terms before CL and margin [MJ/d] at q, and its first and second derivative
        in q.

        Returns (inf, 0, 0) where the growth curve has no answer (R ≥ B − 1: the gain cannot be made
        on such a ration).
        """
        if self.form == "additive":
            return self._additive(q)
        return self._exponential(q)

    def _additive(self, q: float) -> tuple[float, float, float]:
        value, first, second = self.fixed_me, 0.0, 0.0
        for amount, slope, base in (
            (self.em + self.over_km, KM_SLOPE, KM_BASE),
            (self.over_kl, KL_SLOPE, KL_BASE),
            (self.over_kf, KF_SLOPE, KF_BASE),
        ):
            efficiency = slope * q + base
            part = amount / efficiency
            ratio = slope / efficiency
            value += part
            first -= part * ratio
            second += 2.0 * part * ratio * ratio
        return value, first, second

    def _exponential(self, q: float) -> tuple[float, float, float]:
        m, f = km(q), kf(q)
        d = m - f
        ratio = self.eg / self.em
        w = m - (ratio + 1.0) * d
        if w <= 0.0 or d <= 0.0:
            return inf, 0.0, 0.0
        u = log(m / f)
        um, uf = KM_SLOPE / m, KF_SLOPE / f
        u1, u2 = um - uf, uf * uf - um * um
        k = m * u
        k1 = KM_SLOPE * u + m * u1
        k2 = 2.0 * KM_SLOPE * u1 + m * u2
        w1 = (KM_SLOPE - (ratio + 1.0) * (KM_SLOPE - KF_SLOPE)) / w
        v = log(m / w)
        v1, v2 = um - w1, w1 * w1 - um * um
        cross = (v1 * k - v * k1) / (k * k)
        value = self.em * v / k + self.fixed_me
        first = self.em * cross
        second = self.em * ((v2 * k - v * k2) / (k * k) - 2.0 * k1 * cross / k)
        return value, first, second

    def required_mj(self, q: float) -> float:
        """ME requirement [MJ/d] at q, CL and margin included."""
        return self.required(q)[0]

    def required(self, q: float) -> tuple[float, float, float]:
        """ME requirement [MJ/d] at q, with CL and margin, and its first two derivatives in q."""
        s, s1, s2 = self.terms(q)
        if s == inf or not self.feeding_level_applies:
            return self.margin * s, self.margin * s1, self.margin * s2
        # CL = 1 + 0.018 (S·km/em − 1), so the requirement is 0.982 S + 0.018 S²·km/em.
        c = FEEDING_LEVEL_SLOPE
        m = km(q)
        square = s * s * m / self.em
        square1 = (2.0 * s * s1 * m + s * s * KM_SLOPE) / self.em
        square2 = (2.0 * (s1 * s1 + s * s2) * m + 4.0 * s * s1 * KM_SLOPE) / self.em
        return (
            self.margin * ((1.0 - c) * s + c * square),
            self.margin * ((1.0 - c) * s1 + c * square1),
            self.margin * ((1.0 - c) * s2 + c * square2),
        )

    def level_of_ration(self, parts: Parts) -> Level:
        """What the protein of a ration goes by; inf where its energy density makes no such gain."""
        return self.feeding_level(_q_of(parts))

    def needed_mj(self, parts: Parts) -> float:
        """The energy that a ration must bring [MJ/d], margin included, by what it is itself."""
        return self.required_mj(_q_of(parts))

    def feeding_level(self, q: float) -> float:
        """L [-]: the ME terms before CL and margin, as a multiple of maintenance ME, at q."""
        return self.level_of(self.terms(q)[0], q)

    def level_of(self, terms_mj: float, q: float) -> float:
        """L [-] by the sum of the ME terms before CL and margin [MJ/d], known already."""
        return terms_mj * km(q) / self.em

    def level_slope(self, q: float) -> float:
        """A positive multiple of the slope of the level of feeding in q: where L rises."""
        value, first, _ = self.terms(q)
        return first * km(q) + value * KM_SLOPE


def outflow_rate(level: float) -> float:
    """r [/h], rumen outflow at level L: −0.024 + 0.179 (1 − e^(−0.278 L)). AFRC (1993); (a)."""
    return -0.024 + 0.179 * (1.0 - exp(-0.278 * level))


def microbial_yield(level: float) -> float:
    """y [g microbial CP/MJ FME] at level L: 7.0 + 6.0 (1 − e^(−0.35 L)). AFRC (1993); (a)."""
    return 7.0 + 6.0 * (1.0 - exp(-0.35 * level))


def number_of(level: Level) -> float:
    """A level of feeding as one number [-]: intake over that of maintenance."""
    if isinstance(level, NrcState):
        return level.level
    return level


def plain_level(level: Level | None) -> float | None:
    """The same of one that may not be known."""
    if level is None:
        return None
    return number_of(level)
