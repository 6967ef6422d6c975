"""A ration that stays: what a group's ration moves from one period to the next is priced while a
plan is tidied.

Left to itself the cheapest plan changes clamps whenever a need moves by a hair. The price is no
money: it is small beside what a period's feed costs, and what steadiness costs is part of what the
answer says tidiness costs.
"""

from __future__ import annotations

import itertools
from math import inf

from rationlp.model.lp import Column, Key, Row
from rationlp.wintering.search import WinterModel

CHANGE_PRICE = 0.25
"""Price of a kg DM of any feed more or less in a head's daily ration from one period to the next,
as a multiple of what a kg DM of the farm's feeds costs on average [-]; minerals are left out.
Common practice, no source (c).
"""


def ask_for_steadiness(model: WinterModel) -> None:
    """Add a priced column and two rows for every change; costs grow by their prices."""
    offers = [offer for offer in model.yard.farm.offers if offer.feed.kind != "mineral"]
    mean = sum(abs(offer.price_per_kg_dm) for offer in offers) / max(len(offers), 1)
    price = CHANGE_PRICE * max(mean, 1e-3)
    by_part: dict[str, list[int]] = {}
    for number, run in enumerate(model.runs):
        by_part.setdefault(run.block.group.id, []).append(number)
    for numbers in by_part.values():
        for before, after in itertools.pairwise(numbers):
            _add(model, before, after, price)


def _add(model: WinterModel, before: int, after: int, price: float) -> None:
    """Priced changes between two runs of one part that follow each other."""
    first, second = model.runs[before], model.runs[after]
    if second.periods[0] != first.periods[-1] + 1:
        return
    head = float(second.head[0])
    old = {offer.id: offer for offer in first.block.offers}
    for offer in second.block.offers:
        if offer.id not in old or offer.feed.kind == "mineral":
            continue
        key: Key = ("change", offer.id, *second.block.key("")[-2:])
        x1, x2 = first.block.feed(old[offer.id]), second.block.feed(offer)
        model.live.add_column(
            Column(key, price * head, unit="kg DM", title=f"change of {offer.name}")
        )
        model.costs[key] = price * head
        for sign, mark in ((1.0, "more"), (-1.0, "less")):
            coefs = {key: 1.0, x2: -sign, x1: sign}
            model.live.add_row(
                Row(("change", mark, *key[1:]), coefs, 0.0, inf, "definition", "kg DM")
            )
