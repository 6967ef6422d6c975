"""The cheapest change of at most two feeds that puts a ration already fed right."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import replace
from math import inf

from rationlp.after.carried import CarriedProduct, Waste, carried, wasted
from rationlp.after.excretion import Excretion, excretion
from rationlp.ask.weighable import (
    choices,
    lacking,
    mineral_amounts,
    mineral_left,
    still_short,
    too_small,
    worth_feeding,
)
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.model.block_ration import settle_levels
from rationlp.model.lp import Program
from rationlp.model.ration import eat, excess
from rationlp.model.rows import build
from rationlp.model.rows.block import Block, make_block
from rationlp.model.search import BlockModel
from rationlp.quantities import fresh_from_dm
from rationlp.records import dataclass
from rationlp.result import FedSupply

_LOOSE = 1e-6
_NOTICEABLE_KG = 1e-4
MOST_PAIRS_TIDIED = 6


@dataclass(frozen=True)
class FeedChange:
    """One feed of a change [kg fresh a head a day]."""

    offer: str
    name: str
    from_kg_fresh: float
    to_kg_fresh: float


@dataclass(frozen=True)
class Fix:
    """The change; `changes` is empty where no change of two feeds puts the ration right, or it
    would be too little to weigh. cost: what it adds to the feed cost [currency a head a day].
    still_short: what is short even so, with how much: minerals that no feed of the list mends; all
    that is short where the change is too little to weigh.
    """

    changes: tuple[FeedChange, ...]
    cost: float
    still_short: tuple[str, ...] = ()


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
    """The cheapest change of at most two feeds, and of minerals, after which all needs and limits
    are kept; None where they are already and no mineral can be mended.

    Amounts are such as a yard can weigh, and the change is checked with them. A mineral that is
    short is brought by one of the farm's list, within its limits; the fixed mineral of a class is
    not asked for where nothing is short.
    """
    group = farm.group(fed.group)
    block = make_block(farm, group, fed.needs)
    fed_kg = {amount.offer: amount.kg_dm for amount in fed.amounts}
    if not fed_kg.keys() <= {offer.id for offer in block.offers}:
        return Fix((), 0.0)
    model = _opened(block, fed_kg)
    if model.infeasible:
        return Fix((), 0.0)
    if _ration(model, fed_kg, ()) is not None:
        return _minerals_mended(model, fed_kg)
    movable = [offer for offer in block.offers if offer.feed.kind != "mineral"]
    minerals = tuple(offer for offer in block.offers if offer.feed.kind == "mineral")
    enough = []
    for pair in itertools.combinations(movable, 2):
        cost_and_kg = _ration(model, fed_kg, pair, minerals)
        if cost_and_kg is not None:
            enough.append((*cost_and_kg, pair))
    enough.sort(key=lambda one: one[0])
    if enough and _less_than_weighed(block, fed_kg, enough[0][1]):
        lacks = lacking(block, fed_kg)
        if lacks:
            return Fix((), 0.0, lacks)
    for _, wanted, pair in enough[:MOST_PAIRS_TIDIED]:
        then = _weighed(model, fed_kg, wanted, pair)
        if then is not None:
            return _fix(block, fed_kg, then)
    return Fix((), 0.0)


def _opened(block: Block, fed_kg: Mapping[str, float]) -> BlockModel:
    """The block in the solver; its fixed minerals at most as printed, or as they are fed."""
    minerals, program = block.key("minerals"), build([block])
    rows = []
    for row in program.rows:
        if row.key == minerals:
            fed = sum(row.coefs.get(block.feed(o), 0.0) * kg for o, kg in block.fed(fed_kg))
            rows.append(replace(row, low=-inf, high=max(row.high, fed * (1.0 + _LOOSE))))
        else:
            rows.append(row)
    model = BlockModel(block, (), Program(program.columns, tuple(rows)))
    if model.need is not None:
        model.find_interval()
    return model


def _minerals_mended(model: BlockModel, fed_kg: Mapping[str, float]) -> Fix | None:
    """What minerals of the list put right in a ration that lacks nothing else; None for nothing."""
    block = model.block
    short = still_short(block, fed_kg)
    minerals = tuple(offer for offer in block.offers if offer.feed.kind == "mineral")
    if not short or not minerals:
        return None
    wanted = _ration(model, fed_kg, (), minerals)
    if wanted is None:
        return None
    then = {**dict.fromkeys(wanted[1], 0.0), **fed_kg}
    then |= mineral_amounts(block, fed_kg, wanted[1])
    fix = _fix(block, fed_kg, then)
    mends = len(fix.still_short) < len(short)
    if not fix.changes or not mends or _ration(model, then, ()) is None:
        return None
    return fix


def _less_than_weighed(
    block: Block, fed_kg: Mapping[str, float], wanted: Mapping[str, float]
) -> bool:
    """Whether all that a change moves, minerals too, is too little to be weighed."""
    return all(too_small(block, o, fed_kg.get(o.id, 0.0), wanted[o.id]) for o in block.offers)


def _weighed(
    model: BlockModel,
    fed_kg: Mapping[str, float],
    wanted: Mapping[str, float],
    pair: tuple[Offer, ...],
) -> dict[str, float] | None:
    """A change of two feeds and of minerals in amounts that can be weighed: the cheapest that was
    found enough when all of it was held; None where none was.
    """
    block, dm = model.block, sum(wanted.values())
    before = {offer.id: fed_kg.get(offer.id, 0.0) for offer in block.offers}
    minerals = mineral_amounts(block, fed_kg, wanted)
    as_fed = {name: before[name] for name in minerals}
    amounts = [choices(block, offer, before[offer.id], wanted[offer.id], dm) for offer in pair]
    tries = sorted(
        itertools.product(*amounts),
        key=lambda kg: sum(
            one * offer.price_per_kg_dm for one, offer in zip(kg, pair, strict=True)
        ),
    )
    for of_minerals in [minerals] if minerals == as_fed else [minerals, as_fed]:
        for kg in tries:
            moved = {offer.id: one for offer, one in zip(pair, kg, strict=True)}
            then = {**before, **of_minerals, **moved}
            changed = {name for name, one in then.items() if one != before[name]}
            if worth_feeding(block, then, changed) and _ration(model, then, ()) is not None:
                return then
    return None


def _fix(block: Block, fed_kg: Mapping[str, float], then: Mapping[str, float]) -> Fix:
    changes, cost = [], 0.0
    for offer in block.offers:
        before, after = fed_kg.get(offer.id, 0.0), then[offer.id]
        if abs(after - before) > _NOTICEABLE_KG:
            fresh = (fresh_from_dm(kg, offer.feed.dm_g_per_kg) for kg in (before, after))
            changes.append(FeedChange(offer.id, offer.name, *fresh))
            cost += (after - before) * offer.price_per_kg_dm
    return Fix(tuple(changes), cost, still_short(block, then))


def _ration(
    model: BlockModel,
    fed_kg: Mapping[str, float],
    free: tuple[Offer, ...],
    more: tuple[Offer, ...] = (),
) -> tuple[float, dict[str, float]] | None:
    """(cost compared, kg DM by offer) of the cheapest ration with all but the free feeds held; of
    `more`, which are minerals, there may be more, and less only where a limit is passed.
    """
    block = model.block
    bounds = {}
    for offer in block.offers:
        kg = fed_kg.get(offer.id, 0.0)
        if offer in more:
            bounds[offer.id] = (mineral_left(block, offer, kg) * (1.0 - _LOOSE), inf)
        elif offer not in free:
            bounds[offer.id] = (kg * (1.0 - _LOOSE), kg * (1.0 + _LOOSE))
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
