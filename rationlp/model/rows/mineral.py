"""The rows of minerals: enough of each to be absorbed, calcium to phosphorus, limits that may be
passed at a price.

A shortage is priced, never forbidden: a farm without limestone still gets its ration, and is told
what it is short of. The price a gram stands above what limestone, salt, magnesite and phosphate
cost, so that they are bought first; it is that of a gram which a mineral feed would have to hold,
for of magnesium only a sixth is absorbed: priced by what is absorbed, magnesite would be left out
wherever a cow has no room to spare. A blank figure counts as nought where only a least amount is
asked; where an upper limit protects the animal, a feed with a blank figure neither uses nor dilutes
it, and the answer names the feed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from rationlp.farm.feed import Offer
from rationlp.model.lp import Column, Key, Row, Words, at_least, at_most
from rationlp.model.rows.block import Block
from rationlp.needs.minerals import CALCIUM, LEAST_CALCIUM_TO_PHOSPHORUS, PHOSPHORUS
from rationlp.needs.objects import DietLimit, MineralNeed
from rationlp.records import dataclass

CALCIUM_TO_PHOSPHORUS = "ca_to_p"
COMMON = "common practice, no source"
_NOTICEABLE = 1e-6


def mineral_columns(block: Block) -> Iterator[Column]:
    """The priced ways out [g a head a day]: short of a mineral, of calcium to its phosphorus, above
    a priced limit.
    """
    price = block.mineral_shortage_price
    for need in block.needs.minerals:
        title, each = f"{block.quantity(need.quantity).title} short", shortage_price(block, need)
        yield Column(block.key("short_mineral", need.quantity), each, unit="g", title=title)
    if _has_both(block):
        title = "calcium short of its phosphorus"
        key = block.key("short_mineral", CALCIUM_TO_PHOSPHORUS)
        yield Column(key, price, unit="g", title=title)
    for limit in priced_limits_of(block):
        title = f"{block.quantity(limit.quantity).title} above its limit"
        yield Column(block.key("over_limit", limit.quantity), price, unit="g", title=title)


def shortage_price(block: Block, need: MineralNeed) -> float:
    """What an absorbed gram short of a mineral counts for [currency/g]: the price of a gram short
    in a mineral feed, over the share that is absorbed of it.
    """
    return block.mineral_shortage_price / need.absorption.mineral


def mineral_needs(block: Block) -> Iterator[Row]:
    """Σ absorption·content·x − per kg·D + short ≥ absorbed [g]; Σ (Ca − 1.3 P) x + short ≥ 0 [g]"""
    for need in block.needs.minerals:
        coefs: dict[Key, float] = {}
        for offer in block.offers:
            absorbed = absorbed_per_kg(block, need, offer)
            if absorbed:
                coefs[block.feed(offer)] = absorbed
        if need.absorbed_g_per_kg_dm:
            coefs[block.key("dm")] = -need.absorbed_g_per_kg_dm
        coefs[block.key("short_mineral", need.quantity)] = 1.0
        key, title = block.key("mineral", need.quantity), block.quantity(need.quantity).title
        least, words = need.absorbed_g, as_need(title)
        yield at_least(key, coefs, least, "g absorbed", title, need.source, words, "priced")
    if _has_both(block):
        coefs = {
            block.feed(offer): ca - LEAST_CALCIUM_TO_PHOSPHORUS * p
            for offer, (ca, p) in _calcium_and_phosphorus(block)
            if ca or p
        }
        coefs[block.key("short_mineral", CALCIUM_TO_PHOSPHORUS)] = 1.0
        key = block.key("mineral", CALCIUM_TO_PHOSPHORUS)
        title = block.quantity(CALCIUM_TO_PHOSPHORUS).title
        yield at_least(key, coefs, 0.0, "g", title, COMMON, as_need(title), "priced")


def priced_limits(block: Block) -> Iterator[Row]:
    """A most of the diet that may be passed at a price: Σ (v − limit) x − over ≤ 0 [g]."""
    for limit in priced_limits_of(block):
        coefs: dict[Key, float] = {
            block.feed(offer): value - (limit.at_most or 0.0)
            for offer in block.offers
            if (value := block.content(offer, limit.quantity)) is not None
        }
        coefs[block.key("over_limit", limit.quantity)] = -1.0
        key, title = block.key("priced", limit.quantity), block.quantity(limit.quantity).title
        yield at_most(key, coefs, 0.0, "g", title, limit.whose, as_need(title), "priced")


def as_need(title: str) -> Words:
    """What may be passed at a price is told as one thing: `its calcium`."""
    return Words(need=f"its {title[:1].lower()}{title[1:]}")


def priced_limits_of(block: Block) -> list[DietLimit]:
    """The limits of the class that may be passed at a price; all of them are a most in g/kg DM."""
    return [limit for limit in block.needs.limits if limit.kind == "priced"]


def absorbed_per_kg(block: Block, need: MineralNeed, offer: Offer) -> float:
    """What a kg of DM of an offer lets absorb [g]; 0 for a blank: only a least is asked."""
    return need.absorption.of(offer.feed) * (block.content(offer, need.quantity) or 0.0)


def _has_both(block: Block) -> bool:
    """Calcium is set against phosphorus, but not in the last weeks before calving."""
    if block.needs.lime_kept_out:
        return False
    return {CALCIUM, PHOSPHORUS} <= {need.quantity for need in block.needs.minerals}


def _calcium_and_phosphorus(block: Block) -> Iterator[tuple[Offer, tuple[float, float]]]:
    """Offers with both figures: one without phosphorus would count as calcium."""
    for offer in block.offers:
        ca, p = block.content(offer, CALCIUM), block.content(offer, PHOSPHORUS)
        if ca is not None and p is not None:
            yield offer, (ca, p)


@dataclass(frozen=True)
class MineralSupply:
    """A mineral in a ration [g a head a day]: in the feed, absorbed of it, and to be absorbed.
    blank: feeds without a figure.
    """

    need: MineralNeed
    in_feed_g: float
    absorbed_g: float
    needed_g: float
    blank: tuple[Offer, ...]

    @property
    def share_absorbed(self) -> float:
        """Mean absorption of this ration [-]; that of forage where it holds none."""
        if self.in_feed_g > 0.0:
            return self.absorbed_g / self.in_feed_g
        return self.need.absorption.forage

    @property
    def needed_in_feed_g(self) -> float:
        """What the feed must hold at this ration's mean absorption [g a day]."""
        return self.needed_g / self.share_absorbed

    @property
    def short_g(self) -> float:
        """Absorbed grams short; below a millionth of the need it is rounding."""
        short = self.needed_g - self.absorbed_g
        if short > _NOTICEABLE * max(self.needed_g, 1.0):
            return short
        return 0.0


