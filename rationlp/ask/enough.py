"""A winter that cannot be fed: single changes that would each be enough, every one of them planned
again before it is said.

The least tonnage of a feed is found by planning with that feed as good as the only thing that
costs; fewest head, a lower gain of growing cattle and an earlier turnout by halving. What is said
is rounded up to what a person would order, and planned once more at that figure. Where the face of
a clamp would advance too little, the figure is what one of a few courses of the clamps needs
(wintering/courses.py); another course may need a little less.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from math import ceil, floor

from rationlp.errors import InputError
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.farm.group import FeedLimit, Group
from rationlp.farm.store import Store, StoreStock
from rationlp.farm.traits import traits
from rationlp.halving import halve_whole
from rationlp.needs.calendar import part_in_milk
from rationlp.needs.cohorts import FOUR_PENS
from rationlp.planned import WinterPlan
from rationlp.read.changed import held
from rationlp.records import dataclass
from rationlp.rules.blanks import complete
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

MOST_DAYS_EARLIER = 42
"""Most days by which an earlier turnout is thought of; common practice, no source (c)."""
GAIN_STEP, LEAST_GAIN = 0.05, 0.3
"""Steps in which a lower gain of growing cattle is tried, and the least of it [kg a day]: below
that they hardly grow on at grass either; common practice, no source (c).
"""
MARKET = ("hay_average", "straw_barley", "grass_silage_big_bale", "barley")
"""Feeds for sale nearly everywhere, thought of where a farm does not buy them; (c)."""
_FIRST = 1e5
"""Price that goes before all others [currency/t]."""
_MORE = "more of "
GAIN = "gain_kg_per_day"


@dataclass(frozen=True)
class SingleChange:
    """A single change that would be enough.

    kind: `store` (more in a store), `buy` (a bought feed, more than `most_t` allows or not bought
    so far), `head` (fewer animals of a group), `gain` (less a day of growing cattle) or `turnout`
    (earlier). subject: id of the store, feed or group, empty for turnout. amount: in `unit`, over
    the winter. cost: of the whole winter with it, at the prices that are known [currency]; None
    where the price is not.
    """

    kind: str
    subject: str
    amount: float
    unit: str
    cost: float | None
    words: str


_Planned = WinterPlan | None


@dataclass(frozen=True)
class _Case:
    farm: Farm
    start: date | None
    stocks: Mapping[str, StoreStock]

    def plan(self, farm: Farm, faces: str = "course") -> _Planned:
        """The plan of a changed farm; None where it cannot be fed, or is no farm."""
        plain = WinterOptions(self.start, faces, prove=False, tidy=False, shortage=False)
        try:
            plan = solve_winter(farm, plain, self.stocks)
        except InputError:
            return None
        if plan.exit_code != 0:
            return None
        return plan


def enough_changes(
    farm: Farm, short: Iterable[str], stocks: Mapping[str, StoreStock], start: date | None = None
) -> tuple[SingleChange, ...]:
    """Single changes that would each let the winter be fed, by kind. short: ids of the groups, or
    of parts of them, that are short; stocks: by store.
    """
    case = _Case(farm, start, stocks)
    short_groups = _whole_groups(farm, short)
    fewer = _heads(case, short_groups)
    return (*_stores(case), *_bought(case), *fewer, *_gains(case, short_groups), *_turnout(case))


def _whole_groups(farm: Farm, short: Iterable[str]) -> frozenset[str]:
    """The groups that parts such as `cows_calved` belong to; a part is known by its whole id."""
    calving = [group for group in farm.groups if group.calendar is not None]
    owners = {part_in_milk(group): group.id for group in calving}
    owners |= {
        f"{group.id}_{pen.mark}": group.id for group in calving for pen in FOUR_PENS if pen.mark
    }
    owners |= {group.id: group.id for group in farm.groups}
    return frozenset(owners[part] for part in short if part in owners)


def _stores(case: _Case) -> Iterator[SingleChange]:
    for store in case.farm.stores:
        offer = case.farm.offer(store.id)
        extra = replace(offer, id=_MORE + offer.id, bought=True, price_per_t_fresh=_FIRST)
        # What is bought is told as it is eaten; out of a store some is left at the trough as well.
        stock = case.stocks[store.id]
        eaten = 1.0 - stock.trough_loss

        def plan_with(t: float, store: Store = store, stock: StoreStock = stock) -> _Planned:
            dm_g_per_kg = case.farm.offer(store.id).feed.dm_g_per_kg
            t_dm = stock.edible_t_dm.typical + t * dm_g_per_kg / 1000.0
            stocks = {**case.stocks, store.id: held(stock, t_dm)}
            return replace(case, stocks=stocks).plan(case.farm)

        more = _least(case, _with(case.farm, extra, store), extra.id, plan_with, eaten)
        if more is not None:
            t, plan = more
            sentence = f"{t:g} t more in {offer.name}, as it comes to the trough."
            yield SingleChange("store", store.id, t, "t fresh", plan.cost, sentence)


def _with(farm: Farm, extra: Offer, store: Store) -> Farm:
    """The farm with more of a store for those who may have it, within their limits on it."""
    groups = tuple(_alike(group, store, extra.id) for group in farm.groups)
    return replace(farm, offers=(*farm.offers, extra), groups=groups)


def _alike(group: Group, store: Store, extra: str) -> Group:
    barred = store.id in group.barred or bool(store.kept_for and group.id not in store.kept_for)
    limits = [limit for limit in group.feed_limits if limit.offer == store.id]
    limits_of_extra = [
        FeedLimit(extra, None, limit.max_kg_fresh, None, limit.max_share_of_dm) for limit in limits
    ]
    away = group.barred
    if barred:
        away |= {extra}
    return replace(group, barred=away, feed_limits=(*group.feed_limits, *limits_of_extra))


def _bought(case: _Case) -> Iterator[SingleChange]:
    """More of a feed bought up to a limit, or a feed of the tables not bought so far."""
    bought = {offer.feed.key for offer in case.farm.offers if offer.bought}
    for offer in case.farm.offers:
        if offer.bought and offer.most_t is not None:
            free = replace(offer, most_t=None, price_per_t_fresh=_FIRST)
            yield from _one_bought(case, offer, free)
    taken = {offer.id for offer in case.farm.offers}
    for key in MARKET:
        feed = case.farm.feeds.get(key)
        if feed is None or key in bought or key in taken:
            continue
        new = Offer(key, feed.name, complete(feed), True, _FIRST)
        yield from _one_bought(case, new, new)


def _one_bought(case: _Case, offer: Offer, free: Offer) -> Iterator[SingleChange]:
    """More of one feed. offer: as it is bought, or as it would be; free: without a limit, dear."""
    new = offer.most_t is None
    price = offer.price_per_t_fresh
    if new:
        price = 0.0

    def plan_with(t: float) -> _Planned:
        return case.plan(case.farm.with_offer(replace(free, price_per_t_fresh=price, most_t=t)))

    more = _least(case, case.farm.with_offer(free), offer.id, plan_with)
    if more is None:
        return
    t, plan = more
    than, cost = "which is not bought so far (figures of the feed tables)", None
    if not new:
        than, cost = f"instead of at most {offer.most_t:g}", plan.cost
    yield SingleChange("buy", offer.id, t, "t fresh", cost, f"{t:g} t of {offer.name}, {than}.")


def _least(
    case: _Case, dear: Farm, offer: str, plan_with: Callable[[float], _Planned], eaten: float = 1.0
) -> tuple[float, WinterPlan] | None:
    """The least of a feed that is enough [t fresh], rounded up, with its plan; None where none is,
    or needed. dear: the farm with that feed as good as all that costs; eaten: share of it.
    """
    plan = case.plan(dear)
    if plan is None:
        return None
    t = sum(sum(purchase.t_fresh) for purchase in plan.purchases if purchase.offer == offer)
    if t <= 1e-6:
        return None
    ordered = _up(t / eaten)
    with_it = plan_with(ordered)
    if with_it is None:
        return None
    return ordered, with_it


def _up(t: float) -> float:
    """Rounded up to tenths of a tonne, from five tonnes on to tonnes."""
    step = 1.0
    if t < 5.0:
        step = 0.1
    return round(ceil(t / step - 1e-9) * step, 1)


def _heads(case: _Case, short: frozenset[str]) -> Iterator[SingleChange]:
    """Fewer animals of a group that is short, the others as they are; none at all is no advice."""
    for group in case.farm.groups:
        if group.id not in short or group.head < 2:
            continue

        def plan_without(n: int, faces: str, group: Group = group) -> _Planned:
            return case.plan(_without(case.farm, group, n), faces)

        fewer = _halved(1, group.head - 1, plan_without)
        if fewer is not None:
            n, plan = fewer
            remaining = f"{group.head - n} of {group.head}"
            sentence = f"{n} head fewer in {group.name} ({remaining}) from the first day on."
            yield SingleChange("head", group.id, float(n), "head", plan.cost, sentence)


def _without(farm: Farm, group: Group, fewer: int) -> Farm:
    return farm.with_group(replace(group, head=group.head - fewer))


def _gains(case: _Case, short: frozenset[str]) -> Iterator[SingleChange]:
    """A lower gain of one group of store cattle, whoever is short: they share the stores; of calves
    and of cattle that are finished, where they are short themselves. Heifers in calf are left as
    they are.
    """
    days = (case.farm.turnout - (case.start or case.farm.start)).days
    for group in case.farm.groups:
        of_class = traits(group.animal_class)
        asked = of_class.low_need or group.id in short
        if not (of_class.growing_intake and asked) or of_class.pregnant or GAIN not in group.facts:
            continue
        gain = group.number(GAIN)

        def plan_with(n: int, faces: str, group: Group = group, gain: float = gain) -> _Planned:
            facts = {**group.facts, GAIN: _less(gain, n)}
            return case.plan(case.farm.with_group(replace(group, facts=facts)), faces)

        less = _halved(1, floor((gain - LEAST_GAIN) / GAIN_STEP + 1e-9), plan_with)
        if less is not None:
            n, plan = less
            lighter = (gain - _less(gain, n)) * days
            sentence = (
                f"{group.name} at {_less(gain, n):.2f} kg of gain a day in place of {gain:.2f} from"
                f" the first day on: about {lighter:.0f} kg lighter at turnout, or"
                " sold later."
            )
            amount = round(gain - _less(gain, n), 3)
            yield SingleChange("gain", group.id, amount, "kg a day", plan.cost, sentence)


def _less(gain: float, steps: int) -> float:
    return round(gain - steps * GAIN_STEP, 3)


def _turnout(case: _Case) -> Iterator[SingleChange]:
    """Everything turned out earlier."""
    first = case.start or case.farm.start
    longest = min(MOST_DAYS_EARLIER, (case.farm.turnout - first).days - 1)
    turnout = case.farm.turnout

    def plan_of(days: int, faces: str) -> _Planned:
        return case.plan(_ending(case.farm, turnout - timedelta(days=days)), faces)

    earlier = _halved(1, longest, plan_of)
    if earlier is not None:
        days, plan = earlier
        count = "1 day"
        if days > 1:
            count = f"{days} days"
        sentence = f"Turnout {count} earlier, on {turnout - timedelta(days=days)}."
        yield SingleChange("turnout", "", float(days), "days", plan.cost, sentence)


def _ending(farm: Farm, turnout: date) -> Farm:
    periods = tuple((first, min(last, turnout)) for first, last in farm.periods if first < turnout)
    return replace(farm, turnout=turnout, periods=periods)


def _halved(
    low: int, high: int, tried: Callable[[int, str], _Planned]
) -> tuple[int, WinterPlan] | None:
    """The least whole number that is enough, with its plan; None where the most is not."""
    tried = cache(tried)
    fewest = _fewest(low, high, lambda number: tried(number, "off") is None)
    if fewest is None:
        return None
    plan = tried(fewest, "course")
    if plan is None:
        fewest = _fewest(fewest + 1, high, lambda number: tried(number, "course") is None)
        if fewest is not None:
            plan = tried(fewest, "course")
    if fewest is None or plan is None:
        return None
    return fewest, plan


def _fewest(low: int, high: int, is_too_little: Callable[[int], bool]) -> int | None:
    if high < low or is_too_little(high):
        return None
    _, fewest = halve_whole(is_too_little, low - 1, high)
    return fewest
