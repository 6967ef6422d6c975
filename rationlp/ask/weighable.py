"""What a yard can weigh: amounts of one feed near a wanted one, in steps, and the least of it that
is worth feeding by the rule that also tidies a ration (model/tidy.py).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from math import ceil, floor

from rationlp.farm.feed import Offer
from rationlp.farm.traits import traits
from rationlp.model.ration import eat, excess
from rationlp.model.rows.block import Block
from rationlp.model.rows.mineral import mineral_supplies
from rationlp.model.tidy import faults, least_useful_kg_dm
from rationlp.quantities import dm_from_fresh, fresh_from_dm
from rationlp.rules.limits import practice_limits

FORAGE_STEP_KG, STRAIGHT_STEP_KG, MINERAL_STEP_KG = 0.5, 0.1, 0.01
"""Steps in which feed is weighed out for a head of cattle [kg fresh a day]; common practice (c)."""
SHEEP_FORAGE_STEP_KG, SHEEP_STRAIGHT_STEP_KG, SHEEP_MINERAL_STEP_KG = 0.1, 0.05, 0.005
"""The same for a sheep; common practice (c)."""
LEAST_SAID_SHARE = 0.005
_TRACE = 1e-6


def step_kg_fresh(block: Block, offer: Offer) -> float:
    """The step in which a feed is weighed out [kg fresh a head a day]; common practice (c)."""
    steps = (FORAGE_STEP_KG, STRAIGHT_STEP_KG, MINERAL_STEP_KG)
    if traits(block.group.animal_class).sheep:
        steps = (SHEEP_FORAGE_STEP_KG, SHEEP_STRAIGHT_STEP_KG, SHEEP_MINERAL_STEP_KG)
    forage, straight, mineral = steps
    if offer.feed.kind == "mineral":
        return mineral
    if offer.feed.is_concentrate:
        return straight
    return forage


def choices(block: Block, offer: Offer, before: float, wanted: float, dm_kg: float) -> list[float]:
    """Amounts that can be weighed [kg DM a head a day]: what is fed already, the steps around what
    is wanted, nothing, and the least useful amount.
    """
    step, dm = step_kg_fresh(block, offer), offer.feed.dm_g_per_kg
    steps = fresh_from_dm(wanted, dm) / step
    near = {max(number, 0) for number in (floor(steps) - 1, floor(steps), ceil(steps) + 1)}
    near |= {ceil(steps), 0}
    least = least_useful_kg_dm(block, offer, dm_kg) or 0.0
    near.add(ceil(fresh_from_dm(least, dm) / step - _TRACE))
    return [before, *(dm_from_fresh(number * step, dm) for number in sorted(near))]


def too_small(block: Block, offer: Offer, before: float, after: float) -> bool:
    """Whether a move [kg DM a head a day] is less than half a step."""
    moved = fresh_from_dm(abs(after - before), offer.feed.dm_g_per_kg)
    return moved < 0.5 * step_kg_fresh(block, offer)


def worth_feeding(block: Block, values: Mapping[str, float], moved: Collection[str]) -> bool:
    """Whether the rule that tidies a ration has nothing against the feeds that were moved."""
    if block.needs.limits_key is None:
        return True
    return not any(fault.offer.id in moved for fault in faults(block, values))


def mineral_left(block: Block, offer: Offer, fed_kg_dm: float) -> float:
    """The least that a change leaves of a mineral that is fed [kg DM a head a day]: all of it, or
    what its printed limit allows.
    """
    limit = practice_limits(block.needs.limits_key).get(offer.feed.key)
    most = None
    if limit is not None:
        most = limit.most_kg_dm(block.needs.live_weight_kg)
    if most is None or fed_kg_dm <= most * (1.0 + _TRACE):
        return fed_kg_dm
    return dm_from_fresh(_steps_within(block, offer, most), offer.feed.dm_g_per_kg)


def _steps_within(block: Block, offer: Offer, most_kg_dm: float) -> float:
    """The most of a feed in whole steps [kg fresh] within a limit."""
    step = step_kg_fresh(block, offer)
    return floor(fresh_from_dm(most_kg_dm, offer.feed.dm_g_per_kg) / step + _TRACE) * step


def mineral_amounts(
    block: Block, before: Mapping[str, float], wanted: Mapping[str, float]
) -> dict[str, float]:
    """Minerals as they can be weighed [kg DM a head a day by offer id]: one as printed for the
    class, the others in steps within their limits.
    """
    limits, weight = practice_limits(block.needs.limits_key), block.needs.live_weight_kg
    amounts = {}
    printed: list[tuple[float, str]] = []
    for offer in block.offers:
        if offer.feed.kind != "mineral":
            continue
        had = mineral_left(block, offer, before.get(offer.id, 0.0))
        more = wanted[offer.id]
        amounts[offer.id] = had
        limit = limits.get(offer.feed.key)
        if too_small(block, offer, had, more):
            continue
        if limit is not None and limit.fixed(weight) is not None:
            printed.append((more, offer.id))
            continue
        amounts[offer.id] = max(had, _weighed(block, offer, more, sum(wanted.values())))
    if printed:
        more, name = max(printed)
        offer = next(offer for offer in block.offers if offer.id == name)
        amounts[name] = max(amounts[name], _as_printed(block, offer, before, wanted))
    return amounts


def _weighed(block: Block, offer: Offer, wanted: float, dm_kg: float) -> float:
    """A free mineral in steps, not below its least useful amount, within its limits [kg DM]."""
    step, dm = step_kg_fresh(block, offer), offer.feed.dm_g_per_kg
    least = least_useful_kg_dm(block, offer, dm_kg) or 0.0
    kg = dm_from_fresh(ceil(fresh_from_dm(max(wanted, least), dm) / step - _TRACE) * step, dm)
    limit = practice_limits(block.needs.limits_key).get(offer.feed.key)
    if limit is None:
        return kg
    most = limit.most_kg_dm(block.needs.live_weight_kg)
    caps = [kg] if most is None else [kg, most]
    if limit.max_share is not None:
        caps.append(limit.max_share * dm_kg)
    if min(caps) == kg:
        return kg
    within = dm_from_fresh(_steps_within(block, offer, min(caps)), dm)
    if within < least:
        return 0.0
    return within


def _as_printed(
    block: Block, offer: Offer, before: Mapping[str, float], wanted: Mapping[str, float]
) -> float:
    """A mineral of the class at the rate printed for it, less what other such minerals bring."""
    limits, weight = practice_limits(block.needs.limits_key), block.needs.live_weight_kg
    full = limits[offer.feed.key].fixed(weight) or 0.0
    share = 1.0
    for other in block.offers:
        limit = limits.get(other.feed.key)
        if limit is None or other.id == offer.id:
            continue
        rate, fed = limit.fixed(weight), before.get(other.id, 0.0)
        if other.feed.kind == "compound":
            rate, fed = limit.most_kg_dm(weight), wanted.get(other.id, 0.0)
        if rate:
            share -= fed / rate
    return max(share, 0.0) * full


def still_short(block: Block, values: Mapping[str, float]) -> tuple[str, ...]:
    """The minerals that a ration is still short of, with how much of each the feed lacks."""
    return tuple(
        f"{block.quantity(supply.need.quantity).title}"
        f" {supply.needed_in_feed_g - supply.in_feed_g:.1f} g"
        for supply in mineral_supplies(block, values)
        if supply.short_g > LEAST_SAID_SHARE * supply.needed_g
    )


def lacking(block: Block, values: dict[str, float]) -> tuple[str, ...]:
    """What a ration is short of: energy, protein, minerals, with how much a head a day."""
    energy, protein, _ = excess(block, eat(block, values, {}))
    lacks = []
    if energy is not None and energy < 0.0:
        lacks.append(f"ME {-energy:.2g} MJ")
    if protein is not None and protein < 0.0:
        lacks.append(f"MP {-protein:.2g} g")
    if not lacks:
        return ()
    return (*lacks, *still_short(block, values))
