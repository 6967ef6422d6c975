"""What a farm can do later in the winter, by its own figures."""

from __future__ import annotations

from datetime import date

from rationlp.farm.feed import Feed
from rationlp.records import dataclass


@dataclass(frozen=True)
class LaterPrice:
    """A bought feed after autumn, by its offer's id [currency/t fresh]. turn_of_year, late_winter:
    its price then; left: what it counts for where it is left at turnout; None where the farm gives
    none. contract: price fixed in autumn for what is called off from the turn of the year on;
    most_t: of such [t fresh], None for no limit; resold: what a tonne not called off fetches.
    lead_days: from the order to the delivery [d].
    """

    offer: str
    turn_of_year: float | None = None
    late_winter: float | None = None
    left: float | None = None
    contract: float | None = None
    most_t: float | None = None
    resold: float = 0.0
    lead_days: int = 0


@dataclass(frozen=True)
class EarlySale:
    """Animals of a group that may be sold before turnout [currency/head]: in autumn, at the turn of
    the year, in late winter (None: not then), and what one is worth that is kept until turnout.
    most_head: of them, None for all.
    """

    group: str
    by_stage: tuple[float | None, float | None, float | None]
    turnout: float
    most_head: int | None = None


@dataclass(frozen=True)
class EarlyGrass:
    """Grass that groups may graze in late winter, before turnout. most_t_dm: of it [t DM].
    cost_per_t_dm: what that costs, the first cut lost included [currency/t DM].
    """

    feed: Feed
    groups: tuple[str, ...]
    most_t_dm: float
    cost_per_t_dm: float


@dataclass(frozen=True)
class LaterActions:
    """All that a farm gives figures for. looks: the two days, at the turn of the year and in late
    winter, on which it looks what is in store; empty for the usual ones.
    """

    prices: tuple[LaterPrice, ...] = ()
    sales: tuple[EarlySale, ...] = ()
    grass: tuple[EarlyGrass, ...] = ()
    looks: tuple[date, ...] = ()

    def price(self, offer: str) -> LaterPrice:
        """What the farm says of a bought feed; nothing where it says nothing."""
        return next((price for price in self.prices if price.offer == offer), LaterPrice(offer))
