"""What a number of a lab sheet can mean: by its unit, by what it is counted on, and by its size.

Sizes are those of feeds/lab-ranges.csv for the sort of feed: outside the hard range a reading is
impossible, outside the soft one unlikely. Where it has none, from a third to three times the
figure of the feed table is likely (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable
from math import isfinite

from rationlp.farm.feed import Feed
from rationlp.farm.feed_table import sort_of
from rationlp.paper.lab_lines import ON_FRESH, RawFigure
from rationlp.quantities import quantities
from rationlp.records import dataclass
from rationlp.rules.feedchecks import sort_range

_FACTORS = {
    "g": {"percent": 10.0, "g": 1.0, "mg": 0.001},
    "mg": {"mg": 1.0, "g": 1000.0, "percent": 10_000.0},
    "mj": {"mj": 1.0, "mcal": 4.184, "kj": 0.001},
    "percent": {"percent": 1.0, "g": 0.1},
    "none": {"": 1.0},
}
_UNSTATED = {
    "g": ("percent", "g"), "mg": ("mg",), "mj": ("mj",), "percent": ("percent", "g"), "none": ("",),
}  # fmt: skip
_WORDS = {"percent": "%", "g": "g/kg", "mg": "mg/kg", "mj": "MJ/kg", "mcal": "Mcal/kg", "": ""}
_ONE_BASIS = frozenset(
    {"ph", "d_value_percent_of_dm", "ammonia_n_percent_of_total_n", "adin_percent_of_n", *ON_FRESH}
)
_OF_N = frozenset({"ammonia_n_percent_of_total_n", "adin_percent_of_n"})
SAME = 0.03
"""Readings within this share of one another are one: figures are rounded."""


@dataclass(frozen=True)
class Reading:
    """One meaning of a number: its value in the unit of its quantity, and the reading in words."""

    value: float
    words: str
    scale: str
    basis: str


def has_two_bases(figure: RawFigure) -> bool:
    """Whether a figure may be on fresh weight or dry matter, and its line does not say."""
    return figure.quantity not in _ONE_BASIS and figure.basis not in ("dm", "fresh")


def family(quantity: str) -> str:
    """The units that a quantity is counted in."""
    if quantity == "ph":
        return "none"
    if quantity.startswith("me_"):
        return "mj"
    if "percent" in quantity:
        return "percent"
    if "_mg_" in quantity:
        return "mg"
    return "g"


def readings(figure: RawFigure, basis: str, dm: float | None, feed: Feed) -> list[Reading]:
    """Every possible meaning of a figure. basis: what it is counted on where its line does not
    say; dm: dry matter of the sample [g/kg], None where it is not known.
    """
    of = family(figure.quantity)
    factors = _FACTORS[of]
    scales: Iterable[str] = _UNSTATED[of]
    if figure.quantity in _OF_N:
        scales = ("percent",)
    if figure.scale in factors:
        scales = (figure.scale,)
    elif figure.scale and of not in ("none", "mj"):
        return []
    if figure.quantity in _OF_N and figure.basis in ("dm", "fresh"):
        return []
    counted = basis
    if figure.basis in ("dm", "fresh"):
        counted = figure.basis
    if figure.quantity in _ONE_BASIS:
        counted = ""
    possible: list[Reading] = []
    for number in figure.numbers:
        for plain_value in number.readings:
            for scale in scales:
                value = plain_value * factors[scale]
                if counted == "fresh":
                    if not dm:
                        continue
                    value = value * 1000.0 / dm
                if not number.below and possible_value(figure.quantity, value, feed):
                    origin = _said(figure.quantity, plain_value, scale, counted)
                    possible.append(Reading(value, origin, scale, counted))
    return possible


def _said(quantity: str, value: float, scale: str, basis: str) -> str:
    of = {"dm": " of dry matter", "fresh": " fresh"}.get(basis, "")
    if quantity in _OF_N:
        of = " of total N"
    return f"{value:g} {_WORDS[scale]}{of}".strip()


def possible_value(quantity: str, value: float, feed: Feed) -> bool:
    """Whether a sort of feed can have such a figure at all."""
    limits = sort_range(quantity, sort_of(feed), feed.kind)
    low, high = quantities()[quantity].hard_range
    if limits is not None:
        low, high = max(low, limits.hard[0]), min(high, limits.hard[1])
    return low <= value <= high


def likely(quantity: str, value: float, feed: Feed) -> bool:
    """Whether a sort of feed usually has such a figure."""
    limits = sort_range(quantity, sort_of(feed), feed.kind)
    if limits is not None and all(map(isfinite, limits.soft)):
        return limits.soft[0] <= value <= limits.soft[1]
    usual = feed.value(quantity)
    if usual is None or usual <= 0.0:
        return True
    return 0.3 * usual <= value <= 3.0 * usual


def apart(possible: Iterable[Reading]) -> list[Reading]:
    """Readings that differ by more than rounding; of those that agree, the one on dry matter."""
    different: list[Reading] = []
    for reading in sorted(possible, key=lambda reading: reading.basis == "fresh"):
        if all(not agree(reading.value, chosen.value) for chosen in different):
            different.append(reading)
    return different


def agree(first: float, second: float) -> bool:
    """Whether two figures are the same but for rounding."""
    return abs(first - second) <= SAME * max(abs(first), abs(second))
