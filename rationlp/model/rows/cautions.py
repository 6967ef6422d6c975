"""The row of cautions: feeds that an analysis holds to a share of the dry matter. No key of the
farm file loosens it.
"""

from __future__ import annotations

from collections.abc import Iterator

from rationlp.model.lp import Row, at_most
from rationlp.model.rows.block import Block


def held_feeds(block: Block) -> Iterator[Row]:
    """Feeds held to a share of the diet, together: Σ x_i/share_i ≤ D, so that two of them at once
    get no more than either.

    Shares and bands of nitrate: Clemson University, nitrate levels in forage; status (a). Adding
    the feeds up is stricter than the page and common practice (c).
    """
    coefs = {}
    sources = []
    for offer in block.offers:
        caution = block.held.get(offer.id)
        if caution is not None and caution.row.most_share is not None:
            coefs[block.feed(offer)] = 1.0 / caution.row.most_share
            sources.append(caution.row.source)
    if coefs:
        coefs[block.key("dm")] = -1.0
        title, whose = "feeds held to a share by a caution", "; ".join(dict.fromkeys(sources))
        yield at_most(block.key("held_feeds"), coefs, 0.0, "kg DM", title, whose)
