"""A plan that a yard can mix: what is too little to weigh, or one feed too many, is dropped or brought up, group by group.

The cheapest plan comes first and keeps its proof. Then, in rounds, every fault of every ration is put right at once and the plan
is settled again: a feed of a group is brought up to its least useful amount where it is near it on average, dropped where it is
not, in all its periods alike. What makes the plan impossible is tried the other way, and left as it is when neither way works.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import inf

from rationlp.errors import ProofFailed
from rationlp.model.proof import Certificate, certify
from rationlp.model.solve import Solution
from rationlp.model.tidy import Fault, faults
from rationlp.model.winter.search import WinterModel, finish
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

    solution: Solution
    certificate: Certificate
    cost: float
    dropped: int
    raised: int
    left: int


def tidy_plan(model: WinterModel, solution: Solution) -> TidyPlan | None:
    """The plan made steady and without what can be put right; None where that gives none. The model is not used afterwards."""
    plain = dict(model.costs)
    ask_for_steadiness(model)
    settled = model.settle(model.dms(solution))
    if settled is None or model.short(settled[0]):
        return None
    solution = finish(model, settled[1])
    held: Held = {}
    given_up: set[tuple[int, str]] = set()
    best, touches, shown = solution, model.dms(solution), solution.values
    certificate = certify(model.live.numbers(), best)
    for _ in range(MOST_ROUNDS):
        wrong = {
            (number, fault.offer.id): fault
            for number, run in enumerate(model.runs)
            if run.block.needs.limits_key is not None and run.block.needs.energy is not None
            for fault in _first_faults(model, number, shown)
        }
        wrong = {mark: fault for mark, fault in wrong.items() if mark not in given_up}
        if not wrong:
            break
        found = _mend(model, held, wrong, shown, touches)
        if found is None:
            given_up |= wrong.keys()
            continue
        held, best = found
        # Now, while the model stands as it was solved: a trial that fails later leaves its bounds behind.
        certificate = certify(model.live.numbers(), best)
        touches, shown = model.dms(best), best.values
    _hold(model, {})
    dropped = sum(high == 0.0 for _, high in held.values())
    cost = sum(price * model.live.value(best, key) for key, price in plain.items())
    return TidyPlan(best, certificate, cost, dropped, len(held) - dropped, len(given_up))


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
    model: WinterModel,
    held: Held,
    wrong: Mapping[tuple[int, str], Fault],
    values: Sequence[float],
    touches: Sequence[float],
) -> tuple[Held, Solution] | None:
    """The plan with all of these put right, tried both ways round; None when neither gives a plan."""
    shares: dict[tuple[str, str], list[float]] = {}
    for (number, name), fault in wrong.items():
        block = model.runs[number].block
        if fault.least_kg_dm:
            kg = values[model.live.column_index[block.feed(fault.offer)]]
            shares.setdefault((block.group.id, name), []).append(kg / fault.least_kg_dm)
    for near in (NEAR, 0.0, inf):
        trial = dict(held)
        for (number, name), fault in wrong.items():
            of_group = shares.get((model.runs[number].block.group.id, name), [])
            up = fault.least_kg_dm is not None and bool(of_group) and sum(of_group) / len(of_group) >= near
            up = up or (fault.wanted and near < inf)
            trial[(number, name)] = (fault.least_kg_dm, inf) if up and fault.least_kg_dm is not None else (0.0, 0.0)
        solution = _settled(model, trial, touches)
        if solution is not None:
            return trial, solution
    return None


def _settled(model: WinterModel, held: Held, touches: Sequence[float]) -> Solution | None:
    _hold(model, held)
    found = model.settle(touches)
    if found is None or model.short(found[0]):
        return None
    for number in range(len(model.runs)):
        own = model.own_level(number, found[0])
        if own != inf:
            model.set_level(number, own)
    found = model.settle(found[1])
    if found is None or model.short(found[0]):
        return None
    try:
        return finish(model, found[1])
    except ProofFailed:
        return None


def _hold(model: WinterModel, held: Held) -> None:
    for number, run in enumerate(model.runs):
        for offer in run.block.offers:
            low, high = held.get((number, offer.id), (0.0, inf))
            model.live.set_column_bounds(run.block.feed(offer), low, high)
