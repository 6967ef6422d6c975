"""What a plan costs: a head a day, a litre, a kg of gain; what is left of the milk."""

from __future__ import annotations

from collections.abc import Iterable
from math import ceil

from rationlp.after.stock import head_days_of
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed, Offer
from rationlp.farm.group import Group
from rationlp.farm.traits import traits
from rationlp.needs.calendar import parts_on
from rationlp.planned import PlanRation, WinterPlan
from rationlp.quantities import KG_PER_LITRE
from rationlp.records import dataclass

LEAST_SHOWN_T = 0.0005
"""Below this an amount bought or sold would be printed as 0.000 [t]."""


@dataclass(frozen=True)
class Money:
    """The money of one group, or of all, over the days planned.

    feed_cost, bought_cost: all feed and bought feed put out, at the farm's prices [currency].
    milk_litres, gain_kg: over those days, 0.0 for groups without. per_litre, per_kg_gain: feed cost
    [currency/l, currency/kg].
    margin_over_bought,
    margin_over_feed: milk less feed [currency], None without a price of milk. home_share_of_dm,
    home_share_of_me: of what is eaten.
    """

    group: str
    name: str
    head_days: float
    feed_cost: float
    bought_cost: float
    per_head_day: float | None
    milk_litres: float
    per_litre: float | None
    gain_kg: float
    per_kg_gain: float | None
    milk_income: float | None
    margin_over_bought: float | None
    margin_over_feed: float | None
    home_share_of_dm: float | None
    home_share_of_me: float | None


@dataclass(frozen=True)
class _Sums:
    """Totals over rations; they add up."""

    head_days: float = 0.0
    feed: float = 0.0
    bought: float = 0.0
    milk_l: float = 0.0
    milk_feed: float = 0.0
    milk_bought: float = 0.0
    gain_kg: float = 0.0
    gain_feed: float = 0.0
    dm: float = 0.0
    home_dm: float = 0.0
    me: float = 0.0
    home_me: float = 0.0


def money(plan: WinterPlan) -> tuple[Money, ...]:
    """Each group in the farm's order, then the whole farm (group "") of more than one."""
    groups = []
    for group in plan.farm.groups:
        sums = [
            _sums(plan, group, ration)
            for ration in plan.rations
            if (ration.origin or ration.group) == group.id
        ]
        if sums:
            groups.append((group.id, group.name, _added(sums)))
    if len(groups) > 1:
        groups.append(("", "All groups", _added([sums for _, _, sums in groups])))
    return tuple(_money(plan.farm, *group) for group in groups)


def _added(sums: Iterable[_Sums]) -> _Sums:
    parts = list(sums)
    return _Sums(*(sum(getattr(part, name) for part in parts) for name in _Sums.__match_args__))


def _sums(plan: WinterPlan, group: Group, ration: PlanRation) -> _Sums:
    head_days = head_days_of(plan, ration)
    period = plan.periods[ration.period]
    parts = {part.id: part for part in parts_on(group, period.first, period.last)}
    part = parts.get(ration.group, group)
    milk_l = gain = 0.0
    if traits(part.animal_class).parlour:
        milk_l = float(part.facts["milk_kg_per_day"]) / KG_PER_LITRE
    else:
        gain = max(0.0, float(part.facts.get("gain_kg_per_day", 0.0)))
    bought = {offer.id for offer in plan.farm.offers if offer.bought}
    paid = sum(
        amount.cost / (1.0 - ration.waste.get(amount.offer, 0.0))
        for amount in ration.amounts
        if amount.offer in bought
    )
    me = {
        amount.offer: amount.kg_dm * _me(feed_of(plan, group, ration, amount.offer))
        for amount in ration.amounts
    }
    milk_feed = milk_bought = gain_feed = 0.0
    if milk_l > 0.0:
        milk_feed, milk_bought = ration.feed_cost * head_days, paid * head_days
    if gain > 0.0:
        gain_feed = ration.feed_cost * head_days
    return _Sums(
        head_days=head_days,
        feed=ration.feed_cost * head_days,
        bought=paid * head_days,
        milk_l=milk_l * head_days,
        milk_feed=milk_feed,
        milk_bought=milk_bought,
        gain_kg=gain * head_days,
        gain_feed=gain_feed,
        dm=sum(amount.kg_dm for amount in ration.amounts) * head_days,
        home_dm=sum(amount.kg_dm for amount in ration.amounts if amount.offer not in bought)
        * head_days,
        me=sum(me.values()) * head_days,
        home_me=sum(value for offer, value in me.items() if offer not in bought) * head_days,
    )


