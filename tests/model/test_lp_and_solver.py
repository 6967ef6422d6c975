"""The programme as plain data, the solver's door, and the certificate, on programmes small enough
for paper.
"""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from math import inf, nan

import pytest

from rationlp.errors import SolverTrouble
from rationlp.model.lp import Column, Program, Row
from rationlp.model.proof import certify, dual_bound
from rationlp.model.solution import SOLVER_STATUS, Numbers, Solution, Status, read_status
from rationlp.model.solve import LiveModel

X, Y = ("feed", "a b"), ("feed", "a_b")


def solve_program(program: Program) -> tuple[LiveModel, Solution]:
    """Build and solve a programme once."""
    live = LiveModel(program)
    return live, live.solve(cold=True)


def small_program(least: float = 2.0) -> Program:
    """Minimise 2x + 3y with x + y ≥ least and y ≤ 1.5: on paper x = least, y = 0."""
    return Program(
        (Column(X, 2.0), Column(Y, 3.0, high=1.5)),
        (
            Row(("sum",), {X: 1.0, Y: 1.0}, low=least),
            Row(("spread",), {X: 1.0, Y: -1.0}, high=10.0),
        ),
    )


def test_two_feeds_solved_on_paper() -> None:
    """The cheaper feed alone covers the need, and the dual is its price."""
    _, solution = solve_program(small_program())
    assert solution.status is Status.OPTIMAL
    assert solution.values == pytest.approx((2.0, 0.0))
    assert solution.row_duals[0] == pytest.approx(2.0)


def test_infeasible_and_unbounded_carry_no_numbers() -> None:
    """A failed solve hands out no value at all."""
    live = LiveModel(small_program())
    live.set_row_bounds(("sum",), 30.0, inf)
    live.set_row_bounds(("spread",), -inf, 1.0)
    assert live.solve().status is Status.INFEASIBLE
    assert live.solve().values == ()
    live.set_row_bounds(("spread",), -inf, inf)
    live.set_costs({X: -1.0})
    assert live.solve().status is Status.UNBOUNDED
    assert live.solve().row_duals == ()


def test_a_live_change_equals_a_fresh_model() -> None:
    """Bounds, costs, coefficients and added rows changed in place give the optimum of the model
    built anew.
    """
    live = LiveModel(small_program())
    live.solve()
    live.set_row_bounds(("sum",), 4.0, inf)
    live.set_coefficient(("sum",), Y, 2.0)
    live.set_costs({X: 5.0, Y: 3.0})
    live.add_row(Row(("cap",), {Y: 1.0}, high=1.0))
    changed = live.solve()
    fresh = Program(
        (Column(X, 5.0), Column(Y, 3.0, high=1.5)),
        (
            Row(("sum",), {X: 1.0, Y: 2.0}, low=4.0),
            Row(("spread",), {X: 1.0, Y: -1.0}, high=10.0),
            Row(("cap",), {Y: 1.0}, high=1.0),
        ),
    )
    assert changed.values == pytest.approx(solve_program(fresh)[1].values)
    live.drop_rows_from(2)
    assert live.solve().values == pytest.approx((1.0, 1.5))


def test_a_column_that_nothing_names_is_kept() -> None:
    """A column without cost and without a row keeps its place, so that values are not shifted."""
    program = Program((Column(("idle",)), Column(X, 2.0)), (Row(("sum",), {X: 1.0}, low=2.0),))
    assert solve_program(program)[1].values == pytest.approx((0.0, 2.0))


@pytest.mark.parametrize(
    "make",
    [
        lambda: Program((Column(X), Column(X)), ()),
        lambda: Program((Column(X),), (Row(("r",), {X: 1.0}), Row(("r",), {X: 1.0}))),
        lambda: Program((Column(X),), (Row(("r",), {Y: 1.0}),)),
        lambda: Program((Column(X),), (Row(("r",), {X: nan}),)),
        lambda: Program((Column(X, inf),), ()),
        lambda: Program((Column(X, low=nan),), ()),
        lambda: Program((Column(X),), (Row(("r",), {X: 1.0}, low=inf),)),
    ],
)
def test_a_model_that_is_no_model_is_refused(make: object) -> None:
    """Keys that stand twice, unknown columns and numbers that are not finite never reach the
    solver.
    """
    with pytest.raises(ValueError, match=r"."):
        make()  # type: ignore[operator]


def test_every_status_of_the_installed_solver_is_known() -> None:
    """Each status the solver can report has one of ours, and a limit reached is never an
    optimum.
    """
    import highspy

    names = [name for name in dir(highspy.HighsModelStatus) if name.startswith("k")]
    assert [name for name in names if name not in SOLVER_STATUS] == []
    assert all(
        read_status(name) is Status.STOPPED
        for name in ("kTimeLimit", "kIterationLimit", "kInterrupt")
    )


def test_an_unknown_status_is_trouble() -> None:
    """A status that a later solver may invent is refused, not guessed."""
    with pytest.raises(SolverTrouble, match="kNew"):
        read_status("kNew")


