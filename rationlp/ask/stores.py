"""What a tonne of each store is worth through the winter: marginal, and by a small change."""

from __future__ import annotations

import copy
import dataclasses
from collections.abc import Collection, Mapping
from datetime import date
from math import inf

from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.model.lp import Key
from rationlp.model.proof import Certificate, certify
from rationlp.model.solution import Solution
from rationlp.records import dataclass
from rationlp.stock.dry_matter import farm_stocks
from rationlp.wintering.alone import Alone
from rationlp.wintering.improved import improve
from rationlp.wintering.levels import AcceptedPlan, hold_levels, settle_plan, settled_nearby
from rationlp.wintering.links import KG_PER_T, Yard
from rationlp.wintering.parts import EasedBefore, winter_periods, winter_runs
from rationlp.wintering.search import RunName, WinterModel, begin, run_name
from rationlp.wintering.yard import WinterOptions, make_yard

SMALL_T = 0.1
"""The change that confirms a marginal value [t DM]; at most a hundredth of what is in store."""
WHOLE_LOADS = "feeds are bought by the whole load: a tonne more is worth nothing or a whole load"
NO_PLAN = "there is no plan for this winter"
NOT_EATEN = "none of it may be eaten"


@dataclass(frozen=True)
class StoreWorth:
    """What a tonne of a store is worth in the winter plan [currency/t DM and per t fresh].

    marginal: what one more tonne saves beyond what it counts for itself in the objective (its
    price). more: the same by solving with a little more; less: what a little less costs. They
    differ where the plan turns just here. replaces: marginal and price together, the bought and
    other feed that a tonne takes the place of; 0 where some is left over. None with a reason.
    """

    store: str
    name: str
    price_per_t_dm: float
    marginal: float | None
    more: float | None
    less: float | None
    replaces: float | None
    replaces_per_t_fresh: float | None
    reason: str = ""