def feed_of(plan: WinterPlan, group: Group, ration: PlanRation, offer_id: str) -> Feed | None:
    """The feed behind an amount of a plan: of a store, bought, or grazed in that period."""
    for offer in plan.farm.offers:
        if offer.id == offer_id:
            return offer.feed
    period = plan.periods[ration.period]
    for grazed in group.grazing:
        if grazed.start < period.last and period.first < grazed.until:
            return grazed.feed
    return None


def with_grass(plan: WinterPlan, group: Group, *rations: PlanRation) -> Farm:
    """The farm of a plan with what these rations of a group graze among its offers."""
    farm = plan.farm
    known = {offer.id for offer in farm.offers}
    for ration in rations:
        for amount in ration.amounts:
            if amount.offer in known:
                continue
            feed = feed_of(plan, group, ration, amount.offer)
            if feed is not None:
                farm = farm.with_offer(Offer(amount.offer, amount.name, feed, False, 0.0))
    return farm


def _me(feed: Feed | None) -> float:
    if feed is None:
        return 0.0
    return feed.value("me_mj_per_kg_dm") or 0.0


def _money(farm: Farm, group: str, name: str, sums: _Sums) -> Money:
    income = over_bought = over_feed = None
    if farm.milk_price_per_litre is not None and sums.milk_l:
        income = farm.milk_price_per_litre * sums.milk_l
        over_bought, over_feed = income - sums.milk_bought, income - sums.milk_feed
    return Money(
        group=group,
        name=name,
        head_days=sums.head_days,
        feed_cost=sums.feed,
        bought_cost=sums.bought,
        per_head_day=_ratio(sums.feed, sums.head_days),
        milk_litres=sums.milk_l,
        per_litre=_ratio(sums.milk_feed, sums.milk_l),
        gain_kg=sums.gain_kg,
        per_kg_gain=_ratio(sums.gain_feed, sums.gain_kg),
        milk_income=income,
        margin_over_bought=over_bought,
        margin_over_feed=over_feed,
        home_share_of_dm=_ratio(sums.home_dm, sums.dm),
        home_share_of_me=_ratio(sums.home_me, sums.me),
    )


def _ratio(part: float, whole: float) -> float | None:
    if whole <= 0.0:
        return None
    return part / whole


@dataclass(frozen=True)
class MonthBuy:
    """One bought feed in one month: what must be on the farm by the first day of a period is of
    that day's month.

    loads: that come in the month, whole, so that nothing runs out; the last may be a part load
    where it is not bought by the load only. None without a size of load.
    """

    month: str
    offer: str
    name: str
    t_fresh: float
    loads: float | None
    cost: float
    price_ceiling: float | None


def buying_list(plan: WinterPlan) -> tuple[MonthBuy, ...]:
    """What to buy, month by month, in the farm's order of feeds."""
    size = {offer.id: offer.load_t for offer in plan.farm.offers}
    months = dict.fromkeys(period.first.isoformat()[:7] for period in plan.periods)
    purchases = []
    come: dict[str, int] = {}
    fed: dict[str, float] = {}
    for month in months:
        numbers = [
            period.number for period in plan.periods if period.first.isoformat()[:7] == month
        ]
        for purchase in plan.purchases:
            load = size.get(purchase.offer)
            loads: float | None = None
            tonnes, total = sum(purchase.t_fresh[n] for n in numbers), sum(purchase.t_fresh)
            if purchase.loads:
                loads = float(sum(purchase.loads[n] for n in numbers))
                if load is not None:
                    tonnes, total = loads * load, sum(purchase.loads) * load
            fed[purchase.offer] = fed.get(purchase.offer, 0.0) + tonnes
            if tonnes < LEAST_SHOWN_T:
                continue
            if loads is None and load:
                until_now = ceil(fed[purchase.offer] / load - 1e-6)
                loads = float(until_now - come.get(purchase.offer, 0))
                come[purchase.offer] = until_now
            cost = purchase.cost * tonnes / total
            bought = (month, purchase.offer, purchase.name, tonnes, loads, cost)
            purchases.append(MonthBuy(*bought, purchase.price_ceiling))
    return tuple(purchases)
