"""Whether the figures of one feed can be true: ranges of single figures, and figures that
contradict one another.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from rationlp.errors import Finding, InputError
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
"""Crude protein, NDF, starch, sugar, oil and ash may run a little over 1000 g/kg DM, because NDF
carries some protein.
"""


def check_range(
    name: str, value: float, where: str, own_quantities: Mapping[str, Quantity]
) -> None:
    """Raise InputError when a figure lies outside the hard range of its quantity; the remedy
    guesses at a slip of unit.
    """
    quantity = own_quantities.get(name) or quantities().get(name)
    if quantity is None:
        return
    low = -float("inf") if quantity.hard_low is None else quantity.hard_low
    high = float("inf") if quantity.hard_high is None else quantity.hard_high
    if low <= value <= high:
        return
    hint = slip(value, low, high, quantity.unit)
    found = (
        f"{value:g} is no figure for {quantity.title} in {quantity.unit} (from {low:g} to {high:g})"
    )
    raise InputError([Finding("IN225", where, found, hint)])


def slip(value: float, low: float, high: float, unit: str) -> str:
    """A guess at the slip of unit that would bring `value` between low and high."""
    for factor, words in _SLIPS:
        guess = value * factor
        if low <= guess <= high and guess > 0.0:
            return f"was it {guess:g} {unit} ({words})?"
    return "check the figure and its unit"


@dataclass(frozen=True)
class SortRange:
    """What a figure of one sort of feed can be (hard) and usually is (soft); None where there is no
    limit.
    """

    soft_low: float | None
    soft_high: float | None
    hard_low: float | None
    hard_high: float | None
    remark: str


@lru_cache(maxsize=1)
def _sort_ranges() -> dict[tuple[str, str], SortRange]:
    """Ranges by (quantity, sort or kind of feed), from feeds/lab-ranges.csv."""
    found = {}
    for cells in packaged_rows("lab-ranges.csv"):
        low, high, least, most = (
            float(cells[name]) if cells[name] else None
            for name in ("soft_low", "soft_high", "hard_low", "hard_high")
        )
        for sort in cells["applies_to"].split():
            found[(cells["quantity"], sort)] = SortRange(low, high, least, most, cells["remark"])
    return found


def sort_range(quantity: str, sort: str, kind: str) -> SortRange | None:
    """The range of a quantity for a sort of feed, or for its kind where the sort has none."""
    return _sort_ranges().get((quantity, sort)) or _sort_ranges().get((quantity, kind))


def check_sort(name: str, value: float, sorts: tuple[str, str], where: str) -> list[Finding]:
    """A figure that this sort (or kind) of feed cannot have. A dry matter of 45 or 88 g/kg may be
    some feed's, but not a silage's or a grain's: it is a percentage.
    """
    limits = sort_range(name, *sorts)
    if limits is None or limits.hard_low is None or limits.hard_high is None:
        return []
    if limits.hard_low <= value <= limits.hard_high:
        return []
    quantity = quantities()[name]
    hint = slip(value, limits.hard_low, limits.hard_high, quantity.unit)
    ends = f"(from {limits.hard_low:g} to {limits.hard_high:g})"
    found = (
        f"{value:g} {quantity.unit} is no {quantity.title.lower()} for {sorts[0].replace('_', ' ')}"
        f" {ends}"
    )
    return [Finding("IN225", where, found, hint)]


def check_feed(feed: Feed, where: str) -> list[Finding]:
    """Figures of one feed that contradict one another. Empty when all is well."""
    findings = []
    value = feed.value
    adf, ndf = value("adf_g_per_kg_dm"), value("ndf_g_per_kg_dm")
    one_origin = len({feed.figures[name].origin for name in _FIBRES if name in feed.figures}) == 1
    if (
        adf is not None and ndf is not None and adf > ndf and one_origin
    ):  # a table's ADF does not gainsay an analysed NDF
        found = f"ADF {adf:g} above NDF {ndf:g} g/kg DM"
        findings.append(Finding("IN226", where, found, "ADF is a part of NDF: check both figures"))
    parts = [part for part in (value(name) for name in PARTS) if part is not None]
    if feed.kind != "npn" and sum(parts) > MOST_PARTS:
        found = f"crude protein, NDF, starch, sugar, oil and ash add up to {sum(parts):.0f} g/kg DM"
        findings.append(
            Finding(
                "IN227", where, found, "together they cannot pass 1000: check their units and basis"
            )
        )
    a, b = value("prot_a_fraction"), value("prot_b_fraction")
    if a is not None and b is not None and a + b > 1.0 + 1e-9:
        found = f"degradability a + b is {a + b:g}"
        findings.append(Finding("IN228", where, found, "the two fractions together cannot pass 1"))
    me, fme = value("me_mj_per_kg_dm"), value("fme_mj_per_kg_dm")
    fme_figure = feed.figures.get("fme_mj_per_kg_dm")
    if (
        me is not None
        and fme is not None
        and fme > me
        and fme_figure is not None
        and fme_figure.origin != "table"
    ):
        findings.append(
            Finding("IN229", where, f"FME {fme:g} above ME {me:g} MJ/kg DM", "FME is a part of ME")
        )
    return findings
