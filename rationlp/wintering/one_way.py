"""Concentrate that moves one way: while the forages and the needs of a group stay alike, each
concentrate rises, falls or stays, and does not come and go from fortnight to fortnight.

A stage is as long as the plan in hand feeds a group the same forages under the same limits, and its
need of energy does not turn. The rows are in the model from the start, free. Once the amounts of a
plan can be weighed, they are set for the groups whose concentrate comes and goes, and stay where a
plan was found that costs no more than the stated share of the group's feed. Common practice, no
source (c).
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from math import inf

from rationlp.farm.feed import Offer
from rationlp.model.lp import Key, Row
from rationlp.model.rows.block import Block
from rationlp.model.tidy import least_useful_kg_dm
from rationlp.read.yard_rules import hold_saving
from rationlp.rules.limits import practice_limits
from rationlp.wintering.hold import feed_costs
from rationlp.wintering.parts import Run
from rationlp.wintering.rules import TRACE_KG
from rationlp.wintering.search import WinterModel
from rationlp.wintering.trial import Trial

ONE_WAY = "one_way"
UNSEEN, OF_LEAST = 0.02, 0.2
"""Moves back by less than this share of a feed's most, or of its least useful amount, are not seen
in a yard, nor is a turn of the need by less than the first of them [-].
"""
CLEARLY = 0.1
"""A feed whose amounts at both ends of a stage differ by less than this share of its most goes the
way of the group's need of energy [-].
"""
USUAL_Q = 0.58
"""Metabolisability at which needs are compared, about 10.9 MJ ME/kg DM [-]."""

Amounts = list[dict[str, float]]
"""kg DM a head a day by offer id, run by run."""
Rounds = Callable[[Trial], None]


def add_one_way_rows(model: WinterModel) -> None:
    """A free row for every concentrate of two runs of a group that follow each other."""
    for before, after in _neighbours(model):
        first, second = model.runs[before].block, model.runs[after].block
        old = {offer.id: offer for offer in first.offers}
        for offer in second.offers:
            if offer.id in old and _moves(first, offer) and _moves(second, offer):
                coefs = {second.feed(offer): 1.0, first.feed(old[offer.id]): -1.0}
                key, title = _key(model.runs[after], offer), f"{offer.name} moved one way"
                model.live.add_row(
                    Row(key, coefs, -inf, inf, "definition", "kg DM", title, "practice")
                )


def _neighbours(model: WinterModel) -> Iterator[tuple[int, int]]:
    """Runs of a part of a group that follow each other, part by part."""
    parts: dict[str, list[int]] = {}
    for number, run in enumerate(model.runs):
        parts.setdefault(run.block.group.id, []).append(number)
    for numbers in parts.values():
        for before, after in itertools.pairwise(numbers):
            if model.runs[after].periods[0] == model.runs[before].periods[-1] + 1:
                yield before, after


def _key(run: Run, offer: Offer) -> Key:
    return (ONE_WAY, run.block.group.id, offer.id, *run.block.key("")[-2:])


def _moves(block: Block, offer: Offer) -> bool:
    """Whether an amount is free to come and go: a concentrate, or a mineral without a printed
    rate.
    """
    if offer.feed.kind != "mineral":
        return offer.feed.is_concentrate
    limit = practice_limits(block.needs.limits_key).get(offer.feed.key)
    return limit is None or limit.fixed(block.needs.live_weight_kg) is None


def move_one_way(trial: Trial, rounds: Rounds) -> None:
    """Let concentrates move one way in every group where one comes and goes and where that does not
    cost too much: all such groups at once, else by halves of them. rounds: puts right what is then
    too little to weigh.
    """
    kg = [trial.kg_of_run(number) for number in range(len(trial.model.runs))]
    trial.one_way, groups = {}, set()
    for stage in _stages(trial.model, kg):
        runs = [trial.model.runs[number] for number in stage]
        for offer, keys in _rows_of(trial.model, runs):
            amounts = [kg[number][offer.id] for number in stage]
            rises = _rises(runs, amounts)
            trial.one_way |= dict.fromkeys(keys, (0.0, inf) if rises else (-inf, 0.0))
            if _comes_and_goes(runs[0].block, offer, amounts):
                groups.add(runs[0].block.group.id)
    if groups:
        share = hold_saving(trial.model.yard.farm.yard_rules)
        most = {group: share * cost for group, cost in feed_costs(trial).items()}
        _try(trial, sorted(groups, key=lambda group: (most[group], group)), most, rounds)


def groups_that_come_and_go(trial: Trial) -> list[str]:
    """Names of the parts in which a concentrate of the plan in hand still comes and goes."""
    kg = [trial.kg_of_run(number) for number in range(len(trial.model.runs))]
    names: dict[str, None] = {}
    for stage in _stages(trial.model, kg):
        runs = [trial.model.runs[number] for number in stage]
        for offer, _ in _rows_of(trial.model, runs):
            if _comes_and_goes(runs[0].block, offer, [kg[number][offer.id] for number in stage]):
                names[runs[0].block.group.name] = None
    return list(names)


def _try(trial: Trial, groups: list[str], most: dict[str, float], rounds: Rounds) -> None:
    """These groups where that costs no more than the least of what each may cost [currency]; else
    both halves.
    """
    before, cost = trial.state(), trial.best.cost
    trial.one_way_groups |= set(groups)
    held = _held_apart(trial, groups)
    plan = trial.settled(held, trial.best.touches)
    if plan is not None:
        trial.take(held, plan)
        rounds(trial)
        kept = trial.one_way_groups >= set(groups)
        if kept and trial.best.cost - cost <= min(most[group] for group in groups):
            return
    trial.go_back(before)
    middle = len(groups) // 2
    if middle:
        _try(trial, groups[:middle], most, rounds)
        _try(trial, groups[middle:], most, rounds)


def _held_apart(trial: Trial, groups: list[str]) -> dict[tuple[int, str], tuple[float, float]]:
    """What the trial holds, without the concentrates of these groups that it feeds in one run of a
    stage and leaves out in another.
    """
    kg = [trial.kg_of_run(number) for number in range(len(trial.model.runs))]
    held = dict(trial.held)
    for stage in _stages(trial.model, kg):
        runs = [trial.model.runs[number] for number in stage]
        if runs[0].block.group.id not in groups:
            continue
        for offer, _ in _rows_of(trial.model, runs):
            if any(kg[number][offer.id] > TRACE_KG for number in stage):
                for number in stage:
                    held.pop((number, offer.id), None)
    return held


def _rows_of(model: WinterModel, runs: list[Run]) -> Iterator[tuple[Offer, list[Key]]]:
    """Feeds that have a row between all runs of a stage, with these rows."""
    for offer in runs[0].block.offers:
        keys = [_key(run, offer) for run in runs[1:]]
        if all(key in model.live.row_index for key in keys):
            yield offer, keys


def _stages(model: WinterModel, kg: Amounts) -> Iterator[list[int]]:
    """Runs of a group one after the other, two at least, that are fed the same forages under the
    same limits while their need of energy rises or while it falls.
    """
    stage: list[int] = []
    for before, after in _neighbours(model):
        if stage and stage[-1] != before:
            yield stage
            stage = []
        stage = stage or [before]
        if not _alike(model, kg, before, after):
            yield stage
            stage = [after]
        elif _turns([model.runs[number] for number in (*stage, after)]):
            yield stage
            stage = [before, after]
        else:
            stage = [*stage, after]
    if stage:
        yield stage


def _alike(model: WinterModel, kg: Amounts, before: int, after: int) -> bool:
    """Whether two runs are fed the same forages under the same limits."""
    first, second = model.runs[before], model.runs[after]
    limits = first.block.needs.limits_key == second.block.needs.limits_key
    return limits and _forages(first, kg[before]) == _forages(second, kg[after])


def _forages(run: Run, kg: dict[str, float]) -> set[str]:
    fed = (offer for offer in run.block.offers if not offer.feed.is_concentrate)
    return {offer.id for offer in fed if offer.feed.kind != "mineral" and kg[offer.id] > TRACE_KG}


def _need(run: Run) -> float:
    """Energy need of the animals of a run at one and the same diet [MJ of ME a head a day]."""
    energy = run.block.needs.energy
    return 0.0 if energy is None else energy.required(USUAL_Q)[0]


def _turns(runs: list[Run]) -> bool:
    """Whether a need that rose over a stage now falls, or the other way round."""
    first, before, last = _need(runs[0]), _need(runs[-2]), _need(runs[-1])
    clear = min(abs(last - before), abs(before - first)) > UNSEEN * before
    return clear and (last - before) * (before - first) < 0.0


def _rises(runs: list[Run], amounts: list[float]) -> bool:
    """Whether a feed goes up over a stage: by its amounts at both ends, else as the need does."""
    change = amounts[-1] - amounts[0]
    if abs(change) > CLEARLY * max(amounts):
        return change > 0.0
    return _need(runs[-1]) >= _need(runs[0])


def _comes_and_goes(block: Block, offer: Offer, amounts: list[float]) -> bool:
    """Whether a feed is moved up and down within a stage."""
    steps = [after - before for before, after in itertools.pairwise(amounts)]
    least = least_useful_kg_dm(block, offer, 0.0) or 0.0
    unseen = max(UNSEEN * max(amounts), OF_LEAST * least)
    return max(steps, default=0.0) > unseen and min(steps, default=0.0) < -unseen
