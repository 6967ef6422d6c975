"""The price at which a bought feed comes into the plan of the whole winter, or goes out of it."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import replace

from rationlp.ask.stores import OpenWinter
from rationlp.farm.feed import Offer
from rationlp.halving import turn
from rationlp.model.lp import Key
from rationlp.model.solution import Solution, Status
from rationlp.records import dataclass

PRICE_STEP = 0.25
"""To this a price is found [currency/t fresh]."""
NOTHING_T = 1e-4
_MOST_TRIALS = 6
NOT_FOR_NOTHING = "would not be used even if free"
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


@dataclass(frozen=True)
class OtherPrice:
    """A feed of an open winter at other prices [currency/t fresh]. columns: t fresh put out over
    the winter for each kg DM a head a day, by column.
    """

    winter: OpenWinter
    columns: dict[Key, float]
    price: float

    def costs(self, at: float) -> dict[Key, float]:
        """Costs of its columns at another price."""
        costs = self.winter.model.costs
        return {key: costs[key] * at / self.price for key in self.columns if key in costs}

    def held(self, at: float) -> Solution | None:
        """The plan at another price and the energy rows held; None without one."""
        live, costs = self.winter.model.live, self.winter.model.costs
        live.set_costs({**costs, **self.costs(at)})
        answer = live.solve()
        live.set_costs(costs)
        if answer.status is Status.OPTIMAL:
            return answer
        return None

    def settled(self, at: float) -> Solution | None:
        """The plan at another price, settled; None without one."""
        return self.winter.settled_at(self.costs(at))

    def tonnes(self, plan: Solution) -> float:
        """t fresh of it over the winter."""
        return sum(t * self.winter.model.live.value(plan, key) for key, t in self.columns.items())


def other_price(winter: OpenWinter, offer: Offer) -> OtherPrice | None:
    """A feed of an open winter at other prices; None where nobody may eat it."""
    columns = {
        run.block.feed(same): run.put_out(same) * run.weight / same.feed.dm_g_per_kg
        for run in winter.model.runs
        for same in run.block.offers
        if same.id == offer.id
    }
    if not columns:
        return None
    return OtherPrice(winter, columns, offer.price_per_t_fresh)


def winter_prices(winter: OpenWinter, only: Collection[str]) -> tuple[WinterPrice, ...]:
    """Prices of the bought feeds in `only`; empty without a plan or with whole numbers."""
    if winter.solution is None or winter.whole:
        return ()
    prices = []
    for offer in winter.yard.farm.offers:
        if offer.bought and offer.id in only and offer.price_per_t_fresh > 0.0:
            feed = other_price(winter, offer)
            if feed is not None:
                prices.append(_winter_price(feed, winter.solution, offer))
    winter.back()
    return tuple(prices)


def _winter_price(feed: OtherPrice, plan: Solution, offer: Offer) -> WinterPrice:
    """One feed: bracketed at the plan's own energy rows, then with the rows settled."""
    fed_t, price = feed.tonnes(plan), feed.price

    def held(at: float) -> bool:
        answer = feed.held(at)
        return answer is not None and feed.tonnes(answer) > NOTHING_T

    def settled(at: float) -> bool:
        answer = feed.settled(at)
        if answer is None:
            return True
        out_is_cheaper = fed_t <= NOTHING_T and answer.objective > plan.objective * (1.0 + 1e-9)
        return feed.tonnes(answer) > NOTHING_T and not out_is_cheaper

    feed.winter.back()
    unturned = WinterPrice(offer.id, offer.name, price, fed_t, None)
    low = price
    if fed_t <= NOTHING_T:
        low = 0.0
        if not held(0.0):
            return replace(unturned, reason=NOT_FOR_NOTHING)
    top = _first_out(held, max(low, price))
    if top is None:
        return replace(unturned, reason=ALWAYS_IN)
    turns = turn(held, low, top, PRICE_STEP)
    below = max(turns - PRICE_STEP, 0.0)
    if settled(below):
        higher = _first_out(settled, turns + PRICE_STEP, 1.02)
        if higher is not None:
            turns = turn(settled, below, higher, PRICE_STEP)
    return replace(unturned, turns_at=turns)


def _first_out(inside: Callable[[float], bool], price: float, times: float = 2.0) -> float | None:
    """The first of rising prices at which a feed is out, None where it is in at all of them."""
    for _ in range(_MOST_TRIALS):
        if not inside(price):
            return price
        price *= times
        if times < 2.0:
            times *= 1.05
    return None
