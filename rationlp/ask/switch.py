"""A switch from one forage to another by share: what each share costs a head a day, where the
ration turns, what it proves.

The two forages are taken as available without end at the farm's prices; other forages but straw are
left out, so that the share is one of the two alone. Where the set of feeds and of limits that press
changes, the curve has a breakpoint; between breakpoints it is smooth and is sampled until a
straight line through its points is close enough. Every point shown is proved for itself.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Iterable
from math import inf

from rationlp.after.changeover import ChangeOver, change_over
from rationlp.ask.breaks import NO_BASIS, Reading, Turn, find_turns
from rationlp.ask.engine import BOUND, GroupEngine
from rationlp.ask.names import pair_named
from rationlp.ask.pay import pay_price
from rationlp.ask.why import Reasons, why_block
from rationlp.errors import Finding, InputError, refused
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.halving import halve
from rationlp.model.block_ration import NoOptimum, Optimum, gap_closed, optimum_of, solve_block
from rationlp.model.bound import close_enough
from rationlp.model.ration import make_blocks
from rationlp.model.rows.block import Block, Pair
from rationlp.model.solution import Status
from rationlp.records import dataclass

CURVE_TOLERANCE = 1e-4
"""The curve lies this close to the straight line between two points [share of the cost]."""
PROVEN_GAP = 1e-4
"""A point is proven when nothing is cheaper by more than this [share of the cost]."""
SHARE_STEP = 1e-7
"""To this a breakpoint is found [share]."""
FIRST_SHARES = 21
ENERGY, PROTEIN = "me_mj_per_kg_dm", "cp_g_per_kg_dm"


@dataclass(frozen=True)
class SwitchPoint:
    """One share of the switch, a head a day [currency]. cost: least cost with its priced penalties;
    lower_bound: nothing costs less; feed_cost: of the feed alone, the money.

    kg_dm: by offer id. bought_cost [currency], bought_me_mj, bought_cp_g: what bought feed brings a
    head a day. enters, leaves: names of feeds on the side of larger shares; begins, ends: limits
    that press there. turn: a breakpoint.
    """

    share: float
    cost: float
    lower_bound: float
    feed_cost: float
    proven: bool
    turn: bool
    kg_dm: dict[str, float]
    bought_cost: float
    bought_me_mj: float
    bought_cp_g: float
    enters: tuple[str, ...] = ()
    leaves: tuple[str, ...] = ()
    begins: tuple[str, ...] = ()
    ends: tuple[str, ...] = ()


@dataclass(frozen=True)
class BarredShares:
    """Shares from low to high that have no ration, and the limits and needs that bar them."""

    low: float
    high: float
    by: tuple[str, ...]


@dataclass(frozen=True)
class GroupSwitch:
    """A switch in one group. points: by share. best: the cheapest share, proved with the share left
    free. cost_per_kg_milk: of the whole switch, None for groups not in milk. pays_below: price of
    the second forage [currency/t fresh] below which the most of it costs no more than the least of
    it, comes_in_below: below which the first kg of it comes in; None with a reason.
    """

    group: str
    name: str
    head: int
    days: int
    points: tuple[SwitchPoint, ...]
    barred: tuple[BarredShares, ...]
    best: SwitchPoint | None
    cost_per_kg_milk: float | None
    pays_below: float | None
    comes_in_below: float | None
    change: ChangeOver | None
    reason: str = ""

    @property
    def whole_change(self) -> float | None:
        """What the largest share's feed costs more than the smallest's [currency a head a day]."""
        if not self.points:
            return None
        return self.points[-1].feed_cost - self.points[0].feed_cost


@dataclass(frozen=True)
class Switch:
    """The switch of a farm by share: from `first` to `second`, group by group."""

    farm: Farm
    first: Offer
    second: Offer
    groups: tuple[GroupSwitch, ...]


def the_pair(farm: Farm, names: tuple[str, str]) -> tuple[Offer, Offer]:
    """The two forages of a switch. Raises one InputError for all that is wrong with the names."""
    return pair_named(farm, names, _no_forage, "name two forages")


def _no_forage(offer: Offer, where: str) -> Finding | None:
    if offer.feed.is_forage:
        return None
    remedy = "name a silage, hay, straw or other forage"
    return Finding("IN542", where, f'"{offer.id}" is no forage but {offer.feed.kind}', remedy)


def switch_by_share(
    farm: Farm, names: tuple[str, str], groups: Collection[str] | None = None
) -> Switch:
    """The switch in every group that may eat both forages (or in those of `groups`). farm: its
    groups as on one day.

    Raises InputError for names and groups not known, and where no group may eat both.
    """
    first, second = the_pair(farm, names)
    answers = []
    for block in make_blocks(farm, groups):
        ids = {offer.id for offer in block.offers}
        if first.id in ids and second.id in ids:
            answers.append(_group_switch(farm, with_pair(block, first, second)))
    if not answers:
        raise nobody_eats_both(first, second)
    return Switch(farm, first, second, tuple(answers))


def nobody_eats_both(first: Offer, second: Offer) -> InputError:
    """That no group may eat both forages of a switch."""
    trouble = f'no group may eat both "{first.id}" and "{second.id}"'
    remedy = "look at barred, kept_for and the cautions of `rationlp check`"
    return refused("IN543", "--from and --to", trouble, remedy)


def why_switch(switch: Switch) -> dict[str, Reasons]:
    """By group id, the reasons of the ration at the cheapest share, that share held, the two
    forages and straw its only forages; groups without a cheapest share are left out.
    """
    reasons: dict[str, Reasons] = {}
    for block in make_blocks(switch.farm, [group.group for group in switch.groups]):
        best = next(group.best for group in switch.groups if group.group == block.group.id)
        if best is not None:
            pair = Pair(switch.first.id, switch.second.id, best.share)
            alone = with_pair(block, switch.first, switch.second)
            why = why_block(switch.farm, dataclasses.replace(alone, pair=pair), best.kg_dm)
            if why is not None:
                reasons[block.group.id] = why
    return reasons


def with_pair(block: Block, first: Offer, second: Offer) -> Block:
    """The block with the two forages and straw for its only forages."""
    out = [offer for offer in block.offers if offer.feed.is_forage and offer.feed.kind != "straw"]
    away = {offer.id for offer in out} - {first.id, second.id}
    offers = tuple(offer for offer in block.offers if offer.id not in away)
    return dataclasses.replace(block, offers=offers, pair=Pair(first.id, second.id, 0.5))


@dataclass(frozen=True)
class _Question:
    """A group's block with a pair, its engine, and the shares that have a ration."""

    block: Block
    engine: GroupEngine
    low: float
    high: float

    def at(self, share: float) -> Reading:
        """The settled answer at a share."""
        self.engine.share(share)
        ration = self.engine.again()
        pair = self.block.pair
        assert pair is not None
        eaten = {name for name, kg in ration.amounts.items() if kg > BOUND}
        feeds = frozenset(eaten - {pair.first, pair.second})
        return Reading(share, ration.objective, (feeds, pressing(self.engine, ration.duals)))


