"""The vocabulary: every quantity with its unit, basis, ranges, title, decimals and source.

`quantities.csv` is the single list. Feed-table columns, lab headings, plausibility checks and table
headings all read it. A quantity belongs to a basis: `fresh` (per kg fresh weight), `dm` (per kg dry
matter), `feed` (a property of the feed itself), `day` (an amount a head a day) or `ration` (a ratio
of the whole ration).
"""

from __future__ import annotations

import csv
from functools import lru_cache
from math import inf
from pathlib import Path

from rationlp.folders import as_record
from rationlp.records import dataclass

_CSV = Path(__file__).with_name("quantities.csv")

KG_PER_LITRE = 1.03
"""Weight of a litre of milk [kg]; common practice, no source (c)."""


@dataclass(frozen=True)
class Quantity:
    """One quantity.

    name: the column or key name, unit included (`cp_g_per_kg_dm`). unit: as printed. basis: see the
    module text.
    hard_low, hard_high: outside these a figure is refused. soft_low, soft_high: outside these it is
    warned about.
    title: as printed. decimals: shown in tables. source, status: where the range comes from (a, b
    or c).
    """

    name: str
    title: str
    unit: str
    basis: str
    hard_low: float | None
    hard_high: float | None
    soft_low: float | None
    soft_high: float | None
    decimals: int
    status: str
    source: str

    @property
    def amount_unit(self) -> str:
        """Unit of a head's daily amount of this quantity: `g/kg DM` eaten as kg DM gives `g`."""
        return self.unit.split("/")[0].strip()

    @property
    def hard_range(self) -> tuple[float, float]:
        """Least and most that are not refused; infinite where there is no such limit."""
        low, high = -inf, inf
        if self.hard_low is not None:
            low = self.hard_low
        if self.hard_high is not None:
            high = self.hard_high
        return low, high


@lru_cache(maxsize=1)
def quantities() -> dict[str, Quantity]:
    """All quantities of the vocabulary by name, in file order. Not to be changed by the caller."""
    with _CSV.open(encoding="utf-8", newline="") as handle:
        return {row["name"]: as_record(Quantity, row) for row in csv.DictReader(handle)}


@lru_cache(maxsize=1)
def feed_columns() -> tuple[str, ...]:
    """The quantities that are columns of the feed tables, by name."""
    in_a_feed = ("fresh", "dm", "feed")
    return tuple(name for name, quantity in quantities().items() if quantity.basis in in_a_feed)


def by_sign(value: float, more: str, less: str) -> str:
    """The word for a rise, or the one for a fall (or none)."""
    if value > 0.0:
        return more
    return less


def fresh_from_dm(kg_dm: float, dm_g_per_kg: float) -> float:
    """Fresh weight [kg] of `kg_dm` [kg DM] of a feed of `dm_g_per_kg` [g DM/kg fresh]."""
    return kg_dm * 1000.0 / dm_g_per_kg


def dm_from_fresh(kg_fresh: float, dm_g_per_kg: float) -> float:
    """Dry matter [kg DM] in `kg_fresh` [kg fresh] of a feed of `dm_g_per_kg` [g DM/kg fresh]."""
    return kg_fresh * dm_g_per_kg / 1000.0


def price_per_kg_dm(price_per_t_fresh: float, dm_g_per_kg: float) -> float:
    """Price of a kg of dry matter [currency/kg DM] from one of a tonne fresh [currency/t]."""
    return price_per_t_fresh / dm_g_per_kg
