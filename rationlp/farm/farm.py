"""The farm: everything that was read and checked, as one frozen record."""

from __future__ import annotations

from dataclasses import field, replace
from datetime import date

from rationlp.errors import Finding
from rationlp.farm.feed import Feed, Offer
from rationlp.farm.group import Bedding, Feeding, Group
from rationlp.farm.later import LaterActions
from rationlp.farm.penalties import MINERAL_SHORTAGE_MJ, MJ_PRICE
from rationlp.farm.store import Outlet, Store
from rationlp.quantities import Quantity
from rationlp.records import dataclass
from rationlp.shows import Shown


@dataclass(frozen=True)
class YardRules:
    """What the farm's `[yard]` table says of plans that can be fed; None: as feeds/loading.csv has
    it. least_load_kg: least of a straight in a load; bag_kg; least_order_t: of a straight;
    most_bought_feeds: on the whole farm, minerals left out. hold_days,
    hold_saving: days that forages are held, and share of the feed cost that changing sooner must
    save. shut_days: days that clamps and bags stay shut after filling.
    """

    least_load_kg: float | None = None
    bag_kg: float | None = None
    least_order_t: float | None = None
    most_bought_feeds: int | None = None
    hold_days: int | None = None
    hold_saving: float | None = None
    shut_days: int | None = None


@dataclass(frozen=True)
class Crop:
    """A forage that can be grown for next year.

    yield_t_dm_per_ha: standing in the field [t DM/ha]; cost_per_ha: to grow, harvest and store a
    hectare [currency/ha]; least_ha, most_ha: hectares, None for no limit. losses: share of the
    yield lost between field and trough. would_fetch_per_t_dm: what a tonne of DM that is over would
    be sold for, None where none is sold. stored: `clamp` or `bales`.
    """

    id: str
    name: str
    feed: Feed
    yield_t_dm_per_ha: float
    cost_per_ha: float
    losses: float
    least_ha: float = 0.0
    most_ha: float | None = None
    would_fetch_per_t_dm: float | None = None
    stored: str = "clamp"

    @property
    def edible_t_dm_per_ha(self) -> float:
        """What a hectare brings to the trough [t DM/ha]."""
        return self.yield_t_dm_per_ha * (1.0 - self.losses)


@dataclass(frozen=True)
class Mix:
    """One mix for several groups. portions: by group id, kg of the mix as a multiple of the first
    group's. top_up: offers that a group may get beside it.
    """

    id: str
    portions: dict[str, float]
    top_up: frozenset[str]


@dataclass(frozen=True)
class Margins:
    """Safety margins [multiples of the requirement]. me_milking: energy of dairy cows in milk."""

    me: float = 1.05
    mp: float = 1.05
    me_milking: float = 1.0


@dataclass(frozen=True)
class Farm(Shown):
    """A whole farm, checked. offers: stores first, then bought feeds, in file order.

    home_grown_price: `nothing`, `cost` or `would_fetch`. feeds: every feed of the tables and the
    farm by key. own_quantities: quantities the farm declared itself. notices: warnings to show,
    none of which forbids anything. day: the day on which its groups stand as they are here; None
    for the first day of the winter. outlets, beddings, mixes: what else the winter asks of stores
    and groups. periods: first and last day (left out) of each step of the winter's plan, from the
    first day to turnout without a gap; empty for fortnights. milk_price_per_litre: currency/l, None
    where none is given. feeding: how feed is put out. mj_price: of the cheapest bought energy, by
    which shortages are priced [currency/MJ]. later: what can be done later in the winter, by the
    farm's own figures.
    """

    place: str
    name: str
    currency: str
    start: date
    turnout: date
    margins: Margins
    home_grown_price: str
    over_energy_price_per_mj: float
    offers: tuple[Offer, ...]
    stores: tuple[Store, ...]
    groups: tuple[Group, ...]
    feeds: dict[str, Feed]
    own_quantities: dict[str, Quantity] = field(default_factory=dict)
    notices: tuple[Finding, ...] = ()
    day: date | None = None
    outlets: tuple[Outlet, ...] = ()
    beddings: tuple[Bedding, ...] = ()
    mixes: tuple[Mix, ...] = ()
    periods: tuple[tuple[date, date], ...] = ()
    feeding: Feeding = Feeding()
    yard_rules: YardRules = YardRules()
    milk_price_per_litre: float | None = None
    growing: tuple[Crop, ...] = ()
    land_ha: float | None = None
    mineral_shortage_price_per_g: float = MINERAL_SHORTAGE_MJ * MJ_PRICE
    mj_price: float = MJ_PRICE
    later: LaterActions = LaterActions()

    def offer(self, key: str) -> Offer:
        """The store or bought feed with this id."""
        return next(offer for offer in self.offers if offer.id == key)

    def store(self, key: str) -> Store:
        """The store with this id."""
        return next(store for store in self.stores if store.id == key)

    def group(self, key: str) -> Group:
        """The group with this id."""
        return next(group for group in self.groups if group.id == key)

    def with_offer(self, offer: Offer) -> Farm:
        """The farm with an offer more, or in place of the one with its id."""
        offers = {present.id: present for present in self.offers} | {offer.id: offer}
        return replace(self, offers=tuple(offers.values()))

    def with_group(self, group: Group) -> Farm:
        """The farm with a group more, or in place of the one with its id."""
        groups = {present.id: present for present in self.groups} | {group.id: group}
        return replace(self, groups=tuple(groups.values()))
