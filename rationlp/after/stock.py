"""How long each store lasts: what is left by date, the day it runs out, and what is lost by those
who should have eaten on.

The same arithmetic for a plan and for rations that stay as they are all winter. Amounts are dry
matter that can be eaten; what is put out and left at the trough leaves the store as well.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date, timedelta
from math import floor

from rationlp.farm.farm import Farm
from rationlp.farm.group import Group
from rationlp.farm.store import Spread, StoreStock
from rationlp.needs.calendar import fed_days, parts_on, turned_out
from rationlp.planned import Period, PlanRation, WinterPlan
from rationlp.records import copied, dataclass
from rationlp.stock.dry_matter import farm_stocks
from rationlp.wintering.parts import winter_periods

LONGEST_DAYS = 180
"""A store that would last longer than this after turnout gets no day [d]; own choice (c)."""

SHIFT_DAYS = 21
"""A spring three weeks early or late [d]; common practice, no source (c)."""

_CLOSE = 1e-9
KG_PER_T = 1000.0


@dataclass(frozen=True)
class Drawdown:
    """What is drawn from a store over the winter.

    held_t_dm: what can be eaten of it on the first day [t DM]. dm_g_per_kg: its dry matter.
    used_t_dm: by period, all uses [t DM]. head_days: by period, of those that eat of it.
    """

    store: str
    name: str
    held_t_dm: Spread
    reserve_t_dm: float
    dm_g_per_kg: float
    periods: tuple[Period, ...]
    used_t_dm: tuple[float, ...]
    head_days: tuple[float, ...]


@dataclass(frozen=True)
class Remainder:
    """What is left on the morning of a day [t DM; typical also t fresh]; never below 0."""

    on: date
    t_dm: Spread
    t_fresh: float


@dataclass(frozen=True)
class RunOut:
    """The first day on which a store no longer has what it should give, for the low, the typical
    and the high stock.

    Turnout or before without anything short: used up as meant. After turnout: at the use of the
    last period. None: not used up within half a year, or not used at the end.
    """

    low: date | None
    typical: date | None
    high: date | None


@dataclass(frozen=True)
class StoreLife:
    """How long a store lasts.

    short_t_dm: what is wanted of it until turnout and is not there [t DM]: most of it with the low
    stock. head_days_lost: days of animals that should have eaten of it after it ran out, if none is
    bought [head · d].
    """

    store: str
    name: str
    turnout: date
    reserve_t_dm: float
    left: tuple[Remainder, ...]
    runs_out: RunOut
    short_t_dm: Spread
    head_days_lost: Spread


def stocks_of(plan: WinterPlan) -> dict[str, StoreStock]:
    """What was in store on the first day of a plan, by store id."""
    return dict(plan.stocks) or farm_stocks(plan.farm)


def plan_uses(plan: WinterPlan) -> tuple[Drawdown, ...]:
    """What leaves every store under a plan, store by store."""
    dry = {offer.id: offer.feed.dm_g_per_kg for offer in plan.farm.offers}
    return tuple(
        copied(
            Drawdown,
            store,
            dm_g_per_kg=dry[store.store],
            periods=plan.periods,
            head_days=tuple(_eating(plan, store.store, period) for period in plan.periods),
        )
        for store in plan.stores
    )


def head_days_of(plan: WinterPlan, ration: PlanRation) -> float:
    """Head times days on which a ration of a plan is fed [head · d]."""
    period = plan.periods[ration.period]
    group = next(group for group in plan.farm.groups if group.id == (ration.origin or ration.group))
    return float(ration.head * fed_days(group, period.first, period.last))


def _eating(plan: WinterPlan, store: str, period: Period) -> float:
    return sum(
        head_days_of(plan, ration)
        for ration in plan.rations
        if ration.period == period.number
        and any(amount.offer == store and amount.kg_dm > 0.0 for amount in ration.amounts)
    )


def fixed_uses(
    farm: Farm,
    fed: Mapping[str, Mapping[str, float]],
    stocks: Mapping[str, StoreStock],
    start: date | None = None,
) -> tuple[Drawdown, ...]:
    """What leaves every store when each group gets the same a head a day from a day (the winter's
    first) to turnout.

    fed: group id (or the id of a part, such as those that have lambed) → offer id → kg DM eaten a
    head a day. Head follow the calendar; bedding is taken out as well. Raises InputError for a day
    outside the winter.
    """
    periods = winter_periods(farm, start)
    names = {offer.id: offer for offer in farm.offers}
    uses = []
    for store in farm.stores:
        stock, offer = stocks[store.id], names[store.id]
        lost = 1.0 - stock.trough_loss
        used, eating = [], []
        for period in periods:
            parts = list(_parts(farm, period))
            kg = sum(_fed_kg(fed, part, store.id) * days for part, days in parts) / lost
            bedding = {bed.group: bed.kg_fresh for bed in farm.beddings if bed.store == store.id}
            bedded = sum(bedding.get(part.origin or part.id, 0.0) * days for part, days in parts)
            used.append((kg + bedded * offer.feed.dm_g_per_kg / KG_PER_T) / KG_PER_T)
            eating.append(sum(days for part, days in parts if _fed_kg(fed, part, store.id) > 0.0))
        stock_and_reserve, dry = (stock.edible_t_dm, stock.reserve_t_dm), offer.feed.dm_g_per_kg
        uses.append(
            Drawdown(
                store.id, store.name, *stock_and_reserve, dry, periods, tuple(used), tuple(eating)
            )
        )
    return tuple(uses)


def _parts(farm: Farm, period: Period) -> Iterator[tuple[Group, float]]:
    """The parts of every group in a period with their head-days."""
    for group in farm.groups:
        days = fed_days(group, period.first, period.last)
        if days:
            for part in parts_on(group, period.first, period.last):
                yield part, float(part.head * days)


def _fed_kg(fed: Mapping[str, Mapping[str, float]], part: Group, store: str) -> float:
    ration = fed.get(part.id, fed.get(part.origin, {}))
    return ration.get(store, 0.0)


def lasting(use: Drawdown) -> StoreLife:
    """How long a store lasts under its uses, for the low, the typical and the high stock."""
    stocks = (use.held_t_dm.low, use.held_t_dm.typical, use.held_t_dm.high)
    used = sum(use.used_t_dm)
    return StoreLife(
        store=use.store,
        name=use.name,
        turnout=use.periods[-1].last,
        reserve_t_dm=use.reserve_t_dm,
        left=tuple(_left(use)),
        runs_out=RunOut(*(_runs_out(use, stock) for stock in stocks)),
        short_t_dm=Spread(*(_nought(used - stock, stock) for stock in stocks)),
        head_days_lost=Spread(*(_lost(use, stock) for stock in stocks)),
    )


def _nought(value: float, scale: float) -> float:
    """A value below nought, or within rounding of it, is nought."""
    if value <= _CLOSE * max(1.0, abs(scale)):
        return 0.0
    return value


def _left(use: Drawdown) -> Iterator[Remainder]:
    gone = 0.0
    days = [*(period.first for period in use.periods), use.periods[-1].last]
    for day, used in zip(days, (*use.used_t_dm, 0.0), strict=True):
        stocks = use.held_t_dm
        amounts = Spread(
            *(
                _nought(amount - gone, amount)
                for amount in (stocks.low, stocks.typical, stocks.high)
            )
        )
        yield Remainder(day, amounts, amounts.typical * KG_PER_T / use.dm_g_per_kg)
        gone += used


def _runs_out(use: Drawdown, stock_t: float) -> date | None:
    """The day within its period; after turnout at the use of the last period."""
    left_t = stock_t
    for period, used in zip(use.periods, use.used_t_dm, strict=True):
        if used > 0.0 and used > left_t + _CLOSE * max(1.0, stock_t):
            return period.first + timedelta(
                days=floor(period.days * max(left_t, 0.0) / used + _CLOSE)
            )
        left_t -= used
    if left_t <= _CLOSE * max(1.0, stock_t):
        return max(
            (
                period.last
                for period, used in zip(use.periods, use.used_t_dm, strict=True)
                if used > 0.0
            ),
            default=None,
        )
    last_period, rate = use.periods[-1], use.used_t_dm[-1] / use.periods[-1].days
    if rate <= 0.0 or left_t / rate > LONGEST_DAYS:
        return None
    return last_period.last + timedelta(days=floor(max(left_t, 0.0) / rate + _CLOSE))


def _lost(use: Drawdown, stock_t: float) -> float:
    left_t, lost = stock_t, 0.0
    for used, head_days in zip(use.used_t_dm, use.head_days, strict=True):
        if used > 0.0:
            lost += head_days * _nought(used - max(left_t, 0.0), stock_t) / used
        left_t -= used
    return lost


def each_lasting(uses: Iterable[Drawdown]) -> tuple[StoreLife, ...]:
    """How long each store lasts."""
    return tuple(lasting(use) for use in uses)


@dataclass(frozen=True)
class Spring:
    """A turnout, so many days later than the farm's, each store by it, and the plan's cost."""

    days: int
    turnout: date
    stores: tuple[StoreLife, ...]
    cost: float | None = None


def turnouts(farm: Farm, shift_days: int = SHIFT_DAYS) -> dict[int, Farm]:
    """The farm with turnout early, as it is, and late, by days of shift, where that can be."""
    winter_days = (farm.turnout - farm.start).days
    shifts = [days for days in (-shift_days, 0, shift_days) if winter_days + days > 0]
    return {days: turned_out(farm, days) if days else farm for days in shifts}


def springs(
    farm: Farm, of: Callable[[Farm], Spring], shift_days: int = SHIFT_DAYS
) -> tuple[Spring, ...]:
    """Every turnout of `turnouts`, worked out anew by `of` (a plan, or rations that stay)."""
    each = turnouts(farm, shift_days).items()
    return tuple(replace(of(farm_at), days=days) for days, farm_at in each)


def spring_of(plan: WinterPlan) -> Spring:
    """What a plan comes to by turnout; one that leaves somebody short has no cost."""
    cost = None
    if plan.feeds_all:
        cost = plan.cost
    return Spring(0, plan.farm.turnout, each_lasting(plan_uses(plan)), cost)
