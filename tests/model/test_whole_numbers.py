"""Whole numbers of a winter (loads and bags bought whole, clamps open or shut) beside every other
choice of them, each planned with its numbers held.

The bound is one on all of them, and the plan is the cheapest of them within it. RATIONLP_FULL=1
asks every course of a clamp and more loads, plain pytest a few.
"""

from __future__ import annotations

import os
import random
from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import pytest
from tied_winters import tied_winter

from rationlp.model.solution import Solution, Status
from rationlp.wintering.levels import AcceptedPlan, settle_plan
from rationlp.wintering.search import WinterModel, begin
from rationlp.wintering.whole import settle_whole
from rationlp.wintering.yard import make_yard

FULL = os.environ.get("RATIONLP_FULL") == "1"
CASES = [("mixed", 49), ("sheep", 3), ("mixed", 55), ("cattle", 6), ("cattle", 42), ("sheep", 22)]
CHOICES = 400 if FULL else 6
CLOSE = 2e-6
"""Costs that differ by less are the same [share of the cost]."""


def opened(kind: str, seed: int) -> WinterModel:
    """A winter with whole numbers in the solver; of its clamps the first must advance."""
    farm, held, options = tied_winter(seed, kind)
    yard = make_yard(farm, options, held)
    faces = tuple(name for name, stock in held.items() if stock.face is not None)
    model = WinterModel(replace(yard, open_clamps=faces[:1]))
    assert model.live.has_whole_numbers
    return model


def whole_columns(model: WinterModel) -> list[int]:
    """Numbers of the columns that must be whole."""
    return [j for j, one in enumerate(model.live.program.columns) if one.integer]


def other_choices(model: WinterModel, plan: AcceptedPlan) -> Iterator[tuple[int, ...]]:
    """Clamps open or shut in every way, loads from two fewer to two more than the plan's, in an
    order drawn once.
    """
    columns = model.live.program.columns
    ranges = []
    for j in whole_columns(model):
        at = round(plan.solution.values[j])
        least = 0 if columns[j].high == 1.0 else max(at - 2, 0)
        ranges.append(range(least, 2 if columns[j].high == 1.0 else at + 3))
    every = list(product(*ranges))
    random.Random(1).shuffle(every)
    yield from every[:CHOICES]


def planned_at(kind: str, seed: int, choice: tuple[int, ...]) -> AcceptedPlan | None:
    """The plan of a winter built anew with its whole numbers held at a choice."""
    model = opened(kind, seed)
    values = [0.0] * len(model.live.cost)
    for j, number in zip(whole_columns(model), choice, strict=True):
        values[j] = float(number)
    model.live.hold_whole(Solution(Status.OPTIMAL, 0.0, tuple(values)))
    return settle_plan(model, begin(model))


@pytest.mark.parametrize(("kind", "seed"), CASES)
def test_no_other_whole_numbers_cost_less_than_the_bound(kind: str, seed: int) -> None:
    """No plan of any choice lies below the bound, and the bound lies no higher than the plan."""
    model = opened(kind, seed)
    settled = settle_whole(model)
    assert settled is not None
    plan, bound = settled
    assert plan.passed
    assert bound.lower_bound <= plan.cost * (1.0 + CLOSE)
    compared = 0
    for choice in other_choices(model, plan):
        other = planned_at(kind, seed, choice)
        if other is not None and other.passed:
            compared += 1
            assert other.cost >= bound.lower_bound * (1.0 - CLOSE), choice
    assert compared


def test_the_numbers_of_the_plan_are_held_when_it_is_handed_on() -> None:
    """The model stands on the plan: its whole numbers held, none of the rows of the search left,
    and solved as it stands it costs what the plan does.
    """
    model = opened("cattle", 6)
    settled = settle_whole(model)
    assert settled is not None
    plan, _ = settled
    live = model.live
    for j in whole_columns(model):
        assert live.col_low[j] == live.col_high[j] == round(plan.solution.values[j])
    assert not any(row.key[0] == "value" for row in live.rows)
    answer = model.solve()
    assert answer is not None
    assert answer.objective == pytest.approx(plan.cost, rel=1e-8)
