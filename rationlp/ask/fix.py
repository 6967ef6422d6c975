"""The cheapest change of at most two feeds that puts a ration already fed right."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
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
from rationlp.model.passed import PassedLimit, passed_limits
from rationlp.model.ration import eat, excess
from rationlp.model.rows import build
from rationlp.model.rows.at_hand import not_for_them
from rationlp.model.rows.block import Block, kept_for_others, make_block
from rationlp.model.search import BlockModel
from rationlp.quantities import fresh_from_dm
from rationlp.read.loading import loading_figure
from rationlp.records import dataclass
from rationlp.result import FedSupply

_LOOSE = 1e-6
_OVER = 1.03
"""Multiple of the energy ceiling from which animals are said to be fattened [-]."""
_LEAST_GAIN = 0.01
"""A change against fattening has to gain so much, the penalty counted [currency a head a day]."""
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
    that is short where the change is too little to weigh. minerals_only: nothing else was looked
    for. not_theirs: of each feed that is fed and that the group may not be given, why.
    """

    changes: tuple[FeedChange, ...]
    cost: float
    still_short: tuple[str, ...] = ()
    minerals_only: bool = False
    not_theirs: tuple[str, ...] = ()


@dataclass(frozen=True)
class FedWhy:
    """What a ration already fed carries, wastes and leaves, and the cheapest change that puts it
    right (None: nothing wrong). passed: limits of feeds that it passes by so much, or for safety,
    that the change heeds them.
    """

    carried: CarriedProduct | None
    wasted: Waste | None
    leaves: Excretion | None
    fix: Fix | None
    passed: tuple[PassedLimit, ...] = ()


def explain_fed(farm: Farm, fed: FedSupply) -> FedWhy:
    """All of it for one group's fed ration."""
    group = farm.group(fed.group)
    feeds = {offer.id: offer.feed for offer in farm.offers}
    parts = [(feeds[amount.offer], amount.kg_dm) for amount in fed.amounts]
    block = make_block(farm, group, fed.needs)
    return FedWhy(
        carried=carried(group, parts),
        wasted=wasted(fed.needs, parts),
        leaves=excretion(group, fed.needs, parts, fed.level_of_feeding),
        fix=fix_fed(farm, fed),
        passed=limits_heeded(block, {amount.offer: amount.kg_dm for amount in fed.amounts}),
    )


