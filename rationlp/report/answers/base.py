"""What the answers of the commands have in common."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import ClassVar

from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed, Offer
from rationlp.quantities import Quantity, quantities
from rationlp.records import dataclass
from rationlp.result import Caution


class Composed:
    """A record whose properties are told as its fields are. The fields of the part that `of` names
    stand among its own, which go over them.
    """

    of: ClassVar[str] = ""


@dataclass(frozen=True)
class FarmAnswer(Composed):
    """An answer about a farm."""

    farm: Farm


@dataclass(frozen=True)
class OffersAnswer(FarmAnswer):
    """An answer that goes by the composition of feeds. called_for: cautions of the farm."""

    called_for: tuple[Caution, ...]

    @property
    def offers(self) -> tuple[Offer, ...]:
        """Every feed in store or bought."""
        return self.farm.offers

    @property
    def units(self) -> dict[str, str]:
        """The unit of each figure of the feeds, by the figure's name."""
        return units_of((offer.feed for offer in self.offers), self.farm.own_quantities)

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What the farm's stores, feeds and analyses call for."""
        return self.called_for


def units_of(feeds: Iterable[Feed], own: Mapping[str, Quantity]) -> dict[str, str]:
    named = {name for feed in feeds for name in feed.figures}
    every = {**own, **quantities()}
    return {name: every[name].unit for name in sorted(named & every.keys())}
