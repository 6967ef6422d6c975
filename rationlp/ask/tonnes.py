"""A switch of forage by tonnes in store or by hectares grown: what it does to the cost of the whole
winter.

The amount moved stands on the right-hand side of the two stores' balances, so at the plan's own
energy rows the least cost is convex and piecewise linear in it: every breakpoint is where two
supporting lines cross, found and not sampled. Rations that move with it need a little less than
those rows ask; so the plan is settled again at every breakpoint, and both costs are given.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from math import inf

from rationlp.ask.names import pair_named
from rationlp.ask.stores import NO_PLAN, WHOLE_LOADS, OpenWinter
from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Crop, Farm
from rationlp.farm.feed import Offer
from rationlp.farm.store import StoreStock
from rationlp.halving import halve
from rationlp.records import dataclass

ON_THE_LINE = 1e-9
"""Two supporting lines that meet this close to the curve meet on it [share of the cost]."""
_MOST_LINES = 200
Line = tuple[float, float, float]
"""A place, the cost there and the slope."""


@dataclass(frozen=True)
class MovedPoint:
    """An amount moved: t DM or ha. held_cost: of the winter at the energy rows held; cost: settled
    again [currency]; inf where no plan. slope: what one more unit costs from here on at the rows
    held [currency/unit], None at the last.
    """

    moved: float
    held_cost: float
    cost: float
    slope: float | None


@dataclass(frozen=True)
class WinterSwitch:
    """The switch of a winter. unit: `t DM` or `ha`. points: ends and breakpoints by amount. most:
    all that can be moved; possible: the most that has a plan. best: the cheapest of the points.
    pays: what the second forage may cost more than the first [currency/t DM] (by tonnes) for all of
    it to pay; break_even_yield: least t DM a ha of the second crop at which the first ha pays. None
    with a reason.
    """

    farm: Farm
    first: Offer
    second: Offer
    unit: str
    points: tuple[MovedPoint, ...]
    most: float
    possible: float
    best: MovedPoint | None
    pays: float | None
    break_even_yield: float | None
    reason: str = ""


def store_pair(farm: Farm, names: tuple[str, str]) -> tuple[Offer, Offer]:
    """The two stores of a switch. Raises one InputError for all that is wrong with the names."""
    return pair_named(farm, names, _not_in_store, "name two stores")


def _not_in_store(offer: Offer, where: str) -> Finding | None:
    if not offer.bought:
        return None
    trouble = f'"{offer.id}" is bought, not in store'
    return Finding("IN544", where, trouble, "name a store of the farm")


def switch_by_tonnes(
    farm: Farm, names: tuple[str, str], stocks: Mapping[str, StoreStock] | None = None
) -> WinterSwitch:
    """So many t DM less of one store and as many more of another, for the whole winter.

    Raises InputError for names that are no stores of the farm and for what `solve_winter` refuses.
    """
    first, second = store_pair(farm, names)
    winter = OpenWinter(farm, stocks)
    return _moved(_Move(farm, (first, second), winter, (-1.0, 1.0), 0.0, "t DM"))


def switch_by_hectares(
    farm: Farm, names: tuple[str, str], stocks: Mapping[str, StoreStock] | None = None
) -> WinterSwitch:
    """So many hectares of one crop less and as many of another, each at its yield, losses and cost
    of the farm's [[growing]].

    The two forages themselves then count for nothing in the winter's cost: growing them is paid by
    the hectare. Raises InputError as `switch_by_tonnes`, and where [[growing]] lacks one of them.
    """
    first, second = store_pair(farm, names)
    crop, other_crop = _crops(farm, (first, second))
    free = {o.id: dataclasses.replace(o, price_per_t_fresh=0.0) for o in (first, second)}
    offers = tuple(free.get(offer.id, offer) for offer in farm.offers)
    winter = OpenWinter(dataclasses.replace(farm, offers=offers), stocks)
    rates = (-crop.edible_t_dm_per_ha, other_crop.edible_t_dm_per_ha)
    cost = other_crop.cost_per_ha - crop.cost_per_ha
    moved = _moved(_Move(farm, (first, second), winter, rates, cost, "ha"))
    yield_t_dm = _break_even_yield(winter, (first.id, crop), (second.id, other_crop))
    return dataclasses.replace(moved, pays=None, break_even_yield=yield_t_dm)


def _crops(farm: Farm, stores: tuple[Offer, Offer]) -> tuple[Crop, Crop]:
    """The crops of two stores, by the store's id, else by its feed. Raises InputError (IN545)."""
    by_id = {crop.id: crop for crop in farm.growing}
    crops: list[Crop] = []
    lacking = []
    for offer in stores:
        same = [crop for crop in farm.growing if crop.feed.key == offer.feed.key]
        if offer.id in by_id:
            crops.append(by_id[offer.id])
        elif len(same) == 1:
            crops += same
        else:
            trouble = f'{len(same) or "no"} crops for the store "{offer.id}"'
            remedy = f'give one [[growing]] the id "{offer.id}"'
            if not same:
                remedy = f'add [[growing]] with feed = "{offer.feed.key}"'
            lacking.append(Finding("IN545", "farm.toml growing", trouble, remedy))
    if lacking:
        raise InputError(lacking)
    return crops[0], crops[1]


