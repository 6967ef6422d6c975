"""A winter planned from a later day with stores not measured again: what the plan would have fed by
then is taken off.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

from rationlp.after.drift import farm_less
from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.planned import Period, WinterPlan
from rationlp.read.changed import held
from rationlp.stock.dry_matter import farm_stocks
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

FRESH_DAYS = 7
"""Days before the first day planned within which a store counts as measured again; (c)."""


def plan_from(farm: Farm, options: WinterOptions, measured: Collection[str] = ()) -> WinterPlan:
    """The plan of a winter from a day, with the stores as they are then. measured: ids of stores
    known to be measured again.

    A store not measured again since the winter began, or since it was measured last, is taken as
    its size says, less what the plan of the whole winter takes out of it until that day; so are
    promises of outlets and bounds of purchases. The plan says so first. Raises InputError (IN730)
    where there is no plan to take off.
    """
    day = options.start
    if day is None or not farm.start < day < farm.turnout:
        return solve_winter(farm, options)
    stocks = farm_stocks(farm)
    since = {store.id: _measured(farm, stocks[store.id]) for store in farm.stores}
    latest = day - timedelta(days=FRESH_DAYS)
    stale = {name: on for name, on in since.items() if on < latest and name not in measured}
    if not stale:
        return solve_winter(farm, options)
    plain = replace(
        options, start=None, ceilings=False, any_level=False, beside=False, worded=False
    )
    whole = solve_winter(farm, plain)
    if whole.proof is None:
        raise InputError([_unmeasured(name, on, day) for name, on in stale.items()])
    taken = {
        store.store: spent(whole.periods, store.used_t_dm, stale[store.store], day)
        for store in whole.stores
        if store.store in stale
    }
    stocks_now = {
        **stocks,
        **{name: held(stocks[name], _left(stocks[name], t)) for name, t in taken.items()},
    }
    plan = solve_winter(_with_what_is_done(farm, whole, day), options, stocks_now)
    return replace(plan, stocks=stocks_now, carried=tuple(_sentences(farm, stale, taken, day)))


def spent(periods: Sequence[Period], used: Sequence[float], since: date, day: date) -> float:
    """What goes between two days by a plan; a period that a day falls into counts by its days."""
    total = 0.0
    for period, amount in zip(periods, used, strict=True):
        days = (min(period.last, day) - max(period.first, since)).days
        if days > 0:
            total += amount * days / period.days
    return total


def _measured(farm: Farm, stock: StoreStock) -> date:
    """The day from which a store's size counts: when measured, not before the winter begins."""
    if not stock.measured:
        return farm.start
    return max(farm.start, date.fromisoformat(stock.measured))


def _left(stock: StoreStock, taken_t_dm: float) -> float:
    return max(stock.edible_t_dm.typical - taken_t_dm, 0.0)


def _with_what_is_done(farm: Farm, whole: WinterPlan, day: date) -> Farm:
    """The farm, its purchases and sales less what the whole plan has done until a day."""
    sold: dict[str, float] = {}
    for sale in whole.sales:
        sold[sale.outlet] = sold.get(sale.outlet, 0.0) + sale.t_fresh
    bought = {
        purchase.offer: spent(whole.periods, purchase.t_fresh, farm.start, day)
        for purchase in whole.purchases
    }
    return farm_less(farm, bought, sold)


def _sentences(
    farm: Farm, stale: Mapping[str, date], taken: Mapping[str, float], day: date
) -> list[str]:
    """What was taken off, a sentence a day of measuring."""
    names = {store.id: store.name for store in farm.stores}
    lines = []
    for on in sorted(set(stale.values())):
        amounts = {name: taken.get(name, 0.0) for name, since in stale.items() if since == on}
        parts = ", ".join(f"{names[name]} {t:.1f}" for name, t in amounts.items())
        lines.append(
            f"Stores not measured since {on}: the plan's feeding to {day}"
            f" ({sum(amounts.values()):.1f} t DM) was taken off ({parts}). Measure them and give"
            " `measured`; then this is planned from what is there."
        )
    return lines


def _unmeasured(store: str, on: date, day: date) -> Finding:
    trouble = f"not measured since {on}, and no plan says what was fed until {day}"
    return Finding(
        "IN730", f'store "{store}"', trouble, "measure it and give its size and `measured`"
    )
