"""The price at which a bought feed comes into the plan of the whole winter, or goes out of it."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Collection

from rationlp.ask.stores import OpenWinter
from rationlp.farm.feed import Offer
from rationlp.model.lp import Key
from rationlp.model.solve import Solution, Status
from rationlp.records import dataclass

PRICE_STEP = 0.25
"""To this a price is found [currency/t fresh]."""
NOTHING_T = 1e-4
_MOST_TRIALS = 6
NOT_FOR_NOTHING = "not even for nothing"
ALWAYS_IN = "at any price up to the most that is looked at"


@dataclass(frozen=True)
class WinterPrice:
    """A bought feed in the plan of the winter: its price, tonnes bought, and the price below which
    it is bought and above which not [currency/t fresh], settled and not proved; None with a reason.
    """

    offer: str
    name: str
    price: float
    t_fresh: float
    turns_at: float | None
    reason: str = ""


def winter_prices(winter: OpenWinter, only: Collection[str]) -> tuple[WinterPrice, ...]:
    """Every bought feed in `only` with a price of its own; empty without a plan, or where it has
    whole numbers.
    """
    if winter.solution is None or winter.whole:
        return ()
    offers = [
        o
        for o in winter.yard.farm.offers
        if o.bought and o.id in only and o.price_per_t_fresh > 0.0
    ]
    found = [_winter_price(winter, winter.solution, offer) for offer in offers]
    winter.back()
    winter.model.live.set_costs(winter.model.costs)
    return tuple(one for one in found if one is not None)


def _winter_price(winter: OpenWinter, plan: Solution, offer: Offer) -> WinterPrice | None:
    """One feed: bracketed at the plan's own energy rows, then with the rows settled, which may let
    it in at a higher price.
    """
    columns = columns_of(winter, offer)
    if not columns:
        return None
    now, price = tonnes_of(winter, plan, columns), offer.price_per_t_fresh

    def costs(at: float) -> dict[Key, float]:
        return {key: winter.model.costs[key] * at / price for key in columns}

    def held(at: float) -> bool:
        winter.model.live.set_costs({**winter.model.costs, **costs(at)})
        answer = winter.model.live.solve()
        return answer.status is Status.OPTIMAL and tonnes_of(winter, answer, columns) > NOTHING_T

    def settled(at: float) -> bool:
        answer = winter.settled_at(costs(at))
        if answer is None:
            return True
        out_is_cheaper = now <= NOTHING_T and answer.objective > plan.objective * (1.0 + 1e-9)
        return tonnes_of(winter, answer, columns) > NOTHING_T and not out_is_cheaper

    winter.back()
    found = WinterPrice(offer.id, offer.name, price, now, None)
    low = price if now > NOTHING_T else 0.0
    if now <= NOTHING_T and not held(0.0):
        return dataclasses.replace(found, reason=NOT_FOR_NOTHING)
    top = _first_out(held, max(low, price))
    if top is None:
        return dataclasses.replace(found, reason=ALWAYS_IN)
    turns = _bisected(held, low, top)
    if settled(max(turns - PRICE_STEP, 0.0)):
        higher = _first_out(settled, turns + PRICE_STEP, 1.02)
        turns = (
            turns if higher is None else _bisected(settled, max(turns - PRICE_STEP, 0.0), higher)
        )
    return dataclasses.replace(found, turns_at=turns)


def _first_out(inside: Callable[[float], bool], price: float, times: float = 2.0) -> float | None:
    """The first of rising prices at which a feed is out, None where it is in at all of them."""
    for _ in range(_MOST_TRIALS):
        if not inside(price):
            return price
        price *= times
        times *= 1.0 if times >= 2.0 else 1.05
    return None


def _bisected(inside: Callable[[float], bool], low: float, high: float) -> float:
    while high - low > PRICE_STEP:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if inside(middle) else (low, middle)
    return 0.5 * (low + high)


def columns_of(winter: OpenWinter, offer: Offer) -> dict[Key, float]:
    """t fresh put out over the winter for each kg DM a head a day, by column of the feed."""
    return {
        run.block.feed(one): run.put_out(one) * run.weight / one.feed.dm_g_per_kg
        for run in winter.model.runs
        for one in run.block.offers
        if one.id == offer.id
    }


def tonnes_of(winter: OpenWinter, plan: Solution, columns: dict[Key, float]) -> float:
    """t fresh of a feed over the winter in a solution, by the columns that `columns_of` gives."""
    return sum(t * winter.model.live.value(plan, key) for key, t in columns.items())
