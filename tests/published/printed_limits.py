"""Which of a practitioner's limits a published ration passes."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from rationlp.farm.feed import Offer
from rationlp.rules.limits import family_limits, practice_limits


def passed(
    one: dict[str, Any], weight: float, offer_of: Callable[[dict[str, Any], int], Offer]
) -> list[str]:
    """Printed limits that a record's ration passes by more than 2 %, for an animal of this weight
    [kg].
    """
    kg = {feed["feed_key"]: 0.0 for feed in one["feeds"]}
    for number, feed in enumerate(one["feeds"]):
        own = offer_of(feed, number).feed.dm_g_per_kg / 1000.0
        kg[feed["feed_key"]] += (
            feed["amount"] * own if feed["basis"] == "fresh" else float(feed["amount"])
        )
    dm = sum(kg.values())
    limits = practice_limits(one["limits_key"])
    found = [
        key
        for key, amount_dm in kg.items()
        if amount_dm > 1.02 * (limits[key].most_kg_dm(weight) or 1e9)
    ]
    found += [
        key
        for key, amount_dm in kg.items()
        if amount_dm > 1.02 * dm * (limits[key].max_share or 1.0)
    ]
    for family in family_limits(one["limits_key"]):
        total = sum(amount_dm * family.weights.get(key, 0.0) for key, amount_dm in kg.items())
        scale = {"share_of_dm": dm, "kg_per_kg_live_weight": weight, "kg": 1.0}.get(family.basis)
        if scale is not None and total > 1.02 * family.cap * scale:
            found.append(family.family)
    return found
