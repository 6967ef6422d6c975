"""The price of a promise in one group on one day: cost against methane, nitrogen excreted, soya or
bought concentrates, every corner a proven ration.

A weight on a measure is a price on every feed, so each corner is the cheapest ration at other
prices, solved and proved as any ration is. Methane is held at the level of feeding of the cheapest
ration, so that it is linear in the feeds; what a corner has at its own level stands beside it.
"""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Collection, Mapping
from math import inf

from rationlp.after.methane import ERROR_SHARE
from rationlp.ask.corners import Frontier, Place, walk
from rationlp.ask.measures import METHANE, NITROGEN, Amounts, Measure, Promise, amounts_of
from rationlp.farm.farm import Farm
from rationlp.model.block_ration import NoOptimum, Optimum, gap_closed, optimum_of, solve_block
from rationlp.model.lp import Program, Row
from rationlp.model.points import Point
from rationlp.model.ration import NOTHING_KG, eat, make_blocks
from rationlp.model.reserves import eased
from rationlp.model.rows import build
from rationlp.model.rows.block import Block
from rationlp.needs.energy import plain_level
from rationlp.records import dataclass
from rationlp.rules.feed_carbon import BoughtCarbon, bought_carbon
from rationlp.wintering.parts import with_relief

TOLERANCE = 1e-5
"""A corner is looked for no closer to the line than this [share of the least cost]."""
ON_A_CURVE = 2e-3
"""The same where the frontier is a curve, as by NRC (2001)."""
SAME_KG_DM = 1e-3
"""A feed that moves by less than this between two corners has not moved [kg DM a head a day]."""
NO_PENALTY = 1e-9
"""A penalty this small is none [share of the price of a MJ]."""
LEAST_PROMISE = 1e-6
"""A promise is kept to this share of it; a promise of nought to so much of a kilogram fresh."""


@dataclass(frozen=True)
class PromiseCorner:
    """A ration on the way to less, a head a day [currency]. amount: in the measure's unit; at_own:
    methane at the ration's own level of feeding, None for others. cost: least cost with its priced
    penalties; feed_cost: of the feed alone, the money. lower_bound: nothing of so much or less
    costs less.

    next_price: what a kilogram less costs from here to the next corner, None at the last. within:
    the difference to the cheapest ration lies inside the error of the equation. more, less: names
    of feeds of which there is more and less than at the corner before.
    """

    amount: float
    at_own: float | None
    cost: float
    feed_cost: float
    lower_bound: float
    proven: bool
    kg_dm: dict[str, float]
    carbon: BoughtCarbon
    next_price: float | None = None
    within_error: bool = False
    more: tuple[str, ...] = ()
    less: tuple[str, ...] = ()


@dataclass(frozen=True)
class PromisedRation:
    """A promise kept exactly. most: at most so many of `unit`; corner: the cheapest ration that
    keeps it, None where none does. extra: what its feed costs more than the cheapest [currency a
    head a day]. none_proved: that none does is proved, at every level of feeding.
    """

    measure: str
    unit: str
    most: float
    corner: PromiseCorner | None
    extra: float | None
    none_proved: bool = False


@dataclass(frozen=True)
class PromiseWay:
    """The way from the cheapest ration to the least of a measure. corners: at least one. unit: of
    amounts, per_kg of which are a kilogram.
    """

    measure: str
    title: str
    unit: str
    per_kg: float
    corners: tuple[PromiseCorner, ...]


@dataclass(frozen=True)
class GroupPromise:
    """The price of promises in one group. level: of feeding at which methane is counted [-]. ways:
    empty with a reason.
    """

    group: str
    name: str
    head: int
    level: float | None
    ways: tuple[PromiseWay, ...]
    promised: tuple[PromisedRation, ...]
    reason: str = ""


@dataclass(frozen=True)
class Promises:
    """The price of promises on a farm's groups as on one day."""

    farm: Farm
    groups: tuple[GroupPromise, ...]


