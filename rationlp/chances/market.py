"""What can be done later in the winter, at what price: forage bought now or later, or left."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from rationlp.chances.data import figure
from rationlp.chances.winters import ListedWinter, Spreads, price_share
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.farm.group import Group
from rationlp.records import dataclass

BALES, BALES_FEED = "big_bales", "grass_silage_big_bale"
GRASS = "early_grass"
DEFAULT_CURRENCY = "GBP"
KG_PER_T, DAYS_PER_MONTH = 1000.0, 30.4


@dataclass(frozen=True)
class Market:
    """The farm with the forage that it can buy among its offers, and what that costs when.

    stages: first days. storable: ids of bought forages, which keep. by_stage: their price in each
    stage as a multiple of that in autumn. rescue: price of forage like a store's on the day that it
    is empty, by store id [currency/t DM]; left: worth of bought forage at turnout as a share of its
    price in autumn. ours: ids of forages at our own default price, not at a price of the farm.
    grass: ids of grass that may be grazed in late winter.
    """

    farm: Farm
    stages: tuple[date, ...]
    storable: tuple[str, ...]
    by_stage: tuple[float, ...]
    rescue: dict[str, float]
    left: float
    spreads: Spreads
    ours: tuple[str, ...] = ()
    grass: tuple[str, ...] = ()

    def price(self, offer: Offer, stage: int, winter: ListedWinter) -> float:
        """What a tonne fresh costs in a stage of a winter [currency/t fresh]."""
        months = (self.stages[stage] - self.stages[0]).days / DAYS_PER_MONTH
        return self.expected(offer, stage) * price_share(self.spreads, months, winter)

    def expected(self, offer: Offer, stage: int) -> float:
        """What a tonne fresh costs in a stage on average: by the farm's own figure, else forage by
        `by_stage` and any other feed as in autumn [currency/t fresh].
        """
        own = self.farm.later.price(offer.id)
        stated = (None, own.turn_of_year, own.late_winter)[stage]
        if stated is not None:
            return stated
        if offer.id in self.storable:
            return offer.price_per_t_fresh * self.by_stage[stage]
        return offer.price_per_t_fresh

    def left_price(self, offer: Offer) -> float:
        """What a tonne fresh of a forage counts for at turnout [currency/t fresh]."""
        own = self.farm.later.price(offer.id).left
        if own is None:
            return self.left * offer.price_per_t_fresh
        return own

    def later_is_ours(self, offer: Offer) -> bool:
        """Whether what a forage costs after autumn is our own default."""
        own = self.farm.later.price(offer.id)
        return offer.id in self.storable and (own.turn_of_year is None or own.late_winter is None)


def make_market(
    farm: Farm, stages: tuple[date, ...], spreads: Spreads, bales_per_t_dm: float | None = None
) -> Market:
    """The market of a farm. bales_per_t_dm: price of bought big bales in autumn [currency/t DM];
    without one our own default, for farms in pounds that buy no forage; 0 offers none.
    """
    bought = tuple(offer for offer in farm.offers if offer.bought)
    own = tuple(offer.id for offer in bought if offer.feed.is_forage)
    ours: tuple[str, ...] = ()
    price = bales_per_t_dm
    if price is None and not own and farm.currency == DEFAULT_CURRENCY:
        price, ours = figure("bales_price"), (BALES,)
    if price and BALES_FEED in farm.feeds:
        bales = _bales(farm, price)
        farm = replace(farm, offers=(*farm.offers, bales))
        own = (*own, BALES)
    by_stage = (1.0, figure("turn_of_year_price"), figure("late_winter_price"))
    rescue = {store.id: _rescue(farm, store.id, own) for store in farm.stores}
    farm, grass = _with_grass(farm)
    return Market(farm, stages, own, by_stage, rescue, figure("left_worth"), spreads, ours, grass)


def _with_grass(farm: Farm) -> tuple[Farm, tuple[str, ...]]:
    """The farm with the grass that it may graze early among its offers, for the groups named."""
    names = []
    for number, grass in enumerate(farm.later.grass, 1):
        name = f"{GRASS}_{number}"
        dm = grass.feed.dm_g_per_kg / KG_PER_T
        offer = Offer(
            name, f"{grass.feed.name}, early", grass.feed, True,
            grass.cost_per_t_dm * dm, most_t=grass.most_t_dm / dm,
        )  # fmt: skip
        groups = tuple(_barring(group, name, grass.groups) for group in farm.groups)
        farm = replace(farm, offers=(*farm.offers, offer), groups=groups)
        names.append(name)
    return farm, tuple(names)


def _barring(group: Group, offer: str, groups: tuple[str, ...]) -> Group:
    """A group that never gets an offer, unless it is one of those named."""
    if {group.id, group.origin} & set(groups):
        return group
    return replace(group, barred=group.barred | {offer})


def _bales(farm: Farm, per_t_dm: float) -> Offer:
    feed = farm.feeds[BALES_FEED]
    fresh = per_t_dm * feed.dm_g_per_kg / KG_PER_T
    return Offer(BALES, "Big bales, bought", feed, True, fresh)


def _rescue(farm: Farm, store: str, storable: tuple[str, ...]) -> float:
    """Twice what replaces a tonne of DM of a store: the cheapest bought forage, but no less than
    what the store's own would fetch or count for.
    """
    offers = {offer.id: offer for offer in farm.offers}
    own = offers[store]
    bought = [offers[name].price_per_kg_dm * KG_PER_T for name in storable]
    fetched = [
        one.would_fetch_per_t_fresh * KG_PER_T / own.feed.dm_g_per_kg
        for one in farm.stores
        if one.id == store and one.would_fetch_per_t_fresh is not None
    ]
    least = min(bought, default=figure("bales_price"))
    dearest = max(least, own.price_per_kg_dm * KG_PER_T, *fetched)
    return figure("rescue_price") * dearest