def pressing(engine: GroupEngine, duals: Iterable[float]) -> frozenset[str]:
    """Titles of limits and needs whose row carries a price."""
    rows = zip(engine.model.live.rows, duals, strict=False)
    priced = (row for row, dual in rows if abs(dual) > BOUND)
    return frozenset(row.title for row in priced if row.kind in ("limit", "need", "ceiling"))


@dataclass(frozen=True)
class RationAt:
    """A ration at a share: objective and lower bound [currency a head a day], kg DM by offer id."""

    cost: float
    lower_bound: float
    kg_dm: dict[str, float]
    proven: bool


def ration_at(block: Block, engine: GroupEngine, share: float) -> RationAt | None:
    """The ration at a share with its bound: the engine's if that closes the gap, else afresh."""
    engine.share(share)
    settled = engine.again()
    bound = engine.lower_bound()
    unit = engine.model.live.unit
    if settled.exists and close_enough(settled.objective, bound, PROVEN_GAP, unit):
        return RationAt(settled.objective, bound, settled.amounts, True)
    pair = block.pair
    assert pair is not None
    proved = optimum_of(dataclasses.replace(block, pair=dataclasses.replace(pair, share=share)))
    if proved is None:
        return None
    return _of(proved)


def _of(proved: Optimum) -> RationAt:
    return RationAt(proved.objective, proved.lower_bound, proved.values, gap_closed(proved))


def _point(block: Block, share: float, ration: RationAt, turn: Turn | None) -> SwitchPoint:
    bought = [(offer, ration.kg_dm[offer.id]) for offer in block.offers if offer.bought]
    names = {offer.id: offer.name for offer in block.offers}

    def named(ids: Iterable[str]) -> tuple[str, ...]:
        return tuple(names[name] for name in names if name in set(ids))

    before = after = NO_BASIS
    if turn is not None:
        before, after = turn.before, turn.after
    return SwitchPoint(
        share=share,
        cost=ration.cost,
        lower_bound=ration.lower_bound,
        feed_cost=sum(ration.kg_dm[offer.id] * offer.price_per_kg_dm for offer in block.offers),
        proven=ration.proven,
        turn=turn is not None,
        kg_dm={name: kg for name, kg in ration.kg_dm.items() if kg > BOUND},
        bought_cost=sum(kg * offer.price_per_kg_dm for offer, kg in bought),
        bought_me_mj=sum(kg * (offer.feed.value(ENERGY) or 0.0) for offer, kg in bought),
        bought_cp_g=sum(kg * (offer.feed.value(PROTEIN) or 0.0) for offer, kg in bought),
        enters=named(after[0] - before[0]),
        leaves=named(before[0] - after[0]),
        begins=tuple(sorted(after[1] - before[1])),
        ends=tuple(sorted(before[1] - after[1])),
    )


