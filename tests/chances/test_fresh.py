"""What an autumn costs on fresh draws: an estimate with its error, against draws all solved."""

from __future__ import annotations

import sys
from math import sqrt
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent))

from scarce import EXAMPLES, scarce_stocks, scarce_template

from rationlp.chances import fresh
from rationlp.chances.course import Course, Wish
from rationlp.chances.courses import Courses
from rationlp.chances.fresh import FreshCost, fresh_cost, money_of_draw
from rationlp.chances.risk import COUNTED
from rationlp.chances.spread_answer import SpreadAsked
from rationlp.chances.spread_plan import plan_for_spread
from rationlp.chances.template import Template
from rationlp.chances.winters import listed_winters
from rationlp.model.lp import Key
from rationlp.read.farm import read_farm
from rationlp.report.chances import fresh_line, proved_line

Autumn = tuple[Course, dict[Key, float]]


@pytest.fixture(scope="module")
def autumns() -> tuple[Template, Autumn, Autumn]:
    """The small example short of forage: autumn of the cheapest plan and of that for the spread."""
    template, _ = scarce_template()
    courses = Courses(template, listed_winters(template.market.spreads))
    spread = courses.of()
    assert spread is not None
    autumn = courses.autumn(courses.mean)
    again = courses.of(Wish(held=autumn))
    assert again is not None
    return template, (again, autumn), (spread, courses.autumn(spread))


@pytest.fixture(scope="module")
def estimated(autumns: tuple[Template, Autumn, Autumn]) -> FreshCost:
    """The estimate."""
    cost = fresh_cost(*autumns)
    assert cost is not None
    return cost


def test_it_agrees_with_draws_that_are_all_solved(
    autumns: tuple[Template, Autumn, Autumn], estimated: FreshCost
) -> None:
    """60 draws of another seed, each solved: means within three errors of both."""
    template, cheapest, spread = autumns
    draws = fresh._draws(len(template.yard.farm.stores), 60, 99)
    draws[:, 1] = 0.0
    money = [
        np.array([money_of_draw(template, autumn, one) for one in draws])
        for _, autumn in (cheapest, spread)
    ]
    for told, error, values in (
        (estimated.cheapest, estimated.error[0], money[0]),
        (estimated.spread, estimated.error[1], money[1]),
        (estimated.less, estimated.error[2], money[0] - money[1]),
    ):
        both = 3.0 * sqrt(error**2 + fresh._error(values) ** 2)
        assert abs(told - float(np.mean(values))) <= both
        assert error > 0.0


def test_the_two_have_the_same_draws(estimated: FreshCost) -> None:
    """So that their difference is known better than either."""
    assert estimated.draws == COUNTED
    assert estimated.less == pytest.approx(estimated.cheapest - estimated.spread)
    assert estimated.error[2] < min(estimated.error[:2])


def test_the_same_each_time(autumns: tuple[Template, Autumn, Autumn], estimated: FreshCost) -> None:
    """Draws are fixed."""
    assert fresh_cost(*autumns) == estimated


def test_a_draw_at_a_listed_winter_is_read_as_it_stands(
    autumns: tuple[Template, Autumn, Autumn],
) -> None:
    """Halfway between two listed winters the mean of both; beyond the last the way goes straight
    on.
    """
    template, _, (course, _) = autumns
    money = {(one.winter.stock, one.winter.late_days): one.money for one in course.winters}
    z = sorted({stock for stock, _ in money})
    days = sorted({late for _, late in money})
    for stock, late in ((z[0], days[0]), (z[2], days[1]), (z[4], days[2])):
        draw = np.array([[late / template.market.spreads.turnout_days, 0.0, 0.0, 0.0]])
        read = _read_at(course, template, draw, stock)
        assert read == pytest.approx(money[stock, late], rel=1e-9)
    middle = np.array([[0.0, 0.0, 0.0, 0.0]])
    between = _read_at(course, template, middle, 0.5 * (z[1] + z[2]))
    assert between == pytest.approx(0.5 * (money[z[1], 0] + money[z[2], 0]), rel=1e-9)
    beyond = _read_at(course, template, middle, 2.0 * z[0] - z[1])
    assert beyond == pytest.approx(2.0 * money[z[0], 0] - money[z[1], 0], rel=1e-9)


def _read_at(course: Course, template: Template, draw: np.ndarray, stock: float) -> float:
    """A draw of one store that is out by so many of its spreads."""
    shared = sqrt(0.5) + sqrt(0.5)
    draw[:, 2:] = stock / shared
    return float(fresh._read_off(course.winters, draw, np.array([1.0]), template)[0])


def test_without_a_spread_it_is_the_plan(autumns: tuple[Template, Autumn, Autumn]) -> None:
    """No spread, no error: what the winter as thought costs."""
    farm = read_farm(EXAMPLES / "few")
    plan = plan_for_spread(farm, SpreadAsked(width=0.0, bales_per_t_dm=90.0), scarce_stocks(farm))
    assert plan is not None
    assert plan.fresh is not None
    assert "2,000 fresh draws" in fresh_line(plan)
    assert "the same as the cheapest" in fresh_line(plan)
    assert plan.fresh.spread == pytest.approx(plan.course.money, abs=0.05)
    assert plan.fresh.less == pytest.approx(0.0, abs=0.1)
    assert max(plan.fresh.error) < 0.1


def test_what_cannot_be_fed_has_no_estimate(autumns: tuple[Template, Autumn, Autumn]) -> None:
    """An autumn that eats more than light stores hold: none, not one without those draws."""
    template, cheapest, (course, autumn) = autumns
    held = {
        key: value * (40.0 if key[0] == "feed" and key[1] == "wide_clamp" else 1.0)
        for key, value in autumn.items()
    }
    assert fresh_cost(template, cheapest, (course, held), solved=2) is None


def test_a_share_asked_for_is_tuned_on_one_set_and_counted_on_another() -> None:
    """On the draws it was tuned on as many can be fed as were asked for, and the share counted on
    fresh ones agrees within three binomial errors; an allowance that is none is kept as well.
    """
    farm = read_farm(EXAMPLES / "few")
    for most in (0.3, 0.1):
        asked = SpreadAsked(most, points=(3, 3, 1), bales_per_t_dm=90.0)
        plan = plan_for_spread(farm, asked, scarce_stocks(farm))
        assert plan is not None
        counted = plan.without_late
        assert counted.tuned >= 1.0 - most
        error = 3.0 * sqrt(2.0 * counted.tuned * (1.0 - counted.tuned) / counted.draws)
        assert abs(counted.share - counted.tuned) <= error + 1.0 / counted.draws
        assert plan.chosen.late_share <= most + 1e-6
        told = proved_line(plan)
        assert f"({int(100.0 * counted.tuned)} on the draws that it was chosen by)" in told
