"""The rows of the diet: shares of the ration, the farm's own limits, single feeds."""

from __future__ import annotations

from collections.abc import Iterator

from rationlp.farm.group import FeedLimit, QuantityLimit
from rationlp.model.lp import Row, Words, at_least, at_most
from rationlp.model.rows.block import Block
from rationlp.needs.minerals import COPPER

OWN = "the farm's own figure"
PER_CENT_OF_DM = "% of the dry matter"
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
    known = block.quantity(quantity)
    words = _share_words(block, quantity, bound, scale, mark == "own_share")
    row = at_least if side == "least" else at_most
    return row(block.key(mark, quantity, side), coefs, 0.0, "kg", known.title, whose, words)


def _share_words(block: Block, quantity: str, bound: float, scale: float, own: bool) -> Words:
    """How a limit on a share is told: the bound of its row, in the quantity's unit."""
    known = block.quantity(quantity)
    title = known.title if known.title[1:2].isupper() else known.title[:1].lower() + known.title[1:]
    order = 3 if own else 6
    if known.unit == "share of DM":
        per, told = 1.0 / scale / 100.0, f"{100 * bound:.3g} % {title}"
        return Words(told, unit=PER_CENT_OF_DM, per=per, of_diet=True, order=order)
    told = f"{bound:.4g} {known.unit} of {title}"
    return Words(told, unit=known.unit, per=1.0 / scale, of_diet=True, order=order)


def own_limits(block: Block) -> Iterator[Row]:
    """The farm's own limits: a head a day Σ v_i x_i ≥ or ≤ amount; per kg DM as a share."""
    for limit in block.needs.own_limits:
        if limit.per == "kg_dm":
            yield from _own_shares(block, limit)
            continue
        coefs = {block.feed(offer): value for offer, value in block.contents(limit.quantity)}
        quantity = block.quantity(limit.quantity)
        for side, low, high in (("least", limit.at_least, None), ("most", None, limit.at_most)):
            if low is not None or high is not None:
                unit, title = quantity.amount_unit, quantity.title
                key, own = block.key("own", limit.quantity, side), Words(order=3)
                if low is not None:
                    yield at_least(key, coefs, low, unit, title, OWN, own, "need")
                else:
                    yield at_most(key, coefs, high or 0.0, unit, title, OWN, own)


def _own_shares(block: Block, limit: QuantityLimit) -> Iterator[Row]:
    for side, bound in (("least", limit.at_least), ("most", limit.at_most)):
        if bound is not None:
            yield _share_row(block, limit.quantity, side, bound, OWN, "own_share")


def feed_limits(block: Block) -> Iterator[Row]:
    """One feed's floor or ceiling: kg fresh a head a day, or share of the dry matter eaten."""
    for limit in block.group.feed_limits:
        for offer in block.offers:
            if offer.id == limit.offer:
                to_fresh = 1000.0 / offer.feed.dm_g_per_kg
                yield from _feed_rows(block, limit, to_fresh, offer.name)


def _feed_rows(block: Block, limit: FeedLimit, to_fresh: float, name: str) -> Iterator[Row]:
    x, words = block.key("feed", limit.offer), Words(order=4)
    kg_sides = ("least", limit.min_kg_fresh, at_least), ("most", limit.max_kg_fresh, at_most)
    for side, kg, row in kg_sides:
        if kg is not None:
            key = block.key("feed_kg", limit.offer, side)
            yield row(key, {x: to_fresh}, kg, "kg fresh", name, OWN, words)
    shares = ("least", limit.min_share_of_dm, at_least), ("most", limit.max_share_of_dm, at_most)
    for side, share, row in shares:
        if share is not None:
            key = block.key("feed_share", limit.offer, side)
            coefs = {x: 1.0, block.key("dm"): -share}
            yield row(key, coefs, 0.0, "kg DM", name, OWN, share_of_dm(share, name, order=4))


def share_of_dm(share: float, title: str, order: int = 7) -> Words:
    """How a share of the dry matter is told; a share of nothing, by its row."""
    bound = ""
    if share > 0.0:
        bound = f"{100 * share:.3g} % {title} in the dry matter"
    return Words(bound, unit=PER_CENT_OF_DM, per=1.0 / 100.0, of_diet=True, order=order)
