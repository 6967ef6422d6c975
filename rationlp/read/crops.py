"""A crop as stage 1 hands it on: what a hectare of it brings and costs."""

from __future__ import annotations

from rationlp.read.objects import Feed
from rationlp.records import dataclass


@dataclass(frozen=True)
class Crop:
    """A forage that can be grown for next year.

    yield_t_dm_per_ha: standing in the field [t DM/ha]; cost_per_ha: to grow, harvest and store a
    hectare [currency/ha]; least_ha,
    most_ha: hectares, None for no limit. losses: share of the yield lost between field and trough.
    would_fetch_per_t_dm: what a
    tonne of DM that is over would be sold for, None where none is sold. stored: `clamp` or `bales`.
    """

    id: str
    name: str
    feed: Feed
    yield_t_dm_per_ha: float
    cost_per_ha: float
    losses: float
    least_ha: float = 0.0
    most_ha: float | None = None
    would_fetch_per_t_dm: float | None = None
    stored: str = "clamp"

    @property
    def edible_t_dm_per_ha(self) -> float:
        """What a hectare brings to the trough [t DM/ha]."""
        return self.yield_t_dm_per_ha * (1.0 - self.losses)
