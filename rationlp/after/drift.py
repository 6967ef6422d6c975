"""Through the winter: what the stores hold on a day by what was measured, how far that is from the
plan, and what is due.

A store is known from the day it was last measured: by the log, by the farm file, or at the
beginning of the winter. From then on the plan in force is taken as fed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from functools import partial

from rationlp.after.kept import KeptPlan, period_of
from rationlp.after.sofar import used_until
from rationlp.after.stock import stocks_of
from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.planned import WinterPlan
from rationlp.read.changed import held
from rationlp.read.logged import LoggedFarm
from rationlp.records import dataclass

DUE_WEEKS = 4
"""Weeks after which a store that is fed from should be measured again; common practice, no
source (c)."""
_CLOSE_T = 1e-6


@dataclass(frozen=True)
class StoreNow:
    """A store on the day from which the rest of the winter is planned [t DM that can be eaten].

    measured: the day of the last measure; measured_t_dm: what it held then; planned_t_dm: what
    it should have held then by the plan in force, None without one; drift_t_dm: measured less
    planned, negative where more is gone; drift_days: the same in days of the plan's feeding,
    None where it feeds none. fed_since_t_dm: what the plan has fed from it since. now_t_dm: on
    the day. due: that it should be measured.
    """

    store: str
    name: str
    measured: date
    measured_t_dm: float
    planned_t_dm: float | None
    drift_t_dm: float | None
    drift_days: float | None
    fed_since_t_dm: float
    now_t_dm: float
    due: bool


@dataclass(frozen=True)
class Delivery:
    """A bought feed until a day [t fresh]: delivered by the log, used by the plan in force, and
    so in the yard."""

    offer: str
    name: str
    delivered_t: float
    used_t: float
    in_yard_t: float


@dataclass(frozen=True)
class SoFarThisWinter:
    """Where the winter stands on a day: stores, deliveries, and how many lines of the log count."""

    day: date
    stores: tuple[StoreNow, ...]
    deliveries: tuple[Delivery, ...]
    lines: int


def stores_now(
    logged: LoggedFarm, plans: Sequence[KeptPlan], day: date
) -> tuple[tuple[StoreNow, ...], dict[str, StoreStock]]:
    """Every store on a day, and its stock by id. plans: plans that were in force, the newest first.

    Raises InputError (IN800) for stores that were measured before the day and of which no plan
    says what was fed since.
    """
    before = [plan for plan in plans if plan.first < day]
    states: list[StoreNow] = []
    stocks: dict[str, StoreStock] = {}
    findings: list[Finding] = []
    for store in logged.farm.stores:
        stock = logged.stocks[store.id]
        measured = _last_measured(logged, before, store.id, day)
        fed = used_between(before, store.id, measured, day)
        if fed is None and before:
            # What was there when the first plan that was kept began is in that plan.
            measured, stock = before[-1].first, stocks_of(before[-1].plan).get(store.id, stock)
            fed = used_between(before, store.id, measured, day)
        if fed is None:
            remedy = (
                f"log what is left of it on {day}, or keep the plan that is fed: `rationlp winter"
                " FARM --keep`"
            )
            gone = f"measured on {measured}, and no plan in force says what was fed since"
            findings.append(Finding("IN800", f'store "{store.id}"', gone, remedy))
            continue
        stocks[store.id] = _rolled(stock, fed)
        states.append(
            _store_now(store.name, (stock, stocks[store.id]), (measured, day, fed), before)
        )
    if findings:
        raise InputError(findings)
    return tuple(states), stocks


def _last_measured(logged: LoggedFarm, plans: Sequence[KeptPlan], store: str, day: date) -> date:
    """The day on which a store was last measured: by the log, by its own date or by new sizes in
    the farm file, else the start."""
    if store in logged.measured:
        return logged.measured[store]
    start = logged.farm.start
    stated = logged.stocks[store].measured
    if stated and start <= date.fromisoformat(stated) <= day:
        return date.fromisoformat(stated)
    if plans and _sized_anew(logged.farm, plans[-1].plan.farm, store):
        return day
    return start


def _sized_anew(farm_now: Farm, then: Farm, store: str) -> bool:
    """Whether the farm file gives a store other sizes than when the first plan was kept."""
    sizes = [
        next((sized.size for sized in farm.stores if sized.id == store), None)
        for farm in (farm_now, then)
    ]
    return sizes[0] != sizes[1]


def used_between(plans: Sequence[KeptPlan], store: str, first: date, last: date) -> float | None:
    """What the plans in force took from a store from a day until another [t DM]; None where they
    do not cover the days."""
    return _taken(
        plans,
        (first, last),
        lambda plan: next((o.used_t_dm for o in plan.stores if o.store == store), ()),
    )


def _taken(
    plans: Sequence[KeptPlan],
    days: tuple[date, date],
    series: Callable[[WinterPlan], Sequence[float]],
) -> float | None:
    """The sum of a series by period over the days, each from the plan in force on it; None where
    no plan covers some of them."""
    total, (first, until) = 0.0, days
    for plan in plans:
        begins = max(plan.first, first)
        if begins >= until:
            continue
        amounts = tuple(series(plan.plan))
        if amounts:
            total += used_until(plan.plan.periods, amounts, until) - used_until(
                plan.plan.periods, amounts, begins
            )
        until = begins
    if until > first:
        return None
    return total


def _rolled(stock: StoreStock, fed_t_dm: float) -> StoreStock:
    """A stock after so much was taken from it; its face has gone back with it."""
    edible = stock.edible_t_dm.typical
    if fed_t_dm <= 0.0:
        return stock
    left_t_dm = max(edible - fed_t_dm, 0.0)
    after = held(stock, left_t_dm)
    if stock.face is None or edible <= 0.0:
        return after
    return replace(
        after, face=replace(stock.face, length_m=stock.face.length_m * left_t_dm / edible)
    )


def _store_now(
    name: str,
    stock: tuple[StoreStock, StoreStock],
    span: tuple[date, date, float],
    plans: Sequence[KeptPlan],
) -> StoreNow:
    (then, stock_now), (measured, day, fed) = stock, span
    planned = _should_hold(plans, then.store, measured)
    rate = _rate(plans, then.store, measured)
    drift = drift_days = None
    if planned is not None:
        drift = then.edible_t_dm.typical - planned
        if abs(drift) < _CLOSE_T:
            drift = 0.0
        if rate > 0.0:
            drift_days = drift / rate
    is_fed = fed > _CLOSE_T or _rate(plans, then.store, day) > 0.0
    return StoreNow(
        store=then.store,
        name=name,
        measured=measured,
        measured_t_dm=then.edible_t_dm.typical,
        planned_t_dm=planned,
        drift_t_dm=drift,
        drift_days=drift_days,
        fed_since_t_dm=fed,
        now_t_dm=stock_now.edible_t_dm.typical,
        due=is_fed and (day - measured).days >= 7 * DUE_WEEKS,
    )


def _should_hold(plans: Sequence[KeptPlan], store: str, day: date) -> float | None:
    """What a store should hold on a day by the plan in force [t DM]; None where none began before
    the day.

    On the day on which a plan begins the plan before it counts: what is measured for a new plan
    is held against the old one.
    """
    for plan in plans:
        if plan.first < day:
            line = next((line for line in plan.plan.stores if line.store == store), None)
            if line is None:
                return None
            return line.held_t_dm.typical - used_until(plan.plan.periods, line.used_t_dm, day)
    return None


def _rate(plans: Sequence[KeptPlan], store: str, day: date) -> float:
    """What the plan in force takes from a store a day, on that day or when it next does [t
    DM/d]; 0 where it takes none."""
    for plan in plans:
        period_of_day = period_of(plan.plan, day)
        line = next((line for line in plan.plan.stores if line.store == store), None)
        if period_of_day is None or line is None:
            continue
        used = zip(plan.plan.periods, line.used_t_dm, strict=True)
        return next(
            (
                t / period.days
                for period, t in used
                if period.number >= period_of_day.number and t > _CLOSE_T
            ),
            0.0,
        )
    return 0.0


def deliveries(logged: LoggedFarm, plans: Sequence[KeptPlan], day: date) -> Iterator[Delivery]:
    """Every bought feed that the log has deliveries of."""
    names = {offer.id: offer.name for offer in logged.farm.offers}
    for offer, tonnes in logged.bought_t.items():
        used = _bought_until(plans, offer, (logged.farm.start, day))
        yield Delivery(offer, names[offer], tonnes, used, max(tonnes - used, 0.0))


def _bought_until(plans: Sequence[KeptPlan], offer: str, days: tuple[date, date]) -> float:
    """What the plans in force used of a bought feed [t fresh]; 0 where there were none."""
    used = _taken(
        plans, days, lambda plan: next((o.t_fresh for o in plan.purchases if o.offer == offer), ())
    )
    return used or 0.0


def with_what_is_done(
    farm: Farm, plans: Sequence[KeptPlan], delivered: Iterable[Delivery], day: date
) -> Farm:
    """The farm with what may still be used of each delivered feed, and still be sold to each
    outlet [t fresh]."""
    used = {delivery.offer: delivery.used_t for delivery in delivered}
    sold = {}
    for outlet in farm.outlets:
        t = _taken(plans, (farm.start, day), partial(_sales, outlet=outlet.id))
        sold[outlet.id] = t or 0.0
    return farm_less(farm, used, sold)


def farm_less(farm: Farm, used: Mapping[str, float], sold: Mapping[str, float]) -> Farm:
    """The farm, bounds of its purchases and sales less what is used and sold already [t fresh]."""
    offers = []
    for offer in farm.offers:
        t = used.get(offer.id, 0.0)
        least, most = _less(offer.least_t, t), _less(offer.most_t, t)
        offers.append(replace(offer, least_t=least, most_t=most))
    outlets = []
    for outlet in farm.outlets:
        t = sold.get(outlet.id, 0.0)
        least, most = _less(outlet.least_t_fresh, t), _less(outlet.most_t_fresh, t)
        outlets.append(replace(outlet, least_t_fresh=least, most_t_fresh=most))
    return replace(farm, offers=tuple(offers), outlets=tuple(outlets))


def _sales(plan: WinterPlan, outlet: str) -> Sequence[float]:
    """What a plan sells to an outlet by period [t fresh]: all in its first, as its stores have
    it."""
    total = sum(sale.t_fresh for sale in plan.sales if sale.outlet == outlet)
    return [total, *(0.0 for _ in plan.periods[1:])]


def _less(amount: float | None, gone: float) -> float | None:
    if amount is None:
        return None
    return max(amount - gone, 0.0)
