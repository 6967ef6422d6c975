"""What a feed is worth: the price at which it enters or leaves a group's ration, and what a tonne
more of a store would save.

Least cost is concave in a price, so a reduced cost is only the lower estimate of an entry price:
the price is bracketed by solving again, to a tenth of a currency unit a tonne.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Collection
from math import inf

from rationlp.ask.bought import ALWAYS_IN, NOT_FOR_NOTHING, WinterPrice, winter_prices
from rationlp.ask.engine import BOUND, GroupEngine, SettledRation
from rationlp.ask.names import DEAREST, offer_named, with_feed
from rationlp.ask.reference import ReferenceValue, reference_value
from rationlp.ask.stores import OpenWinter, StoreWorth, store_worths
from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.halving import turn
from rationlp.model.ration import make_blocks
from rationlp.records import dataclass

PRICE_STEP = 0.1
"""To this a price is found [currency/t fresh]."""
SAME_KG = 1e-3
"""A ration is the same while no feed moves by more than this [kg DM a head a day]."""
_MOST_DOUBLINGS = 8
_FURTHEST = 1.0
"""How far above a price a better one is looked for [share of it]."""
NO_RATION_WITHOUT = "no ration without it"
NO_RATION = "the group has no ration"
Predicate = Callable[[float], bool]


@dataclass(frozen=True)
class FeedWorth:
    """A feed in one group's ration. Prices [currency/t fresh].

    price: the farm's own, None for a feed that is only asked about. kg_dm: eaten a head a day now.
    reduced_cost: what its price would have to fall by, by the marginal value of the present ration
    (None for a feed only asked about). turns_at: the price below which it is in the ration and
    above which it is out, to `PRICE_STEP`; None with a reason. same_low, same_high: the prices
    between which the ration stays as it is, None without an end.
    """

    group: str
    offer: str
    name: str
    price: float | None
    kg_dm: float
    reduced_cost: float | None
    turns_at: float | None
    same_low: float | None
    same_high: float | None
    reason: str = ""


@dataclass(frozen=True)
class Worth:
    """What every feed asked about is worth. lot_t_fresh: of a lot (a bale, a hectare), or None."""

    farm: Farm
    feeds: tuple[FeedWorth, ...]
    stores: tuple[StoreWorth, ...]
    bought: tuple[WinterPrice, ...]
    references: tuple[ReferenceValue, ...]
    lot_t_fresh: float | None = None


@dataclass(frozen=True)
class WorthOptions:
    """feeds: ids or feed keys asked about, empty for every feed of the farm but minerals. groups:
    ids of groups, None for all. energy, protein: the two references. winter: also the stores
    through the winter.
    """

    feeds: tuple[str, ...] = ()
    groups: Collection[str] | None = None
    energy: str = "barley"
    protein: str = "soya_meal_48"
    lot_t_fresh: float | None = None
    winter: bool = True


def worth(farm: Farm, today: Farm, options: WorthOptions) -> Worth:
    """What feeds and stores are worth. farm: as read; today: its groups as they are on one day.

    Raises InputError for unknown feeds and groups and for missing figures, SolverTrouble where the
    solver fails.
    """
    feeds_asked: list[str] = []
    findings: list[Finding] = []
    for word in options.feeds:
        try:
            today, offer = with_feed(today, word, "--feed")
            feeds_asked.append(offer.id)
        except InputError as trouble:
            findings += trouble.findings
    if findings:
        raise InputError(findings)
    plain = (offer.id for offer in today.offers if offer.feed.kind != "mineral")
    feeds_shown = tuple(feeds_asked) or tuple(plain)
    feeds: list[FeedWorth] = []
    for block in make_blocks(today, options.groups):
        engine = GroupEngine(block)
        feeds += [_feed_worth(engine, offer) for offer in block.offers if offer.id in feeds_shown]
    stores: tuple[StoreWorth, ...] = ()
    bought: tuple[WinterPrice, ...] = ()
    if options.winter:
        winter = OpenWinter(farm)
        stores, bought = store_worths(winter, feeds_shown), winter_prices(winter, feeds_shown)
    references = _references(today, options, feeds_shown)
    return Worth(today, tuple(feeds), stores, bought, references, options.lot_t_fresh)


def _references(
    farm: Farm, options: WorthOptions, shown: tuple[str, ...]
) -> tuple[ReferenceValue, ...]:
    """The plain valuation of every feed; none where the farm does not buy a reference."""
    try:
        barley, soya = (offer_named(farm, word, "") for word in (options.energy, options.protein))
    except InputError:
        return ()
    values = (reference_value(offer, barley, soya) for offer in farm.offers if offer.id in shown)
    return tuple(value for value in values if value is not None)


def _feed_worth(engine: GroupEngine, offer: Offer) -> FeedWorth:
    """One feed in one group's ration."""
    price: float | None = offer.price_per_t_fresh
    reduced_cost: float | None = None
    if offer.bought and offer.price_per_t_fresh >= DEAREST:
        price = None  # only asked about
    else:
        reduced_cost = _reduced(engine, offer)
    settled = engine.at({})
    answer = FeedWorth(
        group=engine.block.group.id,
        offer=offer.id,
        name=offer.name,
        price=price,
        kg_dm=settled.amounts.get(offer.id, 0.0),
        reduced_cost=reduced_cost,
        turns_at=None,
        same_low=None,
        same_high=None,
        reason=NO_RATION,
    )
    if not settled.exists:
        return answer
    least_cost = _least_without(engine, offer)
    if least_cost == inf:
        low, high = _same(engine, offer, settled)
        return dataclasses.replace(answer, same_low=low, same_high=high, reason=NO_RATION_WITHOUT)
    turns, reason = _turns_at(engine, offer, answer, least_cost)
    if turns is not None:
        turns = _sure(engine, offer, least_cost, turns)
    low, high = turns, None
    if answer.kg_dm > BOUND:
        low, high = _same(engine, offer, settled)
    return dataclasses.replace(answer, turns_at=turns, same_low=low, same_high=high, reason=reason)


