"""The row of a question: two forages held to a share of both."""

from __future__ import annotations

from collections.abc import Iterator

from rationlp.model.lp import Row
from rationlp.model.rows.block import Block, Pair

SHARE_ROW = "pair_share"


def pair_coefficients(block: Block, pair: Pair) -> dict[tuple[str, ...], float]:
    """Coefficients of the two forages: second · (1 − share) − first · share."""
    return {
        block.key("feed", pair.second): 1.0 - pair.share,
        block.key("feed", pair.first): -pair.share,
    }


def asked(block: Block) -> Iterator[Row]:
    """second · (1 − share) − first · share = 0 [kg DM]; where neither is eaten it says nothing."""
    if block.pair is not None:
        coefs = pair_coefficients(block, block.pair)
        yield Row(
            block.key(SHARE_ROW), coefs, 0.0, 0.0, "definition", "kg DM", "share of the two forages"
        )