def price_of_promises(
    farm: Farm,
    groups: Collection[str] | None,
    measures: Collection[Measure],
    promises: Collection[Promise] = (),
) -> Promises:
    """The ways to less in each group. farm: its groups as on one day.

    Raises InputError for groups not known and missing figures, SolverTrouble where the solver
    fails.
    """
    answers = []
    for block in make_blocks(farm, groups):
        answers.append(_group_promise(with_relief(farm, eased(farm, block)), measures, promises))
    return Promises(farm, tuple(answers))


def _group_promise(
    block: Block, measures: Collection[Measure], promises: Collection[Promise]
) -> GroupPromise:
    group = block.group
    none = GroupPromise(group.id, group.name, group.head, None, (), ())
    question = question_of(block)
    if question is None:
        return dataclasses.replace(none, reason="it has no ration: see `rationlp ration`")
    level = question.cheapest.level
    unknown = () if block.needs.energy is not None else (METHANE, NITROGEN)
    asked = [measure for measure in measures if measure not in unknown]
    kept = [promise for promise in promises if promise.measure not in unknown]
    ways = tuple(_way(question, amounts_of(measure, block, level)) for measure in asked)
    promised = tuple(_promised(question, promise) for promise in kept)
    reason = ""
    if len(asked) + len(kept) < len(measures) + len(promises):
        reason = "methane and nitrogen go by facts of the animals that are not known here"
    return dataclasses.replace(none, level=level, ways=ways, promised=promised, reason=reason)


@dataclass(frozen=True)
class GroupQuestion:
    """A block with its cheapest ration, and the programme in which no other ration goes shorter:
    what is priced and no money (shortages, energy above the ceiling) stays within what it is in the
    cheapest, or less of a measure would be bought by leaving the animals short.
    """

    block: Block
    program: Program
    cheapest: Optimum

    def at(
        self, amounts: Amounts, weight: float, near: Point | None = None
    ) -> Place[Optimum] | None:
        """The cheapest ration with a weight on a measure [currency a unit], None without one. near:
        where one much like it stands.
        """
        columns = [
            dataclasses.replace(column, cost=column.cost + weight * amounts.of_column(column.key))
            for column in self.program.columns
        ]
        optimum = optimum_of(self.block, Program(tuple(columns), self.program.rows), near)
        if optimum is None:
            return None
        amount, fixed = amounts.of(optimum.values), weight * amounts.fixed
        cost = optimum.objective - weight * amount + fixed
        return Place(weight, cost, amount, optimum.lower_bound + fixed, optimum)

    def frontier(self, amounts: Amounts) -> Frontier[Optimum]:
        """Every corner between the least cost and the least of a measure; of a curve, so many that
        the lines between them lie within `ON_A_CURVE` of it.
        """
        if self.cheapest.point is None:
            return walk(lambda weight: self.at(amounts, weight), self.block.mj_price, TOLERANCE)
        near = [self.cheapest.point]

        def beside_the_last(weight: float) -> Place[Optimum] | None:
            place = self.at(amounts, weight, near[-1])
            if place is not None and place.answer.point is not None:
                near.append(place.answer.point)
            return place

        return walk(beside_the_last, self.block.mj_price, ON_A_CURVE)

    def capped(self, amounts: Amounts, most: float) -> Optimum | NoOptimum:
        """The cheapest ration with at most so much of a measure, or that there is none."""
        coefs = {
            self.block.feed(offer): amounts.per_kg_dm.get(offer.id, 0.0)
            for offer in self.block.offers
        }
        high = most - amounts.fixed + LEAST_PROMISE * max(most, 1.0)
        unit, title = amounts.measure.unit, f"promised: {amounts.measure.title.lower()}"
        row = Row(self.block.key("promise"), coefs, -inf, high, "limit", unit, title)
        rows = (*self.program.rows, row)
        program = Program(self.program.columns, rows)
        return solve_block(self.block, program, self.cheapest.point)


