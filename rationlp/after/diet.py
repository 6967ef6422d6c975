"""A ration as its feeds with their dry matter: forages, crops, concentrates, starch, cost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property

from rationlp.farm.feed import Offer
from rationlp.records import dataclass

NOTHING_KG_DM = 1e-9
STARCH = "starch_g_per_kg_dm"


@dataclass(frozen=True)
class Diet:
    """One ration as its offers with kg DM a head a day."""

    parts: tuple[tuple[Offer, float], ...]

    @cached_property
    def kg(self) -> float:
        """Dry matter [kg]."""
        return sum(kg for _, kg in self.parts)

    @cached_property
    def forages(self) -> dict[str, float]:
        """kg DM of each forage, a store or a bought forage each by itself."""
        return {offer.id: kg for offer, kg in self.parts if offer.feed.is_forage}

    @cached_property
    def crops(self) -> dict[str, float]:
        """kg DM of each crop: cuts and clamps of one crop together."""
        crops: dict[str, float] = {}
        for offer, kg in self.parts:
            if offer.feed.is_forage:
                crops[_crop(offer)] = crops.get(_crop(offer), 0.0) + kg
        return crops

    @cached_property
    def forage_kg(self) -> float:
        """kg DM of all forages."""
        return sum(self.forages.values())

    @cached_property
    def concentrate_kg(self) -> float:
        """kg DM of all concentrates."""
        return sum(kg for offer, kg in self.parts if offer.feed.is_concentrate)

    @cached_property
    def without_starch(self) -> tuple[str, ...]:
        """Names of feeds without a figure for starch."""
        return tuple(
            offer.name for offer, kg in self.parts if kg > 0.0 and offer.feed.value(STARCH) is None
        )

    @cached_property
    def starch(self) -> float:
        """Starch of the ration [g/kg DM]."""
        grams = sum(kg * (offer.feed.value(STARCH) or 0.0) for offer, kg in self.parts)
        return grams / (self.kg or 1.0)

    @property
    def concentrate_share(self) -> float:
        """Concentrates in the dry matter [-]."""
        return self.concentrate_kg / (self.kg or 1.0)

    @property
    def cost(self) -> float:
        """Feed cost at today's prices [currency]."""
        return sum(kg * offer.price_per_kg_dm for offer, kg in self.parts)

    def kind(self, kind: str) -> float:
        """kg DM of a kind of feed."""
        return sum(kg for offer, kg in self.parts if offer.feed.kind == kind)


def _crop(offer: Offer) -> str:
    return offer.feed.sort.replace("_", " ") or offer.name


def diet(offers: Sequence[Offer], kg_dm: Mapping[str, float]) -> Diet:
    """A ration given as kg DM by offer id; what is next to nothing is left out."""
    parts = ((offer, kg_dm.get(offer.id, 0.0)) for offer in offers)
    return Diet(tuple((offer, kg) for offer, kg in parts if kg > NOTHING_KG_DM))
