"""The plan in hand while it is made practical, and trials of other amounts beside it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import inf

from rationlp.model.lp import Key
from rationlp.wintering.choose import Held
from rationlp.wintering.levels import AcceptedPlan, settle_plan
from rationlp.wintering.links import use_in_period
from rationlp.wintering.search import WinterModel

TRACE_T = 1e-6
State = tuple[Held, AcceptedPlan, dict[str, float], set[tuple[int, str]], set[str], set[str]]


class Trial:
    """best: the plan in hand. held: bounds of its feeds by run number and offer id [kg DM a head a
    day]. orders: least tonnes fresh of bought feeds. given_up: faults that no plan was found
    without. steady_groups: parts whose forages are held. one_way: bounds of the rows by which a
    concentrate moves one way; one_way_groups: parts that keep them. shut: faces by store and period
    that are not opened, because nothing is eaten from them.
    """

    def __init__(self, model: WinterModel, best: AcceptedPlan) -> None:
        self.model = model
        self.best = best
        self.held: Held = {}
        self.orders: dict[str, float] = {}
        self.given_up: set[tuple[int, str]] = set()
        self.steady_groups: set[str] = set()
        self.one_way: dict[Key, tuple[float, float]] = {}
        self.one_way_groups: set[str] = set()
        self.shut: set[tuple[str, str]] = set()
        live = model.live
        self._opened = [
            key
            for key, j in live.column_index.items()
            if key[0] == "open" and live.col_low[j] == live.col_high[j] == 1.0
        ]

    def kg(self, plan: AcceptedPlan, mark: tuple[int, str]) -> float:
        """Amount of a feed of a run in a plan [kg DM a head a day]."""
        block = self.model.runs[mark[0]].block
        offer = next(offer for offer in block.offers if offer.id == mark[1])
        return self.model.live.value(plan.solution, block.feed(offer))

    def kg_of_run(self, number: int) -> dict[str, float]:
        """Amounts of a run in the plan in hand, by offer id [kg DM a head a day]."""
        block, index = self.model.runs[number].block, self.model.live.column_index
        values = self.best.solution.values
        return {offer.id: values[index[block.feed(offer)]] for offer in block.offers}

    def kg_of_all(self) -> dict[tuple[int, str], float]:
        """Amounts of all runs in the plan in hand, by run number and offer id [kg DM a head a
        day].
        """
        return {
            (number, name): kg
            for number in range(len(self.model.runs))
            for name, kg in self.kg_of_run(number).items()
        }

    def settled(
        self, held: Held, touches: Sequence[float], orders: Mapping[str, float] | None = None
    ) -> AcceptedPlan | None:
        """The plan with these amounts held, at its own levels of feeding; None without one that
        passes its own check.
        """
        self._hold(held, self.orders if orders is None else orders)
        plan = settle_plan(self.model, touches, guarded=False)
        return plan if plan is not None and plan.passed else None

    def take(
        self, held: Held, plan: AcceptedPlan, orders: Mapping[str, float] | None = None
    ) -> None:
        """Go on from a plan that was settled."""
        self.held, self.best = dict(held), plan
        self.orders = dict(self.orders if orders is None else orders)

    def state(self) -> State:
        """All that is held now, with the plan in hand."""
        groups = set(self.steady_groups), set(self.one_way_groups)
        return self.held, self.best, self.orders, set(self.given_up), *groups

    def go_back(self, state: State) -> None:
        """Go on from what was held before."""
        self.held, self.best, self.orders, self.given_up = state[:4]
        self.steady_groups, self.one_way_groups = state[4:]

    def release(self, groups_too: bool = True) -> None:
        """Hold no feed and no order; groups_too: no group's ration either."""
        if groups_too:
            self.steady_groups, self.one_way_groups, self.shut = set(), set(), set()
        self._hold({}, {})

    def shut_idle_faces(self) -> None:
        """Leave every face shut in the periods in which nothing is eaten from it."""
        faces = {(store, period) for _, store, period in self._opened}
        idle = {face for face in faces - self.shut if self._used_t(*face) <= TRACE_T}
        if not idle:
            return
        self.shut |= idle
        plan = self.settled(self.held, self.best.touches)
        if plan is None:
            self.shut -= idle
        else:
            self.take(self.held, plan)

    def _used_t(self, store: str, period: str) -> float:
        """What is eaten from a store in a period of the plan in hand [t DM]."""
        coefs = use_in_period(self.model.yard, store, int(period))
        values, index = self.best.solution.values, self.model.live.column_index
        return sum(t * values[index[key]] for key, t in coefs.items())

    def _hold(self, held: Held, orders: Mapping[str, float]) -> None:
        live = self.model.live
        for number, run in enumerate(self.model.runs):
            for offer in run.block.offers:
                low, high = held.get((number, offer.id), (0.0, inf))
                live.set_column_bounds(run.block.feed(offer), low, high)
        for _, store, period in self._opened:
            shut = (store, period) in self.shut or self._nobody_eats(held, store, int(period))
            opened = 0.0 if shut else 1.0
            live.set_column_bounds(("open", store, period), opened, opened)
            live.set_column_bounds(("spoiled", store, period), 0.0, 0.0 if shut else inf)
        for row in live.rows:
            if row.key[0] == "hold":
                bounds = (0.0, 0.0) if row.key[1] in self.steady_groups else (-inf, inf)
                live.set_row_bounds(row.key, *bounds)
            elif row.key in self.one_way:
                kept = row.key[1] in self.one_way_groups
                live.set_row_bounds(row.key, *(self.one_way[row.key] if kept else (-inf, inf)))
        for offer in self.model.yard.farm.offers:
            if ("order", offer.id) in live.row_index:
                live.set_row_bounds(("order", offer.id), orders.get(offer.id, -inf), inf)

    def _nobody_eats(self, held: Held, store: str, period: int) -> bool:
        """Whether a store is held out of every ration of a period."""
        return all(
            held.get((number, store), (0.0, inf))[1] == 0.0
            for number, run in enumerate(self.model.runs)
            if period in run.periods
        )
