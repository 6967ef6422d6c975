"""What a plan risks if it is held as it is: in how many winters a store runs out before turnout,
counted on fixed draws of stock and turnout, without any programme solved.

Draws come in pairs of opposite sign, so that their mean is exact. The stores share a part of what
they are out by, as far as one table of densities stands behind several of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from math import sqrt

import numpy as np

from rationlp.after.stock import Drawdown, plan_uses, stocks_of
from rationlp.chances.data import figure
from rationlp.chances.winters import LEAST_HELD, Spreads, farm_spreads, stage_days
from rationlp.halving import halve
from rationlp.planned import WinterPlan
from rationlp.records import dataclass

FIRST_SEED, SECOND_SEED = 1, 2
TUNED, COUNTED = 2000, 2000
SAFE = 0.9
NOTHING_SHARE = 0.01
"""A store short of less than this of what is thought to be in it has not run out [share]."""
MOST_TIMES = 8.0


@dataclass(frozen=True)
class StoreRisk:
    """Share of draws in which a store runs out before turnout [-], and its part of the reserve with
    which a plan held as it is lasts in nine of ten [t DM]. spread: of what is in it, standard
    deviation [share]. used_t_dm: what the plan takes out of it until turnout [t DM].
    """

    store: str
    name: str
    runs_out: float
    reserve_t_dm: float
    spread: float
    used_t_dm: float = 0.0


@dataclass(frozen=True)
class HeldRisk:
    """A plan held as it is. draws: how many. runs_out: share of draws in which some store runs out
    before turnout [-], error: its standard error, binomial [-]. lasts_with: share of other draws in
    which none does with the reserves of `stores`, which were found on the first. looks: days at
    which to look what is in store. days: from the first day to turnout [d].
    """

    draws: int
    runs_out: float
    error: float
    lasts_with: float
    stores: tuple[StoreRisk, ...]
    looks: tuple[date, ...] = ()
    days: int = 0

    @property
    def reserve_t_dm(self) -> float:
        """All reserves together [t DM]."""
        return sum(store.reserve_t_dm for store in self.stores)

    @property
    def used_t_dm(self) -> float:
        """What the plan takes out of all stores until turnout [t DM]."""
        return sum(store.used_t_dm for store in self.stores)


def held_risk(plan: WinterPlan, spreads: Spreads | None = None) -> HeldRisk:
    """The risk of a plan held as it is, by the farm's own spreads if none are stated."""
    wide = spreads or farm_spreads(plan.farm, stocks_of(plan))
    uses = _uses(plan)
    short = _short(uses, wide, TUNED, FIRST_SEED)
    scale = np.array([_spread_t(use, wide) for use in uses])
    times = 0.0
    if _lasting(uses, short, 0.0 * scale) < SAFE:
        times, _ = halve(
            lambda one: _lasting(uses, short, one * scale) >= SAFE, MOST_TIMES, 0.0, 1e-3
        )
    failed = 1.0 - _lasting(uses, short, 0.0 * scale)
    each = np.mean(short > _slack(uses), axis=0) if uses else np.zeros(0)
    stores = tuple(
        StoreRisk(
            use.store, use.name, float(share), float(times * t), wide.stock[use.store],
            sum(use.used_t_dm),
        )
        for use, share, t in zip(uses, each, scale, strict=True)
    )  # fmt: skip
    reserves = {store.store: store.reserve_t_dm for store in stores}
    return HeldRisk(
        TUNED, failed, sqrt(failed * (1.0 - failed) / TUNED),
        share_lasting(plan, wide, reserves, SECOND_SEED),
        stores, stage_days(plan.farm, plan.periods[0].first)[1:],
        sum(period.days for period in plan.periods),
    )  # fmt: skip


def share_lasting(
    plan: WinterPlan, spreads: Spreads, reserves: Mapping[str, float], seed: int
) -> float:
    """Share of the draws of a seed in which no store runs out before turnout if the plan is held
    as it is [-]. reserves: what each store holds beside what is thought, by its id [t DM].
    """
    uses = _uses(plan)
    more = np.array([reserves.get(use.store, 0.0) for use in uses])
    return _lasting(uses, _short(uses, spreads, COUNTED, seed), more)


def _uses(plan: WinterPlan) -> tuple[Drawdown, ...]:
    return tuple(use for use in plan_uses(plan) if sum(use.used_t_dm) > 0.0)


def _lasting(uses: tuple[Drawdown, ...], short: np.ndarray, more: np.ndarray) -> float:
    if not uses:
        return 1.0
    return float(np.mean(np.all(short <= more + _slack(uses), axis=1)))


def _slack(uses: tuple[Drawdown, ...]) -> np.ndarray:
    return np.array([NOTHING_SHARE * use.held_t_dm.typical for use in uses])


def _spread_t(use: Drawdown, spreads: Spreads) -> float:
    """√((s·stock)² + (spread of turnout · use a day in the last month)²) [t DM]."""
    last = use.periods[-1].last
    days = used = 0.0
    for period, t in zip(use.periods, use.used_t_dm, strict=True):
        if period.last > last - timedelta(days=30):
            days, used = days + period.days, used + t
    stock = spreads.stock[use.store] * use.held_t_dm.typical
    return sqrt(stock**2 + (spreads.turnout_days * used / days) ** 2)


def _short(uses: tuple[Drawdown, ...], spreads: Spreads, draws: int, seed: int) -> np.ndarray:
    """What each store lacks until the turnout of each draw, draws down, stores across [t DM]."""
    numbers = np.random.default_rng(seed).standard_normal((draws // 2, len(uses) + 2))
    numbers = np.clip(np.vstack((numbers, -numbers)), -3.0, 3.0)
    shared = figure("correlation")
    late = np.round(spreads.turnout_days * numbers[:, 1])
    short = np.zeros((len(numbers), len(uses)))
    for at, use in enumerate(uses):
        z = sqrt(shared) * numbers[:, 0] + sqrt(1.0 - shared) * numbers[:, at + 2]
        held = use.held_t_dm.typical * np.maximum(1.0 + spreads.stock[use.store] * z, LEAST_HELD)
        first = use.periods[0].first
        days = [0.0, *(float((period.last - first).days) for period in use.periods)]
        used = np.concatenate(([0.0], np.cumsum(use.used_t_dm)))
        turnout = days[-1] + late
        a_day = use.used_t_dm[-1] / use.periods[-1].days
        eaten = np.interp(turnout, days, used) + np.maximum(late, 0.0) * a_day
        short[:, at] = eaten - held
    return short