def _break_even_yield(
    winter: OpenWinter, first: tuple[str, Crop], second: tuple[str, Crop]
) -> float | None:
    """Yield of the second crop at which its first hectare pays [t DM/ha]: what the first saves and
    the difference in cost, over what a tonne of the second saves; None where it saves nothing.
    first, second: id of the store and its crop.
    """
    (store, crop), (other_store, other_crop) = first, second
    if winter.solution is None or winter.whole:
        return None
    saved = winter.dual(winter.solution, other_store) * (1.0 - other_crop.losses)
    lost = winter.dual(winter.solution, store) * crop.edible_t_dm_per_ha
    if saved <= 1e-9:
        return None
    return max(lost + other_crop.cost_per_ha - crop.cost_per_ha, 0.0) / saved


@dataclass(frozen=True)
class _Move:
    """rates: change of the two stores a unit moved [t DM/unit]; cost: of it [currency/unit]."""

    farm: Farm
    pair: tuple[Offer, Offer]
    winter: OpenWinter
    rates: tuple[float, float]
    cost: float
    unit: str

    def change(self, moved: float) -> dict[str, float]:
        return {offer.id: rate * moved for offer, rate in zip(self.pair, self.rates, strict=True)}

    def line(self, moved: float) -> Line | None:
        """Cost and slope at an amount moved, at the rows held; None where there is no plan."""
        solution = self.winter.with_change(self.change(moved))
        if solution is None:
            return None
        slope = self.cost
        for offer, rate in zip(self.pair, self.rates, strict=True):
            slope -= self.winter.dual(solution, offer.id) * rate
        return moved, solution.objective + self.cost * moved, slope


def _moved(move: _Move) -> WinterSwitch:
    first, second = move.pair
    all_of_it = move.winter.yard.free_t_dm[first.id] / -move.rates[0]
    empty = WinterSwitch(move.farm, first, second, move.unit, (), all_of_it, 0.0, None, None, None)
    if move.winter.whole:
        return dataclasses.replace(empty, reason=WHOLE_LOADS)
    if move.winter.solution is None:
        return dataclasses.replace(empty, reason=NO_PLAN)
    possible = _possible(move, all_of_it)
    knots = breakpoints(move.line, 0.0, possible)
    points = []
    for (at, cost, _), following in zip(knots, [*knots[1:], None], strict=True):
        slope = None
        if following is not None:
            slope = (following[1] - cost) / (following[0] - at)
        settled = move.winter.settled_with(move.change(at))
        points.append(MovedPoint(at, cost, settled + move.cost * at, slope))
    best = min(points, key=lambda point: point.cost)
    pays = None
    if points[-1].moved > 0.0 and points[-1].cost < inf:
        pays = (points[0].cost - points[-1].cost) / points[-1].moved
    return dataclasses.replace(empty, points=tuple(points), possible=possible, best=best, pays=pays)


def _possible(move: _Move, all_of_it: float) -> float:
    """The most that can be moved with a plan left."""
    if move.line(all_of_it) is not None:
        return all_of_it
    return halve(lambda moved: move.line(moved) is not None, 0.0, all_of_it, 1e-6 * all_of_it)[0]


def breakpoints(line: Callable[[float], Line | None], low: float, high: float) -> list[Line]:
    """Ends and breakpoints of a convex piecewise linear curve, by rising place: (place, cost, slope
    after it).

    Two supporting lines cross at a breakpoint, or below the curve: then the curve is read there and
    both sides are looked at. Slopes at the ends are taken a hair inside, where only one can be
    read.
    """
    inside = 1e-7 * (high - low)
    first, last = line(low), line(high)
    left, right = line(low + inside), line(high - inside)
    if first is None:
        return []
    if last is None or left is None or right is None or high <= low:
        return [first]
    knots = {low: first, high: last}
    waiting = [(left, right)]
    for _ in range(_MOST_LINES):
        if not waiting:
            break
        a, b = waiting.pop()
        if b[2] - a[2] <= ON_THE_LINE * max(abs(a[2]), abs(b[2]), 1.0):
            continue
        at = (a[1] - b[1] + b[2] * b[0] - a[2] * a[0]) / (b[2] - a[2])
        at = min(max(at, a[0]), b[0])
        crossing = line(at)
        if crossing is None:
            continue
        if crossing[1] - (a[1] + a[2] * (at - a[0])) <= ON_THE_LINE * max(abs(crossing[1]), 1.0):
            knots[at] = crossing
            continue
        waiting += [(a, crossing), (crossing, b)]
    return [knots[at] for at in sorted(knots)]
