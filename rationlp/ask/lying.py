"""Stores that a plan leaves lying while feed is bought, or feeds to nobody: how much, what it is
worth, and why: nobody may be given it, or the price at which more would be fed.

The price is bracketed at the plan's own energy rows, as reduced costs are, and then confirmed by
solving again with the rows and levels of feeding settled. Settled, not proven.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date

from rationlp.ask.bought import PRICE_STEP, other_price
from rationlp.ask.stores import NOT_EATEN, WHOLE_LOADS, OpenWinter
from rationlp.farm.feed import Offer
from rationlp.farm.store import Outlet, StoreStock
from rationlp.halving import halve
from rationlp.model.solution import Solution
from rationlp.planned import StorePlan, WinterPlan
from rationlp.records import dataclass
from rationlp.wintering.parts import winter_runs

LEAST_T, LEAST_SHARE = 2.0, 0.05
"""Left over counts from so many tonnes fresh and such a share of the store on; own choice (c)."""
MORE_T = 0.5
"""More of a store is fed when it is so many tonnes fresh more; own choice (c)."""
EVEN = 0.05
"""Prices a tonne fresh that differ by less are the same [currency]; own choice (c)."""
NOT_ASKED = "it was not asked"
NOT_ALLOWED = "no group may be given it"
NO_PLAN_AGAIN = "the plan was not found again when it was solved at other prices"


@dataclass(frozen=True)
class LyingForage:
    """A store of which forage is left while feed is bought, or of which nobody eats.

    left_t_fresh: left at turnout over the reserve. price: what a tonne of it counts for in the
    plan; worth: of all that is left, at what it would fetch, else at that price [currency, per t
    fresh]. more_below: the plan feeds more of it below this price [currency/t fresh], None where
    it never does or it was not worked out. more_if_free_t: how much more if it cost nothing [t
    fresh]. bought_t, bought_cost: feed bought over the winter, minerals left out. reason: why no
    price is told. fed: whether some group eats of it. allowed: whether some group may be given it.
    buyers: outlets that would take more of it; even: those of them that pay what a tonne of it
    counts for, so that selling and keeping it come to the same.
    """

    store: str
    name: str
    left_t_fresh: float
    price: float
    worth: float
    more_below: float | None
    more_if_free_t: float | None
    bought_t: float
    bought_cost: float
    reason: str = ""
    fed: bool = True
    allowed: bool = True
    buyers: tuple[str, ...] = ()
    even: tuple[str, ...] = ()


def forage_left_lying(plan: WinterPlan, priced: bool = True) -> tuple[LyingForage, ...]:
    """Every store that a plan leaves lying while it buys feed, or feeds to nobody. Where somebody
    is short price is not what decides: only stores that nobody may be given are told then. priced:
    with the price below which more would be fed, for which the winter is solved again.
    """
    minerals = {offer.id for offer in plan.farm.offers if offer.feed.kind == "mineral"}
    bought = [purchase for purchase in plan.purchases if purchase.offer not in minerals]
    tonnes, cost = sum(sum(one.t_fresh) for one in bought), sum(one.cost for one in bought)
    lying = [
        store
        for store in plan.stores
        if _counts(plan, store) and (tonnes >= MORE_T or not sum(store.eaten_t_dm))
    ]
    allowed = _allowed(plan, lying)
    by_price = [store for store in lying if plan.feeds_all and store.store in allowed]
    prices: dict[str, _Price] = {store.store: (None, None, NOT_ASKED) for store in by_price}
    if priced and by_price:
        prices = _prices(plan, by_price, dict(plan.stocks) or None, plan.periods[0].first)
    prices |= {
        store.store: (None, None, NOT_ALLOWED) for store in lying if store.store not in allowed
    }
    told = [store for store in lying if store.store in prices]
    return tuple(_lying(plan, store, prices, (tonnes, cost)) for store in told)


def _allowed(plan: WinterPlan, lying: list[StorePlan]) -> set[str]:
    """Stores of these that some group may be given: those that are fed, and by every part of every
    group through the winter where one is fed to nobody.
    """
    allowed = {store.store for store in lying if sum(store.eaten_t_dm) > 0.0}
    if len(allowed) < len(lying):
        for run in winter_runs(plan.farm, plan.periods, {}):
            allowed |= {offer.id for offer in run.block.offers}
    return allowed


def _buyers(plan: WinterPlan, store: str) -> Iterator[Outlet]:
    """The outlets that would take more of a store."""
    for outlet in plan.farm.outlets:
        sold = sum(sale.t_fresh for sale in plan.sales if sale.outlet == outlet.id)
        room = outlet.most_t_fresh is None or sold < outlet.most_t_fresh - MORE_T
        if store in outlet.stores and room:
            yield outlet


def _pays_even(outlet: Outlet, offer: Offer) -> bool:
    """Whether an outlet pays what the forage counts for, to a few pence a tonne fresh."""
    pays = outlet.price_per_t_fresh
    if outlet.price_per_t_dm is not None:
        pays = outlet.price_per_t_dm * offer.feed.dm_g_per_kg / 1000.0
    return pays is not None and abs(pays - offer.price_per_t_fresh) < EVEN


def _offer(plan: WinterPlan, store: StorePlan) -> Offer:
    return plan.farm.offer(store.store)


def _left_t_fresh(plan: WinterPlan, store: StorePlan) -> float:
    return (store.left_t_dm - store.reserve_t_dm) * 1000.0 / _offer(plan, store).feed.dm_g_per_kg


def _counts(plan: WinterPlan, store: StorePlan) -> bool:
    over = store.left_t_dm - store.reserve_t_dm
    return _left_t_fresh(plan, store) >= LEAST_T and over >= LEAST_SHARE * store.held_t_dm.typical


_Price = tuple[float | None, float | None, str]


def _lying(
    plan: WinterPlan, store: StorePlan, prices: Mapping[str, _Price], bought: tuple[float, float]
) -> LyingForage:
    offer, left = _offer(plan, store), _left_t_fresh(plan, store)
    worth_per_t = plan.farm.store(store.store).would_fetch_per_t_fresh
    if worth_per_t is None:
        worth_per_t = offer.price_per_t_fresh
    below, more, reason = prices[store.store]
    buyers = tuple(_buyers(plan, store.store))
    return LyingForage(
        store=store.store,
        name=store.name,
        left_t_fresh=left,
        price=offer.price_per_t_fresh,
        worth=left * worth_per_t,
        more_below=below,
        more_if_free_t=more,
        bought_t=bought[0],
        bought_cost=bought[1],
        reason=reason,
        fed=sum(store.eaten_t_dm) > 0.0,
        allowed=reason != NOT_ALLOWED,
        buyers=tuple(outlet.name for outlet in buyers),
        even=tuple(outlet.name for outlet in buyers if _pays_even(outlet, offer)),
    )


def _prices(
    plan: WinterPlan, lying: list[StorePlan], stocks: Mapping[str, StoreStock] | None, start: date
) -> dict[str, _Price]:
    """By store id: the price below which more is fed, how much more for nothing, why neither."""
    winter = OpenWinter(plan.farm, stocks, start)
    if winter.whole:
        return {store.store: (None, None, WHOLE_LOADS) for store in lying}
    if winter.solution is None:
        return {store.store: (None, None, NO_PLAN_AGAIN) for store in lying}
    return {store.store: _price(winter, winter.solution, _offer(plan, store)) for store in lying}


def _price(winter: OpenWinter, plan: Solution, offer: Offer) -> _Price:
    feed = other_price(winter, offer)
    if feed is None:
        return None, None, NOT_EATEN
    now, price = feed.tonnes(plan), feed.price

    def held(at: float) -> bool:
        answer = feed.held(at)
        return answer is not None and feed.tonnes(answer) > now + MORE_T

    def more(at: float) -> float:
        winter.back()
        answer = feed.settled(at)
        if answer is None:
            return 0.0
        return feed.tonnes(answer) - now

    if price <= 0.0:
        return None, 0.0, ""
    free = more(0.0)
    if free <= MORE_T:
        winter.back()
        return None, 0.0, ""
    below = _confirmed(held, lambda at: more(at) > MORE_T, price)
    winter.back()
    return below, free, ""


def _confirmed(
    held: Callable[[float], bool], settled: Callable[[float], bool], price: float
) -> float:
    """The price below which more is fed: by held rows, then confirmed or found by settled ones."""
    guess = 0.0
    if held(0.0):
        guess = halve(held, 0.0, price, PRICE_STEP)[0]
    low, high = max(guess - PRICE_STEP, 0.0), min(guess + PRICE_STEP, price)
    if not settled(low):
        return halve(settled, 0.0, low, PRICE_STEP)[0]
    if settled(high):
        low = halve(settled, low, price, PRICE_STEP)[0]
    return low