@pytest.mark.parametrize("stopped", [1, 2, 3, 4])
def test_a_programme_is_tried_in_four_ways(stopped: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the solver stops it is asked again: cold, by its other method, with the programme made
    smaller; then that is trouble.
    """
    live, solution = solve_program(small_program())
    asked: list[str] = []

    def status(name: str) -> Status:
        asked.append(name)
        return Status.STOPPED if len(asked) <= stopped else read_status(name)

    monkeypatch.setattr("rationlp.model.solve.read_status", status)
    if stopped == 4:
        with pytest.raises(SolverTrouble, match="without an answer"):
            live.solve()
        return
    again = live.solve()
    assert len(asked) == stopped + 1
    assert again.objective == pytest.approx(solution.objective)
    assert again.row_duals == pytest.approx(solution.row_duals)


def test_the_certificate_passes_an_optimum_and_rejects_a_mere_vertex() -> None:
    """A feasible vertex that is not optimal has no duals that price it: the gap shows it."""
    live, solution = solve_program(small_program())
    good = certify(live.numbers(), solution)
    assert good.passed
    assert good.dual_objective == pytest.approx(4.0)
    assert not certify(live.numbers(), solution, values=(0.5, 1.5)).passed
    assert not certify(live.numbers(), solution, values=(1.0, 0.0)).passed
    wrong_sign = replace(solution, row_duals=(-2.0, 0.0))
    assert not certify(live.numbers(), wrong_sign).passed


def test_every_fault_of_a_certificate_has_its_size_on_paper() -> None:
    """Minimise 2x + 3y, x + 2y ≥ 4, x and y from 0 to 10, at (1, 1) with the dual 1.5 of y alone.

    Short by 1 of 4 (one and the sum of what is added up); reduced costs 0.5 and 0; cost 5 against a
    bound of 6, over 1 + 5. With the dual −1.5 there is no bound and the sign is wrong.
    """
    numbers = Numbers((2.0, 3.0), (0.0, 0.0), (10.0, 10.0), (4.0,), (inf,), ({0: 1.0, 1: 2.0},))
    duals, values = (1.5,), (1.0, 1.0)
    solution = Solution(Status.OPTIMAL, 5.0, values, duals, (0.5, 0.0))
    made = certify(numbers, solution)
    assert made.primal == pytest.approx(1.0 / 4.0)
    assert made.dual == 0.0
    assert made.complementarity == pytest.approx(1.5 / 6.0)
    assert made.gap == pytest.approx(1.0 / 6.0)
    assert (made.objective, made.dual_objective) == pytest.approx((5.0, 6.0))
    assert made.coefficient_range == (1.0, 2.0)
    wrong = certify(numbers, replace(solution, row_duals=(-1.5,)))
    assert wrong.dual == pytest.approx(1.5 / 2.5)
    assert wrong.dual_objective == -inf
    # At y = 2 the row is kept; x = 1 besides costs its reduced cost of 0.5, over 1 + 8.
    dearer = certify(numbers, solution, (1.0, 2.0))
    assert dearer.primal == 0.0
    assert dearer.complementarity == pytest.approx(1.5 / 9.0)
    # A reduced cost below nought presses on the upper bound: x = 0 is 10 from it.
    cheap = certify(replace(numbers, cost=(1.0, 3.0)), solution, (0.0, 2.0))
    assert cheap.complementarity == pytest.approx(0.5 * 10.0 / 7.0)
    above = certify(numbers, solution, (12.0, 0.0))
    assert above.primal == pytest.approx(2.0 / 13.0)
    # In a money of two the objectives stay, and faults are measured in half of the figures.
    two = certify(replace(numbers, unit=2.0), solution)
    assert (two.objective, two.dual_objective) == pytest.approx((5.0, 6.0))
    assert two.gap == pytest.approx(0.5 / 3.5)


@pytest.mark.parametrize("unit", [1.0, 16.0])
def test_the_bound_of_whole_numbers_is_in_the_money_of_the_costs(unit: float) -> None:
    """Minimise 48x + 80y, x + y ≥ 2.5, x whole and at most 2: on paper 2 and 0.5, 136."""
    program = Program(
        (Column(X, 48.0, high=2.0, integer=True), Column(Y, 80.0)),
        (Row(("sum",), {X: 1.0, Y: 1.0}, low=2.5),),
    )
    live = LiveModel(program, unit)
    solution = live.solve(cold=True)
    assert solution.objective == pytest.approx(136.0)
    assert live.whole_bound() == pytest.approx(136.0, rel=1e-3)


def test_the_size_of_a_row_is_its_largest_coefficient() -> None:
    """Whatever its sign; one for a row without coefficients."""
    assert Row(("r",), {X: 0.2, Y: -7.0}).size == 7.0
    assert Row(("r",), {}).size == 1.0


def test_any_duals_of_the_right_sign_bound_the_cost() -> None:
    """Half the true price of the need is still a lower bound, only a weaker one; a wrong sign
    bounds nothing.
    """
    live, solution = solve_program(small_program())
    assert dual_bound(live.numbers(), (1.0, 0.0)) == pytest.approx(2.0)
    assert dual_bound(live.numbers(), (1.0, 0.0)) <= solution.objective
    assert dual_bound(live.numbers(), (-1.0, 0.0)) == -inf


def test_stdout_stays_pure() -> None:
    """The solver's banner does not reach standard output."""
    code = (
        "from rationlp.model.lp import *; from rationlp.model.solve import LiveModel;"
        "x=('x',); p=Program((Column(x,1.0),),(Row(('r',),{x:1.0},low=1.0),));"
        "s=LiveModel(p).solve(); print(s.objective)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "1.0\n"
