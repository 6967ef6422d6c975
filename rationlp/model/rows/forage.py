"""The rows of an animal's appetite for forage, and of what concentrate pushes out of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from rationlp.model.lp import Row, Words, at_most
from rationlp.model.rows.block import Block
from rationlp.needs.appetite import appetite_rows
from rationlp.needs.objects import AppetiteRow

OF_APPETITE = "appetite for forage"
"""How the unit of a rule ends that weighs feeds by the appetite they fill: told in per cent."""


def block_appetite_rows(block: Block) -> tuple[AppetiteRow, ...]:
    """The rules of the group's class, weights in the order of the block's offers."""
    return appetite_rows(block.needs, [offer.feed for offer in block.offers])


def forage_appetite(block: Block) -> Iterator[Row]:
    """Σ weight_i x_i ≤ most, one row a rule of the class (needs/appetite.py)."""
    for row in block_appetite_rows(block):
        weighed = zip(block.offers, row.weights, strict=True)
        coefs = {block.feed(offer): weight for offer, weight in weighed if weight}
        words = Words(row.bound, tangent=row.tangent)
        if row.unit.endswith(OF_APPETITE):
            words = replace(words, unit="%", per=0.01)
        yield at_most(block.key(row.name), coefs, row.most, row.unit, row.title, row.source, words)
