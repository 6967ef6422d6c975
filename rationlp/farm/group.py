"""A group of animals: its facts, what it may be fed, how, and how it changes over the winter."""

from __future__ import annotations

from dataclasses import field
from datetime import date

from rationlp.farm.feed import Feed
from rationlp.records import dataclass

AFRC, CSIRO, NRC = "afrc_1993", "csiro_2007", "nrc_2001"
"""Published standards by which needs may be worked out."""


@dataclass(frozen=True)
class FeedLimit:
    """A farm's own limit on one offer (by id) for one group, a head a day; None = no limit."""

    offer: str
    min_kg_fresh: float | None = None
    max_kg_fresh: float | None = None
    min_share_of_dm: float | None = None
    max_share_of_dm: float | None = None


@dataclass(frozen=True)
class QuantityLimit:
    """A farm's own need or limit on any quantity of its feed tables.

    quantity: a feed-table column (`cp_g_per_kg_dm`), one of the farm's own columns, `dm_kg` or
    `fresh_kg`. per: `head_day` (amount a head a day in the quantity's amount unit: g, MJ, kg, mg)
    or `kg_dm` (in the quantity's own unit).
    """

    quantity: str
    per: str
    at_least: float | None = None
    at_most: float | None = None


@dataclass(frozen=True)
class FamilyCap:
    """A farm's own cap on a family of feeds for one group, in the basis of the printed limit."""

    family: str
    basis: str
    cap: float


@dataclass(frozen=True)
class Feeding:
    """How feed is put before a group.

    wagon: `vertical` or `horizontal` (how its augers stand), or `none`. tub_m3: size of its tub.
    scale_division_kg: what its scale counts in. refusals: share of what is put out that is left
    lying, on top of what is eaten. loads_per_day: None: as many as fill the tub. mix_kg_per_m3:
    measured weight of the mix in the tub, None: by common practice.
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
class Cohort:
    """Cows of a group that calve in the same week: their share of the head [-], and own facts."""

    share: float
    facts: dict[str, float | str]


@dataclass(frozen=True)
class Calendar:
    """How a group changes over the winter.

    start: the day on which the group's facts hold. first_birth: first day of calving or lambing;
    spread_weeks: from the first to the last birth. after_class, after: what the animals are
    afterwards, milk of dairy cows at its peak. changes: in order of date. pens: cattle go through
    pens of their own: dry, close to calving, fresh, in milk. weaning: the day on which the lambs of
    ewes in milk are weaned, None where they stay with the ewes.
    """

    start: date
    first_birth: date | None = None
    spread_weeks: float = 0.0
    after_class: str | None = None
    after: dict[str, float | str] = field(default_factory=dict)
    changes: tuple[Change, ...] = ()
    pens: bool = False
    weaning: date | None = None


@dataclass(frozen=True)
class Grazing:
    """Grazed grass of a group between two days [kg DM a head a day], with its analysis and cost."""

    start: date
    until: date
    kg_dm: float
    feed: Feed
    price_per_t_dm: float = 0.0


@dataclass(frozen=True)
class Bedding:
    """Straw or the like used under a group [kg fresh a head a day], set aside before any is fed."""

    store: str
    group: str
    kg_fresh: float


@dataclass(frozen=True)
class Group:
    """A group of animals.

    animal_class: one of the classes of feeds/classes.csv, or `stated`. facts: the animal facts by
    key, units in the key (`live_weight_kg`, `sex`, …); which keys a class has is fixed in
    farm/animals.py. fed: `to_appetite` or `rationed`. parlour_feed: id of the feed given by yield
    in the parlour, or None. intake_kg_dm: the farm's own intake cap [kg DM a head a day] or None.
    intake_equation: name or None for the default. housed, out: first day fed in this winter, and
    first day no longer fed; None for the winter's own. grazing: by day. feeding: how it is fed
    where that differs from the farm's way. reserve_mj: energy from the back that a fresh dairy
    cow's ration counts on [MJ ME-equivalent a head a day]. cohorts: its cows by calving week where
    these differ; needs are means over them. nearest_days: days to calving of the nearest. standard:
    by which its needs are worked out where it holds for its class. calendar: how it changes over
    the winter, or None. origin: id of the group of the farm file that this is a part of, or "".
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
    standard: str = AFRC

    def number(self, key: str, default: float | None = None) -> float:
        """A numeric fact. Without a default the class's schema must guarantee it."""
        if default is not None and key not in self.facts:
            return default
        return float(self.facts[key])

    def optional(self, key: str) -> float | None:
        """A numeric fact, or None where the group has none."""
        if key in self.facts:
            return float(self.facts[key])
        return None

    def text(self, key: str) -> str:
        """A word fact that the class's schema guarantees."""
        return str(self.facts[key])

    def fed_within(self, first: date, last: date) -> tuple[date, date]:
        """From when to when it is fed between two days: once housed, and until it is out."""
        return max(first, self.housed or first), min(last, self.out or last)

    def nearest_fact(self, key: str) -> float | str | None:
        """A fact as a caution looks at it: of days to calving, those of the cow that is nearest."""
        if key == "days_to_calving" and self.nearest_days is not None:
            return self.nearest_days
        return self.facts.get(key)