def mineral_supplies(block: Block, amounts: Mapping[str, float]) -> list[MineralSupply]:
    """Every mineral that the class needs, in a ration given as kg DM a head a day by offer id."""
    fed = block.fed(amounts)
    dm = sum(kg for _, kg in fed)
    return [
        MineralSupply(
            need,
            sum(kg * (block.content(offer, need.quantity) or 0.0) for offer, kg in fed),
            sum(kg * absorbed_per_kg(block, need, offer) for offer, kg in fed),
            need.needed_g(dm),
            tuple(offer for offer, _ in fed if block.content(offer, need.quantity) is None),
        )
        for need in block.needs.minerals
    ]


def calcium_to_phosphorus(block: Block, amounts: Mapping[str, float]) -> tuple[float, float] | None:
    """(Ca, P) [g a day] of feeds with both figures; None without mineral needs."""
    if not _has_both(block):
        return None
    pairs = [
        (amounts.get(offer.id, 0.0), figures) for offer, figures in _calcium_and_phosphorus(block)
    ]
    return sum(kg * ca for kg, (ca, _) in pairs), sum(kg * p for kg, (_, p) in pairs)


def over_limit_g(block: Block, limit: DietLimit, amounts: Mapping[str, float]) -> float:
    """How far a ration passes a priced limit [g a day]; blanks neither use nor dilute it."""
    total = 0.0
    for offer in block.offers:
        value = block.content(offer, limit.quantity)
        if value is not None:
            total += amounts.get(offer.id, 0.0) * (value - (limit.at_most or 0.0))
    if total > _NOTICEABLE * (limit.at_most or 1.0):
        return total
    return 0.0


def priced_shortage(block: Block, amounts: Mapping[str, float]) -> float:
    """What shortages and passed limits of minerals add [currency a head a day]; a penalty."""
    supplies = mineral_supplies(block, amounts)
    absorbed = sum(supply.short_g * shortage_price(block, supply.need) for supply in supplies)
    both = calcium_to_phosphorus(block, amounts)
    grams = sum(over_limit_g(block, limit, amounts) for limit in priced_limits_of(block))
    if both is not None:
        grams += max(LEAST_CALCIUM_TO_PHOSPHORUS * both[1] - both[0], 0.0)
    return absorbed + grams * block.mineral_shortage_price
