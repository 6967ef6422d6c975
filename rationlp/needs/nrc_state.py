"""What the feeds of a ration are valued by under NRC (2001): more than one level of feeding."""

from __future__ import annotations

from rationlp.records import dataclass


@dataclass(frozen=True)
class NrcState:
    """What of a ration its feeds' values go by. delta: discount [-]; intake_percent: I; share of
    concentrate C [%]; level: TDN eaten over that of maintenance [-]. of_milk, of_keep, of_gain:
    what a Mcal for each counts for [-]: cows by milk alone, heifers by the other two.
    """

    delta: float
    intake_percent: float
    concentrate_percent: float
    level: float
    of_milk: float = 1.0
    of_keep: float = 0.0
    of_gain: float = 0.0
