"""How sure is a winter: figures drawn from their spreads, the plan solved anew for each draw, or
held as it is.

Held, it tells when each store would run out if everybody is fed as planned although the clamp holds
less, the turnout is late or more is eaten. Solved anew, it tells what the winter would have cost
had everything been known in time. Every draw has its own random numbers from the seed and its
number, so that one draw is the same however many there are and whichever process works it out.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import field, replace
from datetime import date, timedelta
from math import ceil, inf
from random import Random

from rationlp.after.stock import Drawdown, lasting, plan_uses
from rationlp.ask.batch import answer_all
from rationlp.ask.outcome import Outcome
from rationlp.ask.whatif import Question, answer_question
from rationlp.errors import refused
from rationlp.farm.animals import CLASSES
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed, Offer
from rationlp.farm.group import Group
from rationlp.farm.store import Spread, Store, StoreStock
from rationlp.needs.calendar import turned_out
from rationlp.planned import Period, WinterPlan
from rationlp.quantities import price_per_kg_dm
from rationlp.read.changed import Begun, ChangedFarm
from rationlp.records import dataclass
from rationlp.rules.spreads import CP, DM, ME, NDF, SpreadRow, shifted, spread_of, stock_spread
from rationlp.stock.dry_matter import store_stock
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import FED_ONLY

MOST_DRAWS = 100_000
FURTHEST = 3.0
"""Draws end at three standard deviations: what lies beyond is a mistake, not a spread."""
LOW, MIDDLE, HIGH = 0.1, 0.5, 0.9
PRICED_ALIKE = ("soya", "rapeseed")


@dataclass(frozen=True)
class DrawsAsked:
    """draws: how many. hold_plan: keep the plan's rations; else solve each draw anew. workers:
    processes, all cores where None.
    """

    draws: int
    seed: int
    spreads: Mapping[str, SpreadRow]
    hold_plan: bool = False
    workers: int | None = None
    said: Callable[[int, int], None] | None = None


@dataclass(frozen=True)
class StoreSureness:
    """What the draws came to for a store: the day it runs out early, in the middle and late (10, 50
    and 90 of 100 draws; None: after a year), how often before that draw's own turnout, and what is
    then short in 10 of 100 draws [t DM].
    """

    store: str
    name: str
    early: date | None
    middle: date | None
    late: date | None
    before_turnout: float
    short_t_dm: float


@dataclass(frozen=True)
class WinterSureness:
    """held: the plan's rations were kept. cost: low, middle and high (10, 50, 90 of 100 draws)
    [currency], of the draws with a plan; bought_t: the same of what is bought [t fresh]. without:
    share of draws without any plan. planned_cost: of the farm as it stands.
    """

    farm: Farm
    draws: int
    seed: int
    held: bool
    planned_cost: float
    cost: Spread | None
    bought_t: Spread | None
    without: float
    stores: tuple[StoreSureness, ...]
    spreads: tuple[SpreadRow, ...] = field(default_factory=tuple)


def winter_sureness(begun: Begun, draws: DrawsAsked) -> WinterSureness:
    """Draws of a winter. Raises InputError (IN538) for a number of draws that is none, and where
    the farm as it stands has no plan.
    """
    if not 1 <= draws.draws <= MOST_DRAWS:
        raise refused("IN538", "--draws", f"{draws.draws}", f"give 1 to {MOST_DRAWS}")
    options = replace(FED_ONLY, tidy=draws.hold_plan, shortage=False)
    plan = solve_winter(begun.farm, options, begun.stocks)
    if plan.cost is None:
        remedy = "`rationlp winter` says what is short; there is nothing to vary yet"
        raise refused("IN538", "farm", "this winter has no plan", remedy)
    if draws.hold_plan:
        return _held(begun, draws, plan)
    questions = [
        Question(f"{number}", drawn_farm(begun, draws, number), None, None)
        for number in range(draws.draws)
    ]
    answers = [one for (one,) in answer_all(answer_question, questions, draws.workers, draws.said)]
    solved = [answer for answer in answers if answer.cost is not None]
    bought = [sum(t for name, t in one.fed.items() if name in one.bought) for one in solved]
    return WinterSureness(
        farm=begun.farm,
        draws=draws.draws,
        seed=draws.seed,
        held=False,
        planned_cost=plan.cost,
        cost=_spread([one.cost for one in solved if one.cost is not None]),
        bought_t=_spread(bought),
        without=1.0 - len(solved) / draws.draws,
        stores=tuple(_solved_store(store, solved) for store in begun.farm.stores),
        spreads=tuple(draws.spreads.values()),
    )


def quantile(values: Sequence[float], share: float) -> float:
    """The value that a share of the draws does not pass."""
    return sorted(values)[max(0, ceil(share * len(values)) - 1)]


def _spread(values: Sequence[float]) -> Spread | None:
    if not values:
        return None
    return Spread(*(quantile(values, share) for share in (LOW, MIDDLE, HIGH)))


# ---- one draw
# --------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Draw:
    """The random numbers of one draw, by what they are of: standard normal, within three."""

    seed: int
    number: int

    def normal(self, of: str) -> float:
        """A standard normal number of its own for all that varies, the same in every process."""
        deviation = Random(f"{self.seed}:{self.number}:{of}").gauss(0.0, 1.0)
        return min(max(deviation, -FURTHEST), FURTHEST)


def drawn_farm(begun: Begun, draws: DrawsAsked, number: int) -> ChangedFarm:
    """The farm of one draw: analyses, stores, weights, turnout, prices moved by spreads."""
    draw = Draw(draws.seed, number)
    farm = begun.farm
    offers = tuple(_drawn_offer(offer, draws.spreads, draw) for offer in farm.offers)
    feeds = {offer.id: offer.feed for offer in offers}
    stocks = {
        store.id: _drawn_stock(store, feeds[store.id], begun, draws.spreads, draw)
        for store in farm.stores
    }
    groups = tuple(_drawn_group(group, draws.spreads, draw) for group in farm.groups)
    moved = replace(farm, offers=offers, groups=groups)
    return ChangedFarm(_drawn_turnout(moved, draws.spreads, draw), stocks)


def _drawn_offer(offer: Offer, spreads: Mapping[str, SpreadRow], draw: Draw) -> Offer:
    """Analyses; and the price of soya, rapeseed and cereals."""
    values = {}
    for figure in (ME, CP, NDF, DM):
        sd = spread_of(spreads, offer.feed, figure)
        known = offer.feed.value(figure)
        if sd > 0.0 and known:
            values[figure] = max(known + sd * draw.normal(f"{figure} {offer.id}"), 0.1 * known)
    price = offer.price_per_t_fresh
    if offer.bought and (offer.feed.kind == "cereal" or offer.feed.key.startswith(PRICED_ALIKE)):
        price *= max(1.0 + spreads["price"].spread * draw.normal(f"price {offer.id}"), 0.1)
    feed = offer.feed
    if values:
        feed = shifted(feed, values)
    return replace(offer, feed=feed, price_per_t_fresh=price)


def _drawn_stock(
    store: Store, feed: Feed, begun: Begun, spreads: Mapping[str, SpreadRow], draw: Draw
) -> StoreStock:
    """What a store holds at the dry matter drawn, its density (or weight) and its losses moved."""
    stock = store_stock(store, feed, begun.farm.start)
    # A store whose tonnes were stated by the question keeps them as the middle of its draws.
    stated = begun.stocks[store.id]
    plain = next(offer.feed for offer in begun.farm.offers if offer.id == store.id)
    moved = stated.edible_t_dm.typical / max(
        store_stock(store, plain, begun.farm.start).edible_t_dm.typical, 1e-9
    )
    factor = moved * max(
        1.0 + stock_spread(store, stock, spreads) * draw.normal(f"density {store.id}"), 0.05
    )
    loss_factor = max(1.0 + spreads["loss"].spread * draw.normal(f"loss {store.id}"), 0.0)
    for loss in stock.losses.values():
        factor *= max(1.0 - loss * loss_factor, 0.0) / (1.0 - loss)
    scaled = (
        Spread(amount.low * factor, amount.typical * factor, amount.high * factor)
        for amount in (stock.t_fresh, stock.t_dm, stock.edible_t_dm)
    )
    fresh, dry, edible = scaled
    return replace(
        stock,
        t_fresh=fresh,
        t_dm=dry,
        edible_t_dm=edible,
        reserve_t_dm=min(stock.reserve_t_dm, edible.typical),
    )


def _drawn_group(group: Group, spreads: Mapping[str, SpreadRow], draw: Draw) -> Group:
    """Live weight, within the range of the class."""
    weight = next(
        (fact for fact in CLASSES[group.animal_class] if fact.key == "live_weight_kg"), None
    )
    if weight is None or "live_weight_kg" not in group.facts:
        return group
    drawn = group.number("live_weight_kg") * (
        1.0 + spreads["live_weight"].spread * draw.normal(f"weight {group.id}")
    )
    return replace(
        group, facts={**group.facts, "live_weight_kg": min(max(drawn, weight.low), weight.high)}
    )


def _drawn_turnout(farm: Farm, spreads: Mapping[str, SpreadRow], draw: Draw) -> Farm:
    days = round(spreads["turnout"].spread * draw.normal("turnout"))
    longest = (farm.turnout - farm.start).days - 1
    if not days:
        return farm
    return turned_out(farm, max(days, -longest))


# ---- the plan held
# --------------------------------------------------------------------------------------------------


def _held(begun: Begun, draws: DrawsAsked, plan: WinterPlan) -> WinterSureness:
    uses = plan_uses(plan)
    days: dict[str, list[float]] = {use.store: [] for use in uses}
    short: dict[str, list[float]] = {use.store: [] for use in uses}
    early = dict.fromkeys(days, 0)
    costs, bought = [], []
    for number in range(draws.draws):
        drawn = drawn_farm(begun, draws, number)
        eaten = 1.0 + draws.spreads["intake"].spread * Draw(draws.seed, number).normal("intake")
        stretch = _stretch(drawn.farm.turnout, plan)
        for use in uses:
            last = lasting(_moved(use, drawn, eaten, stretch))
            days[use.store].append(_ordinal(last.runs_out.typical))
            short[use.store].append(last.short_t_dm.typical)
            early[use.store] += last.short_t_dm.typical > 1e-6
        cost, tonnes = _held_cost(plan, drawn, eaten, stretch)
        costs.append(cost)
        bought.append(tonnes)
        if draws.said is not None:
            draws.said(number + 1, draws.draws)
    assert plan.cost is not None
    stores = tuple(
        _of_store(
            use.store,
            use.name,
            days[use.store],
            early[use.store] / draws.draws,
            quantile(short[use.store], HIGH),
        )
        for use in uses
    )
    return WinterSureness(
        begun.farm, draws.draws, draws.seed, True, plan.cost, _spread(costs), _spread(bought), 0.0,
        stores,
        tuple(draws.spreads.values()),
    )  # fmt: skip


def _stretch(turnout: date, plan: WinterPlan) -> tuple[float, ...]:
    """Each period's days under a drawn turnout over its days in the plan; the last goes on."""
    shares = []
    for period in plan.periods:
        ends = min(turnout, period.last)
        if period is plan.periods[-1]:
            ends = turnout
        shares.append(max(0, (ends - period.first).days) / period.days)
    return tuple(shares)


