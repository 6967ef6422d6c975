"""What was eaten against an earlier plan, once stores are measured again in mid-winter."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from rationlp.farm.store import StoreStock
from rationlp.planned import Period
from rationlp.read.earlier import EarlierPlan, EarlierStore
from rationlp.records import dataclass


@dataclass(frozen=True)
class StoreSoFar:
    """One store from the first day of an earlier plan to a day on which it was measured again [t DM
    that can be eaten].

    planned: used by the plan until then; used: gone by both measurements; more: used less planned.
    step_m: how far the face went;
    density_kg_dm_per_m3: what it implies, if the animals ate as planned; None without a face that
    moved.
    """

    store: str
    name: str
    planned_t_dm: float
    used_t_dm: float
    more_t_dm: float
    step_m: float | None
    density_kg_dm_per_m3: float | None


def so_far(
    plan: EarlierPlan, stocks: Mapping[str, StoreStock], day: date
) -> tuple[StoreSoFar, ...]:
    """Every store of the earlier plan that is still on the farm; stocks: as measured again."""
    return tuple(
        _one(plan, store, stocks[store.store], day)
        for store in plan.stores
        if store.store in stocks
    )


def _one(plan: EarlierPlan, store: EarlierStore, stock: StoreStock, day: date) -> StoreSoFar:
    planned = planned_until(plan, store, day)
    used = store.held_t_dm - stock.edible_t_dm.typical
    step, density = None, None
    if store.length_m is not None and store.area_m2 is not None and stock.face is not None:
        step = store.length_m - stock.face.length_m
        if step > 1e-6 and store.edible_share > 0.0:
            density = planned / store.edible_share * 1000.0 / (store.area_m2 * step)
    return StoreSoFar(store.store, store.name, planned, used, used - planned, step, density)


def planned_until(plan: EarlierPlan, store: EarlierStore, day: date) -> float:
    """Planned use before a day [t DM]; a period around it counts by its days."""
    total = 0.0
    for (first, last), used in zip(plan.periods, store.used_t_dm, strict=True):
        days = (min(last, day) - first).days
        if days > 0:
            total += used * days / (last - first).days
    return total


def used_until(periods: tuple[Period, ...], used: tuple[float, ...], day: date) -> float:
    """What is used before a day, a period that the day falls into by its days."""
    total = 0.0
    for period, t_dm in zip(periods, used, strict=True):
        days = (min(period.last, day) - period.first).days
        total += t_dm * max(days, 0) / period.days
    return total
