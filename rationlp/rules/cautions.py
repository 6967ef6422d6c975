"""Cautions as data: the rows of feeds/cautions.csv, and what those about a store, a feed or an
analysis keep from whom.

A row says what it looks at, which figure, against which threshold, and what is then said. A hard
row about a feed also keeps it from groups (`keeps_from`) or holds it to a share of their dry matter
(`most_share`); no key of the farm file loosens that.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from functools import lru_cache

from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed, Offer
from rationlp.farm.group import Group
from rationlp.farm.store import Store
from rationlp.farm.traits import traits
from rationlp.folders import as_record, packaged_rows
from rationlp.records import dataclass
from rationlp.stock.shapes import bale_m3

KINDS = ("hard", "soft", "said")
HARMS = ("people", "stock", "")
"""What a caution can kill or maim, gravest first; empty for neither."""
LOOKS_AT = ("farm", "feed", "lab", "ration")
COMPARISONS = {"above": ">", "at_least": ">=", "below": "<", "at_most": "<="}
NITRATE_PER_NITRATE_N = 4.43
"""Grams of nitrate that hold a gram of nitrogen: 62.0/14.0 by molar weights; status (a)."""

EVERY = "every"
CLOSED_ROOMS = frozenset({"clamp", "bag"})
"""Stores in which silage gas gathers; a bale gives off too little. Common practice (c)."""

_ANALYSED = frozenset({"lab", "farm"})
_HAIR = 1e-6
GROWN_BULL_KG = 300.0
"""From this live weight a bull counts as one [kg]; common practice, no source (c)."""
USUAL_BALE_KG_PER_M3 = 150.0
"""Fresh weight of a bale not weighed, to tell big from small [kg/m3]; common practice (c)."""
_WHEN = re.compile(r"([a-z0-9_]+)(<=|>=|<|>)(-?[0-9.]+)")


@dataclass(frozen=True)
class Trigger:
    """A condition on a fact of the group or figure of the ration: name, < <= > or >=, number."""

    name: str
    sign: str
    number: float

    def holds(self, value: float | None) -> bool:
        """True when the value stands so; a value that is not known never does."""
        return value is not None and compared(value, self.sign, self.number)


def compared(value: float, sign: str, number: float) -> bool:
    """value sign number; > and < leave a hair of 1e-6 of the number for the solver's rounding."""
    hair = _HAIR * max(abs(number), _HAIR)
    return {
        ">": value > number + hair,
        "<": value < number - hair,
        ">=": value >= number,
        "<=": value <= number,
    }[sign]


@dataclass(frozen=True)
class CautionRow:
    """One row of feeds/cautions.csv.

    kind: `hard` (the model keeps it: may be tightened, not loosened), `soft` (a row of the model
    that the farm's own limit may replace) or `said`. looks_at: `farm` (a store), `feed` (any figure
    of a feed), `lab` (a figure analysed or stated by the farm, never a table's) or `ration`.
    classes: words for the groups concerned, empty for all. feeds: keys, kinds or sorts of feeds,
    empty for all; with a minus those that are not meant. when: further conditions. threshold,
    up_to: the range in which it is said, up_to left out. keeps_from: words for the groups that do
    not get the feed; most_share: most of the dry matter of the others. harm: `people` or `stock`
    where it can kill or maim, else empty. daily: it holds every day, whatever is fed. action: the
    one thing to do, of every row that can kill or maim and of every daily one.
    """

    id: str
    title: str
    kind: str
    looks_at: str
    classes: frozenset[str]
    feeds: frozenset[str]
    when: tuple[Trigger, ...]
    quantity: str
    comparison: str
    threshold: float
    up_to: float | None
    unit: str
    keeps_from: frozenset[str]
    most_share: float | None
    status: str
    source: str
    says: str
    harm: str
    daily: bool
    action: str

    def met(self, value: float | None) -> bool:
        """True when the value calls for this caution; one that is not known never does."""
        if value is None or not compared(value, COMPARISONS[self.comparison], self.threshold):
            return False
        if self.up_to is None:
            return True
        # Where a band begins above a figure, the band below it includes that figure: no value falls
        # between two.
        if self.comparison == "at_least":
            return value < self.up_to
        return not compared(value, ">", self.up_to)

    def concerns(self, words: frozenset[str]) -> bool:
        """True for a group with these words."""
        return not self.classes or bool(self.classes & words)

    def covers(self, feed: Feed) -> bool:
        """True for a feed that the row looks at."""
        words = {feed.key, feed.kind, feed.sort}
        if {f"-{word}" for word in words} & self.feeds:
            return False
        return not self.feeds or bool(self.feeds & words)


