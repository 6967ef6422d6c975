"""Printed tables of requirements, read in a straight line between their rows and never beyond them.

All ME [MJ/d] by live weight [kg]. Status: (a) checked in the text named, (b) from memory of it.
"""

from __future__ import annotations

from itertools import pairwise
from types import MappingProxyType

from rationlp.needs.second.cattle_equations import MJ_PER_MCAL
from rationlp.records import dataclass


@dataclass(frozen=True)
class Printed:
    """A printed row: points (live weight [kg], ME [MJ/d]) in rising weight, source and status."""

    points: tuple[tuple[float, float], ...]
    source: str
    status: str

    @property
    def valid(self) -> str:
        """The range of live weight, in words."""
        return f"{self.points[0][0]:g}–{self.points[-1][0]:g} kg"

    def at(self, live_weight_kg: float) -> float | None:
        """ME [MJ/d] at a live weight [kg], straight between two rows; None outside the table."""
        for (low, below), (high, above) in pairwise(self.points):
            if low <= live_weight_kg <= high:
                return below + (above - below) * (live_weight_kg - low) / (high - low)
        return None


def _mcal(*rows: tuple[float, float]) -> tuple[tuple[float, float], ...]:
    return tuple((weight, MJ_PER_MCAL * mcal) for weight, mcal in rows)


_NRC_SHEEP = "NRC (1985) sheep, table 1"
NRC_MAINTENANCE_GAIN, NRC_EARLY_GAIN, NRC_FLUSHING_GAIN = 0.010, 0.030, 0.100
"""Gain of the ewes below [kg/d]; maintenance and first 15 weeks status (a), flushing (b)."""

NRC_EWE_MAINTENANCE = Printed(
    _mcal((50, 2.0), (60, 2.2), (70, 2.4), (80, 2.6), (90, 2.8)), _NRC_SHEEP, "a"
)
NRC_EWE_EARLY_PREGNANCY = Printed(_mcal((50, 2.4), (60, 2.6), (70, 2.8)), _NRC_SHEEP, "a")
NRC_EWE_FLUSHING = Printed(_mcal((50, 3.4), (70, 3.8), (90, 4.2)), _NRC_SHEEP, "a")

NRC_SINGLE_WEIGHT = (65.0, 75.0)
"""The next rows are known for a ewe of 70 kg alone; they are shown from 65 to 75 kg, as printed
(the span is our choice; c).
"""
NRC_EWE_LATE_PREGNANCY = MappingProxyType({1: 3.8 * MJ_PER_MCAL, 2: 4.4 * MJ_PER_MCAL})
NRC_EWE_MILKING = MappingProxyType({1: 5.9 * MJ_PER_MCAL, 2: 6.6 * MJ_PER_MCAL})
"""ME [MJ/d] of a ewe of 70 kg: last four weeks of pregnancy at 130–150 % (1) and 180–225 % (2)
lambing; early lactation with one and two lambs. NRC (1985), from memory; status (b); the ewe with
twins in milk (a), as university course pages quote her.
"""

_VICTORIA_SHEEP = "Victoria government table, ewes at grass"
VICTORIA_EWE_LATE_PREGNANCY = Printed(((45, 10.0), (50, 12.0), (60, 14.5)), _VICTORIA_SHEEP, "a")
VICTORIA_EWE_MILKING = Printed(((45, 15.0), (50, 18.5), (60, 21.6)), _VICTORIA_SHEEP, "a")
"""A ewe with one lamb, in her last four weeks and in milk. Ewes at grass walk more."""

_VICTORIA_BEEF = "Victoria government table, dry pregnant beef cows"
VICTORIA_COW_SIX_MONTHS = Printed(
    ((350, 49.0), (400, 54.0), (450, 59.0), (500, 64.0), (550, 69.0)), _VICTORIA_BEEF, "a"
)
VICTORIA_COW_CALVING = Printed(
    ((350, 85.0), (400, 90.0), (450, 95.0), (500, 100.0), (550, 105.0)), _VICTORIA_BEEF, "a"
)
"""A mature beef cow six months in calf, and at calving."""

_HEIFER = "New Zealand dairy industry body, table of heifers' needs"
HEIFER_MAINTENANCE = Printed(((100, 18.5), (200, 31.2), (300, 42.3), (400, 52.5)), _HEIFER, "a")
HEIFER_KILO_OF_GAIN = Printed(((100, 30.4), (200, 43.5), (300, 56.6), (400, 64.0)), _HEIFER, "a")
"""Maintenance of a growing heifer; what 1 kg gain a day adds [MJ ME/d], less in proportion."""
HEIFER_PREGNANCY = MappingProxyType({6: 5.5, 7: 11.0, 8: 22.0, 9: 33.0})
"""By month of pregnancy [MJ ME/d]: 0.5, 1, 2, 3 kg DM of 11 MJ/kg; the same table, (a)."""
