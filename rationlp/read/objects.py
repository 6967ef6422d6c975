"""What stage 1 hands on: feeds with the origin of every figure, the animals, the farm. All frozen,
all picklable.
"""

from __future__ import annotations

from dataclasses import field
from datetime import date
from typing import TYPE_CHECKING

from rationlp.errors import Finding
from rationlp.quantities import Quantity, price_per_kg_dm
from rationlp.read.penalties import MINERAL_SHORTAGE_MJ, MJ_PRICE
from rationlp.read.yard_keys import YardRules
from rationlp.records import dataclass
from rationlp.shows import Shown

if TYPE_CHECKING:
    from rationlp.read.crops import Crop

FORAGE_KINDS = frozenset({"forage", "straw"})
NEITHER_KINDS = frozenset({"root", "mineral"})


@dataclass(frozen=True)
class Figure:
    """A value and where it came from.

    origin: `table`, `lab`, `farm`, `computed` (by a published rule) or `default` (a stated class
    default).
    source: in words (file and row, or the rule). status: a, b or c for table, computed and default;
    empty else.
    sampled: day of the sample as ISO text where a laboratory sheet gives it, the latest of several.
    """

    value: float
    origin: str
    source: str
    status: str = ""
    sampled: str = ""


@dataclass(frozen=True)
class Feed:
    """A feed and its composition. `figures` is keyed by quantity name; a blank in the table has no
    key.

    sort: what laboratory ranges and rules go by (`grass_silage`, `hay`, …), empty where only the
    kind is known. fme_rule: the rule that gives FME, empty where it follows from sort and kind.
    """

    key: str
    name: str
    kind: str
    figures: dict[str, Figure]
    note: str = ""
    sort: str = ""
    fme_rule: str = ""

    def value(self, quantity: str) -> float | None:
        """The figure's value, or None where the table is blank (a blank is never 0)."""
        figure = self.figures.get(quantity)
        return None if figure is None else figure.value

    @property
    def dm_g_per_kg(self) -> float:
        """Dry matter [g/kg fresh]; every feed that stage 1 lets through has one."""
        return self.figures["dm_g_per_kg"].value

    @property
    def is_forage(self) -> bool:
        """Forage in the sense of practice limits: kinds forage and straw."""
        return self.kind in FORAGE_KINDS

    @property
    def is_concentrate(self) -> bool:
        """Every kind except forage, straw, root and mineral (wet by-products count by their dry
        matter).
        """
        return self.kind not in FORAGE_KINDS and self.kind not in NEITHER_KINDS


@dataclass(frozen=True)
class Offer:
    """A feed that this farm can feed: from a store, or bought.

    id: the store's id or the bought feed's id. price_per_t_fresh: the price used in the objective
    [currency/t fresh] (for a store, under the farm's choice of `home_grown.price`). least_t,
    most_t, load_t: bought feed only [t fresh];
    whole_loads: bought by the load only; keeps_days, space_t: days a load keeps, and room for it [t
    fresh];
    least_order_t: least that is ever ordered of it [t fresh].
    """

    id: str
    name: str
    feed: Feed
    bought: bool
    price_per_t_fresh: float
    least_t: float | None = None
    most_t: float | None = None
    load_t: float | None = None
    whole_loads: bool = False
    keeps_days: float | None = None
    space_t: float | None = None
    least_order_t: float | None = None

    @property
    def price_per_kg_dm(self) -> float:
        """Price of a kg of dry matter [currency/kg DM]."""
        return price_per_kg_dm(self.price_per_t_fresh, self.feed.dm_g_per_kg)


@dataclass(frozen=True)
class Store:
    """A store as the farm describes it: sizes are read and checked here and used by the stock
    calculation.

    kind: clamp, bag, bales, stack or plain. size: figures by key of the farm file (`length_m`,
    `count`, …). seen: what somebody saw in it or knows of it (`mould`, `ragwort`, `litter_field`,
    `soil`, `heated`). core_temperature_c: highest temperature measured inside [°C].
    machine_reach_m: how high the machine at the face reaches [m]. kept_for: ids of the only groups
    that may get it; empty for all. reserve_t_fresh: what must be left at turnout.
    """

    id: str
    name: str
    kind: str
    feed_key: str
    size: dict[str, float | str]
    cost_per_t_fresh: float | None
    would_fetch_per_t_fresh: float | None
    seen: tuple[str, ...] = ()
    core_temperature_c: float | None = None
    machine_reach_m: float | None = None
    kept_for: tuple[str, ...] = ()
    reserve_t_fresh: float = 0.0


