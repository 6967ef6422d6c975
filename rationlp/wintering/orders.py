"""What a practical plan buys: no order below the least of its feed, and so many bought feeds on the
whole farm at most.

An order that is too small is dropped, brought up, bought in bags at their dearer price, or ordered
with a rest that is left over: whichever costs least. The last two change no ration; the answer
names them with what they cost.
"""

from __future__ import annotations

from collections.abc import Callable
from math import inf

from rationlp.farm.feed import Offer
from rationlp.model.lp import Key, Row
from rationlp.planned import SmallOrder
from rationlp.read.loading import loading_figure
from rationlp.read.yard_rules import IN_BAGS, most_bought_feeds
from rationlp.wintering.choose import Held
from rationlp.wintering.levels import AcceptedPlan
from rationlp.wintering.links import KG_PER_T, tonnes, uses
from rationlp.wintering.rules import counted_feeds, small_orders
from rationlp.wintering.search import WinterModel
from rationlp.wintering.trial import Trial

MOST_ORDERS = 6
MOST_TRIED = 4
NO_MONEY = 1e-4
"""What a rest left over may cost before other ways are tried [share of the plan's cost]."""


def add_order_rows(model: WinterModel) -> None:
    """A row a bought feed for its tonnes fresh over the winter, free until an order is brought
    up.
    """
    for offer in model.yard.farm.offers:
        coefs: dict[Key, float] = {}
        if offer.bought:
            for run, one in uses(model.yard, offer.id):
                coefs[run.block.feed(one)] = tonnes(run, one) * KG_PER_T / one.feed.dm_g_per_kg
        if coefs:
            title = f"least order of {offer.name}"
            model.live.add_row(
                Row(("order", offer.id), coefs, -inf, inf, "limit", "t fresh", title, "practice")
            )


def mend_orders(trial: Trial, rounds: Callable[[Trial], None]) -> tuple[SmallOrder, ...]:
    """Put orders right that are too small; those that stay."""
    stays: set[str] = set()
    for _ in range(MOST_ORDERS):
        orders = small_orders(trial.model.yard, trial.kg_of_all())
        small = next((order for order in orders if order[0].id not in stays), None)
        if small is None:
            break
        if _mended(trial, *small):
            rounds(trial)
        else:
            stays.add(small[0].id)
    return tuple(
        _small_order(*order) for order in small_orders(trial.model.yard, trial.kg_of_all())
    )


def _mended(trial: Trial, offer: Offer, t: float, least: float) -> bool:
    """Drop an order or bring it up where that costs less than bags or a rest left over; whether it
    did.
    """
    easy = _small_order(offer, t, least).extra_cost
    if easy <= NO_MONEY * abs(trial.best.cost) and offer.feed.kind in IN_BAGS:
        return False
    without = _without(trial, offer)
    more = {**trial.orders, offer.id: least}
    ways: list[tuple[Held, dict[str, float], AcceptedPlan | None]] = [
        (held, orders, trial.settled(held, trial.best.touches, orders))
        for held, orders in ((without, trial.orders), (trial.held, more))
    ]
    plans = [(held, orders, plan) for held, orders, plan in ways if plan is not None]
    if not plans:
        return False
    held, orders, plan = min(plans, key=lambda one: one[2].cost)
    if plan.cost - trial.best.cost > easy:
        return False
    trial.take(held, plan, orders)
    return True


def _without(trial: Trial, offer: Offer) -> Held:
    """What is held, and nothing of a feed for anybody."""
    held = dict(trial.held)
    for number, run in enumerate(trial.model.runs):
        if any(one.id == offer.id for one in run.block.offers):
            held[(number, offer.id)] = (0.0, 0.0)
    return held


def mend_feeds(trial: Trial, rounds: Callable[[Trial], None]) -> int:
    """Drop bought feeds above the most of the farm, each time the one whose going costs least; how
    many are left above it.
    """
    yard = trial.model.yard
    most = most_bought_feeds(yard.farm.yard_rules)
    while True:
        feeds = counted_feeds(yard, trial.kg_of_all())
        if len(feeds) <= most:
            return 0
        plans = []
        for offer, _ in feeds[:MOST_TRIED]:
            held = _without(trial, offer)
            plan = trial.settled(held, trial.best.touches)
            if plan is not None:
                plans.append((held, plan))
        if not plans:
            return len(feeds) - most
        trial.take(*min(plans, key=lambda one: one[1].cost))
        rounds(trial)


def _small_order(offer: Offer, t: float, least: float) -> SmallOrder:
    """An order below its least: in bags at their dearer price, or with a rest left over, whichever
    costs less.
    """
    over = (least - t) * offer.price_per_t_fresh
    bags = loading_figure("bag_dearer") * t * offer.price_per_t_fresh
    if offer.feed.kind not in IN_BAGS and bags < over:
        return SmallOrder(offer.id, offer.name, t, least, "bags", bags)
    return SmallOrder(offer.id, offer.name, t, least, "left_over", over)
