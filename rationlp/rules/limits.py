"""What can really be fed: practical limits of every feed by class, limits of families of
near-identical feeds, and figures.

Limits in fresh weight hold at the dry matter printed in the feed tables; with another dry matter
the DM is held constant, so everything here is handed on as dry matter. The classes are those of the
`limits_key` of feeds/classes.csv.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from rationlp.farm.feed import Feed
from rationlp.farm.feed_table import packaged_feeds
from rationlp.folders import as_record, number_in, packaged_rows
from rationlp.records import dataclass


@dataclass(frozen=True)
class PracticeLimit:
    """Limits of one feed for one class; None where the row has none. 0 means not for this class.

    share: of the dry matter eaten. kg_dm, kg_fresh: a head a day (kg_fresh at the printed dry
    matter). kg_dm_per_kg_live_weight: per kg of the animal. fixed_kg_dm,
    fixed_kg_dm_per_kg_live_weight: this mineral goes in as exactly that much. hard: for safety, may
    be tightened but not loosened. whose: reason and source in words.
    """

    feed_key: str
    max_share: float | None
    min_share: float | None
    max_kg_dm: float | None
    max_kg_fresh: float | None
    max_kg_dm_per_kg_live_weight: float | None
    fixed_kg_dm: float | None
    fixed_kg_dm_per_kg_live_weight: float | None
    reason: str
    hard: bool
    hard_reason: str
    status: str
    source: str

    @property
    def whose(self) -> str:
        """Whose limit it is, for the answer."""
        if self.hard:
            return f"{self.hard_reason or self.reason}; {self.source}"
        return self.source

    def most_kg_dm(self, live_weight_kg: float | None) -> float | None:
        """The tightest cap in kg DM a head a day; None where there is none."""
        caps = [self.max_kg_dm]
        if self.max_kg_dm_per_kg_live_weight is not None and live_weight_kg is not None:
            caps.append(self.max_kg_dm_per_kg_live_weight * live_weight_kg)
        return min((cap for cap in caps if cap is not None), default=None)

    def fixed(self, live_weight_kg: float | None) -> float | None:
        """kg DM a head a day that this mineral goes in as, or None where it is free."""
        if self.fixed_kg_dm is not None:
            return self.fixed_kg_dm
        if self.fixed_kg_dm_per_kg_live_weight is not None and live_weight_kg is not None:
            return self.fixed_kg_dm_per_kg_live_weight * live_weight_kg
        return None


@dataclass(frozen=True)
class FamilyLimit:
    """Σ factor·x over the members ≤ cap, for near-identical feeds.

    basis: `share_of_dm`, `share_of_forage_dm`, `kg` (a head a day) or `kg_per_kg_live_weight`.
    weights: per kg DM of each member, by feed key: its factor, and for limits in fresh weight the
    kg fresh at the printed dry matter too. unit: of the sum. printed_basis: the basis as
    feeds/family-limits.csv has it. The same family may have several limits.
    """

    family: str
    weights: Mapping[str, float]
    basis: str
    cap: float
    unit: str
    printed_basis: str
    status: str
    source: str

    def scaled(self, cap: float) -> float:
        """A cap in the printed basis, in the units of `cap` here."""
        return _scaled(cap, self.basis)


def _scaled(cap: float, basis: str) -> float:
    """A cap as printed, in the units of its basis: of live weight, g a kg are printed."""
    if basis == "kg_per_kg_live_weight":
        return cap / 1000.0
    return cap


@lru_cache(maxsize=1)
def _rows() -> dict[str, list[dict[str, str]]]:
    """The rows of limits.csv by class; limits are made only for the classes that a farm has."""
    rows: dict[str, list[dict[str, str]]] = {}
    for row in packaged_rows("limits.csv"):
        rows.setdefault(row["class"], []).append(row)
    return rows


@lru_cache(maxsize=32)
def _limits_of(limits_key: str) -> dict[str, PracticeLimit]:
    feeds = packaged_feeds()
    return {row["feed_key"]: _limit(row, feeds) for row in _rows().get(limits_key, ())}


def _limit(cells: Mapping[str, str], feeds: Mapping[str, Feed]) -> PracticeLimit:
    dm = feeds[cells["feed_key"]].dm_g_per_kg / 1000.0
    return as_record(
        PracticeLimit,
        cells,
        max_share=number_in(cells["max_share_of_dm"]),
        min_share=number_in(cells["min_share_of_dm"]),
        max_kg_dm=number_in(cells["max_kg_fresh_per_day"], dm),
        max_kg_fresh=number_in(cells["max_kg_fresh_per_day"]),
        max_kg_dm_per_kg_live_weight=number_in(cells["max_g_per_kg_live_weight"], dm / 1000.0),
        fixed_kg_dm=number_in(cells["fixed_g_per_day"], dm / 1000.0),
        fixed_kg_dm_per_kg_live_weight=number_in(cells["fixed_g_per_kg_live_weight"], dm / 1000.0),
    )


def practice_limits(limits_key: str | None) -> Mapping[str, PracticeLimit]:
    """Limits by feed key for a class; empty for none. Not to be changed by the caller."""
    return _limits_of(limits_key or "")


_BASES = {
    "share_of_dm": ("share_of_dm", False, "share of DM"),
    "share_of_forage_dm": ("share_of_forage_dm", False, "share of forage DM"),
    "kg_dm": ("kg", False, "kg DM"),
    "kg_fresh": ("kg", True, "kg fresh"),
    "g_dm_per_kg_live_weight": ("kg_per_kg_live_weight", False, "kg DM"),
    "g_fresh_per_kg_live_weight": ("kg_per_kg_live_weight", True, "kg fresh"),
}


@lru_cache(maxsize=1)
def _all_families() -> dict[str, tuple[FamilyLimit, ...]]:
    feeds = packaged_feeds()
    by_class: dict[str, tuple[FamilyLimit, ...]] = {}
    for cells in packaged_rows("family-limits.csv"):
        basis, fresh, unit = _BASES[cells["basis"]]
        weights = {}
        for member in cells["members"].split():
            key, _, factor = member.partition("*")
            weights[key] = float(factor or 1.0)
            if fresh:
                weights[key] *= 1000.0 / feeds[key].dm_g_per_kg
        cap = _scaled(float(cells["cap"]), basis)
        made = {"weights": weights, "basis": basis, "cap": cap, "unit": unit}
        limit = as_record(FamilyLimit, cells, printed_basis=cells["basis"], **made)
        by_class[cells["class"]] = (*by_class.get(cells["class"], ()), limit)
    return by_class


def family_limits(limits_key: str | None) -> tuple[FamilyLimit, ...]:
    """Limits of families for a class, in file order."""
    return _all_families().get(limits_key or "", ())


@lru_cache(maxsize=1)
def family_names() -> dict[str, tuple[str, ...]]:
    """Every family of feeds with the bases in which limits on it are printed, for any class."""
    names: dict[str, tuple[str, ...]] = {}
    for limits in _all_families().values():
        for limit in limits:
            bases = names.get(limit.family, ())
            if limit.printed_basis not in bases:
                names[limit.family] = (*bases, limit.printed_basis)
    return names


@lru_cache(maxsize=1)
def _all_practice() -> dict[tuple[str, str], float]:
    return {
        (row["limits_key"], row["figure"]): float(row["value"])
        for row in packaged_rows("practice.csv")
    }


def practice_figure(limits_key: str | None, figure: str) -> float | None:
    """A figure of practice for a class (least useful amounts, silage a day, meal size …); None
    where there is none.

    All of them are common practice, no source (c); feeds/practice.csv gives the unit of each.
    """
    return _all_practice().get((limits_key or "", figure))


@dataclass(frozen=True)
class Believable:
    """The usual range of one figure of a ration of a class: outside it is a question, three such
    figures are a mistake.

    live_weight_kg: the weight for which the range is meant; it moves with the animal's own. None:
    it does not.
    """

    quantity: str
    low: float
    high: float
    live_weight_kg: float | None = None

    def scaled(self, live_weight_kg: float | None) -> Believable:
        """The range for an animal of a live weight [kg]."""
        if self.live_weight_kg is None or live_weight_kg is None:
            return self
        factor = live_weight_kg / self.live_weight_kg
        return Believable(self.quantity, self.low * factor, self.high * factor, live_weight_kg)


@lru_cache(maxsize=1)
def _all_believable() -> dict[tuple[str, str], dict[str, Believable]]:
    ranges: dict[tuple[str, str], dict[str, Believable]] = {}
    for cells in packaged_rows("believability.csv"):
        usual = as_record(Believable, cells)
        ranges.setdefault((cells["believability"], cells["system"]), {})[usual.quantity] = usual
    return ranges


def believable(key: str | None, system: str = "") -> tuple[Believable, ...]:
    """Usual ranges by the `believability` key of feeds/classes.csv, those of the feeding system
    over those of any system.

    system: the forage that leads the ration (`straw`, `hay`, `silage`, `maize`), empty for any.
    Common practice, no source (c), unless the row names one.
    """
    every = _all_believable()
    return tuple({**every.get((key or "", ""), {}), **every.get((key or "", system), {})}.values())