def question_of(block: Block) -> GroupQuestion | None:
    """The question of a block, None where it has no ration."""
    cheapest = optimum_of(block)
    if cheapest is None:
        return None
    program = build([block])
    priced = {
        column.key: column.cost
        for column in program.columns
        if column.cost and column.key[0] != "feed"
    }
    if not priced:
        return GroupQuestion(block, program, cheapest)
    penalty = max(cheapest.objective - feed_cost(block, cheapest.values), 0.0)
    high = penalty + NO_PENALTY * block.mj_price
    row = Row(block.key("no_shorter"), priced, -inf, high, "limit", "", "as short as the cheapest")
    return GroupQuestion(block, Program(program.columns, (*program.rows, row)), cheapest)


def feed_cost(block: Block, kg_dm: Mapping[str, float]) -> float:
    """What the feed of a ration costs [currency a head a day]."""
    return sum(kg * offer.price_per_kg_dm for offer, kg in block.fed(kg_dm))


def _way(question: GroupQuestion, amounts: Amounts) -> PromiseWay:
    frontier, measure = question.frontier(amounts), amounts.measure
    corners = [
        _corner(question.block, amounts, place, frontier.least_cost(place.amount))
        for place in frontier.corners
    ]
    told = [corners[0]]
    for before, corner in itertools.pairwise(corners):
        more, less = moved(question.block, before.kg_dm, corner.kg_dm)
        price = measure.per_kg * (corner.cost - before.cost) / (before.amount - corner.amount)
        told[-1] = dataclasses.replace(told[-1], next_price=price)
        within = measure == METHANE and corner.amount > (1.0 - ERROR_SHARE) * corners[0].amount
        told.append(dataclasses.replace(corner, more=more, less=less, within_error=within))
    return PromiseWay(measure.name, measure.title, measure.unit, measure.per_kg, tuple(told))


def _corner(
    block: Block, amounts: Amounts, place: Place[Optimum], lower_bound: float
) -> PromiseCorner:
    kg_dm = {name: kg for name, kg in place.answer.values.items() if kg > NOTHING_KG}
    at_own = None
    if amounts.measure == METHANE:
        own = amounts_of(METHANE, block, plain_level(eat(block, kg_dm, {}).level))
        at_own = own.of(kg_dm)
    fed = block.fed(kg_dm)
    return PromiseCorner(
        amount=place.amount,
        at_own=at_own,
        cost=place.cost,
        feed_cost=feed_cost(block, kg_dm),
        lower_bound=min(lower_bound, place.cost),
        proven=gap_closed(place.answer),
        kg_dm=kg_dm,
        carbon=bought_carbon(fed),
    )


def moved(
    block: Block, before: Mapping[str, float], after: Mapping[str, float]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Names of the feeds of which there is more, and less, most moved first."""
    changes = [
        (after.get(offer.id, 0.0) - before.get(offer.id, 0.0), offer.name)
        for offer in block.offers
        if offer.feed.kind != "mineral"
    ]
    changes = [change for change in changes if abs(change[0]) > SAME_KG_DM]
    changes.sort(key=lambda change: -abs(change[0]))
    return (
        tuple(name for change, name in changes if change > 0.0),
        tuple(name for change, name in changes if change < 0.0),
    )


def _promised(question: GroupQuestion, promise: Promise) -> PromisedRation:
    """The cheapest ration that keeps a promise, proved with the promise as a row."""
    measure, block, cheapest = promise.measure, question.block, question.cheapest
    amounts = amounts_of(measure, block, cheapest.level)
    answer = question.capped(amounts, promise.most)
    if isinstance(answer, NoOptimum):
        none = PromisedRation(measure.name, measure.unit, promise.most, None, None)
        return dataclasses.replace(none, none_proved=answer.proved)
    place = Place(0.0, answer.objective, amounts.of(answer.values), answer.lower_bound, answer)
    corner = _corner(block, amounts, place, answer.lower_bound)
    more, less = moved(block, cheapest.values, corner.kg_dm)
    extra = corner.feed_cost - feed_cost(block, cheapest.values)
    return PromisedRation(
        measure.name,
        measure.unit,
        promise.most,
        dataclasses.replace(corner, more=more, less=less),
        extra,
    )