@dataclass(frozen=True)
class Spread:
    """A figure as low, typical and high, for what a measurement may hide."""

    low: float
    typical: float
    high: float


@dataclass(frozen=True)
class StockStep:
    """One step from what was measured to dry matter that can be eaten: what, value, unit, how,
    whence and how sure.
    """

    name: str
    value: float
    unit: str
    equation: str
    source: str
    status: str


@dataclass(frozen=True)
class Face:
    """The open face of a clamp or bag [m, m2]. kg_dm_per_m: dry matter behind a metre of advance.

    warn_m_per_week, fail_m_per_week: least advance in winter by crop; length_m: length still to be
    eaten.
    """

    width_m: float
    height_m: float
    area_m2: float
    kg_dm_per_m: float
    warn_m_per_week: float
    fail_m_per_week: float
    length_m: float


@dataclass(frozen=True)
class StoreStock:
    """What a store holds and how much of it can be eaten.

    t_fresh, t_dm: in the store on the day it was measured. losses: share of DM by name (surface,
    face, damaged bales), none
    counted twice. edible_t_dm: after these, before waste at the trough. trough_loss: share of what
    is put out that is not
    eaten, charged to the group. reserve_t_dm: kept at turnout. measured: the day as ISO text, or
    "".
    """

    store: str
    volume_m3: float | None
    density_kg_dm_per_m3: Spread | None
    t_fresh: Spread
    t_dm: Spread
    losses: dict[str, float]
    edible_t_dm: Spread
    trough_loss: float
    reserve_t_dm: float
    face: Face | None
    steps: tuple[StockStep, ...]
    measured: str = ""


@dataclass(frozen=True)
class Outlet:
    """Somewhere that buys forage. Price a tonne fresh or a tonne of dry matter [currency]; most and
    least tonnes fresh.
    """

    id: str
    name: str
    stores: tuple[str, ...]
    price_per_t_fresh: float | None = None
    price_per_t_dm: float | None = None
    least_t_fresh: float | None = None
    most_t_fresh: float | None = None


@dataclass(frozen=True)
class Bedding:
    """Straw or the like used under a group [kg fresh a head a day], set aside before any is fed."""

    store: str
    group: str
    kg_fresh: float


@dataclass(frozen=True)
class Mix:
    """One mix for several groups. portions: by group id, kg of the mix as a multiple of the first
    group's. top_up: offers that a group may get beside it.
    """

    id: str
    portions: dict[str, float]
    top_up: frozenset[str]


@dataclass(frozen=True)
class Grazing:
    """Grazed grass of a group from a day until another (left out) [kg DM a head a day], with its
    own analysis and cost.
    """

    start: date
    until: date
    kg_dm: float
    feed: Feed
    price_per_t_dm: float = 0.0


@dataclass(frozen=True)
class FeedLimit:
    """A farm's own limit on one offer (by offer id) for one group; None = no limit. Amounts a head
    a day.
    """

    offer: str
    min_kg_fresh: float | None = None
    max_kg_fresh: float | None = None
    min_share_of_dm: float | None = None
    max_share_of_dm: float | None = None


@dataclass(frozen=True)
class QuantityLimit:
    """A farm's own need or limit on any quantity of its feed tables.

    quantity: a feed-table column (`cp_g_per_kg_dm`), one of the farm's own columns, `dm_kg` or
    `fresh_kg`.
    per: `head_day` (amount a head a day in the quantity's amount unit: g, MJ, kg, mg) or `kg_dm`
    (in the quantity's own unit).
    """

    quantity: str
    per: str
    at_least: float | None = None
    at_most: float | None = None


@dataclass(frozen=True)
class FamilyCap:
    """A farm's own cap on a family of feeds for one group, in the basis in which the printed limit
    stands.
    """

    family: str
    basis: str
    cap: float


@dataclass(frozen=True)
class Feeding:
    """How feed is put before a group.

    wagon: `vertical` or `horizontal` (how its augers stand), or `none`. tub_m3: size of its tub.
    scale_division_kg: what its
    scale counts in. refusals: share of what is put out that is left lying, on top of what is eaten.
    loads_per_day: None: as
    many as fill the tub. mix_kg_per_m3: measured weight of the mix in the tub, None: by common
    practice.
    """

    wagon: str = "none"
    tub_m3: float | None = None
    scale_division_kg: float = 5.0
    refusals: float = 0.0
    loads_per_day: int | None = None
    mix_kg_per_m3: float | None = None