def _group_switch(farm: Farm, block: Block) -> GroupSwitch:
    group = block.group
    days = (farm.turnout - (farm.day or farm.start)).days
    empty = GroupSwitch(
        group.id, group.name, group.head, days, (), (), None, None, None, None, None
    )
    free = cheapest_share(block)
    if isinstance(free, str):
        return dataclasses.replace(empty, reason=free)
    engine, optimum, best_share = free
    low, high = (_last_share(engine, best_share, end) for end in (0.0, 1.0))
    points = _points(_Question(block, engine, low, high))
    if not points:
        return dataclasses.replace(empty, reason="no share has a ration that can be proved")
    barred = []
    if low > SHARE_STEP:
        barred.append(BarredShares(0.0, low, _why_barred(engine, max(low - 0.01, 0.0), 1.0)))
    if 1.0 - high > SHARE_STEP:
        barred.append(BarredShares(high, 1.0, _why_barred(engine, min(high + 0.01, 1.0), -1.0)))
    cost_per_kg_milk = None
    if milk := float(group.facts.get("milk_kg_per_day", 0.0)):
        cost_per_kg_milk = (points[-1].feed_cost - points[0].feed_cost) / milk
    pays, comes_in = pay_price(block, engine, points[0].cost, (low, high))
    return dataclasses.replace(
        empty,
        points=points,
        barred=tuple(barred),
        best=_point(block, best_share, _of(optimum), None),
        cost_per_kg_milk=cost_per_kg_milk,
        pays_below=pays,
        comes_in_below=comes_in,
        change=change_over(farm, block.needs, points[0].kg_dm, points[-1].kg_dm),
    )


def cheapest_share(block: Block) -> tuple[GroupEngine, Optimum, float] | str:
    """An engine at the cheapest share of the two forages, its ration and share; or why not."""
    assert block.pair is not None
    free = solve_block(dataclasses.replace(block, pair=None))
    if isinstance(free, NoOptimum):
        return "no ration exists with these two forages and straw alone"
    second = free.values[block.pair.second]
    both = free.values[block.pair.first] + second
    if both <= BOUND:
        return "the cheapest ration holds neither of the two"
    pair = dataclasses.replace(block.pair, share=second / both)
    return GroupEngine(dataclasses.replace(block, pair=pair)), free, second / both


def _last_share(engine: GroupEngine, inside: float, end: float) -> float:
    """The share nearest to `end` that has a ration, coming from one that has."""

    def exists(share: float) -> bool:
        engine.share(share)
        return engine.again().exists

    if exists(end):
        return end
    good, _ = halve(exists, inside, end, 0.1 * SHARE_STEP)
    engine.share(good)
    engine.back()
    return good


def _points(question: _Question) -> tuple[SwitchPoint, ...]:
    """Both ends, every breakpoint, and between them what the tolerance needs, all proved."""
    question.engine.share(question.low)
    question.engine.back()
    width, count = question.high - question.low, FIRST_SHARES - 1
    shares = [question.low + width * number / count for number in range(count + 1)]
    turns, samples = find_turns(question.at, shares, SHARE_STEP, CURVE_TOLERANCE)
    at: dict[float, Turn | None] = dict.fromkeys(samples)
    at |= {turn.at: turn for turn in turns}
    points = []
    for share in sorted(at):
        ration = ration_at(question.block, question.engine, share)
        if ration is not None:
            points.append(_point(question.block, share, ration, at[share]))
    return tuple(points)


def _why_barred(engine: GroupEngine, share: float, side: float) -> tuple[str, ...]:
    """What presses when the distance from a share that has no ration is made as small as it can be.

    side: 1 where all rations have too much of the second forage for it, −1 where they have too
    little.
    """
    pair = engine.block.pair
    assert pair is not None
    row = engine.block.key("pair_share")
    live = engine.model.live
    first, second = engine.block.key("feed", pair.first), engine.block.key("feed", pair.second)
    engine.back()
    live.set_row_bounds(row, -inf, inf)
    engine.again()
    live.set_costs({second: side * (1.0 - share), first: -side * share})
    answer = live.solve()
    live.set_costs(engine.model.costs)
    live.set_row_bounds(row, 0.0, 0.0)
    if answer.status is not Status.OPTIMAL:
        return ()
    return tuple(sorted(pressing(engine, answer.row_duals)))