def limits_heeded(block: Block, fed_kg: Mapping[str, float]) -> tuple[PassedLimit, ...]:
    """Limits of feeds that amounts [kg DM a head a day] pass by more than anybody acts on, those
    for safety by anything; of minerals fed at less than the printed rate nothing is said here.
    """
    act = loading_figure("act_limit") / 100.0
    passed = passed_limits(block, fed_kg)
    return tuple(
        limit
        for limit in passed
        if limit.key != block.key("minerals") and (limit.safety or limit.by > act)
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
        return Fix((), 0.0, not_theirs=tuple(_not_theirs(farm, fed, block)))
    model = _opened(block, fed_kg)
    if model.infeasible:
        return Fix((), 0.0)
    right = _ration(model, fed_kg, ())
    if right is not None and not _fattening(fed):
        return _minerals_mended(model, fed_kg)
    enough = _enough(model, fed_kg)
    if right is not None:
        return _leaner(model, fed_kg, right[0], enough) or _minerals_mended(model, fed_kg)
    if enough and _less_than_weighed(block, fed_kg, enough[0][1]):
        lacks = lacking(block, fed_kg)
        if lacks:
            return Fix((), 0.0, lacks)
    for _, wanted, pair in enough[:MOST_PAIRS_TIDIED]:
        then = _weighed(model, fed_kg, wanted, pair)
        if then is not None:
            return _fix(block, fed_kg, then)
    return Fix((), 0.0)


_Enough = tuple[float, dict[str, float], tuple[Offer, Offer]]


def _enough(model: BlockModel, fed_kg: Mapping[str, float]) -> list[_Enough]:
    """Every pair of feeds whose change, with minerals, keeps all needs and limits: cost compared,
    kg DM by offer and the pair, cheapest first.
    """
    movable = [offer for offer in model.block.offers if offer.feed.kind != "mineral"]
    minerals = tuple(offer for offer in model.block.offers if offer.feed.kind == "mineral")
    enough = []
    for pair in itertools.combinations(movable, 2):
        cost_and_kg = _ration(model, fed_kg, pair, minerals)
        if cost_and_kg is not None:
            enough.append((*cost_and_kg, pair))
    return sorted(enough, key=lambda one: one[0])


def _fattening(fed: FedSupply) -> bool:
    """Whether a ration brings more energy than its ceiling allows: a penalty, but they fatten."""
    return any(
        line.quantity == "me_mj" and line.high is not None and line.supply > _OVER * line.high
        for line in fed.supply
    )


def _leaner(
    model: BlockModel, fed_kg: Mapping[str, float], cost: float, enough: Sequence[_Enough]
) -> Fix | None:
    """A change of two feeds that brings energy down towards its ceiling, where it costs less with
    the penalty counted than the ration as it is fed; None where none does.
    """
    if not enough or enough[0][0] > cost - _LEAST_GAIN:
        return None
    _, wanted, pair = enough[0]
    then = _weighed(model, fed_kg, wanted, pair, leanest=True)
    if then is None:
        return None
    return _fix(model.block, fed_kg, then)


def _not_theirs(farm: Farm, fed: FedSupply, block: Block) -> Iterator[str]:
    """Why the group may not be given what it is fed, a sentence a feed."""
    group, allowed = farm.group(fed.group), {offer.id for offer in block.offers}
    others = not_for_them(group, fed.needs, farm.offers)
    for amount in fed.amounts:
        name = farm.offer(amount.offer).name
        if amount.offer in allowed:
            continue
        if amount.offer in group.barred:
            yield f"{name} is barred for this group and fed all the same"
        elif amount.offer in kept_for_others(farm, group):
            yield f"{name} is kept for other groups and fed all the same"
        else:
            why = others.get(amount.offer, f"{name} is left out: a caution keeps it from them.")
            yield why.removesuffix(".")


def _opened(block: Block, fed_kg: Mapping[str, float]) -> BlockModel:
    """The block in the solver; its fixed minerals at most as printed, or as they are fed; limits
    passed by less than anybody acts on, as they are passed.
    """
    minerals, program = block.key("minerals"), build([block])
    heeded = {limit.key for limit in limits_heeded(block, fed_kg)}
    near = {limit.key for limit in passed_limits(block, fed_kg)} - heeded - {minerals}
    eaten = {block.feed(offer): kg for offer, kg in block.fed(fed_kg)}
    eaten[block.key("dm")] = sum(fed_kg.values())
    rows = []
    for row in program.rows:
        fed = sum(coef * eaten.get(key, 0.0) for key, coef in row.coefs.items())
        loose = _LOOSE * max(abs(fed), 1.0)
        if row.key == minerals:
            rows.append(replace(row, low=-inf, high=max(row.high, fed * (1.0 + _LOOSE))))
        elif row.key in near:
            low, high = min(row.low, fed - loose), max(row.high, fed + loose)
            rows.append(replace(row, low=low, high=high))
        else:
            rows.append(row)
    model = BlockModel(block, (), Program(program.columns, tuple(rows)))
    if model.need is not None:
        model.find_interval()
    return model


def _minerals_mended(model: BlockModel, fed_kg: Mapping[str, float]) -> Fix | None:
    """What minerals of the list put right in a ration that lacks nothing else, and what is short
    where none does; None where nothing is short or no mineral is on the list.
    """
    block = model.block
    short = still_short(block, fed_kg)
    minerals = tuple(offer for offer in block.offers if offer.feed.kind == "mineral")
    if not short or not minerals:
        return None
    unmended = Fix((), 0.0, short, minerals_only=True)
    wanted = _ration(model, fed_kg, (), minerals)
    if wanted is None:
        return unmended
    then = {**dict.fromkeys(wanted[1], 0.0), **fed_kg}
    then |= mineral_amounts(block, fed_kg, wanted[1])
    fix = _fix(block, fed_kg, then)
    mends = len(fix.still_short) < len(short)
    if not fix.changes or not mends or _ration(model, then, ()) is None:
        return unmended
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
    leanest: bool = False,
) -> dict[str, float] | None:
    """A change of two feeds and of minerals in amounts that can be weighed: the cheapest that was
    found enough when all of it was held, leanest: with the penalty on energy counted; None where
    none was.
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
        best: tuple[float, dict[str, float]] | None = None
        for kg in tries:
            moved = {offer.id: one for offer, one in zip(pair, kg, strict=True)}
            then = {**before, **of_minerals, **moved}
            changed = {name for name, one in then.items() if one != before[name]}
            if not worth_feeding(block, then, changed):
                continue
            held = _ration(model, then, ())
            if held is not None and not leanest:
                return then
            if held is not None and (best is None or held[0] < best[0]):
                best = (held[0], then)
        if best is not None:
            return best[1]
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
