"""The price of a promise over the whole winter: every corner a plan of all groups to turnout.

As for a group (ask/promise.py), with the open plan in place of a ration: the measure is summed up
over head and days, methane at the level of feeding that each ration of the cheapest plan has. Every
corner is settled, certified and bounded at the levels of feeding that it came to; no ration of it
may go shorter of anything than in the cheapest plan.
"""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Collection
from math import inf

from rationlp.after.methane import ERROR_SHARE
from rationlp.ask.corners import Frontier, Place, walk
from rationlp.ask.measures import MEAL, METHANE, SOYA, Measure, Promise, amounts_of
from rationlp.ask.stores import NO_PLAN, WHOLE_LOADS, OpenWinter
from rationlp.errors import InputError
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.farm.group_names import no_such_groups
from rationlp.model.lp import Key, Row
from rationlp.model.points import number_held
from rationlp.records import dataclass
from rationlp.rules.feed_carbon import BoughtCarbon, bought_carbon
from rationlp.wintering.improved import improve
from rationlp.wintering.levels import AcceptedPlan, settle_plan
from rationlp.wintering.parts import Run

TOLERANCE = 3e-4
"""A corner is looked for no closer to the line than this [share of the least cost]."""
NO_PENALTY = 1e-6
"""What a run may be shorter than in the cheapest plan [price of a MJ, for the whole run]."""
_PROMISE: Key = ("promise",)
SAME_T_FRESH = 0.05
"""A feed that moves by less than this between two plans has not moved [t fresh]."""


@dataclass(frozen=True)
class WinterCorner:
    """A plan on the way to less, for the whole winter. amount [kg]; cost: with priced penalties,
    sales taken off; lower_bound: no plan of so much or less, at its levels of feeding, costs less
    [currency].

    next_price: what a kilogram less costs from here to the next corner, None at the last. t_fresh:
    put out, by offer id. passed: certified and adequate from its kilograms. more, less: feeds with
    t fresh more and less than at the corner before.
    """

    amount: float
    cost: float
    lower_bound: float
    passed: bool
    t_fresh: dict[str, float]
    carbon: BoughtCarbon
    next_price: float | None = None
    within_error: bool = False
    more: tuple[str, ...] = ()
    less: tuple[str, ...] = ()


@dataclass(frozen=True)
class PromisedPlan:
    """A promise kept over the winter. most [kg a head]; corner: None where no plan was found that
    keeps it. extra: what it costs more than the cheapest plan [currency].
    """

    measure: str
    most: float
    corner: WinterCorner | None
    extra: float | None


@dataclass(frozen=True)
class WinterWay:
    """The way from the cheapest plan to the least of a measure."""

    measure: str
    title: str
    corners: tuple[WinterCorner, ...]
    unit: str = "kg"
    per_kg: float = 1.0


@dataclass(frozen=True)
class WinterPromise:
    """The price of promises over the winter. groups: ids of those whose amounts are counted; head:
    how many animals, as a mean over the winter. ways: empty with a reason.
    """

    farm: Farm
    groups: tuple[str, ...]
    head: float
    ways: tuple[WinterWay, ...]
    promised: tuple[PromisedPlan, ...]
    reason: str = ""


@dataclass(frozen=True)
class WinterSum:
    """A measure over the winter: Σ by_column · column + fixed [kg]."""

    measure: Measure
    by_column: dict[Key, float]
    fixed: float


def winter_promises(
    farm: Farm,
    groups: Collection[str] | None,
    measures: Collection[Measure],
    promises: Collection[Promise] = (),
) -> WinterPromise:
    """The ways to less over the winter. groups: whose amounts are counted; all are planned.

    Raises InputError for groups not known, missing figures and impossible days, SolverTrouble where
    the solver fails.
    """
    if groups is not None and (findings := no_such_groups(farm.groups, groups)):
        raise InputError(findings)
    counted = tuple(group.id for group in farm.groups if groups is None or group.id in groups)
    winter = OpenWinter(farm)
    runs = [run for run in winter.yard.runs if _origin(run) in counted]
    head = sum(run.weight for run in runs) / (farm.turnout - farm.start).days
    none = WinterPromise(farm, counted, head, (), ())
    if winter.solution is None:
        return dataclasses.replace(none, reason=NO_PLAN)
    if winter.whole:
        return dataclasses.replace(none, reason=WHOLE_LOADS)
    question = WinterQuestion(winter, counted)
    ways = tuple(question.way(measure) for measure in measures)
    promised = tuple(question.promised(promise, head) for promise in promises)
    return dataclasses.replace(none, ways=ways, promised=promised)