class OpenWinter:
    """A winter's plan kept open at its settled energy rows: stores can be made larger and smaller.

    start: first day planned, None for the winter's first. like: a winter kept open of a farm much
    like this one: what they have in common is taken over, and this one is settled from its plan.
    solution: of the plan's programme, solved cold without `like`; None without a plan. Raises
    InputError as `solve_winter` does.
    """

    def __init__(
        self,
        farm: Farm,
        stocks: Mapping[str, StoreStock] | None = None,
        start: date | None = None,
        like: OpenWinter | None = None,
    ) -> None:
        self.yard = self._yard(farm, stocks or farm_stocks(farm), start, like)
        self.model: WinterModel = WinterModel(self.yard, {} if like is None else like._begun())
        self.solution: Solution | None = None
        self.whole = self.model.live.has_whole_numbers
        if self.model.infeasible:
            return
        plan = None if like is None else settled_nearby(self.model, like.model.live)
        if plan is None and like is not None:
            self.model = WinterModel(self.yard)
        plan = plan or settle_plan(self.model, begin(self.model))
        if plan is not None:
            self._hold(plan)

    def _yard(
        self,
        farm: Farm,
        stocks: Mapping[str, StoreStock],
        start: date | None,
        like: OpenWinter | None,
    ) -> Yard:
        """The stores and runs, with what a winter before knows of easing its animals."""
        self._eased: EasedBefore = EasedBefore() if like is None else like._eased
        waste = {name: stock.trough_loss for name, stock in stocks.items()}
        periods = winter_periods(farm, start)
        runs = winter_runs(farm, periods, waste, eased_before=self._eased)
        options = WinterOptions(start=start, faces="off", prove=False)
        return make_yard(farm, options, stocks, runs)

    def _begun(self) -> dict[RunName, Alone]:
        """Its runs by name, each with the start that the plan came to; none where there is no plan,
        and none whose rows move with the whole ration.
        """
        if self.solution is None:
            return {}
        begun = {}
        places = zip(self._plan.touches, self._plan.levels, strict=True)
        for run, single, (dm_kg, (level, _)) in zip(
            self.model.runs, self.model.singles, places, strict=True
        ):
            if not single.by_point:
                own = begun[run_name(run)] = copy.copy(single)
                own.start = (dm_kg, level)
        return begun

    def _hold(self, plan: AcceptedPlan) -> None:
        self._plan = plan
        self.solution, self.touches = plan.solution, list(plan.touches)

    def improve(self) -> None:
        """Look for a cheaper plan from other places, as its proof does, and hold that one."""
        if self.solution is not None:
            self._hold(improve(self.model, self._plan)[0])

    def with_change(self, change_t_dm: Mapping[str, float]) -> Solution | None:
        """The plan with so many t DM more (or less) in stores at the energy rows held, or None."""
        self._hold_stores(change_t_dm)
        answer = self.model.solve()
        self._hold_stores(dict.fromkeys(change_t_dm, 0.0))
        if answer is None:
            return None
        return answer.solution

    def settled_with(self, change_t_dm: Mapping[str, float]) -> float:
        """Least cost [currency] with so many t DM more (or less) in stores, every energy row and
        level of feeding moved to the new plan's own; inf without a plan. Settled, not proven. The
        energy rows stay where they came to stand.
        """
        self._hold_stores(change_t_dm)
        settled = self._settled()
        self._hold_stores(dict.fromkeys(change_t_dm, 0.0))
        if settled is None:
            return inf
        return settled.objective

    def settled_at(self, costs: dict[Key, float]) -> Solution | None:
        """The plan at other costs of some columns, settled and not proven; None without one."""
        own_costs = self.model.costs
        self.model.costs = {**own_costs, **costs}
        settled = self._settled()
        self.model.costs = own_costs
        self.model.allow_shortage(False)
        return settled

    def certified_at(self, costs: dict[Key, float]) -> tuple[Solution, Certificate] | None:
        """The settled plan at costs of all columns, and its certificate from the programme that it
        is an answer to; None without one.
        """
        own_costs = self.model.costs
        if {key: cost for key, cost in costs.items() if cost} == own_costs:
            return self._plan.solution, self._plan.certificate
        solution = self.settled_at(costs)
        if solution is None:
            return None
        self.model.live.set_costs(costs)
        certificate = certify(self.model.live.numbers_now(), solution)
        self.model.live.set_costs(own_costs)
        return solution, certificate

    def back(self) -> None:
        """Hold the rows and levels of the plan itself again."""
        self.touches = list(self._plan.touches)
        hold_levels(self.model, self._plan.levels)
        self.model.touch(self.touches)

    def _settled(self) -> Solution | None:
        answer = self.model.settled(self.touches)
        if answer is None or self.model.is_at_guess(answer.dm):
            return None
        self.touches = list(answer.dm)
        return answer.solution

    def _hold_stores(self, change_t_dm: Mapping[str, float]) -> None:
        for name, change in change_t_dm.items():
            if ("store", name) in self.model.live.row_index:
                free = max(self.yard.free_t_dm[name] + change, 0.0)
                self.model.live.set_row_bounds(("store", name), -inf, free)

    def dual(self, solution: Solution, store: str) -> float:
        """What one more t DM of a store saves [currency/t DM], by a solution's marginal value."""
        index = self.model.live.row_index.get(("store", store))
        if index is None:
            return 0.0
        return max(-solution.row_duals[index], 0.0)


def store_worths(winter: OpenWinter, only: Collection[str]) -> tuple[StoreWorth, ...]:
    """What a tonne of each store in `only` is worth through the winter, all groups together."""
    stores = [store for store in winter.yard.farm.stores if store.id in only]
    return tuple(_store_worth(winter, store.id, store.name) for store in stores)


def _store_worth(winter: OpenWinter, store: str, name: str) -> StoreWorth:
    offer = winter.yard.farm.offer(store)
    price = offer.price_per_kg_dm * KG_PER_T
    none = StoreWorth(store, name, price, None, None, None, None, None)
    if winter.solution is None:
        return dataclasses.replace(none, reason=NO_PLAN)
    if winter.whole:
        return dataclasses.replace(none, reason=WHOLE_LOADS)
    if ("store", store) not in winter.model.live.row_index:
        return dataclasses.replace(none, reason=NOT_EATEN)
    small = min(SMALL_T, 0.01 * winter.yard.free_t_dm[store])
    if small <= 0.0:
        small = SMALL_T
    base = winter.solution.objective
    larger, smaller = winter.with_change({store: small}), winter.with_change({store: -small})
    marginal = winter.dual(winter.solution, store)
    saved = lost = None
    if larger is not None:
        saved = max(base - larger.objective, 0.0) / small
    if smaller is not None:
        lost = max(smaller.objective - base, 0.0) / small
    replaces = 0.0
    if marginal > 1e-6:
        replaces = marginal + price
    fresh = replaces * offer.feed.dm_g_per_kg / KG_PER_T
    return StoreWorth(store, name, price, marginal, saved, lost, replaces, fresh)
