"""A feed with the origin of every figure, and a feed as the farm has it on offer."""

from __future__ import annotations

from functools import cached_property

from rationlp.quantities import price_per_kg_dm
from rationlp.records import dataclass

FORAGE_KINDS = frozenset({"forage", "straw"})


ROOT = "root"
NEITHER_KINDS = frozenset({ROOT, "mineral"})

DIGESTED_SHARE = "digested_share"
"""Nutrients digested of a concentrate whose energy is out, over what its composition says [-]: a
figure of feeds as drawn, never of a table.
"""


@dataclass(frozen=True)
class Figure:
    """A value and where it came from.

    origin: `table`, `lab`, `farm`, `computed` (by a published rule) or `default` (a stated class
    default). source: in words (file and row, or the rule). status: a, b or c for table, computed
    and default; empty else. sampled: day of the sample as ISO text where a laboratory sheet gives
    it, the latest of several.
    """

    value: float
    origin: str
    source: str
    status: str = ""
    sampled: str = ""


@dataclass(frozen=True)
class Feed:
    """A feed and its composition. `figures` is keyed by quantity name; a blank in the table has no
    key.

    sort: what laboratory ranges and rules go by (`grass_silage`, `hay`, …), empty where only the
    kind is known. fme_rule: the rule that gives FME, empty where it follows from sort and kind.
    """

    key: str
    name: str
    kind: str
    figures: dict[str, Figure]
    note: str = ""
    sort: str = ""
    fme_rule: str = ""

    def value(self, quantity: str) -> float | None:
        """The figure's value, or None where the table is blank (a blank is never 0)."""
        figure = self.figures.get(quantity)
        return None if figure is None else figure.value

    @cached_property
    def known(self) -> dict[tuple[str, str | None], float | None]:
        """Contents of a kg DM worked out before, by quantity and its basis where it is the farm's
        own: the same feed stands in hundreds of blocks of a winter.
        """
        return {}

    @property
    def dm_g_per_kg(self) -> float:
        """Dry matter [g/kg fresh]; every feed that stage 1 lets through has one."""
        return self.figures["dm_g_per_kg"].value

    @property
    def is_forage(self) -> bool:
        """Forage in the sense of practice limits: kinds forage and straw."""
        return self.kind in FORAGE_KINDS

    @property
    def is_fodder(self) -> bool:
        """What a farm stores by the tonne and feeds by the kilogram: forage, straw and roots."""
        return self.is_forage or self.kind == ROOT

    @property
    def is_concentrate(self) -> bool:
        """Every kind but forage, straw, root and mineral (wet by-products count by dry matter)."""
        return self.kind not in FORAGE_KINDS and self.kind not in NEITHER_KINDS


@dataclass(frozen=True)
class Offer:
    """A feed that this farm can feed: from a store, or bought.

    id: the store's id or the bought feed's id. price_per_t_fresh: the price used in the objective
    [currency/t fresh] (for a store, under the farm's choice of `home_grown.price`). least_t,
    most_t, load_t: bought feed only [t fresh]; whole_loads: bought by the load only; keeps_days,
    space_t: days a load keeps, and room for it [t fresh]; least_order_t: least that is ever ordered
    of it [t fresh].
    """

    id: str
    name: str
    feed: Feed
    bought: bool
    price_per_t_fresh: float
    least_t: float | None = None
    most_t: float | None = None
    load_t: float | None = None
    whole_loads: bool = False
    keeps_days: float | None = None
    space_t: float | None = None
    least_order_t: float | None = None

    @property
    def price_per_kg_dm(self) -> float:
        """Price of a kg of dry matter [currency/kg DM]."""
        return price_per_kg_dm(self.price_per_t_fresh, self.feed.dm_g_per_kg)
