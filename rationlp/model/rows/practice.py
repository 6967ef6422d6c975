"""The rows of practice: what can really be fed, feed by feed and family by family, and a stomach
that exists.

The printed limits stand in feeds/limits.csv, feeds/family-limits.csv and feeds/practice.csv. A
farm's own ceiling on the same feed takes the printed one's place; the answer then says which
printed limit was passed and whose it was.
"""

from __future__ import annotations

from collections.abc import Iterator

from rationlp.farm.feed import Offer
from rationlp.farm.feed_table import is_long_forage, is_silage
from rationlp.farm.group import FeedLimit
from rationlp.model.lp import PLAIN, Row, Words, at_least, at_most
from rationlp.model.rows.block import Block
from rationlp.model.rows.diet import share_of_dm
from rationlp.rules.limits import (
    FamilyLimit,
    PracticeLimit,
    family_limits,
    practice_figure,
    practice_limits,
)

COMMON = "common practice, no source"
FORAGE_THAT_NEEDS_NO_LONG_FIBRE = 0.30
LIGHT_BULL_KG, LIGHT_BULL_LONG_FORAGE_KG = 350.0, 0.5


def own_limit(block: Block, offer: Offer) -> FeedLimit | None:
    """The farm's own limit on an offer, or None."""
    return next((limit for limit in block.group.feed_limits if limit.offer == offer.id), None)


def printed_limits(block: Block) -> Iterator[tuple[Offer, PracticeLimit]]:
    """The printed limit of every offer that has one for this class."""
    known = practice_limits(block.needs.limits_key)
    for offer in block.offers:
        limit = known.get(offer.feed.key)
        if limit is not None:
            yield offer, limit


def free_minerals(block: Block) -> list[Offer]:
    """Mineral feeds whose amount is free: limestone, salt, magnesite, phosphate."""
    known = practice_limits(block.needs.limits_key)
    weight = block.needs.live_weight_kg
    return [
        offer
        for offer in block.offers
        if offer.feed.kind == "mineral"
        and (offer.feed.key not in known or known[offer.feed.key].fixed(weight) is None)
    ]


def practice(block: Block) -> Iterator[Row]:
    """Each feed within its printed limit: x ≤ kg DM; x ≤ share·D. A farm's own replaces a side."""
    for offer, limit in printed_limits(block):
        own = own_limit(block, offer)
        x = block.feed(offer)
        most = limit.most_kg_dm(block.needs.live_weight_kg)
        if most is not None and (own is None or own.max_kg_fresh is None):
            key = block.key("practice_kg", offer.id)
            yield at_most(key, {x: 1.0}, most, "kg DM", offer.name, limit.whose)
        if limit.max_share is not None and (own is None or own.max_share_of_dm is None):
            coefs = {x: 1.0, block.key("dm"): -limit.max_share}
            words = share_of_dm(limit.max_share, offer.name)
            key = block.key("practice_share", offer.id)
            yield at_most(key, coefs, 0.0, "kg DM", offer.name, limit.whose, words)


def family_cap(block: Block, limit: FamilyLimit) -> float:
    """The cap that holds: the farm's own for that family and basis, else the printed one."""
    for own in block.group.family_caps:
        if (own.family, own.basis) == (limit.family, limit.printed_basis):
            return limit.scaled(own.cap)
    return limit.cap


def families(block: Block) -> Iterator[Row]:
    """Near-identical feeds together: Σ weight·x ≤ cap, or ≤ cap·D, or ≤ cap·Σ forage, or ≤ cap·W.
    Without these a limit is dodged by splitting over cousins.
    """
    weight = block.needs.live_weight_kg
    for number, limit in enumerate(family_limits(block.needs.limits_key)):
        coefs = {
            block.feed(offer): limit.weights[offer.feed.key]
            for offer in block.offers
            if offer.feed.key in limit.weights
        }
        if not coefs:
            continue
        cap = family_cap(block, limit)
        title = f"{limit.family.replace('_', ' ')} together"
        high, words = 0.0, PLAIN
        if limit.basis == "share_of_dm":
            coefs[block.key("dm")] = -cap
            words = Words(share_of_dm(cap, title).bound)
        elif limit.basis == "share_of_forage_dm":
            for offer in block.offers:
                if offer.feed.is_forage:
                    coefs[block.feed(offer)] = coefs.get(block.feed(offer), 0.0) - cap
        elif limit.basis == "kg":
            high = cap
        else:
            if weight is None:
                continue
            high = cap * weight
        key = block.key("family", limit.family, str(number))
        yield at_most(key, coefs, high, limit.unit, title, limit.source, words)