@dataclass(frozen=True)
class Change:
    """Facts, or the number of animals, stated anew from a date on."""

    start: date
    head: int | None
    facts: dict[str, float | str]


@dataclass(frozen=True)
class Calendar:
    """How a group changes over the winter.

    start: the day on which the group's facts hold. first_birth: first day of calving or lambing;
    spread_weeks: from the first to
    the last birth. after_class, after: what the animals are afterwards, milk of dairy cows at its
    peak. changes: in order of
    date. pens: cattle go through pens of their own: dry, close to calving, fresh, in milk.
    """

    start: date
    first_birth: date | None = None
    spread_weeks: float = 0.0
    after_class: str | None = None
    after: dict[str, float | str] = field(default_factory=dict)
    changes: tuple[Change, ...] = ()
    pens: bool = False


@dataclass(frozen=True)
class Cohort:
    """Cows of a group that calved, or will, in the same week: their share of the head [-], and
    facts of their own.
    """

    share: float
    facts: dict[str, float | str]


@dataclass(frozen=True)
class Group:
    """A group of animals.

    animal_class: one of the classes of feeds/classes.csv, or `stated`. facts: the animal facts by
    key, units in the key (`live_weight_kg`, `sex`, …); which keys a class has is fixed in
    read/animals.py. fed: `to_appetite` or `rationed`.
    parlour_feed: id of the feed given by yield in the parlour, or None.
    intake_kg_dm: the farm's own intake cap [kg DM a head a day] or None. intake_equation: name or
    None for the default.
    housed, out: first day fed in this winter, and first day no longer fed; None for the winter's
    own. grazing: by day.
    feeding: how it is fed where that differs from the farm's way.
    reserve_mj: energy from the back that a fresh dairy cow's ration counts on [MJ ME-equivalent a
    head a day].
    cohorts: its cows by calving week where these differ; needs are means over them. nearest_days:
    days to calving of the nearest.
    calendar: how it changes over the winter, or None. origin: id of the group of the farm file that
    this is a part of, or "".
    """

    id: str
    name: str
    animal_class: str
    head: int
    fed: str
    facts: dict[str, float | str]
    barred: frozenset[str] = frozenset()
    feed_limits: tuple[FeedLimit, ...] = ()
    quantity_limits: tuple[QuantityLimit, ...] = ()
    family_caps: tuple[FamilyCap, ...] = ()
    parlour_feed: str | None = None
    intake_kg_dm: float | None = None
    intake_equation: str | None = None
    appetite_share: float | None = None
    maint_factor: float = 1.0
    calendar: Calendar | None = None
    origin: str = ""
    housed: date | None = None
    out: date | None = None
    grazing: tuple[Grazing, ...] = ()
    feeding: Feeding | None = None
    reserve_mj: float = 0.0
    cohorts: tuple[Cohort, ...] = ()
    nearest_days: float | None = None

    def number(self, key: str) -> float:
        """A numeric fact that the class's schema guarantees."""
        return float(self.facts[key])

    def text(self, key: str) -> str:
        """A word fact that the class's schema guarantees."""
        return str(self.facts[key])

    def nearest_fact(self, key: str) -> float | str | None:
        """A fact as a caution looks at it: of days to calving, those of the cow that is nearest."""
        if key == "days_to_calving" and self.nearest_days is not None:
            return self.nearest_days
        return self.facts.get(key)


@dataclass(frozen=True)
class Margins:
    """Safety margins, applied once [multiples of the requirement]. me_milking: energy of dairy cows
    in milk.
    """

    me: float = 1.05
    mp: float = 1.05
    me_milking: float = 1.0


@dataclass(frozen=True)
class Farm(Shown):
    """A whole farm, checked. offers: stores first, then bought feeds, in file order.

    home_grown_price: `nothing`, `cost` or `would_fetch`. feeds: every feed of the tables and the
    farm by key.
    own_quantities: quantities the farm declared itself. notices: warnings to show, none of which
    forbids anything.
    day: the day on which its groups stand as they are here; None for the first day of the winter.
    outlets, beddings, mixes:
    what else the winter asks of stores and groups. periods: first and last day (left out) of each
    step of the winter's plan, from the first day to turnout without a gap; empty for fortnights.
    milk_price_per_litre: currency/l, None where none is given.
    feeding: how feed is put out. mj_price: of the cheapest bought energy, by which shortages are
    priced [currency/MJ].
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