@lru_cache(maxsize=1)
def caution_rows() -> tuple[CautionRow, ...]:
    """All rows of feeds/cautions.csv in the order of the file."""
    return tuple(_row(row) for row in packaged_rows("cautions.csv"))


def _row(row: dict[str, str]) -> CautionRow:
    conditions = tuple(_when(text) for text in row["when"].split(";") if text)
    return as_record(CautionRow, row, when=conditions)


def _when(text: str) -> Trigger:
    """A condition as written: `days_to_lambing<=28`. Raises ValueError where it is none."""
    parts = _WHEN.fullmatch(text)
    if parts is None:
        raise ValueError(f"cautions.csv: {text!r} is no condition")
    return Trigger(parts[1], parts[2], float(parts[3]))


@lru_cache(maxsize=2)
def rows_that_look_at(ration: bool) -> tuple[CautionRow, ...]:
    """The rows about rations, or all the others."""
    return tuple(row for row in caution_rows() if (row.looks_at == "ration") == ration)


def group_words(group: Group) -> frozenset[str]:
    """The words by which cautions name a group: its class, cattle or sheep, suckler, ewes,
    breeding, pregnant, male_lamb, bulls, forage_cattle or cereal_cattle by their feeding system,
    every.

    A group of class `stated` could be any animal: it has no word but `stated` and `every`.
    """
    name, animals = group.animal_class, traits(group.animal_class)
    if animals.stated:
        return frozenset({name, EVERY})
    on_cereals = group.facts.get("system") == "cereal_based"
    carries = _number(group, "days_pregnant") > 0.0 or _number(group, "lambs_carried") > 0.0
    male_lamb = name == "lamb" and group.facts.get("sex") in ("male", "castrate")
    words = {
        name: True,
        EVERY: True,
        "sheep": animals.sheep,
        "cattle": animals.cattle,
        "cereal_cattle": animals.cattle and on_cereals,
        "forage_cattle": animals.cattle and not on_cereals,
        "bulls": _is_bull(group),
        "suckler": animals.suckler,
        "ewes": animals.ewe,
        "breeding": animals.breeding,
        "pregnant": animals.pregnant or carries,
        "male_lamb": male_lamb,
    }
    return frozenset(word for word, holds in words.items() if holds)


def _is_bull(group: Group) -> bool:
    if traits(group.animal_class).bull:
        return True
    return group.facts.get("sex") == "bull" and _number(group, "live_weight_kg") >= GROWN_BULL_KG


def _number(group: Group, key: str) -> float:
    value = group.nearest_fact(key) or 0.0
    if isinstance(value, str):
        return 0.0
    return float(value)


@dataclass(frozen=True)
class FeedCaution:
    """A row that a store, feed or analysis calls for: of which offer (by id), at which value."""

    row: CautionRow
    offer: str
    value: float


class _Held:
    """A farm as what it has to feed: the same to the cache whatever its groups are."""

    def __init__(self, farm: Farm) -> None:
        self.farm = farm

    def __hash__(self) -> int:
        return id(self.farm.offers)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, _Held):
            return NotImplemented
        mine, theirs = self.farm, other.farm
        return (
            mine.offers is theirs.offers
            and mine.stores is theirs.stores
            and mine.start == theirs.start
        )


def feed_cautions(farm: Farm) -> tuple[FeedCaution, ...]:
    """Every caution that the farm's stores, feeds and analyses call for, in file order."""
    return _feed_cautions(_Held(farm))


