"""The search over every level of feeding: its bounds, its rations, and answers whose
metabolisability is held.
"""

from __future__ import annotations

import random
from math import inf

import pytest
from random_groups import BY_STANDARD, random_block
from sweep import Sweep, level_of, short_of
from test_sweep_over_levels import group_block

from rationlp.ask.engine import GroupEngine
from rationlp.model.block_ration import Optimum, settle_levels, solve_block
from rationlp.model.bound import close_enough
from rationlp.model.cheapest import cheaper
from rationlp.model.levels import (
    at_q,
    bound_between,
    free_q,
    level_range,
    q_range,
    search_levels,
)
from rationlp.model.search import BlockModel
from rationlp.model.tidy import tidy
from rationlp.model.trace import last_programme

HELD = [
    ("light_lamb", 2),
    ("light_lamb", 30),
    ("light_ewe_lamb", 98),
    ("lamb", 27),
    ("growing_cattle", 6),
    ("calf", 8),
]
"""Groups at whose cheapest ration no level of feeding stands still: at that level something cheaper
is short at its own.
"""


def opened(seed: int, animal_class: str, standard: str) -> BlockModel | None:
    """A random block in the solver with its interval of dry matter; None where nothing can be
    eaten.
    """
    model = BlockModel(random_block(seed, animal_class, standard))
    model.find_interval()
    return None if model.infeasible else model


@pytest.mark.parametrize(("standard", "animal_class"), BY_STANDARD)
def test_the_range_of_levels_holds_every_level_between(standard: str, animal_class: str) -> None:
    """Against forty levels worked out one by one, on wide and on narrow intervals; no wider than it
    must be where it slopes one way.
    """
    rng = random.Random(animal_class)
    for seed in range(12):
        model = opened(41_000 + seed, animal_class, standard)
        if model is None or model.need is None:
            continue
        low, high = q_range(model)
        for _ in range(6):
            a, b = sorted(rng.uniform(low, high) for _ in range(2))
            least, most = level_range(model.need, a, b)
            levels = [level_of(model.block, a + (b - a) * number / 40) for number in range(41)]
            assert least <= min(levels) * (1 + 1e-12)
            assert most >= max(levels) * (1 - 1e-12)
            assert most - least <= 3.0 * (max(levels) - min(levels)) + 1e-9


@pytest.mark.parametrize(("standard", "animal_class"), BY_STANDARD)
def test_an_interval_is_bounded_from_below(standard: str, animal_class: str) -> None:
    """No ration with a metabolisability inside costs less than the bound of the interval; one that
    has no bound has no ration.
    """
    rng = random.Random(animal_class)
    seen = 0
    for seed in range(4):
        model = opened(42_000 + seed, animal_class, standard)
        if model is None:
            continue
        reference = Sweep(model.block)
        low, high = q_range(model)
        for _ in range(3):
            a, b = sorted(rng.uniform(low, high) for _ in range(2))
            bounded = bound_between(model, a, b)
            least = inf if bounded is None else bounded[0]
            for share in (0.0, 0.3, 0.7, 1.0):
                cost = reference.at(a + share * (b - a))[0]
                seen += cost < inf
                assert cost >= least - 1e-7 * abs(least) if least < inf else cost == inf
    assert seen >= 3


@pytest.mark.parametrize(("standard", "animal_class"), BY_STANDARD)
def test_a_ration_of_a_metabolisability_is_the_reference_s(
    standard: str, animal_class: str
) -> None:
    """The same least cost with q held, and adequate at its own q and level of feeding."""
    seen = 0
    for seed in range(4):
        model = opened(43_000 + seed, animal_class, standard)
        if model is None:
            continue
        low, high = q_range(model)
        for share in (0.2, 0.4, 0.6, 0.8):
            q = low + share * (high - low)
            found, cost = at_q(model, q), Sweep(model.block).at(q)[0]
            if found is None:
                assert cost == inf
                continue
            seen += 1
            assert found.objective == pytest.approx(cost, rel=1e-6)
            names = [offer.id for offer in model.block.offers]
            kg = dict(zip(names, found.solution.values[: len(names)], strict=True))
            assert short_of(model.block, kg) == []
    assert seen >= 2


@pytest.mark.parametrize(("kind", "seed"), HELD)
def test_the_cheapest_ration_may_stand_where_no_level_stands_still(kind: str, seed: int) -> None:
    """The answer is cheaper than the settled one, if there is one; programme, engine and tidied
    ration all go by it.
    """
    block = group_block(seed, kind)
    answer = solve_block(block)
    assert isinstance(answer, Optimum)
    assert answer.held_q is not None
    assert answer.me_mj / answer.dm_kg / 18.8 == pytest.approx(answer.held_q, rel=1e-9)
    assert answer.level == pytest.approx(level_of(block, answer.held_q), rel=1e-9)
    assert answer.objective == pytest.approx(Sweep(block).cheapest(near=answer.held_q)[0], rel=1e-5)
    model = BlockModel(block)
    model.find_interval()
    settled = settle_levels(model)
    if settled.still:
        assert settled.rounds[-1].answer.objective > answer.objective * (1.0 + 1e-6)
    programme = last_programme(block, answer)
    assert programme is not None
    assert programme.objective == pytest.approx(answer.objective, rel=1e-9)
    assert GroupEngine(block).cost({})[0] == pytest.approx(answer.objective, rel=1e-7)
    tidied = tidy(block, answer)
    if tidied is not None:
        assert short_of(block, tidied.values) == []
        assert answer.lower_bound <= tidied.objective * (1.0 + 1e-9)


def test_without_a_ration_to_begin_with_the_search_finds_one() -> None:
    """It is the one that the settled search finds, and its bound holds; the model is left free of
    what was held.
    """
    block = random_block(3, "dairy_cow_dry")
    answer = solve_block(block)
    assert isinstance(answer, Optimum)
    model = BlockModel(block)
    model.find_interval()
    search = search_levels(model, inf, None)
    assert search.best is not None
    assert search.best.answer.objective == pytest.approx(answer.objective, rel=1e-4)
    assert search.lower_bound <= answer.objective * (1.0 + 1e-9)
    free_q(model)
    for name in ("q_least", "q_most"):
        row = model.live.row_index[block.key(name)]
        assert (model.live.row_low[row], model.live.row_high[row]) == (-inf, inf)


def test_a_search_with_no_programme_left_keeps_the_honest_bound() -> None:
    """After one programme the bound is that of the whole range: below the cost, and not taken for
    closed.
    """
    block = group_block(44, "light_lamb")
    answer = solve_block(block)
    assert isinstance(answer, Optimum)
    model = BlockModel(block)
    model.find_interval()
    search = search_levels(model, answer.objective, answer.held_q, most_lps=1)
    assert search.lower_bound < answer.objective * (1.0 - 1e-4)
    assert not close_enough(answer.objective, search.lower_bound)


def test_costs_that_differ_by_rounding_are_the_same() -> None:
    """And any cost is less than that of no ration, to which no bound is close."""
    assert cheaper(0.99, 1.0)
    assert not cheaper(1.0 - 1e-7, 1.0)
    assert not cheaper(1.0, 1.0)
    assert cheaper(1.0, inf)
    assert not cheaper(inf, inf)
    assert cheaper(-1.01, -1.0)
    assert not close_enough(inf, 1.0)
    assert close_enough(1.0, 1.0 - 4e-5)
    assert not close_enough(1.0, 1.0 - 6e-5)
    assert close_enough(1e-9, 0.0)
    assert not close_enough(1e-9, 0.0, unit=0.01)
