"""Which way on of a plan in force the log has shown so far, by what the stores hold."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import field, replace
from datetime import date
from itertools import pairwise

from rationlp.after.kept import KeptPlan
from rationlp.after.sofar import used_until
from rationlp.planned import StorePlan, WayOn, WinterPlan
from rationlp.read.logged import LoggedFarm
from rationlp.records import dataclass


@dataclass(frozen=True)
class WayFollowed:
    """The way on that the log has shown so far.

    first: the day from which the ways part. light: share by which the stores of this way hold less
    than thought [-], 0 for the middle way, as thought. measured: names of stores measured since the
    plan began; shown_t_dm: what they held when they were; thought_t_dm: what the plan as thought
    had in them then [t DM]. below_t_dm, above_t_dm: between which amounts shown this way is the
    nearest [t DM], None where it has no end. buy: forage to buy on the first day, by name [t DM].
    planned: whether there is a plan for it; without one the middle way is followed. sell: animals
    to sell on the first day, by the name of their group.
    """

    first: date
    light: float
    measured: tuple[str, ...]
    shown_t_dm: float
    thought_t_dm: float
    below_t_dm: float | None
    above_t_dm: float | None
    buy: dict[str, float]
    planned: bool = True
    sell: dict[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class OnItsWay:
    """A plan as it goes on by what its stores have shown. way: None before or without a parting."""

    kept: KeptPlan
    way: WayFollowed | None

    @property
    def plan(self) -> WinterPlan:
        """The plan that is followed."""
        return self.kept.plan


def on_its_way(kept: KeptPlan, logged: LoggedFarm, day: date) -> OnItsWay:
    """A plan on a day, by the log up to that day: the way on whose stores are nearest to what was
    measured, all measured stores together; the middle one where none was.
    """
    if not kept.ways or day < kept.ways[0].first:
        return OnItsWay(kept, None)
    measured = [
        (store, logged.measured[store.store])
        for store in kept.plan.stores
        if kept.first <= logged.measured.get(store.store, date.min) <= day
    ]
    shown = sum(logged.stocks[store.store].edible_t_dm.typical for store, _ in measured)
    thought = sum(_as_thought(kept.plan, store, seen) for store, seen in measured)
    middle = WayOn(0.0, kept.ways[0].first, {}, {}, kept.plan)
    ways = sorted((*kept.ways, middle), key=lambda way: way.light)
    held = [sum(_held(kept, way, store, seen) for store, seen in measured) for way in ways]
    place = ways.index(middle)
    if measured:
        place = min(range(len(ways)), key=lambda n: (abs(held[n] - shown), abs(ways[n].light)))
    way = ways[place]
    # The lighter the stores of a way, the less they hold: the next lighter one is below it.
    limits = [None, *(0.5 * (fuller + lighter) for fuller, lighter in pairwise(held)), None]
    above, below = limits[place], limits[place + 1]
    followed = WayFollowed(
        way.first, way.light, tuple(store.name for store, _ in measured), shown, thought,
        below, above, way.buy, way.plan is not None, way.sell,
    )  # fmt: skip
    return OnItsWay(replace(kept, plan=way.plan or kept.plan), followed)


def plans_fed(
    plans: Iterable[KeptPlan], logged: Callable[[date], LoggedFarm], day: date
) -> Iterator[KeptPlan]:
    """Plans by which animals were fed before a day, the newest first: each with the way on that was
    followed from the day on which it parts. logged: the farm by its log up to a day.
    """
    until = day
    for kept in plans:
        if kept.first >= day:
            continue
        if kept.ways and kept.ways[0].first < until:
            followed = on_its_way(kept, logged(until), until)
            if followed.plan is not kept.plan:
                yield KeptPlan(kept.name, followed.plan)
        yield kept
        until = kept.first


def _as_thought(plan: WinterPlan, store: StorePlan, day: date) -> float:
    """What a store holds on a day if it held what was thought [t DM]."""
    return store.held_t_dm.typical - used_until(plan.periods, store.used_t_dm, day)


def _held(kept: KeptPlan, way: WayOn, store: StorePlan, day: date) -> float:
    """What a store of a way on holds on a day [t DM]; before they part as much less as then."""
    parting = _as_thought(kept.plan, store, way.first)
    held = way.held_t_dm.get(store.store, parting)
    if day <= way.first or way.plan is None:
        return max(held + _as_thought(kept.plan, store, day) - parting, 0.0)
    line = next((other for other in way.plan.stores if other.store == store.store), None)
    if line is None or way.plan is kept.plan:
        return held + _as_thought(kept.plan, store, day) - parting
    return held - used_until(way.plan.periods, line.used_t_dm, day)
