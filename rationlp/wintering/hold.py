"""A ration held for four weeks: forages and roots stay the same through neighbouring periods,
concentrate alone may step.

Rows that hold a group's forages are in the model from the start, free. They are set before small
amounts are put right, for all groups at once, else by halves of them, and stay where a plan was
found that costs no more than the stated share of the group's feed. Common practice, no source (c).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from datetime import date
from math import inf

from rationlp.farm.lactation import WEEK
from rationlp.farm.traits import traits
from rationlp.model.lp import Key, Row
from rationlp.read.yard_rules import hold_days, hold_saving
from rationlp.wintering.parts import Run
from rationlp.wintering.search import WinterModel
from rationlp.wintering.trial import Trial

NOT_HELD = frozenset({"mineral"})
RISING_WEEKS = 8.0
"""Weeks after calving in which a cow eats more every week, 0.8 kg for ten weeks (press page, a)."""


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
            follows = second.periods[0] == first.periods[-1] + 1
            # A store that opens or is kept for others from here on begins four weeks of its own.
            same = _forages(first) == _forages(second) and not _comes_into_milk(first, second)
            if follows and (last - begun).days <= days and same:
                yield before, after
            else:
                begun = _first(model, second)


def _comes_into_milk(before: Run, after: Run) -> bool:
    """Cows that eat more forage from week to week: none of it is held back for them."""
    cows, later = before.block.group, after.block.group
    if not traits(later.animal_class).parlour or WEEK not in cows.facts:
        return False
    return cows.number(WEEK) < min(RISING_WEEKS, later.number(WEEK))


def _forages(run: Run) -> list[str]:
    return [offer.id for offer in run.block.offers if not offer.feed.is_concentrate]


def _first(model: WinterModel, run: Run) -> date:
    return model.yard.periods[run.periods[0]].first


def hold_rations(trial: Trial) -> None:
    """Hold the forages of every group that it does not cost too much: all of them at once, else by
    halves of them, down to single groups.
    """
    live = trial.model.live
    groups = list(dict.fromkeys(row.key[1] for row in live.rows if row.key[0] == "hold"))
    if groups:
        share = hold_saving(trial.model.yard.farm.yard_rules)
        most = {group: share * cost for group, cost in feed_costs(trial).items()}
        _hold(trial, sorted(groups, key=lambda group: most[group]), most)


def _hold(trial: Trial, groups: list[str], most: dict[str, float]) -> None:
    """Hold these groups where that costs no more than the least of what each may cost [currency];
    else try both halves.
    """
    trial.steady_groups |= set(groups)
    plan = trial.settled(trial.held, trial.best.touches)
    if plan is not None and plan.cost - trial.best.cost <= min(most[group] for group in groups):
        trial.take(trial.held, plan)
        return
    trial.steady_groups -= set(groups)
    middle = len(groups) // 2
    if middle:
        _hold(trial, groups[:middle], most)
        _hold(trial, groups[middle:], most)


def feed_costs(trial: Trial) -> dict[str, float]:
    """Cost of the feed of every part over the winter in the plan in hand [currency]."""
    costs: dict[str, float] = {}
    for number, run in enumerate(trial.model.runs):
        kg = trial.kg_of_run(number)
        a_day = sum(
            kg[offer.id] * run.put_out(offer) * offer.price_per_kg_dm for offer in run.block.offers
        )
        costs[run.block.group.id] = costs.get(run.block.group.id, 0.0) + a_day * run.weight
    return costs
