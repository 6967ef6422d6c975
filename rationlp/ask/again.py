"""A winter kept open: after other prices or other amounts in store it is settled again from the
plan before, certified and bounded, in place of being built and planned anew.

Only what such a change moves is set: the costs of the columns, the limits of the stores. Anything
else (animals, analyses, dates, rules) is another winter, and so is one whose plan decides whole
numbers. Every answer passes the check of any plan: its optimum certified from the model's own
numbers, every ration adequate at its own q and level, and a proved bound within `CLOSE` of its
cost; what does not is no answer, and is planned from the beginning.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from rationlp.errors import InputError, SolverTrouble
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.farm.store import StoreStock
from rationlp.model.care import Care
from rationlp.model.proof import certify
from rationlp.planned import WinterPlan
from rationlp.read.changed import ChangedFarm
from rationlp.wintering.answer import plan_of
from rationlp.wintering.bound import WinterBound
from rationlp.wintering.courses import slow_faces
from rationlp.wintering.kept_bound import KeptBound
from rationlp.wintering.levels import AcceptedPlan, hold_levels
from rationlp.wintering.links import Yard
from rationlp.wintering.parts import (
    Run,
    block_name,
    opening_days,
    priced_only,
    winter_periods,
    winter_runs,
)
from rationlp.wintering.plan import plan_settled, settled_winter, with_faces_advanced, without_ties
from rationlp.wintering.search import WinterModel, winter_costs
from rationlp.wintering.yard import WinterOptions, make_yard

CLOSE = 3e-4
"""Gap within which a plan settled again is told [share of its cost]; a plan counts as proven
within three times that."""
AT_ONCE = 2e-4
"""Gap within which the prices of the bound before are good enough [share of the cost]."""
FROM_THE_PLAN = Care(12, 8, 1e-7, 1e-7, 0.15, may_go_short=False, same=1e-12)
PLAIN = WinterOptions(tidy=False, shortage=False, beside=False, worded=False)


class WarmWinter:
    """A farm's winter kept open. plan: of the farm as it was given, as `solve_winter` would make it
    with `PLAIN`; None where that takes more than one programme of the winter. is_open: whether
    `after` can answer. Raises InputError as `solve_winter` does.
    """

    def __init__(self, farm: Farm, stocks: Mapping[str, StoreStock]) -> None:
        self.plan: WinterPlan | None = None
        self.is_open = False
        self._now = ChangedFarm(farm, stocks)
        self._yard = make_yard(farm, PLAIN, stocks)
        self._model = WinterModel(self._yard)
        if self._model.infeasible or self._model.live.has_whole_numbers:
            return
        settled = settled_winter(self._model)
        if settled is None:
            return
        plan = plan_settled(self._yard, self._model, settled, PLAIN)
        slow = slow_faces(self._yard, plan)
        if slow:
            advancing = replace(self._yard, open_clamps=slow)
            self.plan = with_faces_advanced(advancing, PLAIN, plan)
        elif plan.exit_code == 0:
            self._keep_open(plan, settled[0])

    def _keep_open(self, plan: WinterPlan, accepted: AcceptedPlan) -> None:
        self.is_open, self.plan, self._own = True, plan, accepted
        blocks = (run.block for run in self._yard.runs)
        self._priced = {
            block_name(block.group.id, block.period): block
            for block in blocks
            if priced_only(block)
        }
        self._bound = KeptBound(self._model)
        self._model.care = FROM_THE_PLAN

    def after(self, changed: ChangedFarm) -> WinterPlan | None:
        """The plan of the changed farm; None where this winter cannot answer for it, or where what
        it found does not pass its check.
        """
        yard = self._changed(changed) if self.is_open else None
        if yard is None:
            return None
        self._set(yard)
        try:
            accepted = self._settled()
        except SolverTrouble:
            return None
        if accepted is None:
            return None
        least = self._least(accepted)
        if accepted.cost - least > CLOSE * abs(accepted.cost):
            return None
        values, certificate = without_ties(self._model, accepted)
        bound = WinterBound(least, self._bound.lps, (), least)
        proof = (certificate, bound, accepted.still)
        plan = plan_of(yard, self._model, (accepted.solution, values), proof, worded=False)
        passed = plan.proof is not None and plan.proof.passed
        if passed and not slow_faces(yard, plan):
            return plan
        return None

    def _settled(self) -> AcceptedPlan | None:
        """The plan of the model as it stands, settled from the farm's own; None without one that is
        certified. Whether it is adequate is seen from the rations that are told.
        """
        model = self._model
        hold_levels(model, self._own.levels)
        rounds = model.settle_levels(self._own.touches)
        if not rounds or not rounds[-1].answer.adequate:
            return None
        answer, still = rounds[-1].answer, rounds[-1].still
        certificate = certify(model.live.numbers_now(), answer.solution)
        if not certificate.passed:
            return None
        return AcceptedPlan(
            answer.solution, certificate, answer.dm, tuple(model.levels), still, adequate=True
        )

    def _least(self, plan: AcceptedPlan) -> float:
        """No plan costs less, at any level of feeding [currency]."""
        at_once = self._bound.at_once()
        if plan.cost - at_once <= AT_ONCE * abs(plan.cost):
            return at_once
        return max(at_once, self._bound.at(plan.solution))

    def _changed(self, changed: ChangedFarm) -> Yard | None:
        """The stores and runs of a changed farm; None if more than prices and amounts changed."""
        if not alike(self._now, changed):
            return None
        try:
            runs = self._runs(changed)
            yard = make_yard(changed.farm, PLAIN, changed.stocks, runs)
        except InputError:
            return None
        pairs = zip(self._yard.runs, yard.runs, strict=False)
        same = len(yard.runs) == len(self._yard.runs) and yard.periods == self._yard.periods
        if not same or not all(_same_but_prices(run, other) for run, other in pairs):
            return None
        return yard

    def _runs(self, changed: ChangedFarm) -> tuple[Run, ...]:
        """The runs of a farm that is alike. Raises InputError as those of any farm."""
        if changed.farm == self._now.farm:
            return self._yard.runs
        waste = {name: stock.trough_loss for name, stock in changed.stocks.items()}
        return winter_runs(changed.farm, winter_periods(changed.farm), waste, self._priced)

    def _set(self, yard: Yard) -> None:
        """The model at the prices and amounts of a yard."""
        model = self._model
        model.yard, model.runs = yard, yard.runs
        model.costs = {key: cost for key, cost in winter_costs(yard).items() if cost}
        for store, free in yard.free_t_dm.items():
            if ("store", store) in model.live.row_index:
                low = model.live.row_low[model.live.row_index[("store", store)]]
                model.live.set_row_bounds(("store", store), low, free)


def alike(now: ChangedFarm, other: ChangedFarm) -> bool:
    """Whether two farms differ in nothing but prices and what is in store."""
    farm, changed = now.farm, other.farm
    return opening_days(farm) == opening_days(changed) and _plain(farm) == _plain(changed)


def _plain(farm: Farm) -> Farm:
    """A farm without prices and sizes of stores."""
    return replace(
        farm,
        offers=tuple(map(_unpriced, farm.offers)),
        stores=tuple(replace(store, size={}) for store in farm.stores),
        notices=(),
        over_energy_price_per_mj=0.0,
        mineral_shortage_price_per_g=0.0,
        mj_price=0.0,
    )


def _unpriced(offer: Offer) -> Offer:
    return replace(offer, price_per_t_fresh=0.0)


def _same_but_prices(run: Run, other: Run) -> bool:
    """Whether two runs eat the same feeds for the same needs and differ in prices only."""
    if other is run:
        return True
    block, changed = run.block, other.block
    plain = replace(
        changed,
        offers=block.offers,
        over_energy_price=block.over_energy_price,
        mineral_shortage_price=block.mineral_shortage_price,
        kept_out=block.kept_out,
        mj_price=block.mj_price,
    )
    return (
        plain == block
        and list(map(_unpriced, block.offers)) == list(map(_unpriced, changed.offers))
        and (run.periods, run.head_days, run.waste) == (other.periods, other.head_days, other.waste)
    )
