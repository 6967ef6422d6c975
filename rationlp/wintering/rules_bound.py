"""What a plan that keeps the yard's rules costs at least: a bound over feeds left out or fed in
useful amounts.

As for the cheapest plan, what ties the runs is priced and each run is bounded alone, at every level
of feeding. Where the cheapest ration of a run has too little of a feed, a plan that keeps the rules
either leaves that feed out or feeds its least useful amount: both are bounded, the lesser counts,
and so on for a few feeds. The least of a feed is taken at the least dry matter that the animals can
live on, so no ration that keeps the rules is left out. A run whose rows move with the whole ration
is bounded without its rules: each feed decided would take a search over boxes.
"""

from __future__ import annotations

import heapq
from math import inf

from rationlp.model.by_point import NEAR_GAP, search_points, settled_from
from rationlp.model.levels import search_levels
from rationlp.model.lp import Row
from rationlp.model.points import Point
from rationlp.model.search import BlockModel
from rationlp.records import dataclass
from rationlp.rules.limits import practice_figure
from rationlp.wintering.bound import LPS_A_RUN, winter_bound
from rationlp.wintering.levels import AcceptedPlan
from rationlp.wintering.parts import Run
from rationlp.wintering.rules import TRACE_KG, has_rules, least_amount
from rationlp.wintering.search import WinterModel

MOST_BRANCHES = 7
GAP = 5e-4
ALL = "all concentrate"
Bounds = dict[str, tuple[float, float]]


@dataclass(frozen=True)
class _Branch:
    """A run with some feeds left out or at least at their least. cost: no such ration costs less;
    kg: of its cheapest ration [kg DM a head a day], empty where none was found.
    """

    cost: float
    held: Bounds
    kg: dict[str, float]


def least_by_rules(model: WinterModel, plan: AcceptedPlan) -> float:
    """No plan that keeps the least amounts of the yard's rules costs less [currency]. plan: without
    them; what it holds beside (rows of the model) holds for all.
    """
    bound = winter_bound(
        model,
        plan.solution,
        any_level=True,
        least=lambda number, single: _least_of_run(model, number, single),
    )
    return bound.lower_bound


def _least_of_run(model: WinterModel, number: int, single: BlockModel) -> float:
    """Least cost of a run that keeps the rules, at its prices [currency a head a day]."""
    if single.part.by_point:
        at = model.levels[number][0]
        first = settled_from(single, at if isinstance(at, Point) else None)
        return search_points(single, inf, LPS_A_RUN, NEAR_GAP, starts=0, first=first).lower_bound
    run = model.runs[number]
    least = _least_amounts(model, run, single)
    heap = [(first.cost, 0, first) for first in (_bounded(single, {}),)]
    for count in range(MOST_BRANCHES):
        branch = heap[0][2]
        feed = _too_little(run, branch, least)
        if feed is None:
            break
        heapq.heappop(heap)
        for way, bounds in enumerate(((0.0, 0.0), (least[feed], inf))):
            half = _bounded(single, {**branch.held, feed: bounds})
            heapq.heappush(heap, (half.cost, 2 * count + way + 1, half))
    return heap[0][0]


def _least_amounts(model: WinterModel, run: Run, single: BlockModel) -> dict[str, float]:
    """Least useful amounts by offer id [kg DM], and of all concentrate [kg fresh], whose row is
    added to the model.
    """
    assert single.curve is not None
    if not has_rules(run):
        return {}
    amounts = {
        offer.id: least_amount(model.yard, run, offer, single.curve.low)
        for offer in run.block.offers
    }
    amounts[ALL] = practice_figure(run.block.needs.limits_key, "least_all_concentrates_kg_fresh")
    fresh = {
        run.block.feed(offer): 1000.0 / offer.feed.dm_g_per_kg
        for offer in run.block.offers
        if offer.feed.is_concentrate
    }
    single.live.add_row(Row(single.block.key(ALL), fresh, -inf, inf, "limit", "kg", ALL))
    return {name: least for name, least in amounts.items() if least}


def _bounded(single: BlockModel, held: Bounds) -> _Branch:
    """The bound of a branch and its cheapest ration."""
    single.hold_feeds(held)
    key = single.block.key(ALL)
    if key in single.live.row_index:
        single.live.set_row_bounds(key, *held.get(ALL, (-inf, inf)))
    cheapest = search_levels(single, inf, None, LPS_A_RUN, GAP)
    if cheapest.best is None:
        return _Branch(cheapest.lower_bound, held, {})
    answer = cheapest.best.answer
    return _Branch(min(cheapest.lower_bound, answer.objective), held, single.amounts(answer))


def _too_little(run: Run, branch: _Branch, least: dict[str, float]) -> str | None:
    """The feed of a branch's ration that is farthest from its least, by what it lacks; None where
    every amount is useful.
    """
    kg = {name: amount for name, amount in branch.kg.items() if amount > TRACE_KG}
    kg[ALL] = sum(
        1000.0 * kg[offer.id] / offer.feed.dm_g_per_kg
        for offer in run.block.offers
        if offer.feed.is_concentrate and offer.id in kg
    )
    short = {
        name: least[name] - amount
        for name, amount in kg.items()
        if name in least and TRACE_KG < amount < least[name] * (1.0 - 1e-6)
    }
    return max(short, key=lambda name: (short[name], name), default=None)
