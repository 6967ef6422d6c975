"""What follows from a farm as it was read by arithmetic, worked out once for every form of it."""

from __future__ import annotations

from collections.abc import Mapping

from rationlp.after.cautions import farm_cautions
from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.records import dataclass
from rationlp.result import Caution
from rationlp.stock.dry_matter import farm_stocks


@dataclass(frozen=True)
class FarmFacts:
    """A farm, its cautions, and what each store holds by its id."""

    farm: Farm
    called_for: tuple[Caution, ...]
    stocks: Mapping[str, StoreStock]


def farm_facts(farm: Farm) -> FarmFacts:
    """What follows from a farm."""
    return FarmFacts(farm, farm_cautions(farm), farm_stocks(farm))
