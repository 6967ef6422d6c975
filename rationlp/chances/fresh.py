"""What an autumn costs on fresh draws of the winter, with the error of that estimate.

Every draw has a stock of its own for each store (a shared part and one of its own), a turnout, and
a price factor where prices differ between the listed winters. Its cost is read off these, straight
between them. Some more draws are solved, and what the reading was out by on them is added to the
mean: a control variate, as in textbooks of simulation (b). So reading brings no bias, only error.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import product
from math import inf, sqrt

import numpy as np

from rationlp.chances.course import Course, InWinter, Wish, solve_course
from rationlp.chances.data import figure
from rationlp.chances.layout import TreeLayout
from rationlp.chances.risk import COUNTED
from rationlp.chances.template import Template
from rationlp.chances.tree import make_tree
from rationlp.chances.winters import ListedWinter, normal_points
from rationlp.model.lp import Key
from rationlp.records import dataclass

READ_SEED, SOLVED_SEED = 3, 4
SOLVED = 16
"""Draws that are solved, for each of two autumns."""
MOST_Z = 3.0
LITTLE = 1e-3
"""Weight of a draw beside the springs that are still possible when its stock is seen: so little
that what is done then does not know its turnout [share]."""
SPRING_POINTS = 3


@dataclass(frozen=True)
class FreshCost:
    """Money of a real winter, estimated [currency]. draws: read off the listed winters; solved:
    more draws, solved. cheapest: with the autumn of the cheapest plan, the rest planned again;
    spread: with that of the plan for the spread; less: the one less the other. error: standard
    errors of the three, in that order.
    """

    draws: int
    solved: int
    cheapest: float
    spread: float
    less: float
    error: tuple[float, float, float]


def fresh_cost(
    template: Template,
    cheapest: tuple[Course, Mapping[Key, float]],
    spread: tuple[Course, Mapping[Key, float]],
    solved: int = SOLVED,
) -> FreshCost | None:
    """The cost of two autumns on the same fresh draws: each a course through the listed winters and
    the columns of its autumn. None where a draw that is solved cannot be fed.
    """
    stores = [store.id for store in template.yard.farm.stores]
    read = _draws(len(stores), COUNTED, READ_SEED)
    exact = _draws(len(stores), solved, SOLVED_SEED)
    if all(listed.winter.price == 0.0 for listed in spread[0].winters):
        # Prices are held as they are.
        read[:, 1] = exact[:, 1] = 0.0
    shares = _shares(template, stores)
    by_reading, by_solving = [], []
    for course, autumn in (cheapest, spread):
        solving = np.array([money_of_draw(template, autumn, draw) for draw in exact])
        if np.any(np.isinf(solving)):
            return None
        by_reading.append(_read_off(course.winters, read, shares, template))
        by_solving.append(solving - _read_off(course.winters, exact, shares, template))
    pairs = [
        (by_reading[0], by_solving[0]),
        (by_reading[1], by_solving[1]),
        (by_reading[0] - by_reading[1], by_solving[0] - by_solving[1]),
    ]
    means = [float(np.mean(reading) + np.mean(out)) for reading, out in pairs]
    errors = [sqrt(_error(reading) ** 2 + _error(out) ** 2) for reading, out in pairs]
    return FreshCost(
        COUNTED, solved, means[0], means[1], means[2], (errors[0], errors[1], errors[2])
    )


def _draws(stores: int, count: int, seed: int) -> np.ndarray:
    """Standard normal numbers in pairs of opposite sign: turnout, price, stores' shared and own."""
    numbers = np.random.default_rng(seed).standard_normal((count // 2, stores + 3))
    return np.clip(np.vstack((numbers, -numbers)), -MOST_Z, MOST_Z)


def _by_store(draws: np.ndarray) -> np.ndarray:
    shared = figure("correlation")
    return sqrt(shared) * draws[:, 2:3] + sqrt(1.0 - shared) * draws[:, 3:]


def _shares(template: Template, stores: Sequence[str]) -> np.ndarray:
    """Of each store in the tonnes that all stores are out by when each is by one spread [share]."""
    spreads = template.market.spreads.stock
    tonnes = np.array(
        [spreads[store] * template.yard.stocks[store].edible_t_dm.typical for store in stores]
    )
    total = float(np.sum(tonnes))
    if total <= 0.0:
        return np.zeros(len(stores))
    return tonnes / total


def _read_off(
    winters: Sequence[InWinter], draws: np.ndarray, shares: np.ndarray, template: Template
) -> np.ndarray:
    """Money of each draw, straight between the listed winters whose stores are out by as much."""
    known = {
        (listed.winter.stock, float(listed.winter.late_days), listed.winter.price): listed.money
        for listed in winters
    }
    axes = [sorted({key[n] for key in known}) for n in range(3)]
    late = template.market.spreads.turnout_days * draws[:, 0]
    places = [_by_store(draws) @ shares, late, draws[:, 1]]
    ends = [_between(axis, place) for axis, place in zip(axes, places, strict=True)]
    money = np.zeros(len(draws))
    for corner in product((0, 1), repeat=3):
        weight = np.ones(len(draws))
        for (_, above), side in zip(ends, corner, strict=True):
            share = above
            if side == 0:
                share = 1.0 - above
            weight = weight * share
        columns = [
            [axis[min(number + side, len(axis) - 1)] for number in low]
            for axis, (low, _), side in zip(axes, ends, corner, strict=True)
        ]
        money += weight * np.array([known[key] for key in zip(*columns, strict=True)])
    return money


def _between(axis: Sequence[float], places: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The point below each place, and the share of the way to the next; straight on at the ends."""
    if len(axis) == 1:
        return np.zeros(len(places), dtype=int), np.zeros(len(places))
    low = np.clip(np.searchsorted(axis, places) - 1, 0, len(axis) - 2)
    points = np.array(axis)
    return low, (places - points[low]) / (points[low + 1] - points[low])


def money_of_draw(template: Template, autumn: Mapping[Key, float], draw: np.ndarray) -> float:
    """Money of a draw after an autumn: its stock is seen at the turn of the year, when every spring
    is still possible, its turnout in late winter; inf where it cannot be fed [currency].
    """
    spreads = template.market.spreads
    stores = (store.id for store in template.yard.farm.stores)
    own = dict(zip(stores, map(float, _by_store(draw[None, :])[0]), strict=True))
    points = normal_points(SPRING_POINTS)
    springs = [(round(spreads.turnout_days * z), (1.0 - LITTLE) * w) for z, w in points]
    springs.append((round(spreads.turnout_days * float(draw[0])), LITTLE))
    winters = tuple(
        ListedWinter(number, weight, 0.0, days, float(draw[1]), own)
        for number, (days, weight) in enumerate(springs)
    )
    course = solve_course(TreeLayout(template, make_tree(winters)), Wish(held=autumn))
    if course is None:
        return inf
    return course.winters[-1].money


def _error(values: np.ndarray) -> float:
    """Standard error of the mean of values in pairs of opposite draws."""
    half = len(values) // 2
    pairs = 0.5 * (values[:half] + values[half:])
    return float(np.std(pairs, ddof=1)) / sqrt(half)