@lru_cache(maxsize=4)
def _feed_cautions(held: _Held) -> tuple[FeedCaution, ...]:
    farm = held.farm
    offers = {offer.id: offer for offer in farm.offers}
    return tuple(
        FeedCaution(row, about, value)
        for row in rows_that_look_at(ration=False)
        for about, value in _looked_at(row, farm, offers)
        if row.met(value)
    )


def _looked_at(
    row: CautionRow, farm: Farm, offers: dict[str, Offer]
) -> Iterator[tuple[str, float]]:
    """Each store or offer that a row looks at, with the figure where it is known."""
    if row.looks_at == "farm":
        for store in farm.stores:
            value = store_figure(store, row.quantity, farm.start)
            offer = offers.get(store.id)
            if value is not None and offer is not None and row.covers(offer.feed):
                yield store.id, value
        return
    for offer in offers.values():
        value = feed_figure(offer.feed, row.quantity, analysed=row.looks_at == "lab")
        if value is not None and row.covers(offer.feed):
            yield offer.id, value


def store_figure(store: Store, quantity: str, start: date) -> float | None:
    """A figure of a store by name, or None where the farm does not say: `seen_…` 1 where seen,
    `core_temperature_c` [°C], `face_height_m` and `height_over_reach_m` of a clamp [m], `bale_kg`
    of bales [kg fresh], and of a clamp or bag `days_from_filling_to_start` of the winter [days].
    """
    if quantity.startswith("seen_"):
        return float(quantity.removeprefix("seen_") in store.seen)
    if quantity == "core_temperature_c":
        return store.core_temperature_c
    if quantity == "days_from_filling_to_start":
        filled = None
        if store.kind in CLOSED_ROOMS:
            filled = store.size.get("filled")
        days = None
        if isinstance(filled, str):
            days = (start - date.fromisoformat(filled)).days
        if days is None or days < 0:
            return None
        return float(days)
    if quantity == "bale_kg":
        return _bale_kg(store)
    height = store.size.get("height_m")
    if store.kind != "clamp" or not isinstance(height, float):
        return None
    if quantity == "face_height_m":
        return height
    if store.machine_reach_m is None:
        return None
    return height - store.machine_reach_m


def _bale_kg(store: Store) -> float | None:
    """Fresh weight of a bale [kg]: weighed, else by its volume; None where neither is known."""
    weight = store.size.get("weight_kg")
    if store.kind != "bales":
        return None
    if isinstance(weight, float):
        return weight
    if "bale_diameter_m" in store.size or "bale_length_m" in store.size:
        return bale_m3(store.size) * USUAL_BALE_KG_PER_M3
    return None


def feed_figure(feed: Feed, quantity: str, analysed: bool) -> float | None:
    """A figure of a feed, or None; analysed: only from a laboratory sheet or the farm's own word,
    never from a table.

    `nitrate_n_mg_per_kg_dm` is made from nitrate: g NO3/kg DM · 1000/4.43 = mg nitrate-N/kg DM.
    """
    if quantity == "nitrate_n_mg_per_kg_dm":
        nitrate = feed_figure(feed, "nitrate_g_per_kg_dm", analysed)
        if nitrate is None:
            return None
        return nitrate * 1000.0 / NITRATE_PER_NITRATE_N
    figure = feed.figures.get(quantity)
    if figure is None or (analysed and figure.origin not in _ANALYSED):
        return None
    return figure.value


def kept_away(farm: Farm, group: Group) -> dict[str, FeedCaution]:
    """The feeds that a group never gets, by offer id, with the first hard caution against each."""
    words = group_words(group)
    by_offer: dict[str, FeedCaution] = {}
    for caution in feed_cautions(farm):
        if caution.row.keeps_from & words:
            by_offer.setdefault(caution.offer, caution)
    return by_offer


def share_caps(farm: Farm, group: Group) -> dict[str, FeedCaution]:
    """The feeds held to a share of a group's DM, by offer id, with the caution whose it is."""
    words = group_words(group)
    return {
        caution.offer: caution
        for caution in feed_cautions(farm)
        if caution.row.most_share is not None
        and caution.row.concerns(words)
        and not caution.row.keeps_from & words
    }
