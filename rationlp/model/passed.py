"""Which limits on single feeds and on feeds together a ration passes: rows of the model, worked out
from amounts alone.

Needs and limits on nutrients are those of `lines.py`; here are all others that a ration of the
model keeps.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from math import isfinite

from rationlp.model.lp import Key, Row
from rationlp.model.rows import cautions, diet, forage, practice
from rationlp.model.rows.block import Block
from rationlp.records import dataclass

_FAMILIES: tuple[Callable[[Block], Iterator[Row]], ...] = (
    diet.feed_limits,
    practice.practice,
    practice.families,
    practice.minerals,
    cautions.held_feeds,
    practice.stomach,
    forage.forage_appetite,
)


@dataclass(frozen=True)
class PassedLimit:
    """A limit that amounts pass. key: of its row; title, whose: in farm words; side: `below` or
    `above`; by: how far, as a share of the bound [-]; safety: it is there for safety.
    """

    key: Key
    title: str
    whose: str
    side: str
    by: float
    safety: bool


def passed_limits(block: Block, kg_dm: Mapping[str, float]) -> tuple[PassedLimit, ...]:
    """Every limit that amounts [kg DM a head a day by offer id] pass by more than rounding."""
    eaten = {block.feed(offer): kg_dm.get(offer.id, 0.0) for offer in block.offers}
    eaten[block.key("dm")] = sum(kg_dm.values())
    passed = []
    for family in _FAMILIES:
        for row in family(block):
            if row.kind == "limit" and row.coefs.keys() <= eaten.keys():
                safety = family is cautions.held_feeds
                sides = _sides(row, eaten, safety)
                passed += [side for side in sides if side.by > _ROUNDING]
    return tuple(passed)


_ROUNDING = 1e-6


def _sides(row: Row, eaten: Mapping[Key, float], safety: bool) -> Iterator[PassedLimit]:
    """The row's sides, its sum against the terms on the other: x − 0.2 D ≤ 0 is x of 0.2 D."""
    terms = [coef * eaten[key] for key, coef in row.coefs.items()]
    plus, minus = (
        sum(term for term in terms if term > 0.0),
        -sum(term for term in terms if term < 0.0),
    )
    if isfinite(row.high):
        most = row.high + minus
        by = plus / most - 1.0 if most > 0.0 else float(plus > 0.0)
        yield PassedLimit(row.key, row.title, row.why, "above", by, safety)
    if isfinite(row.low):
        least = row.low + minus
        by = 1.0 - plus / least if least > 0.0 else 0.0
        yield PassedLimit(row.key, row.title, row.why, "below", by, safety)
