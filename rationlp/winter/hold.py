"""A ration held for four weeks: forages and roots stay the same through neighbouring periods,
concentrate alone may step.

Rows that hold a group's forages are in the model from the start, free. They are set for all groups
at once, else group by group, and stay where a plan was found that costs no more than the stated
share of the group's feed. Common practice, no source (c).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from datetime import date
from math import inf

from rationlp.model.lp import Key, Row
from rationlp.read.yard_rules import hold_days, hold_saving
from rationlp.winter.choose import SLACK, Held
from rationlp.winter.parts import Run
from rationlp.winter.rules import TRACE_KG, has_rules, least_amount, run_faults
from rationlp.winter.search import WinterModel
from rationlp.winter.trial import Trial

MOST_RUNS = 60
"""Runs of a farm up to which groups are tried one by one: each costs a settled plan."""
NOT_HELD = frozenset({"mineral"})


def add_hold_rows(model: WinterModel) -> None:
    """A free row for every forage or root of two runs of a group that belong into the same four
    weeks.
    """
    for before, after in _pairs(model):
        first, second = model.runs[before].block, model.runs[after].block
        old = {offer.id: offer for offer in first.offers}
        bought_or_stored = {offer.id for offer in model.yard.farm.offers}
        for offer in second.offers:
            held = offer.id in old and offer.id in bought_or_stored
            if not held or offer.feed.is_concentrate or offer.feed.kind in NOT_HELD:
                continue
            coefs = {second.feed(offer): 1.0, first.feed(old[offer.id]): -1.0}
            key: Key = ("hold", second.group.id, offer.id, *second.key("")[-2:])
            model.live.add_row(
                Row(key, coefs, -inf, inf, "definition", "kg DM", f"{offer.name} held", "practice")
            )


def _pairs(model: WinterModel) -> Iterator[tuple[int, int]]:
    """Runs of a part that follow each other within as many days as a ration is held."""
    days = hold_days(model.yard.farm.yard_rules)
    parts: dict[str, list[int]] = {}
    for number, run in enumerate(model.runs):
        parts.setdefault(run.block.group.id, []).append(number)
    for numbers in parts.values():
        begun = _first(model, model.runs[numbers[0]])
        for before, after in itertools.pairwise(numbers):
            first, second = model.runs[before], model.runs[after]
            last = model.yard.periods[second.periods[-1]].last
            if second.periods[0] == first.periods[-1] + 1 and (last - begun).days <= days:
                yield before, after
            else:
                begun = _first(model, second)


def _first(model: WinterModel, run: Run) -> date:
    return model.yard.periods[run.periods[0]].first


def hold_rations(trial: Trial) -> tuple[str, ...]:
    """Hold the forages of every group that it does not cost too much; ids of the groups (and their
    parts) that are held.
    """
    live = trial.model.live
    groups = list(dict.fromkeys(row.key[1] for row in live.rows if row.key[0] == "hold"))
    if not groups:
        return ()
    costs = _feed_costs(trial)
    share = hold_saving(trial.model.yard.farm.yard_rules)
    if not _held(trial, groups, share * min(costs[group] for group in groups)):
        for group in groups if len(trial.model.runs) <= MOST_RUNS else ():
            _held(trial, [group], share * costs[group])
    return tuple(sorted(trial.steady_groups))


def _held(trial: Trial, groups: list[str], most: float) -> bool:
    """Hold these groups if that costs no more than so much [currency] and brings no new small
    amount; whether it did.
    """
    before, held, plan = set(trial.steady_groups), trial.held, trial.best
    faults = _faults(trial)
    trial.steady_groups |= set(groups)
    frozen = _frozen(trial)
    other = trial.settled(frozen, plan.touches)
    if other is not None and other.cost - plan.cost <= most:
        trial.take(frozen, other)
        if _faults(trial) <= faults:
            return True
    trial.take(held, plan)
    trial.steady_groups = before
    return False


def _frozen(trial: Trial) -> Held:
    """Every feed of the plan in hand held at its least useful amount, every other one left out."""
    model = trial.model
    frozen = dict(trial.held)
    for number, run in enumerate(model.runs):
        if not has_rules(run):
            continue
        kg = trial.kg_of_run(number)
        dm = model.live.value(trial.best.solution, model.singles[number].dm)
        for offer in run.block.offers:
            least = least_amount(model.yard, run, offer, dm * SLACK)
            low, high = frozen.get((number, offer.id), (0.0, inf))
            if kg[offer.id] <= TRACE_KG:
                frozen[(number, offer.id)] = (0.0, 0.0)
            elif least is not None and kg[offer.id] >= least / SLACK:
                frozen[(number, offer.id)] = (max(low, min(least, kg[offer.id])), high)
    return frozen


def _faults(trial: Trial) -> set[tuple[int, str]]:
    """What is at fault in the plan in hand, by run number and offer id."""
    runs = enumerate(trial.model.runs)
    return {
        (number, fault.offer.id)
        for number, run in runs
        if has_rules(run)
        for fault in run_faults(trial.model.yard, run, trial.kg_of_run(number))
    }


def _feed_costs(trial: Trial) -> dict[str, float]:
    """Cost of the feed of every part over the winter in the plan in hand [currency]."""
    costs: dict[str, float] = {}
    for number, run in enumerate(trial.model.runs):
        kg = trial.kg_of_run(number)
        a_day = sum(
            kg[offer.id] * run.put_out(offer) * offer.price_per_kg_dm for offer in run.block.offers
        )
        costs[run.block.group.id] = costs.get(run.block.group.id, 0.0) + a_day * run.weight
    return costs
