"""Where a ration stands under NRC (2001), and the rows of its block there.

What a kg of feed brings goes by the whole ration: its digestible nutrients N, its dry matter D and
its concentrate. At a ration each of the four sums (net energy, microbial protein by energy and by
nitrogen, passing protein) is replaced by its tangent: what the feeds bring there, plus the slopes
in N, D and concentrate times how far another ration lies away. Rows without the slopes would leave
out what the next kilogram does to the value of all others, and settle on rations that are dearer
than need be.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from rationlp.model.lp import Key
from rationlp.model.rows.animal import protein_coefficients
from rationlp.model.rows.block import Block
from rationlp.model.rows.rumen import least_share, rumen_coefficients
from rationlp.needs.nrc import RUMEN_G_PER_KG_TDN, RUMEN_PER_RDP, NrcFigures
from rationlp.needs.nrc_energy import LIMIT, SLOPE, NrcEnergy, Totals, totals_of
from rationlp.needs.nrc_state import NrcState
from rationlp.records import dataclass

LEAST_DM_KG = 0.05
"""A ration of less dry matter than this stands nowhere [kg]."""


@dataclass(frozen=True)
class Slopes:
    """What a sum grows by for a kg more of TDN, of dry matter, of concentrate; feeds fixed."""

    tdn: float = 0.0
    dm: float = 0.0
    concentrate: float = 0.0

    def of(self, totals: Totals) -> float:
        """Slopes times totals."""
        grown = self.tdn * totals.tdn_kg + self.dm * totals.dm_kg
        return grown + self.concentrate * totals.concentrate_kg

    def less(self, other: Slopes, share: float) -> Slopes:
        """These less a share of others."""
        return Slopes(
            self.tdn - share * other.tdn,
            self.dm - share * other.dm,
            self.concentrate - share * other.concentrate,
        )


@dataclass(frozen=True)
class Point:
    """A ration where the rows touch. reach: how far N, D and concentrate may lie from it [share of
    D], inf for anywhere.
    """

    state: NrcState
    totals: Totals
    energy: Slopes
    microbes: Slopes
    degraded: Slopes
    passing: Slopes
    reach: float = inf

    def away(self, other: Point) -> float:
        """How far another ration lies [share of D]."""
        one, two = self.totals, other.totals
        apart = max(
            abs(one.tdn_kg - two.tdn_kg),
            abs(one.dm_kg - two.dm_kg),
            abs(one.concentrate_kg - two.concentrate_kg),
        )
        return apart / max(one.dm_kg, two.dm_kg, LEAST_DM_KG)

    def around(self) -> dict[str, tuple[float, float]]:
        """Bounds of the columns of TDN, dry matter and concentrate [kg]."""
        width, totals = self.reach * self.totals.dm_kg, self.totals
        middles = {"tdn": totals.tdn_kg, "dm": totals.dm_kg, "concentrate": totals.concentrate_kg}
        return {name: (max(0.0, kg - width), kg + width) for name, kg in middles.items()}


Held = float | Point
"""What the rows of a block are held at: a level of feeding [-], by NRC (2001) a ration."""


def number_held(held: Held) -> float:
    """The level of feeding that rows are held at as one number [-]."""
    if isinstance(held, Point):
        return held.state.level
    return held


def nrc_fed(block: Block, kg: Sequence[float]) -> list[tuple[NrcFigures, float]]:
    """(figures, kg DM) of the feeds of a block that are eaten; kg in the order of the offers."""
    pairs = zip(block.protein, kg, strict=False)
    return [(one, amount) for one, amount in pairs if isinstance(one, NrcFigures) and amount > 0.0]


def point_at(block: Block, kg: Sequence[float], reach: float = inf) -> Point | None:
    """The point of a ration; None where next to nothing is eaten."""
    need, fed = block.needs.energy, nrc_fed(block, kg)
    assert isinstance(need, NrcEnergy)
    totals = totals_of(fed)
    if totals.dm_kg < LEAST_DM_KG or totals.tdn_kg <= 0.0:
        return None
    state = need.state(fed)
    by_tdn, by_dm = discount_slopes(need, totals)
    of_delta = sum(kg * figures.energy_slope_mj(state) for figures, kg in fed)
    microbes = RUMEN_G_PER_KG_TDN * totals.tdn_kg
    degraded, passing = _passage_slopes(need, fed, state, totals)
    return Point(
        state,
        totals,
        Slopes(of_delta * by_tdn, of_delta * by_dm),
        Slopes(microbes * by_tdn, microbes * by_dm),
        degraded,
        passing,
        reach,
    )


def plain_point(block: Block, dm_kg: float, concentrate: float = 0.3, tdn: float = 0.72) -> Point:
    """A ration of which only the dry matter is known [kg]: no slopes."""
    need = block.needs.energy
    assert isinstance(need, NrcEnergy)
    totals = Totals(tdn * dm_kg, dm_kg, concentrate * dm_kg)
    delta = need.discount(totals.tdn_kg, totals.dm_kg)
    state = need.weighed(need.at_totals(totals, delta), USUAL_GAIN_SHARE)
    none = Slopes()
    return Point(state, totals, none, none, none, none)


USUAL_GAIN_SHARE = 0.6
"""Ng/Nm of a middling ration [-]."""


def discount_slopes(need: NrcEnergy, totals: Totals) -> tuple[float, float]:
    """Slopes of δ in TDN and in dry matter [1/kg]; none where there is no discount."""
    n, d, full = totals.tdn_kg, totals.dm_kg, need.maintenance_tdn_kg
    if need.discount(n, d) == 1.0:
        return 0.0, 0.0
    over = n / full - 1.0
    by_tdn = -(LIMIT * d / n**2) * over - (SLOPE - LIMIT * d / n) / full
    return by_tdn, LIMIT * over / n


def _passage_slopes(
    need: NrcEnergy, fed: Sequence[tuple[NrcFigures, float]], state: NrcState, totals: Totals
) -> tuple[Slopes, Slopes]:
    """Slopes of 0.85 RDP and of digested RUP [g/kg]: a faster passage degrades less."""
    intake = 100.0 / need.live_weight_kg
    by_share = 100.0 / totals.dm_kg
    falls_with_dm = 100.0 * totals.concentrate_kg / totals.dm_kg**2
    degraded_dm = degraded_c = passing_dm = passing_c = 0.0
    for figures, kg in fed:
        pace = figures.passage
        kp = pace.at(state.intake_percent, state.concentrate_percent)
        slope = kg * figures.cp_g * figures.slow(kp)[1]
        by_dm = slope * (pace.per_intake * intake + pace.per_concentrate * falls_with_dm)
        by_c = -slope * pace.per_concentrate * by_share
        degraded_dm += RUMEN_PER_RDP * by_dm
        degraded_c += RUMEN_PER_RDP * by_c
        passing_dm -= figures.digested * by_dm
        passing_c -= figures.digested * by_c
    return Slopes(0.0, degraded_dm, degraded_c), Slopes(0.0, passing_dm, passing_c)


@dataclass(frozen=True)
class MovedRow:
    """A row as it stands at a point: its coefficients of feeds and totals, and its bounds."""

    key: Key
    coefs: dict[Key, float]
    low: float
    high: float


def point_rows(block: Block, point: Point) -> list[MovedRow]:
    """The rows of a block that move with the ration."""
    state, totals, wanted = point.state, point.totals, block.needs.mp_wanted_g
    energy = {
        key: -figures.energy_mj(state)
        for key, figures in zip(block.feed_keys, block.protein, strict=True)
        if isinstance(figures, NrcFigures)
    }
    at = -point.energy.of(totals)
    moved = [MovedRow(block.key("me_sum"), {**energy, **_sums(block, point.energy, -1)}, at, at)]
    if block.needs.mp_g is None:
        return moved
    coefs = protein_coefficients(block, state, state, state)
    sums = (
        ("microbes_energy", point.microbes, -1, -inf, -point.microbes.of(totals)),
        ("microbes_nitrogen", point.degraded, -1, -inf, -point.degraded.of(totals)),
        ("protein", point.passing, 1, wanted + point.passing.of(totals), inf),
    )
    for own, (name, slopes, sign, low, high) in zip(coefs, sums, strict=True):
        entries = {**own, **_sums(block, slopes, sign)}
        moved.append(MovedRow(block.key(name), entries, low, high))
    share = least_share(block)
    if share is not None:
        slopes = point.degraded.less(point.microbes, share)
        entries = {**rumen_coefficients(block, state), **_sums(block, slopes, 1)}
        moved.append(MovedRow(block.key("rumen"), entries, slopes.of(totals), inf))
    return moved


def _sums(block: Block, slopes: Slopes, sign: int) -> dict[Key, float]:
    """Coefficients of the totals."""
    return {
        block.key("tdn"): sign * slopes.tdn,
        block.key("dm"): sign * slopes.dm,
        block.key("concentrate"): sign * slopes.concentrate,
    }
