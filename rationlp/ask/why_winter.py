"""Why a winter's plan is what it is: what binds in each group, when, and what it costs; what more
of a store saves; feeds near.

Marginal values are those of the cheapest plan at its own energy rows, the plan to which the proof
belongs. Where whole numbers are decided (loads, open clamps) no tonne and no unit has a value of
its own, and the answer says so.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date

from rationlp.ask.bought import NOTHING_T, OtherPrice, other_price
from rationlp.ask.stores import OpenWinter, StoreWorth, store_worths
from rationlp.ask.why import NEAR, SURELY, Binding, bindings, needs_first
from rationlp.farm.feed import Offer
from rationlp.farm.group import Group
from rationlp.farm.store import StoreStock
from rationlp.model.lp import Key, Row
from rationlp.model.solution import Solution
from rationlp.needs.calendar import fed_days
from rationlp.planned import StorePlan, WinterPlan
from rationlp.records import dataclass
from rationlp.wintering.parts import Run

WHOLE = (
    "whole loads or open clamps were decided, so that no unit of anything has a value of its own"
)
ANOTHER = "the cheapest plan could not be held open: its marginal values are not known"
_SAME = 1e-6
_LEFT_T = 0.05


@dataclass(frozen=True)
class WinterBinding:
    """A need or limit that a part of a group stands at in some periods of the winter.

    cost: what one unit more of a need adds to the cost of the winter, or one unit more of a limit
    allowed takes off it [currency a head a day a unit], the mean over the head-days on which it
    binds; least, most: of single periods. head_days: on which it binds. spans: first day and day
    left out of each stretch of periods. always: in every period of the part.
    """

    group: str
    name: str
    what: str
    kind: str
    unit: str
    whose: str
    cost: float
    least: float
    most: float
    head_days: float
    days: int
    spans: tuple[tuple[date, date], ...]
    always: bool


@dataclass(frozen=True)
class StoreWhy:
    """What one more t DM of a store saves through the winter beyond its price [currency/t DM], by
    the marginal value and by solving with a little more; None with a reason. why: why it is
    nothing, or what it is, in words.
    """

    store: str
    name: str
    saves: float | None
    more: float | None
    why: str


@dataclass(frozen=True)
class WinterNear:
    """A bought feed only just in the plan, or only just out of it. change: of its price [share of
    the price] at which it turns. checked: found again by settling the plan anew; else the price at
    which it comes in is the lower estimate.
    """

    offer: str
    name: str
    within: bool
    change: float
    checked: bool


@dataclass(frozen=True)
class WinterWhy:
    """Why a plan is what it is; reason: why nothing of it can be said, empty where it can."""

    binding: tuple[WinterBinding, ...]
    stores: tuple[StoreWhy, ...]
    near: tuple[WinterNear, ...]
    reason: str = ""


def why_winter(
    plan: WinterPlan, stocks: Mapping[str, StoreStock] | None = None
) -> WinterWhy | None:
    """The reasons of a plan; None where there is none that feeds everybody. stocks: what the plan
    was made with, where not of the farm's own sizes. Raises InputError and SolverTrouble as the
    plan itself would.
    """
    if plan.proof is None or plan.shortfalls:
        return None
    if plan.proof.whole_numbers:
        return _nothing(plan, WHOLE)
    winter, cost = OpenWinter(plan.farm, stocks, plan.periods[0].first), plan.proof.cost
    if winter.solution is not None and winter.solution.objective > cost + _SAME * abs(cost):
        winter.improve()
    solution = winter.solution
    if solution is None or abs(solution.objective - cost) > _SAME * max(abs(cost), 1.0):
        return _nothing(plan, ANOTHER)
    binding = tuple(_bindings(plan, winter, solution))
    worths = store_worths(winter, [store.store for store in plan.stores])
    stores = tuple(_store(plan, store_worth) for store_worth in worths)
    return WinterWhy(binding, stores, tuple(_near(plan, winter, solution)))


def _nothing(plan: WinterPlan, reason: str) -> WinterWhy:
    stores = tuple(StoreWhy(store.store, store.name, None, None, reason) for store in plan.stores)
    return WinterWhy((), stores, (), reason)


def _bindings(plan: WinterPlan, winter: OpenWinter, solution: Solution) -> Iterator[WinterBinding]:
    """Part by part, needs first, the dearest first by what it comes to over the winter."""
    parts: dict[str, list[Run]] = {}
    for run in winter.model.runs:
        parts.setdefault(run.block.group.id, []).append(run)
    for runs in parts.values():
        limits: dict[Key, list[tuple[Run, Row, Binding]]] = {}
        for run in runs:
            for mark, (row, binding) in _of_run(plan, winter, solution, run).items():
                limits.setdefault(mark, []).append((run, row, binding))
        every = [_over_winter(plan, runs, same) for same in limits.values()]
        yield from sorted(
            every, key=lambda binding: needs_first(binding.kind, binding.cost * binding.head_days)
        )


def _of_run(
    plan: WinterPlan, winter: OpenWinter, solution: Solution, run: Run
) -> dict[Key, tuple[Row, Binding]]:
    """Every limit of one run that carries a price, with what it costs a head a day."""
    block, live = run.block, winter.model.live
    duals = (
        (row, dual / run.weight)
        for row, dual in zip(live.rows, solution.row_duals, strict=False)
        if row.family and block.owns(row.key)
    )
    return bindings(plan.farm.currency, block, live.value(solution, block.key("dm")), duals)


def _over_winter(
    plan: WinterPlan, runs: list[Run], same: list[tuple[Run, Row, Binding]]
) -> WinterBinding:
    """One need or limit over all runs in which it binds."""
    _, row, first = same[0]
    weight = sum(run.weight for run, _, _ in same)
    costs = [binding.cost for _, _, binding in same]
    what = first.what
    if len({binding.what for _, _, binding in same}) > 1:
        what = row.words.whole or row.title
    numbers = sorted({number for run, _, _ in same for number in run.periods})
    every = {number for run in runs for number in run.periods}
    part = runs[0].block.group
    group = next(group for group in plan.farm.groups if group.id in (part.origin, part.id))
    periods = [plan.periods[number] for number in numbers]
    return WinterBinding(
        group=part.id,
        name=part.name,
        what=what,
        kind=first.kind,
        unit=first.unit,
        whose=first.whose,
        cost=sum(run.weight * binding.cost for run, _, binding in same) / weight,
        least=min(costs),
        most=max(costs),
        head_days=weight,
        days=sum(fed_days(group, period.first, period.last) for period in periods),
        spans=tuple(_spans(plan, group, numbers)),
        always=set(numbers) == every,
    )


def _spans(plan: WinterPlan, group: Group, numbers: list[int]) -> Iterator[tuple[date, date]]:
    """Stretches of periods that follow one another, from when a group is housed until it is out."""
    start = numbers[0]
    for number, following in zip(numbers, [*numbers[1:], -1], strict=True):
        if following != number + 1:
            yield group.fed_within(plan.periods[start].first, plan.periods[number].last)
            start = following


def _store(plan: WinterPlan, worth: StoreWorth) -> StoreWhy:
    planned = next(store for store in plan.stores if store.store == worth.store)
    why = worth.reason or _why_worth(planned, worth)
    return StoreWhy(worth.store, worth.name, worth.marginal, worth.more, why)


def _why_worth(planned: StorePlan, worth: StoreWorth) -> str:
    """Why one more tonne saves what it saves."""
    if worth.marginal is not None and worth.marginal > _SAME:
        return "all of it is used, and it takes the place of dearer feed"
    if planned.left_t_dm - planned.reserve_t_dm > _LEFT_T:
        return "some is left at turnout"
    return "all of it is used, but a tonne more would take the place of nothing dearer"


def _near(plan: WinterPlan, winter: OpenWinter, solution: Solution) -> Iterator[WinterNear]:
    """Bought feeds within 2 % of their price of going out of the plan or of coming in."""
    ceilings = {purchase.offer: purchase.price_ceiling for purchase in plan.purchases}
    for offer in plan.farm.offers:
        feed = other_price(winter, offer)
        if not offer.bought or offer.price_per_t_fresh <= 0.0 or feed is None:
            continue
        if feed.tonnes(solution) <= NOTHING_T:
            yield from _just_out(feed, solution, offer)
            continue
        ceiling = ceilings.get(offer.id)
        if ceiling is None:
            continue
        change = ceiling / offer.price_per_t_fresh - 1.0
        if change <= NEAR:
            yield WinterNear(offer.id, offer.name, True, change, True)
    winter.back()


def _just_out(feed: OtherPrice, solution: Solution, offer: Offer) -> Iterator[WinterNear]:
    """A feed whose reduced cost is within 2 % of its price, looked at again just below."""
    live, costs = feed.winter.model.live, feed.winter.model.costs
    shares = [solution.reduced_costs[live.column_index[key]] / costs[key] for key in feed.columns]
    short = max(min(shares), 0.0)
    if short > NEAR:
        return
    below = feed.price * (1.0 - short - SURELY)
    answer = feed.held(below)
    if answer is None or feed.tonnes(answer) <= NOTHING_T:
        return
    feed.winter.back()
    settled = feed.settled(below)
    checked = settled is not None and feed.tonnes(settled) > NOTHING_T
    yield WinterNear(offer.id, offer.name, False, -short, checked)
