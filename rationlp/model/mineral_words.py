"""What is said of a ration's minerals: shortages and remedies, blanks, feeds kept out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from rationlp.farm.feed import Offer
from rationlp.model.passed import passed_limits
from rationlp.model.rows.block import Block
from rationlp.model.rows.mineral import (
    MineralSupply,
    calcium_to_phosphorus,
    mineral_supplies,
    over_limit_g,
    priced_limits_of,
)
from rationlp.model.tidy import least_useful_kg_dm
from rationlp.needs.minerals import CALCIUM, COPPER, MAGNESIUM, PHOSPHORUS, SODIUM
from rationlp.needs.minerals import LEAST_CALCIUM_TO_PHOSPHORUS as LEAST_RATIO
from rationlp.quantities import fresh_from_dm
from rationlp.rules.limits import practice_limits

BRINGS = MappingProxyType(
    {
        CALCIUM: ("limestone", "ground limestone"),
        PHOSPHORUS: ("dicalcium_phosphate", "dicalcium phosphate"),
        MAGNESIUM: ("calcined_magnesite", "calcined magnesite"),
        SODIUM: ("salt", "salt"),
    }
)
"""The feed of the tables that brings a mineral, and its name; common practice, no source (c)."""

LEAST_BRINGS = 20.0
"""A feed with less of a mineral [g/kg DM] is not fed for its sake; common practice (c)."""
A_LITTLE_KG = 0.001
"""So much more of a mineral shows whether it stands at its limit [kg DM]."""

LEAST_SAID_SHARE, LEAST_SAID_G = 0.005, 0.5
"""Share of the need short, and g/d above a limit, from which it is said; common practice (c)."""


def mineral_sentences(block: Block, amounts: Mapping[str, float]) -> Iterator[str]:
    """Everything there is to say about the minerals of a ration [kg DM by offer id]."""
    if not block.needs.minerals or not any(kg > 0.0 for kg in amounts.values()):
        return
    supplies = mineral_supplies(block, amounts)
    for supply in supplies:
        if supply.short_g > LEAST_SAID_SHARE * supply.needed_g:
            yield _short(block, supply, amounts)
    yield from _ratio(block, amounts)
    for limit in priced_limits_of(block):
        over = over_limit_g(block, limit, amounts)
        if over >= LEAST_SAID_G:
            yield (
                f"{block.quantity(limit.quantity).title} is {over:.0f} g a head a day above"
                f" {limit.at_most:g} g/kg DM ({limit.whose}): forage with less of it would help;"
                " ask a vet or nutritionist."
            )
    yield from _blanks(block, supplies, amounts)
    yield from _kept_out(block)


def _short(block: Block, supply: MineralSupply, amounts: Mapping[str, float]) -> str:
    title = block.quantity(supply.need.quantity).title
    needed = supply.needed_in_feed_g
    start = (
        f"{title} is {needed - supply.in_feed_g:.1f} g a head a day short of the {needed:.0f} g"
        " that the feed should hold"
    )
    key, name = BRINGS[supply.need.quantity]
    if block.besides is not None:
        return f"{start}: {_would_bring(block, supply.need.quantity, block.besides)}."
    offer = next((offer for offer in block.offers if offer.feed.key == key), None)
    if offer is None:
        return f"{start}: nothing on this farm's list brings it at its price; {name} would."
    few = _too_little(block, offer, supply, amounts)
    return f"{start}: {few or _why_no_more(block, offer, amounts)}."


def _too_little(
    block: Block, offer: Offer, supply: MineralSupply, amounts: Mapping[str, float]
) -> str:
    """Where what would mend a shortage is less than is weighed out a head; empty elsewhere."""
    least = least_useful_kg_dm(block, offer, sum(amounts.values()))
    content = block.content(offer, supply.need.quantity) or 0.0
    if least is None or content <= 0.0 or amounts.get(offer.id, 0.0) > 0.0:
        return ""
    kg = (supply.needed_in_feed_g - supply.in_feed_g) / content
    if kg >= least * (1.0 - LEAST_SAID_SHARE):
        return ""
    fresh, whole = (1000.0 * fresh_from_dm(one, offer.feed.dm_g_per_kg) for one in (kg, least))
    return (
        f"{fresh:.0f} g of {offer.name} would mend it, less than the {whole:.0f} g that are weighed"
        " out for a head: give that much by hand, or a mineral that holds more of it"
    )


def _why_no_more(block: Block, offer: Offer, amounts: Mapping[str, float]) -> str:
    """Why a feed on the list that brings a mineral is not fed more of."""
    more = {**amounts, offer.id: amounts.get(offer.id, 0.0) + A_LITTLE_KG}
    if any(limit.title == offer.name for limit in passed_limits(block, more)):
        return f"{offer.name} is at the most that is fed of it"
    if _is_full(block, amounts):
        return (
            f"all that can be eaten is eaten, and more {offer.name} would take the place of feed"
            " that brings energy"
        )
    return f"more {offer.name} would cost more than the shortage is priced at"


def _is_full(block: Block, amounts: Mapping[str, float]) -> bool:
    """Whether a ration is all that can be eaten."""
    cap = block.needs.intake
    if cap is None:
        return False
    eaten = sum(
        kg * (1.0 - cap.per_kg_concentrate * offer.feed.is_concentrate)
        for offer, kg in block.fed(amounts)
    )
    return eaten >= cap.cap_kg_dm - A_LITTLE_KG


def _would_bring(block: Block, quantity: str, listed: tuple[Offer, ...]) -> str:
    """What would put a fed ration right: the richest mineral feed of the farm, else one to buy."""
    minerals = [offer for offer in listed if offer.feed.kind == "mineral"]
    contents = {offer.name: block.content(offer, quantity) or 0.0 for offer in minerals}
    best = max(contents, key=lambda name: contents[name], default="")
    if best and contents[best] >= LEAST_BRINGS:
        return f"{best}, which is on this farm's list, would bring it"
    return (
        "nothing on this farm's list that this group may eat is meant to bring it;"
        f" {BRINGS[quantity][1]} would"
    )


def _ratio(block: Block, amounts: Mapping[str, float]) -> Iterator[str]:
    both = calcium_to_phosphorus(block, amounts)
    least = LEAST_RATIO * (1.0 - LEAST_SAID_SHARE)
    if both is not None and both[0] < least * both[1]:
        yield (
            f"Calcium to phosphorus is {both[0] / both[1]:.1f}, below {LEAST_RATIO:g} (common"
            " practice): ground limestone would right it."
        )


def _blanks(
    block: Block, supplies: list[MineralSupply], amounts: Mapping[str, float]
) -> Iterator[str]:
    """Blanks counted as nought where the mineral is short without them, or a limit stands."""
    for supply in supplies:
        if supply.blank and supply.short_g > 0.0:
            title = block.quantity(supply.need.quantity).title
            yield (
                f"{title} of {_list(supply.blank)} is not known and counts as none: give it from"
                " the label or a laboratory."
            )
    for limit in priced_limits_of(block):
        fed = [offer for offer, _ in block.fed(amounts)]
        blank = [offer for offer in fed if block.content(offer, limit.quantity) is None]
        if blank:
            title = block.quantity(limit.quantity).title
            yield (
                f"{title} of {_list(blank)} is not known: the limit on it is held without that"
                " feed."
            )


def _kept_out(block: Block) -> Iterator[str]:
    """Feeds without a copper figure that a class under a copper limit does not get."""
    printed = practice_limits(block.needs.limits_key)
    weight = block.needs.live_weight_kg
    barred = {key for key, limit in printed.items() if limit.most_kg_dm(weight) == 0.0}
    kept = [offer for offer in block.kept_out if offer.feed.key not in barred]
    if not kept:
        return
    yield (
        f"Kept out because copper is not known: {_list(kept)}. Unknown copper is never counted as"
        f" none here; give {COPPER} for each from its label."
    )
    lost = any(offer.feed.kind == "mineral" for offer in kept)
    if lost and not any(offer.feed.kind == "mineral" for offer in block.offers):
        yield (
            "No mineral feed is left for this group: its copper must be known before it can be fed."
        )


def _list(offers: tuple[Offer, ...] | list[Offer]) -> str:
    return ", ".join(offer.name for offer in offers)
