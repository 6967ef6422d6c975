"""A plan that a yard can mix: what is too little to weigh, or one feed too many, is dropped or brought up, group by group.

The cheapest plan comes first and keeps its proof. Then, in rounds, every fault of every ration is put right at once and the plan
is settled again: a feed of a group is brought up to its least useful amount where it is near it on average, dropped where it is
not, in all its periods alike. What makes the plan impossible is tried the other way, and left as it is when neither way works.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import inf

from rationlp.model.tidy import Fault, faults
from rationlp.model.winter.levels import AcceptedPlan, settle_plan
from rationlp.model.winter.search import WinterModel
from rationlp.model.winter.steady import ask_for_steadiness
from rationlp.records import dataclass

MOST_ROUNDS = 6
NEAR = 0.5
"""Share of the least useful amount from which a feed is brought up to it rather than dropped [-]."""

Held = dict[tuple[int, str], tuple[float, float]]


@dataclass(frozen=True)
class TidyPlan:
    """The settled tidy plan, its cost without the price of changes [currency], and how many amounts were dropped, brought up, or
    left although too small."""

    accepted: AcceptedPlan
    cost: float
    dropped: int
    raised: int
    left: int


def tidy_plan(model: WinterModel, cheapest: AcceptedPlan) -> TidyPlan | None:
    """The plan made steady and without what can be put right; None where that gives none. Consumes the model.

    Every plan on the way passes the check of the cheapest plan, or it is no step.
    """
    plain = dict(model.costs)
    ask_for_steadiness(model)
    best = settle_plan(model, cheapest.touches, guarded=False)
    if best is None or not best.passed:
        return None
    held: Held = {}
    given_up: set[tuple[int, str]] = set()
    for _ in range(MOST_ROUNDS):
        wrong = {
            (number, fault.offer.id): fault
            for number, run in enumerate(model.runs)
            if run.block.needs.limits_key is not None and run.block.needs.energy is not None
            for fault in _first_faults(model, number, best.solution.values)
        }
        wrong = {mark: fault for mark, fault in wrong.items() if mark not in given_up}
        if not wrong:
            break
        mended = _mend(model, held, wrong, best)
        if mended is None:
            given_up |= wrong.keys()
        else:
            held, best = mended
    _hold(model, {})
    dropped = sum(high == 0.0 for _, high in held.values())
    cost = sum(price * model.live.value(best.solution, key) for key, price in plain.items())
    return TidyPlan(best, cost, dropped, len(held) - dropped, len(given_up))


def _first_faults(model: WinterModel, number: int, values: Sequence[float]) -> list[Fault]:
    """Up to two faults of a run's ration: the next round finds what is left."""
    block = model.runs[number].block
    index = model.live.column_index
    kg: Mapping[str, float] = {offer.id: values[index[block.feed(offer)]] for offer in block.offers}
    found = []
    for fault in faults(block, kg):
        found.append(fault)
        if len(found) == 2:
            break
    return found


def _mend(
    model: WinterModel, held: Held, wrong: Mapping[tuple[int, str], Fault], best: AcceptedPlan
) -> tuple[Held, AcceptedPlan] | None:
    """The plan with all of these put right, tried both ways round; None when neither gives a plan."""
    shares: dict[tuple[str, str], list[float]] = {}
    for (number, name), fault in wrong.items():
        block = model.runs[number].block
        if fault.least_kg_dm:
            kg = model.live.value(best.solution, block.feed(fault.offer))
            shares.setdefault((block.group.id, name), []).append(kg / fault.least_kg_dm)
    for near in (NEAR, 0.0, inf):
        trial = dict(held)
        for (number, name), fault in wrong.items():
            of_group = shares.get((model.runs[number].block.group.id, name), [])
            up = fault.least_kg_dm is not None and bool(of_group) and sum(of_group) / len(of_group) >= near
            up = up or (fault.wanted and near < inf)
            trial[(number, name)] = (fault.least_kg_dm, inf) if up and fault.least_kg_dm is not None else (0.0, 0.0)
        plan = _settled(model, trial, best.touches)
        if plan is not None:
            return trial, plan
    return None


def _settled(model: WinterModel, held: Held, touches: Sequence[float]) -> AcceptedPlan | None:
    """The plan with these amounts held, at its own levels of feeding; None without one that passes its own check."""
    _hold(model, held)
    plan = settle_plan(model, touches, guarded=False)
    return plan if plan is not None and plan.passed else None


def _hold(model: WinterModel, held: Held) -> None:
    for number, run in enumerate(model.runs):
        for offer in run.block.offers:
            low, high = held.get((number, offer.id), (0.0, inf))
            model.live.set_column_bounds(run.block.feed(offer), low, high)