def minerals(block: Block) -> Iterator[Row]:
    """The fixed mineral goes in as printed, less what mineralised compounds bring: Σ x_k/fixed_k +
    Σ compound/full rate = 1.
    """
    coefs: dict[tuple[str, ...], float] = {}
    for offer, limit in printed_limits(block):
        fixed = limit.fixed(block.needs.live_weight_kg)
        if fixed is not None and fixed > 0.0 and own_limit(block, offer) is None:
            coefs[block.feed(offer)] = 1.0 / fixed
    if not coefs:
        return
    for offer, limit in printed_limits(block):
        if offer.feed.kind == "compound":
            full = _full_rate(block, offer, limit)
            if full:
                coefs[block.feed(offer)] = 1.0 / full
    title, words = "fixed minerals", Words(silent=True)
    key = block.key("minerals")
    yield Row(key, coefs, 1.0, 1.0, "limit", "full rates", title, COMMON, words)


def _full_rate(block: Block, offer: Offer, limit: PracticeLimit) -> float | None:
    own = own_limit(block, offer)
    if own is not None and own.max_kg_fresh is not None:
        return own.max_kg_fresh * offer.feed.dm_g_per_kg / 1000.0
    return limit.most_kg_dm(block.needs.live_weight_kg)


def stomach(block: Block) -> Iterator[Row]:
    """A stomach that exists: forage share, silage, forage NDF and dry matter of the ration."""
    key = block.needs.limits_key
    floor = practice_figure(key, "forage_share_least")
    if floor is not None:
        coefs = {block.feed(offer): offer.feed.is_forage - floor for offer in block.offers}
        title = "long fibre: forage and straw"
        yield at_least(block.key("forage_floor"), coefs, 0.0, "kg DM", title, COMMON)
    silage = practice_figure(key, "silage_most_kg_fresh")
    if silage is not None:
        coefs = {
            block.feed(offer): 1000.0 / offer.feed.dm_g_per_kg
            for offer in block.offers
            if is_silage(offer.feed)
        }
        if coefs:
            title = "all silages"
            yield at_most(block.key("silage_most"), coefs, silage, "kg fresh", title, COMMON)
    yield from _forage_ndf(block)
    driest = practice_figure(key, "ration_dm_least")
    if driest is not None:
        coefs = {
            block.feed(offer): 1.0 - driest * 1000.0 / offer.feed.dm_g_per_kg
            for offer in block.offers
        }
        title = "dry matter of the whole ration"
        yield at_least(block.key("ration_dm"), coefs, 0.0, "kg", title, COMMON)
    yield from _long_forage(block)


def _forage_ndf(block: Block) -> Iterator[Row]:
    most = practice_figure(block.needs.limits_key, "forage_ndf_most")
    weight = block.needs.live_weight_kg
    if most is not None and weight is not None:
        contents = block.contents("forage_ndf_g_per_kg_dm")
        coefs = {block.feed(offer): value / 1000.0 for offer, value in contents if value > 0.0}
        if coefs:
            title = "NDF eaten in forage"
            yield at_most(block.key("forage_ndf_most"), coefs, most * weight, "kg", title, COMMON)


def _long_forage(block: Block) -> Iterator[Row]:
    """Where a class may go below 30 % forage, some of it must be long: straw, hay or big bale."""
    least = practice_figure(block.needs.limits_key, "long_forage_least_kg_dm")
    floors = [
        limit.at_least
        for limit in block.needs.limits
        if limit.quantity == "forage_share" and limit.kind == "row"
    ]
    if (
        least is None
        or max((floor or 0.0 for floor in floors), default=0.0) >= FORAGE_THAT_NEEDS_NO_LONG_FIBRE
    ):
        return
    weight = block.needs.live_weight_kg
    if weight is not None and weight < LIGHT_BULL_KG and block.group.facts.get("sex") == "bull":
        least = LIGHT_BULL_LONG_FORAGE_KG
    coefs = {block.feed(offer): 1.0 for offer in block.offers if is_long_forage(offer.feed)}
    title = "straw, hay or big bale"
    yield at_least(block.key("long_forage"), coefs, least, "kg DM", title, COMMON)
