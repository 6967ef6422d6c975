"""What changed on the farm since a plan was kept, and by how much the plan is out: stores and
heads, prices, turnout."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from rationlp.after.followed import moved_heads
from rationlp.after.kept import KeptPlan, farm_figures
from rationlp.after.stock import Drawdown, lasting
from rationlp.farm.farm import Farm
from rationlp.farm.store import Spread, StoreStock
from rationlp.needs.calendar import fed_days
from rationlp.planned import Period, PlanRation, StorePlan, WinterPlan
from rationlp.records import dataclass
from rationlp.stock.dry_matter import farm_stocks

KG_PER_T = 1000.0
_CLOSE_T = 0.05


@dataclass(frozen=True)
class ChangedFigure:
    """A figure that is no longer what the plan was made from; None where there was or is none."""

    path: str
    before: Any
    now: Any


@dataclass(frozen=True)
class StoreOut:
    """A store of which the plan is out [t DM]. planned, now: left at turnout by the plan, and if
    its rations are fed on to the stock and the heads there are now. short_from: the first day
    without enough, None where it lasts."""

    store: str
    name: str
    planned_left_t_dm: float
    now_left_t_dm: float
    short_from: date | None


@dataclass(frozen=True)
class FarmChanges:
    """What changed since a plan was kept. cost: what the plan's purchases cost more (less) at
    the prices there are now [currency]; strangers: names of groups that the plan does not know."""

    figures: tuple[ChangedFigure, ...]
    stores: tuple[StoreOut, ...]
    cost: float
    strangers: tuple[str, ...]


def since_kept(
    plan_kept: KeptPlan, farm: Farm, stocks: Mapping[str, StoreStock] | None = None
) -> FarmChanges | None:
    """What changed on a farm since its plan was kept; None where nothing did.

    stocks: what the farm now held on the plan's first day, where that is not what its sizes say.
    """
    plan = plan_kept.plan
    figures = tuple(_changed(farm_figures(plan.farm), farm_figures(farm)))
    if not figures:
        return None
    stocks_now = stocks or farm_stocks(farm)
    known = {group.id for group in plan.farm.groups}
    return FarmChanges(
        figures=figures,
        stores=tuple(_stores_out(plan, farm, stocks_now)),
        cost=_dearer(plan, farm),
        strangers=tuple(group.name for group in farm.groups if group.id not in known),
    )


def _changed(before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[ChangedFigure]:
    for path in dict.fromkeys((*before, *after)):
        if before.get(path) != after.get(path):
            yield ChangedFigure(path, before.get(path), after.get(path))


def _stores_out(
    plan: WinterPlan, farm: Farm, stocks: Mapping[str, StoreStock]
) -> Iterator[StoreOut]:
    then = farm_stocks(plan.farm)
    dry = {offer.id: offer.feed.dm_g_per_kg for offer in plan.farm.offers}
    moved = [_more_head_days(plan, ration, farm) for ration in plan.rations]
    for store in plan.stores:
        extra = 0.0
        if store.store in then:
            extra = -then[store.store].edible_t_dm.typical
            if store.store in stocks:
                extra += stocks[store.store].edible_t_dm.typical
        amount = Spread(*(max(store.held_t_dm.typical + extra, 0.0),) * 3)
        periods, used = _used_now(plan, store, farm, moved)
        stock = (amount, store.reserve_t_dm, dry[store.store])
        drawn = Drawdown(store.store, store.name, *stock, periods, used, (0.0,) * len(used))
        left_t_dm = amount.typical - sum(used)
        if abs(left_t_dm - store.left_t_dm) < _CLOSE_T:
            continue
        ends = lasting(drawn)
        short = None
        if ends.short_t_dm.typical > _CLOSE_T:
            short = ends.runs_out.typical
        yield StoreOut(store.store, store.name, store.left_t_dm, left_t_dm, short)


def _used_now(
    plan: WinterPlan, store: StorePlan, farm: Farm, moved: Sequence[float]
) -> tuple[tuple[Period, ...], tuple[float, ...]]:
    """The plan's periods, to the turnout there is now, and what leaves a store in each if its
    rations go on [t DM]. moved: head-days more or fewer, a ration of the plan each."""
    used = list(store.used_t_dm)
    for ration, head_days in zip(plan.rations, moved, strict=True):
        used[ration.period] += head_days * _put_out(ration, store.store) / KG_PER_T
    periods = list(plan.periods)
    longer = (farm.turnout - periods[-1].last).days
    if longer > 0:
        used.append(used[-1] * longer / periods[-1].days)
        periods.append(Period(len(periods), periods[-1].last, farm.turnout))
    return tuple(periods), tuple(used)


def _put_out(ration: PlanRation, store: str) -> float:
    """What a head's ration takes from a store a day [kg DM]."""
    return sum(
        amount.kg_dm / (1.0 - ration.waste.get(store, 0.0))
        for amount in ration.amounts
        if amount.offer == store
    )


def _more_head_days(plan: WinterPlan, ration: PlanRation, farm: Farm) -> float:
    """Head-days of a ration by today's heads and dates, less those planned [head · d]."""
    period = plan.periods[ration.period]
    before = next(
        group for group in plan.farm.groups if group.id == (ration.origin or ration.group)
    )
    group = next((group for group in farm.groups if group.id == before.id), None)
    if group == before and farm.turnout >= period.last:
        return 0.0
    planned = ration.head * fed_days(before, period.first, period.last)
    if group is None:
        return -float(planned)
    head_days = 0
    for number in range(period.days):
        day = period.first + timedelta(days=number)
        if day < farm.turnout and fed_days(group, day, day + timedelta(days=1)):
            head_days += max(ration.head + moved_heads(plan.farm, group, ration.group, day), 0)
    return float(head_days - planned)


def _dearer(plan: WinterPlan, farm: Farm) -> float:
    """What the plan's purchases cost more at the prices there are now [currency]."""
    then = {offer.id: offer.price_per_t_fresh for offer in plan.farm.offers}
    prices = {offer.id: offer.price_per_t_fresh for offer in farm.offers}
    return sum(
        sum(purchase.t_fresh) * (prices[purchase.offer] - then[purchase.offer])
        for purchase in plan.purchases
        if purchase.offer in then and purchase.offer in prices
    )