def _origin(run: Run) -> str:
    return run.block.group.origin or run.block.group.id


class WinterQuestion:
    """An open winter whose runs may go no shorter than in its cheapest plan; solved at weights."""

    def __init__(self, winter: OpenWinter, counted: Collection[str]) -> None:
        self.winter, self.model, self._counted = winter, winter.model, counted
        winter.improve()
        winter.back()
        self._own_costs, self._own_short = dict(self.model.costs), dict(self.model.short_costs)
        self._start = list(winter.touches)
        self._hold_penalties()

    def _hold_penalties(self) -> None:
        """A row a run: its priced shortages and excess stay within those of the cheapest plan."""
        assert self.winter.solution is not None
        for run, single in zip(self.model.runs, self.model.singles, strict=True):
            priced = {
                column.key: column.cost
                for column in single.program.columns
                if column.cost and column.key[0] != "feed"
            }
            if not priced:
                continue
            solution = self.winter.solution
            values = (cost * self.model.live.value(solution, key) for key, cost in priced.items())
            high = max(sum(values), 0.0) + NO_PENALTY * run.block.mj_price / run.weight
            title = "as short as in the cheapest plan"
            key = run.block.key("no_shorter")
            self.model.live.add_row(Row(key, priced, -inf, high, "limit", "", title))

    def sum_of(self, measure: Measure) -> WinterSum:
        """A measure over the runs that are counted."""
        by_column: dict[Key, float] = {}
        fixed = 0.0
        for number, run in enumerate(self.model.runs):
            if _origin(run) not in self._counted:
                continue
            level = None
            if run.block.needs.energy is not None:
                level = number_held(self.model.levels[number][0])
            amounts = amounts_of(measure, run.block, level)
            share = run.weight / measure.per_kg
            fixed += amounts.fixed * share
            for offer in run.block.offers:
                per_kg_dm = amounts.per_kg_dm.get(offer.id, 0.0)
                if per_kg_dm:
                    put_out = 1.0
                    if measure in (SOYA, MEAL):
                        put_out = run.put_out(offer)
                    by_column[run.block.feed(offer)] = per_kg_dm * share * put_out
        return WinterSum(measure, by_column, fixed)

    def at(self, total: WinterSum, weight: float, prove: bool = True) -> Place[AcceptedPlan] | None:
        """The cheapest plan with a weight on a measure [currency/kg], None without one. Without
        `prove` it is settled only, and nothing is said of what lies below.
        """
        costs = dict(self._own_costs)
        for key, amount in total.by_column.items():
            costs[key] = costs.get(key, 0.0) + weight * amount
        self.model.costs = costs
        self._price_shortage(total, weight)
        self.model.allow_shortage(False)
        plan = settle_plan(self.model, self._start)
        if plan is None:
            return None
        lower_bound = -inf
        if prove:
            plan, bound = improve(self.model, plan)
            lower_bound = bound.lower_bound + weight * total.fixed
        amount = self.amount(total, plan)
        cost = plan.cost - weight * (amount - total.fixed)
        return Place(weight, cost, amount, lower_bound, plan)

    def _price_shortage(self, total: WinterSum, weight: float) -> None:
        """A shortage on the way to a plan stays dearer than any feed with its weight."""
        dearest = max(map(abs, self._own_costs.values()), default=1.0)
        most = max(map(abs, total.by_column.values()), default=0.0)
        factor = 1.0 + weight * most / max(dearest, 1e-9)
        self.model.short_costs = {key: cost * factor for key, cost in self._own_short.items()}

    def amount(self, total: WinterSum, plan: AcceptedPlan) -> float:
        """A measure of a plan [kg]."""
        value, solution = self.model.live.value, plan.solution
        by_column = (amount * value(solution, key) for key, amount in total.by_column.items())
        return total.fixed + sum(by_column)

    def frontier(self, total: WinterSum) -> Frontier[AcceptedPlan]:
        """Every corner between the least cost and the least of a measure: a bound takes longer than
        a plan, so plans are settled first and the corners among them proved.
        """
        self.winter.back()
        settled = walk(lambda weight: self.at(total, weight, prove=False), 1.0, TOLERANCE)
        weights = [corner.weight for corner in settled.corners]
        proved = (self.at(total, weight) for weight in weights)
        return settled.joined(place for place in proved if place is not None)

    def way(self, measure: Measure) -> WinterWay:
        """The corners of a measure, told."""
        self.winter.back()
        frontier = self.frontier(self.sum_of(measure))
        corners = [
            self._corner(place, frontier.least_cost(place.amount)) for place in frontier.corners
        ]
        told = corners[:1]
        for before, corner in itertools.pairwise(corners):
            price = (corner.cost - before.cost) / (before.amount - corner.amount)
            told[-1] = dataclasses.replace(told[-1], next_price=price)
            within = measure == METHANE and corner.amount > (1.0 - ERROR_SHARE) * corners[0].amount
            more, less = self._moved(before, corner)
            told.append(dataclasses.replace(corner, more=more, less=less, within_error=within))
        return WinterWay(measure.name, measure.title, tuple(told))

    def promised(self, promise: Promise, head: float) -> PromisedPlan:
        """The cheapest plan that was found to keep a promise, with the promise as a row."""
        self.winter.back()
        total = self.sum_of(promise.measure)
        most = promise.most * head
        high = most - total.fixed + 1e-6 * max(most, 1.0)
        count = len(self.model.live.rows)
        cheapest = self.at(total, 0.0)
        self.winter.back()
        self.model.live.add_row(
            Row(_PROMISE, total.by_column, -inf, high, "limit", "kg", "promise")
        )
        place = self.at(total, 0.0)
        self.model.live.drop_rows_from(count)
        self.winter.back()
        if place is None or cheapest is None or not place.answer.adequate:
            return PromisedPlan(promise.measure.name, promise.most, None, None)
        corner = self._corner(place, place.lower_bound)
        more, less = self._moved(self._corner(cheapest, cheapest.lower_bound), corner)
        corner = dataclasses.replace(corner, more=more, less=less)
        extra = place.cost - cheapest.cost
        return PromisedPlan(promise.measure.name, promise.most, corner, extra)

    def _corner(self, place: Place[AcceptedPlan], lower_bound: float) -> WinterCorner:
        kg_dm = self._put_out(place.answer)
        fed = [(offer, kg_dm[offer.id]) for offer in self._offers() if offer.id in kg_dm]
        return WinterCorner(
            amount=place.amount,
            cost=place.cost,
            lower_bound=min(lower_bound, place.cost),
            passed=place.answer.passed,
            t_fresh={offer.id: kg / offer.feed.dm_g_per_kg for offer, kg in fed},
            carbon=bought_carbon(fed),
        )

    def _offers(self) -> tuple[Offer, ...]:
        return self.winter.yard.farm.offers

    def _put_out(self, plan: AcceptedPlan) -> dict[str, float]:
        """kg DM put out over the winter, by offer id."""
        kg_dm: dict[str, float] = {}
        for run in self.model.runs:
            for offer in run.block.offers:
                kg = self.model.live.value(plan.solution, run.block.feed(offer))
                put_out = max(kg, 0.0) * run.weight * run.put_out(offer)
                kg_dm[offer.id] = kg_dm.get(offer.id, 0.0) + put_out
        return kg_dm

    def _moved(
        self, before: WinterCorner, after: WinterCorner
    ) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """Feeds of which there is more, and less, with the t fresh, most moved first."""
        changes = [
            (after.t_fresh.get(offer.id, 0.0) - before.t_fresh.get(offer.id, 0.0), offer.name)
            for offer in self._offers()
            if offer.feed.kind != "mineral"
        ]
        changes = [change for change in changes if abs(change[0]) > SAME_T_FRESH]
        changes.sort(key=lambda change: -abs(change[0]))
        return (
            tuple(f"{name} {t:,.1f} t" for t, name in changes if t > 0.0),
            tuple(f"{name} {-t:,.1f} t" for t, name in changes if t < 0.0),
        )
