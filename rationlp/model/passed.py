"""Which limits on single feeds and on feeds together a ration passes: rows of the model, worked out
from amounts alone.

Needs and limits on nutrients are those of `lines.py`; here are all others that a ration of the
model keeps.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from math import isfinite

from rationlp.model.lines import Eaten
from rationlp.model.lp import Key, Row
from rationlp.model.rows import cautions, diet, forage, practice
from rationlp.model.rows.block import Block
from rationlp.model.rows.practice import family_cap, own_limit, printed_limits
from rationlp.quantities import fresh_from_dm, quantities
from rationlp.records import dataclass
from rationlp.rules.limits import family_limits

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
                passed += [side for side in sides if side.by > PASSED - 1.0]
    return tuple(passed)


PASSED = 1.0 + 1e-6
"""Multiple of a limit from which it counts as passed: less is the solver's rounding [-]."""


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


def passed_sentences(block: Block, eaten: Eaten) -> Iterator[str]:
    """Printed limits that the farm's own figures let this ration pass, and whose they are."""
    dm = eaten.supply.dm_kg
    for offer, limit in printed_limits(block):
        kg = eaten.amounts.get(offer.id, 0.0)
        if kg <= 0.0 or own_limit(block, offer) is None:
            continue
        most = limit.most_kg_dm(block.needs.live_weight_kg)
        if most is not None and kg > most * PASSED:
            dm_g = offer.feed.dm_g_per_kg
            fresh, printed = fresh_from_dm(kg, dm_g), fresh_from_dm(most, dm_g)
            yield (
                f"{offer.name}: {fresh:.1f} kg fresh passes the printed limit of {printed:.1f} kg"
                f" ({limit.source})."
            )
        if limit.max_share is not None and kg > limit.max_share * dm * PASSED:
            yield (
                f"{offer.name}: {100 * kg / dm:.0f} % of the dry matter passes the printed limit of"
                f" {100 * limit.max_share:.0f} % ({limit.source})."
            )
    yield from _passed_families(block, eaten)
    yield from _passed_diet_limits(block, eaten)


def _passed_families(block: Block, eaten: Eaten) -> Iterator[str]:
    for limit in family_limits(block.needs.limits_key):
        if family_cap(block, limit) <= limit.cap:
            continue
        total = sum(
            kg * limit.weights.get(offer.feed.key, 0.0) for offer, kg in block.fed(eaten.amounts)
        )
        forage = sum(kg for offer, kg in block.fed(eaten.amounts) if offer.feed.is_forage)
        weight = block.needs.live_weight_kg or 0.0
        scale = {
            "share_of_dm": eaten.supply.dm_kg,
            "share_of_forage_dm": forage,
            "kg_per_kg_live_weight": weight,
        }.get(limit.basis, 1.0)
        if total > limit.cap * scale * PASSED:
            name = limit.family.replace("_", " ")
            yield (
                f"All {name} together pass the printed limit of {limit.cap:g} {limit.unit}"
                f" ({limit.source})."
            )


def _passed_diet_limits(block: Block, eaten: Eaten) -> Iterator[str]:
    own = {limit.quantity for limit in block.needs.own_limits if limit.per == "kg_dm"}
    for limit in block.needs.limits:
        if limit.kind != "row" or limit.quantity not in own or eaten.supply.dm_kg <= 0.0:
            continue
        contents = [
            (block.content(offer, limit.quantity), kg) for offer, kg in block.fed(eaten.amounts)
        ]
        value = sum((content or 0.0) * kg for content, kg in contents) / eaten.supply.dm_kg
        for bound, passed in ((limit.at_least, "below"), (limit.at_most, "above")):
            below = passed == "below"
            if bound is None or not (value < bound / PASSED if below else value > bound * PASSED):
                continue
            known = quantities()[limit.quantity]
            yield (
                f"{known.title} {value:.3g} {known.unit} is {passed} the printed limit of {bound:g}"
                f" ({limit.whose})."
            )
