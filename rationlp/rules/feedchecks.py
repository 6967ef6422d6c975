"""Whether the figures of one feed can be true: ranges, and figures that contradict each other."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from math import inf

from rationlp.errors import Faults
from rationlp.farm.feed import Feed
from rationlp.folders import packaged_rows
from rationlp.quantities import Quantity, quantities
from rationlp.records import dataclass

PARTS = (
    "cp_g_per_kg_dm",
    "ndf_g_per_kg_dm",
    "starch_g_per_kg_dm",
    "sugar_g_per_kg_dm",
    "oil_g_per_kg_dm",
    "ash_g_per_kg_dm",
)
_FIBRES = ("adf_g_per_kg_dm", "ndf_g_per_kg_dm")
_SLIPS = (
    (10.0, "a percentage"),
    (1000.0, "a share of one"),
    (100.0, "a share of one"),
    (0.1, "ten times too large"),
    (0.01, "a percentage"),
)
MOST_PARTS = 1060.0
"""Crude protein, NDF, starch, sugar, oil and ash may run over 1000 g/kg DM: NDF holds protein."""


def check_range(
    name: str, value: float, own_quantities: Mapping[str, Quantity], faults: Faults
) -> None:
    """A figure outside the hard range of its quantity; the remedy guesses at a slip of unit."""
    quantity = own_quantities.get(name) or quantities().get(name)
    if quantity is None:
        return
    low, high = quantity.hard_range
    if not low <= value <= high:
        what = f"{quantity.title} in {quantity.unit}"
        problem = f"{value:g} is no figure for {what} (from {low:g} to {high:g})"
        faults.add("IN225", problem, slip(value, low, high, quantity.unit))


def slip(value: float, low: float, high: float, unit: str) -> str:
    """A guess at the slip of unit that would bring `value` between low and high."""
    for factor, words in _SLIPS:
        guess = value * factor
        if low <= guess <= high and guess > 0.0:
            return f"was it {guess:g} {unit} ({words})?"
    return "check the figure and its unit"


@dataclass(frozen=True)
class SortRange:
    """What a figure of one sort of feed can be (hard) and usually is (soft); infinite: no limit."""

    soft: tuple[float, float]
    hard: tuple[float, float]
    remark: str


@lru_cache(maxsize=1)
def _sort_ranges() -> dict[tuple[str, str], SortRange]:
    """Ranges by (quantity, sort or kind of feed), from feeds/lab-ranges.csv."""
    ranges = {}
    for cells in packaged_rows("lab-ranges.csv"):
        soft = (float(cells["soft_low"] or -inf), float(cells["soft_high"] or inf))
        hard = (float(cells["hard_low"] or -inf), float(cells["hard_high"] or inf))
        for sort in cells["applies_to"].split():
            ranges[(cells["quantity"], sort)] = SortRange(soft, hard, cells["remark"])
    return ranges


def sort_range(quantity: str, sort: str, kind: str) -> SortRange | None:
    """The range of a quantity for a sort of feed, or for its kind where the sort has none."""
    return _sort_ranges().get((quantity, sort)) or _sort_ranges().get((quantity, kind))


def check_sort(name: str, value: float, sorts: tuple[str, str], faults: Faults) -> None:
    """A figure that this sort (or kind) of feed cannot have. A dry matter of 45 or 88 g/kg may be
    some feed's, but not a silage's or a grain's: it is a percentage.
    """
    limits = sort_range(name, *sorts)
    if limits is None:
        return
    low, high = limits.hard
    if not low <= value <= high:
        quantity = quantities()[name]
        what = f"{quantity.title.lower()} for {sorts[0].replace('_', ' ')}"
        problem = f"{value:g} {quantity.unit} is no {what} (from {low:g} to {high:g})"
        faults.add("IN225", problem, slip(value, low, high, quantity.unit))


def check_feed(feed: Feed, faults: Faults) -> None:
    """Figures of one feed that contradict one another."""
    value = feed.value
    adf, ndf = value("adf_g_per_kg_dm"), value("ndf_g_per_kg_dm")
    fibre_origins = {feed.figures[name].origin for name in _FIBRES if name in feed.figures}
    # A table's ADF does not gainsay an analysed NDF.
    if adf is not None and ndf is not None and adf > ndf and len(fibre_origins) == 1:
        problem = f"ADF {adf:g} above NDF {ndf:g} g/kg DM"
        faults.add("IN226", problem, "ADF is a part of NDF: check both figures")
    total = sum(value(name) or 0.0 for name in PARTS)
    if feed.kind != "npn" and total > MOST_PARTS:
        problem = f"crude protein, NDF, starch, sugar, oil and ash add up to {total:.0f} g/kg DM"
        remedy = "together they cannot pass 1000: check their units and basis"
        faults.add("IN227", problem, remedy)
    a, b = value("prot_a_fraction"), value("prot_b_fraction")
    if a is not None and b is not None and a + b > 1.0 + 1e-9:
        problem = f"degradability a + b is {a + b:g}"
        faults.add("IN228", problem, "the two fractions together cannot pass 1")
    me, fme = value("me_mj_per_kg_dm"), feed.figures.get("fme_mj_per_kg_dm")
    if me is not None and fme is not None and fme.value > me and fme.origin != "table":
        problem = f"FME {fme.value:g} above ME {me:g} MJ/kg DM"
        faults.add("IN229", problem, "FME is a part of ME")