def _moved(use: Drawdown, drawn: ChangedFarm, eaten: float, stretch: tuple[float, ...]) -> Drawdown:
    """The uses of a plan until the drawn turnout, out of the drawn stock."""
    stretches = [
        (_for_days(period, period.days * share), t * eaten * share, days)
        for period, t, days, share in zip(
            use.periods, use.used_t_dm, use.head_days, stretch, strict=True
        )
        if share > 0.0
    ]
    periods, used, head_days = (tuple(part) for part in zip(*stretches, strict=True))
    return replace(
        use,
        held_t_dm=drawn.stocks[use.store].edible_t_dm,
        periods=periods,
        used_t_dm=used,
        head_days=head_days,
    )


def _for_days(period: Period, days: float) -> Period:
    """A period of so many days, one at least."""
    return replace(period, last=period.first + timedelta(days=max(1, round(days))))


def _held_cost(
    plan: WinterPlan, drawn: ChangedFarm, eaten: float, stretch: tuple[float, ...]
) -> tuple[float, float]:
    """(cost of the held plan at the drawn prices [currency], what is bought [t fresh]); nothing
    bought in place of a store that ran out: what is short is told apart.
    """
    offers_now = {offer.id: offer for offer in plan.farm.offers}
    then = {offer.id: offer for offer in drawn.farm.offers}
    cost = tonnes = 0.0
    for purchase in plan.purchases:
        # The dry matter is held: wetter feed takes more tonnes.
        wet = offers_now[purchase.offer].feed.dm_g_per_kg / then[purchase.offer].feed.dm_g_per_kg
        t = sum(t * share for t, share in zip(purchase.t_fresh, stretch, strict=True)) * eaten * wet
        tonnes += t
        cost += t * then[purchase.offer].price_per_t_fresh
    for store in plan.stores:
        dry = sum(t * share for t, share in zip(store.used_t_dm, stretch, strict=True)) * eaten
        offer = offers_now[store.store]
        cost += dry * 1000.0 * price_per_kg_dm(offer.price_per_t_fresh, offer.feed.dm_g_per_kg)
    return cost - (plan.sold_income or 0.0), tonnes


def _day(ordinal: float) -> date | None:
    if ordinal == inf:
        return None
    return date.fromordinal(int(ordinal))


def _ordinal(day: date | None) -> float:
    """A day as a number; no day comes after all of them."""
    if day is None:
        return inf
    return float(day.toordinal())


def _of_store(
    store: str, name: str, days: Sequence[float], before: float, short: float
) -> StoreSureness:
    """The quantiles of the days, given as ordinals (infinite: it lasts)."""
    early, middle, late = (_day(quantile(days, share)) for share in (LOW, MIDDLE, HIGH))
    return StoreSureness(store, name, early, middle, late, before, short)


def _solved_store(store: Store, outcomes: Sequence[Outcome]) -> StoreSureness:
    """When a store is used up under the plans solved anew; none of them runs short."""
    days = [_ordinal(outcome.runs_out.get(store.id)) for outcome in outcomes]
    return _of_store(store.id, store.name, days or [inf], 0.0, 0.0)
