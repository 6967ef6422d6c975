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
from rationlp.model.answer import Answer, Round
from rationlp.model.care import Care
from rationlp.model.points import Held, Point
from rationlp.model.proof import Certificate, certify
from rationlp.model.ration import NOTHING_KG, eat, excess
from rationlp.model.solution import Solution
from rationlp.model.solve import LiveModel
from rationlp.records import dataclass
from rationlp.wintering.search import WinterModel, begin, finish

MOST_GUARDS = 6
Levels = tuple[tuple[Held, Held], ...]


@dataclass(frozen=True)
class AcceptedPlan:
    """A plan solved without shortage, cold unless the winter is large.

    solution: of the last programme. certificate: made with the rows of that programme. touches: D
    at which the safe rows touch [kg DM]. levels: of feeding held, low and high of each run [-].
    still: every level is the plan's own. adequate: every ration meets its requirement at its own q
    and level.
    """

    solution: Solution
    certificate: Certificate
    touches: tuple[float, ...]
    levels: Levels
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


def is_adequate(model: WinterModel, values: Sequence[float]) -> bool:
    """Whether every run meets energy and protein at its own q and level, from its kilograms."""
    index = model.live.column_index
    for run in model.runs:
        kg = {offer.id: values[index[run.block.feed(offer)]] for offer in run.block.offers}
        fed = {name: amount for name, amount in kg.items() if amount > NOTHING_KG}
        if not excess(run.block, eat(run.block, fed, {}))[2]:
            return False
    return True


def accept(model: WinterModel, touches: Sequence[float], still: bool) -> AcceptedPlan | None:
    """The plan of the model as it stands, certified at once; None without an answer.

    A large winter goes on from its last basis, which proves nothing: where the certificate of that
    answer does not pass, it is solved cold like any other.
    """
    accepted = None
    for cold in (False, True) if model.is_large else (True,):
        try:
            solution = finish(model, touches, cold).solution
        except ProofFailed:
            continue
        accepted = _certified(model, solution, touches, still)
        if accepted.certificate.passed:
            break
    return accepted


def _certified(
    model: WinterModel, solution: Solution, touches: Sequence[float], still: bool
) -> AcceptedPlan:
    certificate = certify(model.live.numbers_now(), solution)
    adequate = is_adequate(model, solution.values)
    levels = tuple(model.levels)
    return AcceptedPlan(solution, certificate, tuple(touches), levels, still, adequate)


def restore(model: WinterModel, plan: AcceptedPlan) -> None:
    """Put the model back on an accepted plan: rows of later trials go, levels return."""
    model.live.drop_rows_from(len(plan.solution.row_duals))
    hold_levels(model, plan.levels)
    finish(model, plan.touches, cold=not model.is_large)


def settle_plan(
    model: WinterModel, touches: Sequence[float], guarded: bool = True
) -> AcceptedPlan | None:
    """Search from these touches at the model's levels until every level stands still; None where no
    plan was found.

    A plan that is not adequate comes back only where no round and no guarded programme gave one.
    guarded: try the latter.
    """
    every = model.settle_levels(touches)
    rounds = [one for one in every if one.answer.adequate]
    plans: list[AcceptedPlan | None] = []
    if every and every[-1].still and every[-1].answer.adequate:
        plan = accept(model, every[-1].answer.dm, True)
        if plan is not None and plan.adequate:
            return plan
        plans.append(plan)
    fed = (one for one in rounds if is_adequate(model, one.answer.solution.values))
    best = min(fed, key=lambda one: one.answer.objective, default=None)
    if best is not None:
        hold_levels(model, best.levels)
        plans.append(accept(model, best.answer.dm, False))
    if guarded and rounds:
        plans.append(_guarded_plan(model, rounds))
    found = [plan for plan in plans if plan is not None]
    if not found:
        return None
    chosen = min(found, key=lambda one: (not one.adequate, not one.passed, one.cost))
    restore(model, chosen)
    return chosen


FROM_A_PLAN_LIKE_IT = Care(12, 8, 1e-8, 1e-7, 0.15, may_go_short=False, same=1e-12)
"""For a winter that begins at the plan of one much like it."""


def settled_nearby(model: WinterModel, like: LiveModel) -> AcceptedPlan | None:
    """The plan of a model whose runs begin at the plan of a winter like it; None where one that is
    adequate and certified does not come of that. like: the solver of that winter, from where it
    stands.
    """
    if model.live.has_whole_numbers:
        return None
    model.live.begin_like(like)
    care, model.care = model.care, FROM_A_PLAN_LIKE_IT
    rounds = model.settle_levels(begin(model))
    model.care = care
    if not rounds or not rounds[-1].still or not rounds[-1].answer.adequate:
        return None
    answer = rounds[-1].answer
    if model.is_at_guess(answer.dm):
        return None
    certificate = certify(model.live.numbers_now(), answer.solution)
    adequate = is_adequate(model, answer.solution.values)
    levels = tuple(model.levels)
    plan = AcceptedPlan(answer.solution, certificate, answer.dm, levels, True, adequate)
    return plan if plan.passed else None


def _guarded_plan(model: WinterModel, rounds: Sequence[Round]) -> AcceptedPlan | None:
    """A plan whose protein rows hold at every level its runs had; ranges widen to hold it."""
    seen = [one.levels for one in rounds[-model.care.rounds // 2 :]]
    for number, ranges in enumerate(zip(*seen, tuple(model.levels), strict=True)):
        levels = [low for low, _ in ranges if not isinstance(low, Point)]
        if len(levels) < len(ranges):
            continue
        if max(levels) - min(levels) > model.care.level * max(levels):
            model.hold_level(number, min(levels), max(levels))
    touches: Sequence[float] = rounds[-1].answer.dm
    for _ in range(MOST_GUARDS):
        answer = model.settle(touches)
        if answer is None or not answer.adequate:
            return None
        touches = answer.dm
        if not _widen(model, answer):
            return accept(model, touches, False)
    return None


def _widen(model: WinterModel, answer: Answer) -> bool:
    """Widen every range that does not hold its answer's own level; True where one was widened."""
    widened = False
    for number, (low, high) in enumerate(model.levels):
        own = model.own_level(number, answer)
        if isinstance(own, Point) or isinstance(low, Point) or isinstance(high, Point):
            continue
        slack = model.care.level * max(own, 1.0)
        if own != inf and not low - slack <= own <= high + slack:
            widened = True
            model.hold_level(number, min(low, own), max(high, own))
    return widened


def hold_levels(model: WinterModel, levels: Levels) -> None:
    """Hold every run at its level of feeding, or at its range of them."""
    for number, (low, high) in enumerate(levels):
        model.hold_level(number, low, high)
