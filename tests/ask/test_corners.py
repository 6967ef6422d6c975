"""The walk from corner to corner on sets whose corners are known, convex and not."""

from __future__ import annotations

import itertools
import random

import pytest

from rationlp.ask.corners import Frontier, Place, walk

Choice = tuple[float, float]


def least_of(choices: list[Choice]) -> Frontier[Choice]:
    """The frontier of a list of (amount, cost)."""

    def solve(weight: float) -> Place[Choice] | None:
        if not choices:
            return None
        amount, cost = min(choices, key=lambda one: (one[1] + weight * one[0], one[0]))
        return Place(weight, cost, amount, cost + weight * amount, (amount, cost))

    return walk(solve, 1.0, 1e-9)


def test_every_corner_and_no_more() -> None:
    """Three corners of a convex set; a choice inside, and one on the line, are none."""
    corners = [(10.0, 5.0), (6.0, 6.0), (3.0, 9.0)]
    frontier = least_of([*corners, (8.0, 7.0), (8.0, 5.5)])
    assert [place.answer for place in frontier.corners] == corners


def test_a_choice_above_the_line_is_no_corner() -> None:
    """Cheapest of its amount but above the line of its neighbours: never least at any weight."""
    frontier = least_of([(10.0, 5.0), (6.0, 8.5), (3.0, 9.0)])
    assert [place.answer for place in frontier.corners] == [(10.0, 5.0), (3.0, 9.0)]
    assert frontier.least_cost(6.0) < 8.5


def test_one_choice_is_one_corner_and_none_is_none() -> None:
    """Nothing to spare: one corner; nothing to choose: none."""
    assert [place.amount for place in least_of([(4.0, 2.0)]).corners] == [4.0]
    assert least_of([]).corners == ()


def test_an_amount_of_nought_has_nothing_to_spare() -> None:
    """No weight is tried on what the cheapest choice has none of."""
    frontier = least_of([(0.0, 2.0), (5.0, 3.0)])
    assert (len(frontier.corners), len(frontier.places)) == (1, 1)


@pytest.mark.parametrize("seed", range(30))
def test_random_sets_against_their_lower_hull(seed: int) -> None:
    """At 24 weights the corners count for what the best of all choices does; amounts fall, costs
    and prices rise; the ends are the single goals' own best."""
    draw = random.Random(seed)
    choices = [(draw.uniform(0.0, 9.0), draw.uniform(1.0, 5.0)) for _ in range(40)]
    frontier = least_of(choices)
    corners = frontier.corners
    for n in range(24):
        weight = 0.0 if n == 0 else 10.0 ** (n / 4.0 - 3.0)
        best = min(cost + weight * amount for amount, cost in choices)
        assert min(place.at(weight) for place in corners) == pytest.approx(best, abs=1e-8)
    prices = [(b.cost - a.cost) / (a.amount - b.amount) for a, b in itertools.pairwise(corners)]
    assert prices == sorted(prices)
    assert all(price > 0.0 for price in prices)
    assert corners[0].cost == min(cost for _, cost in choices)
    assert corners[-1].amount == min(amount for amount, _ in choices)
    assert all(frontier.gap(place) <= 1e-9 for place in corners)