def _reduced(engine: GroupEngine, offer: Offer) -> float:
    """Reduced cost of the proven ration [currency/t fresh]."""
    if engine.proven is None:
        return 0.0
    return max(engine.proven.reduced_costs[offer.id], 0.0) * offer.feed.dm_g_per_kg


def _least_without(engine: GroupEngine, offer: Offer) -> float:
    """Least cost without a feed [currency a head a day]; inf without a ration."""
    engine.hold({offer.id: (0.0, 0.0)})
    settled = engine.surely({})
    engine.hold({})
    engine.back()
    return settled.objective


def _turns_at(
    engine: GroupEngine, offer: Offer, feed_now: FeedWorth, least_cost: float
) -> tuple[float | None, str]:
    """The price at which a feed comes in or goes out [currency/t fresh], or None and why."""

    def inside(price: float) -> bool:
        return _is_in(engine.at({offer.id: price}), offer, least_cost)

    price = offer.price_per_t_fresh
    if feed_now.kg_dm > BOUND:
        top = _first_out(inside, price)
        engine.back()
        if top is None:
            return None, ALWAYS_IN
        return turn(inside, price, top, PRICE_STEP), ""
    # Out of the ration at its price: by the reduced cost it comes in at `below`, which is the lower
    # estimate.
    below = 0.0
    if feed_now.reduced_cost is not None:
        below = max(price - feed_now.reduced_cost - PRICE_STEP, 0.0)
    if not inside(below):
        below = 0.0
        engine.back()
        if not inside(0.0):
            return None, NOT_FOR_NOTHING
    if feed_now.price is not None and not inside(min(below + 2.0 * PRICE_STEP, price)):
        return turn(inside, below, min(below + 2.0 * PRICE_STEP, price), PRICE_STEP), ""
    engine.back()
    return turn(inside, below, price, PRICE_STEP), ""


def _sure(engine: GroupEngine, offer: Offer, least_cost: float, turns: float) -> float:
    """The same price, or a better one where a search that misses nothing finds one."""

    def inside(price: float) -> bool:
        return _is_in(engine.surely({offer.id: price}), offer, least_cost)

    low, high, step = max(turns - PRICE_STEP, 0.0), turns + PRICE_STEP, PRICE_STEP
    while low > 0.0 and not inside(low):
        step *= 2.0
        low, high = max(low - step, 0.0), low
    while high - turns < _FURTHEST * max(turns, 1.0) and inside(high):
        step *= 2.0
        low, high = high, high + step
    if high - low <= 2.0 * PRICE_STEP + 1e-9:
        return turns
    return turn(inside, low, high, PRICE_STEP)


def _is_in(settled: SettledRation, offer: Offer, least_cost: float) -> bool:
    """The ration holds a feed and costs no more than the cheapest without it."""
    highest = least_cost + 1e-10 * max(1.0, abs(least_cost))
    return settled.amounts.get(offer.id, 0.0) > BOUND and settled.objective <= highest


def _first_out(inside: Predicate, price: float) -> float | None:
    """The first of doubled prices at which something holds no longer."""
    tops = (max(price, 10.0) * 2.0**times for times in range(1, _MOST_DOUBLINGS + 1))
    return next((top for top in tops if not inside(top)), None)


def _same(
    engine: GroupEngine, offer: Offer, settled_now: SettledRation
) -> tuple[float | None, float | None]:
    """The prices between which every feed stays within a gram [currency/t fresh]; None: no end."""

    def same(price: float) -> bool:
        settled = engine.at({offer.id: price})
        kg = settled_now.amounts.items()
        return settled.exists and all(abs(settled.amounts[name] - n) <= SAME_KG for name, n in kg)

    price = offer.price_per_t_fresh
    engine.back()
    high = _first_out(same, price)
    if high is not None:
        engine.back()
        high = turn(same, price, high, PRICE_STEP)
    engine.back()
    if same(0.0):
        return None, high
    engine.back()
    return -turn(lambda minus: same(-minus), -price, 0.0, PRICE_STEP), high
