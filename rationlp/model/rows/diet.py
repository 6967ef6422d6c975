"""The rows of the diet: shares of the whole ration, the farm's own limits, kg or share of single
feeds.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from rationlp.farm.group import FeedLimit, QuantityLimit
from rationlp.model.lp import Row
from rationlp.model.rows.block import Block
from rationlp.needs.minerals import COPPER

_PER_KG = 1000.0
FOR_SAFETY = frozenset({"urea_g_per_kg_dm", COPPER})
"""Diet limits that a farm may tighten but not loosen."""


def diet_limits(block: Block) -> Iterator[Row]:
    """A share of the diet. Σ (v_i − limit) x_i ≥ 0 or ≤ 0 [kg per day: shares as they are, g/kg
    divided by 1000].

    A limit of the farm's own on the same share takes that side's place, except where the class's is
    there for safety.
    """
    own = {(limit.quantity, side) for limit in block.needs.own_limits for side in _sides(limit)}
    for limit in block.needs.limits:
        if limit.kind != "row":
            continue
        for side, bound in (("least", limit.at_least), ("most", limit.at_most)):
            if bound is not None and (
                (limit.quantity, side) not in own or limit.quantity in FOR_SAFETY
            ):
                yield _share_row(block, limit.quantity, side, bound, limit.whose)


def share_scale(quantity: str) -> float:
    """What a share row is divided by, so that its coefficients are of order 1 [-]."""
    return _PER_KG if "g_per_kg" in quantity else 1.0


def _sides(limit: QuantityLimit) -> list[str]:
    """The sides of the diet that a limit of the farm's own states per kg DM."""
    if limit.per != "kg_dm":
        return []
    return [
        side
        for side, bound in (("least", limit.at_least), ("most", limit.at_most))
        if bound is not None
    ]


def _share_row(
    block: Block, quantity: str, side: str, bound: float, whose: str, mark: str = "diet"
) -> Row:
    scale = share_scale(quantity)
    coefs = {
        block.feed(offer): (value - bound) / scale for offer, value in block.contents(quantity)
    }
    low, high = (0.0, inf) if side == "least" else (-inf, 0.0)
    title = block.quantity(quantity).title
    return Row(block.key(mark, quantity, side), coefs, low, high, "limit", "kg", title, whose)


def own_limits(block: Block) -> Iterator[Row]:
    """The farm's own needs and limits: per head a day Σ v_i x_i ≥ or ≤ amount; per kg DM as a share
    of the diet.
    """
    for limit in block.needs.own_limits:
        if limit.per == "kg_dm":
            yield from _own_shares(block, limit)
            continue
        coefs = {block.feed(offer): value for offer, value in block.contents(limit.quantity)}
        quantity = block.quantity(limit.quantity)
        for side, low, high in (("least", limit.at_least, None), ("most", None, limit.at_most)):
            if low is not None or high is not None:
                yield Row(
                    block.key("own", limit.quantity, side),
                    coefs,
                    -inf if low is None else low,
                    inf if high is None else high,
                    "need" if side == "least" else "limit",
                    quantity.amount_unit,
                    quantity.title,
                    "the farm's own figure",
                )


def _own_shares(block: Block, limit: QuantityLimit) -> Iterator[Row]:
    for side, bound in (("least", limit.at_least), ("most", limit.at_most)):
        if bound is not None:
            yield _share_row(
                block, limit.quantity, side, bound, "the farm's own figure", "own_share"
            )


def feed_limits(block: Block) -> Iterator[Row]:
    """One feed's floor or ceiling: kg fresh a head a day, or share of the dry matter eaten."""
    for limit in block.group.feed_limits:
        for offer in block.offers:
            if offer.id == limit.offer:
                to_fresh = 1000.0 / offer.feed.dm_g_per_kg
                yield from _feed_rows(block, limit, to_fresh, offer.name)


def _feed_rows(block: Block, limit: FeedLimit, to_fresh: float, name: str) -> Iterator[Row]:
    x = block.key("feed", limit.offer)
    why = "the farm's own figure"
    for side, kg in (("least", limit.min_kg_fresh), ("most", limit.max_kg_fresh)):
        if kg is not None:
            low, high = (kg, inf) if side == "least" else (-inf, kg)
            yield Row(
                block.key("feed_kg", limit.offer, side),
                {x: to_fresh},
                low,
                high,
                "limit",
                "kg fresh",
                name,
                why,
            )
    for side, share in (("least", limit.min_share_of_dm), ("most", limit.max_share_of_dm)):
        if share is not None:
            low, high = (0.0, inf) if side == "least" else (-inf, 0.0)
            coefs = {x: 1.0, block.key("dm"): -share}
            yield Row(
                block.key("feed_share", limit.offer, side),
                coefs,
                low,
                high,
                "limit",
                "kg DM",
                name,
                why,
            )
