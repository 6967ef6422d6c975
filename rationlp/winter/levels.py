"""Plans that stand: levels of feeding settled, every plan certified with the rows it was solved
with and checked by itself.

An accepted plan is certified at once, because a later trial may add rows. Where the levels of
feeding do not stand still, the cheapest plan that is adequate at its own levels is taken, or one
whose protein rows hold for a whole range of levels.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from rationlp.errors import ProofFailed
from rationlp.model.proof import Certificate, certify
from rationlp.model.ration import NOTHING_KG, eat, excess
from rationlp.model.solve import Solution
from rationlp.records import dataclass
from rationlp.winter.search import LEVEL_TOLERANCE, MOST_ROUNDS, WinterModel, finish

MOST_GUARDS = 6
Guards = dict[int, tuple[float, float]]


@dataclass(frozen=True)
class AcceptedPlan:
    """A plan solved cold, without shortage.

    solution: of the last programme. certificate: made with the rows of that programme. touches: D
    at which the safe rows touch [kg DM]. levels, guards: levels of feeding held [-], and ranges of
    them. still: every level is the plan's own.
    adequate: every ration meets its requirement at its own q and level.
    """

    solution: Solution
    certificate: Certificate
    touches: tuple[float, ...]
    levels: tuple[float, ...]
    guards: Guards
    still: bool
    adequate: bool

    @property
    def cost(self) -> float:
        """What the programme minimised [currency]."""
        return self.solution.objective

    @property
    def passed(self) -> bool:
        """Adequate, and its optimum certified."""
        return self.adequate and self.certificate.passed


@dataclass(frozen=True)
class _Round:
    """Where a round of the search stood; adequate: at its own levels of feeding, short of
    nothing.
    """

    cost: float
    touches: tuple[float, ...]
    levels: tuple[float, ...]
    adequate: bool


def is_adequate(model: WinterModel, values: Sequence[float]) -> bool:
    """Whether every run meets energy and protein at its own q and level of feeding, added up from
    its kilograms.
    """
    index = model.live.column_index
    for run in model.runs:
        kg = {offer.id: values[index[run.block.feed(offer)]] for offer in run.block.offers}
        eaten = eat(
            run.block, {name: amount for name, amount in kg.items() if amount > NOTHING_KG}, {}
        )
        if not excess(run.block, eaten)[2]:
            return False
    return True


def accept(model: WinterModel, touches: Sequence[float], still: bool) -> AcceptedPlan | None:
    """The plan of the model as it stands, certified at once; None where the last programme has no
    answer.
    """
    try:
        solution = finish(model, touches)
    except ProofFailed:
        return None
    certificate = certify(model.live.numbers(), solution)
    adequate = is_adequate(model, solution.values)
    levels, guards = tuple(model.levels), dict(model.guards)
    return AcceptedPlan(solution, certificate, tuple(touches), levels, guards, still, adequate)


def restore(model: WinterModel, plan: AcceptedPlan) -> None:
    """Put the model back on an accepted plan: rows of later trials go, levels and safe rows
    return.
    """
    model.live.drop_rows_from(len(plan.solution.row_duals))
    hold_levels(model, plan.levels, plan.guards)
    finish(model, plan.touches)


def settle_plan(
    model: WinterModel, touches: Sequence[float], guarded: bool = True
) -> AcceptedPlan | None:
    """Search from these touches at the model's levels until every level stands still; None where no
    plan was found.

    A plan that is not adequate comes back only where no round and no guarded programme gave one.
    guarded: try the latter.
    """
    rounds, still = _rounds(model, touches)
    plan: AcceptedPlan | None = None
    if still:
        plan = accept(model, rounds[-1].touches, True)
        if plan is not None and plan.adequate:
            return plan
    plans = [] if plan is None else [plan]
    best = min((one for one in rounds if one.adequate), key=lambda one: one.cost, default=None)
    if best is not None:
        hold_levels(model, best.levels, {})
        plans += filter(None, [accept(model, best.touches, False)])
    if guarded and rounds:
        plans += filter(None, [_guarded_plan(model, rounds)])
    if not plans:
        return None
    chosen = min(plans, key=lambda one: (not one.adequate, not one.passed, one.cost))
    restore(model, chosen)
    return chosen


def _rounds(model: WinterModel, touches: Sequence[float]) -> tuple[list[_Round], bool]:
    """Rounds at levels that follow the answers' own; True when the last one stands still and is
    short of no energy.
    """
    rounds: list[_Round] = []
    for _ in range(MOST_ROUNDS):
        settled = model.settle(touches)
        if settled is None:
            return rounds, False
        solution, touches = settled
        if model.short(solution):
            fed = False
        else:
            fed = is_adequate(model, solution.values)
            rounds.append(_Round(solution.objective, tuple(touches), tuple(model.levels), fed))
        if not follow_levels(model, solution):
            return rounds, not model.short(solution)
    return rounds, False


def follow_levels(model: WinterModel, solution: Solution) -> bool:
    """Hold every run at its answer's own level of feeding; True where one of them moved."""
    moved = False
    for number in range(len(model.runs)):
        own = model.own_level(number, solution)
        if own != inf and abs(own - model.levels[number]) > LEVEL_TOLERANCE * max(own, 1.0):
            moved = True
            model.set_level(number, own)
    return moved


def _guarded_plan(model: WinterModel, rounds: Sequence[_Round]) -> AcceptedPlan | None:
    """A plan whose protein rows hold at every level its runs were seen at; ranges widen until they
    hold its own.
    """
    ranges = list(
        zip(*(one.levels for one in rounds[-MOST_ROUNDS // 2 :]), tuple(model.levels), strict=True)
    )
    for number, levels in enumerate(ranges):
        if max(levels) - min(levels) > LEVEL_TOLERANCE * max(levels):
            model.guard(number, min(levels), max(levels))
    touches: Sequence[float] = rounds[-1].touches
    for _ in range(MOST_GUARDS):
        settled = model.settle(touches)
        if settled is None or model.short(settled[0]):
            return None
        solution, touches = settled
        if not _widen(model, solution):
            return accept(model, touches, False)
    return None


def _widen(model: WinterModel, solution: Solution) -> bool:
    """Widen every range that does not hold its answer's own level; True where one was widened."""
    widened = False
    for number in range(len(model.runs)):
        own = model.own_level(number, solution)
        low, high = model.guards.get(number, (model.levels[number], model.levels[number]))
        slack = LEVEL_TOLERANCE * max(own, 1.0)
        if own != inf and not low - slack <= own <= high + slack:
            widened = True
            model.guard(number, min(low, own), max(high, own))
    return widened


def hold_levels(model: WinterModel, levels: Sequence[float], guards: Guards) -> None:
    """Hold every run at its level of feeding, or at its range of them."""
    for number, level in enumerate(levels):
        if number in guards:
            model.guard(number, *guards[number])
        else:
            model.set_level(number, level)
