"""The cheapest change of at most two feeds that puts a ration already fed right."""

from __future__ import annotations

import itertools
from collections.abc import Mapping

from rationlp.after.carried import CarriedProduct, Waste, carried, wasted
from rationlp.after.excretion import Excretion, excretion
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.model.block_ration import settle_levels
from rationlp.model.ration import eat, excess
from rationlp.model.rows.block import Block, make_block
from rationlp.model.search import BlockModel, opened
from rationlp.quantities import fresh_from_dm
from rationlp.records import dataclass
from rationlp.result import FedSupply

_LOOSE = 1e-6
_NOTICEABLE_KG = 1e-4


@dataclass(frozen=True)
class FeedChange:
    """One feed of a change [kg fresh a head a day]."""

    offer: str
    name: str
    from_kg_fresh: float
    to_kg_fresh: float


@dataclass(frozen=True)
class Fix:
    """The change; `changes` is empty where no change of two feeds puts the ration right. cost: what
    it adds to the feed cost [currency a head a day].
    """

    changes: tuple[FeedChange, ...]
    cost: float


@dataclass(frozen=True)
class FedWhy:
    """What a ration already fed carries, wastes and leaves, and the cheapest change that puts it
    right (None: nothing wrong).
    """

    carried: CarriedProduct | None
    wasted: Waste | None
    leaves: Excretion | None
    fix: Fix | None


def explain_fed(farm: Farm, fed: FedSupply) -> FedWhy:
    """All of it for one group's fed ration."""
    group = farm.group(fed.group)
    feeds = {offer.id: offer.feed for offer in farm.offers}
    parts = [(feeds[amount.offer], amount.kg_dm) for amount in fed.amounts]
    return FedWhy(
        carried=carried(group, parts),
        wasted=wasted(fed.needs, parts),
        leaves=excretion(group, fed.needs, parts, fed.level_of_feeding),
        fix=fix_fed(farm, fed),
    )


def fix_fed(farm: Farm, fed: FedSupply) -> Fix | None:
    """The cheapest change of at most two feeds after which all needs and limits are kept; None
    where they are already.

    The fixed mineral of a class is not asked for here. Minerals are not among the feeds that are
    changed.
    """
    group = farm.group(fed.group)
    block = make_block(farm, group, fed.needs)
    fed_kg = {amount.offer: amount.kg_dm for amount in fed.amounts}
    if not fed_kg.keys() <= {offer.id for offer in block.offers}:
        return Fix((), 0.0)
    model = opened(block, [block.key("minerals")])
    if model.infeasible:
        return Fix((), 0.0)
    if _ration(model, fed_kg, ()) is not None:
        return None
    movable = [offer for offer in block.offers if offer.feed.kind != "mineral"]
    best: tuple[float, dict[str, float]] | None = None
    for pair in itertools.combinations(movable, 2):
        cost_and_kg = _ration(model, fed_kg, pair)
        if cost_and_kg is not None and (best is None or cost_and_kg[0] < best[0]):
            best = cost_and_kg
    if best is None:
        return Fix((), 0.0)
    return _fix(block, fed_kg, best[1])


def _fix(block: Block, fed_kg: Mapping[str, float], then: Mapping[str, float]) -> Fix:
    changes, cost = [], 0.0
    for offer in block.offers:
        before, after = fed_kg.get(offer.id, 0.0), then[offer.id]
        if abs(after - before) > _NOTICEABLE_KG:
            fresh = (fresh_from_dm(kg, offer.feed.dm_g_per_kg) for kg in (before, after))
            changes.append(FeedChange(offer.id, offer.name, *fresh))
            cost += (after - before) * offer.price_per_kg_dm
    return Fix(tuple(changes), cost)


def _ration(
    model: BlockModel, fed_kg: Mapping[str, float], free: tuple[Offer, ...]
) -> tuple[float, dict[str, float]] | None:
    """(cost compared, kg DM by offer) of the cheapest ration with all but the free feeds held."""
    block = model.block
    unchanged = [
        (offer.id, fed_kg.get(offer.id, 0.0)) for offer in block.offers if offer not in free
    ]
    bounds = {name: (kg * (1.0 - _LOOSE), kg * (1.0 + _LOOSE)) for name, kg in unchanged}
    model.hold_feeds(bounds)
    if block.needs.energy is None:
        answer = model.solve(cold=True)
    else:
        state = settle_levels(model, ties=False)
        if not state.still:
            return None
        answer = state.rounds[-1].answer
    if answer is None:
        return None
    values = model.amounts(answer)
    if not excess(block, eat(block, values, {}))[2]:
        return None
    return answer.objective, values
