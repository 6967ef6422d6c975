"""Published linear programmes put straight to programme, solver and certificate: printed optima,
amounts, duals, statuses.

Every source stands beside its data in blending.json and dairy-five-years.json; a failing test names
the record.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import inf, sqrt
from statistics import NormalDist

import pytest
from published_problems import Record, as_program, ids, near, records, sign, solved_by_scipy

from rationlp.model.lp import Program, Row
from rationlp.model.proof import certify
from rationlp.model.solution import Solution, Status
from rationlp.model.solve import LiveModel

OPTIMAL = ids("lp", "optimal")
WRONG = "lp-soy-oats-WRONG"
RIGHTLY_PRINTED = [name for name in OPTIMAL if name != WRONG]


def printing(key: str) -> list[str]:
    """Records with an optimum that rightly print `key`."""
    return [name for name in RIGHTLY_PRINTED if key in (records()[name]["printed"] or {})]


def solve(record: Record) -> tuple[LiveModel, Solution]:
    """A record through the model's own door."""
    live = LiveModel(as_program(record))
    return live, live.solve(cold=True)


def by_name(program: Program, values: tuple[float, ...]) -> dict[str, float]:
    """Column values by the names of the record."""
    return {column.key[1]: value for column, value in zip(program.columns, values, strict=True)}


def rows_by_name(live: LiveModel, values: tuple[float, ...]) -> dict[str, float]:
    """Row values by the names of the record."""
    return {row.key[1]: value for row, value in zip(live.rows, values, strict=True)}


def test_every_kind_of_record_is_there() -> None:
    """The tests below run over records, so an empty list would pass unseen."""
    assert len(OPTIMAL) == 31
    assert len(printing("objective")) == 21
    assert len(printing("primal")) == 18


@pytest.mark.parametrize("name", printing("objective"))
def test_the_printed_optimum(name: str) -> None:
    """The least cost (or greatest profit) is the printed one within its rounding."""
    record = records()[name]
    _, solution = solve(record)
    assert near(record, record["printed"]["objective"], sign(record) * solution.objective), record[
        "source"
    ]


@pytest.mark.parametrize("name", printing("primal"))
def test_the_printed_amounts(name: str) -> None:
    """Every printed amount is found; all these optima are unique in the amounts that are
    printed.
    """
    record = records()[name]
    live, solution = solve(record)
    found = by_name(live.program, solution.values)
    wrong = {key: (value, found[key]) for key, value in record["printed"]["primal"].items()
             if not near(record, value, found[key])}  # fmt: skip
    assert wrong == {}, record["source"]


@pytest.mark.parametrize("name", printing("duals"))
def test_the_printed_duals(name: str) -> None:
    """A dual is the change of the printed objective per unit of the right-hand side."""
    record = records()[name]
    live, solution = solve(record)
    found = rows_by_name(live, solution.row_duals)
    for key, value in record["printed"]["duals"].items():
        assert near(record, value, sign(record) * found[key]), f"{key}: {record['source']}"


@pytest.mark.parametrize("name", printing("reduced_costs"))
def test_the_printed_reduced_costs(name: str) -> None:
    """A reduced cost is positive at a floor and negative at a ceiling."""
    record = records()[name]
    live, solution = solve(record)
    found = by_name(live.program, solution.reduced_costs)
    for key, value in record["printed"]["reduced_costs"].items():
        assert near(record, value, sign(record) * found[key]), f"{key}: {record['source']}"


@pytest.mark.parametrize("name", printing("row_activity"))
def test_the_printed_row_sums(name: str) -> None:
    """What the printed ration supplies of each nutrient."""
    record = records()[name]
    live, solution = solve(record)
    amounts = by_name(live.program, solution.values)
    for row in record["rows"]:
        total = sum(value * amounts[key] for key, value in row["coeffs"].items())
        assert near(record, record["printed"]["row_activity"][row["name"]], total), (
            f"{row['name']}: {record['source']}"
        )


@pytest.mark.parametrize(
    "name", [name for name in OPTIMAL if "objective_exact" in records()[name]["computed"]]
)
def test_the_exact_optimum(name: str) -> None:
    """The optimum in fractions, computed with its certificate, is met to nine digits."""
    record = records()[name]
    exact = float(Fraction(record["computed"]["objective_exact"]))
    assert sign(record) * solve(record)[1].objective == pytest.approx(exact, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("name", OPTIMAL)
def test_the_certificate_passes_and_another_door_agrees(name: str) -> None:
    """Bounds, rows, dual signs, slackness and gap hold, and SciPy on the record's own numbers finds
    the same cost.
    """
    record = records()[name]
    live, solution = solve(record)
    assert certify(live.numbers(), solution).passed
    other = solved_by_scipy(record)
    assert other.status == 0
    assert solution.objective == pytest.approx(other.fun, rel=1e-6, abs=1e-6)


def computed_duals() -> list[str]:
    """Records with duals computed in fractions at an optimum whose duals are unique."""
    return [
        name for name in OPTIMAL
        if "duals" in records()[name]["computed"]
        and not records()[name]["computed"]["primal_degenerate"]
    ]  # fmt: skip


@pytest.mark.parametrize("name", computed_duals())
def test_the_exact_duals(name: str) -> None:
    """Where three rows do not meet in one point the duals are unique, and equal those computed in
    fractions.
    """
    record = records()[name]
    live, solution = solve(record)
    found = {
        key: sign(record) * value for key, value in rows_by_name(live, solution.row_duals).items()
    }
    assert found == pytest.approx(record["computed"]["duals"], rel=1e-8, abs=1e-9)


@pytest.mark.parametrize(
    ("name", "status", "scipy_status"),
    [
        ("lp-diet-8foods-infeasible", Status.INFEASIBLE, 2),
        ("lp-status-unbounded", Status.UNBOUNDED, 3),
    ],
)
def test_a_programme_without_an_optimum(name: str, status: Status, scipy_status: int) -> None:
    """The printed status is found, no number is handed out, and SciPy says the same."""
    record = records()[name]
    assert record["printed"]["status"] == status.value
    _, solution = solve(record)
    assert solution.status is status
    assert solution.values == ()
    assert solved_by_scipy(record).status == scipy_status


def test_a_blend_without_a_batch_size_is_unbounded() -> None:
    """Constructed from the six-ingredient blend: gel has no fibre and no salt, so the batch can
    grow for ever.
    """
    record = records()["lp-blend-6"]
    rows = [row for row in record["rows"] if row["name"] != "whole"]
    costs = dict.fromkeys(record["costs"], 1.0)
    assert (
        solve({**record, "sense": "max", "costs": costs, "rows": rows})[1].status
        is Status.UNBOUNDED
    )


def test_more_protein_than_the_best_feed_has_is_infeasible() -> None:
    """Constructed from the calcium mix: no blend of feeds with 50 % protein at most has 51 %."""
    record = records()["lp-feedmix-calcium"]
    rows = [{**row, "rhs": 0.51} if row["name"] == "protein_min" else row for row in record["rows"]]
    assert solve({**record, "rows": rows})[1].status is Status.INFEASIBLE


def test_the_printed_slip_is_found_out() -> None:
    """A question page prints 52 at a vertex that is feasible but not the cheapest: no duals price
    it out.
    """
    record = records()[WRONG]
    live, solution = solve(record)
    assert not near(record, record["printed"]["objective"], solution.objective)
    assert solution.objective == pytest.approx(2205 / 43)
    point = tuple(record["printed"]["primal"][variable["name"]] for variable in record["variables"])
    wrong = certify(live.numbers(), solution, values=point)
    assert wrong.primal <= 1e-9
    assert wrong.objective == pytest.approx(574 / 11)
    assert not wrong.passed


def test_both_printed_optima_of_a_tie_are_certified() -> None:
    """Werners, Grundlagen des Operations Research: two vertices cost the same, and the same duals
    prove both.
    """
    record = records()["lp-status-alternative"]
    live, solution = solve(record)
    for point in record["printed"]["alternative_primal"]:
        certificate = certify(live.numbers(), solution, values=(point["x1"], point["x2"]))
        assert certificate.passed
        assert -certificate.objective == pytest.approx(33.0)
    assert not certify(live.numbers(), solution, values=(8.0, 5.0)).passed


@pytest.mark.parametrize("duals", [(4 / 3, 1 / 3, 0.0, 0.0), (0.0, 7 / 13, 0.0, 16 / 13)])
def test_a_degenerate_optimum_has_more_than_one_proof(duals: tuple[float, ...]) -> None:
    """Three rows meet in (7, 8), a variant constructed on Werners: two different sets of duals both
    prove it.
    """
    record = records()["lp-status-degenerate-20"]
    live, solution = solve(record)
    other = replace(solution, row_duals=tuple(-value for value in duals))
    assert certify(live.numbers(), other, values=(7.0, 8.0)).passed


def test_the_certificate_of_the_geometry_library() -> None:
    """CGAL, optimality_certificate: (1, 0) is proved by y = (0, −1), whoever computed it, and not
    by y = (0, 0).
    """
    live, solution = solve(records()["lp-certificate"])
    proved = replace(solution, row_duals=(0.0, -1.0))
    assert certify(live.numbers(), proved, values=(1.0, 0.0)).passed
    assert not certify(
        live.numbers(), replace(solution, row_duals=(0.0, 0.0)), values=(1.0, 0.0)
    ).passed


def test_every_printed_corner_of_the_turkey_feed() -> None:
    """Render & Stair, Quantitative Analysis for Management: three corners are feasible at their
    printed cost, one is best.
    """
    record = records()["lp-turkey"]
    live, solution = solve(record)
    passed = []
    for corner in record["printed"]["corners"]:
        certificate = certify(live.numbers(), solution, values=(corner["brand1"], corner["brand2"]))
        assert certificate.primal <= 1e-9
        assert certificate.objective == pytest.approx(corner["cost"])
        passed.append(certificate.passed)
    assert passed == [False, True, False]


def test_a_free_variable() -> None:
    """Constructed on lp-sens: with their floors taken away columns go below 0, and SciPy agrees."""
    record = records()["lp-sens"]
    free = {**record, "variables": [{**variable, "lb": None} for variable in record["variables"]]}
    bounded = {**free, "rows": [*record["rows"], {"name": "floor", "coeffs": {"COLTWO": 1},
    "op": ">=", "rhs": -0.25},
                                {"name": "three", "coeffs": {"COLTHREE": 1}, "op": ">=",
                                "rhs": -1.5}]}  # fmt: skip
    live, solution = solve(bounded)
    assert solution.objective == pytest.approx(solved_by_scipy(bounded).fun, rel=1e-9)
    assert min(solution.values) < 0.0
    assert certify(live.numbers(), solution).passed


@pytest.mark.parametrize(
    ("stock", "cost", "price"),
    [(300, "329/4", "8/75"), (400, "859/12", "8/75"), (500, "731/12", "8/75"), (600, "732/13",
    "11/650"),
     (700, "384/7", "0")],
)  # fmt: skip
def test_two_groups_share_a_stock(stock: int, cost: str, price: str) -> None:
    """Constructed, exact in fractions: least cost and worth of a kg of silage as the shared stock
    grows.
    """
    record = records()["budget-own-joint-forage"]
    live, _ = solve(record)
    live.set_row_bounds(("r", "silage_stock"), -inf, float(stock))
    solution = live.solve()
    assert solution.objective == pytest.approx(float(Fraction(cost)), rel=1e-9)
    assert rows_by_name(live, solution.row_duals)["silage_stock"] == pytest.approx(
        -float(Fraction(price)), abs=1e-9
    )


def cone_by_cuts(record: Record, most: int = 20) -> tuple[float, dict[str, float]]:
    """Mean less k standard deviations at least the target, by gradient rows added to a live model
    until it holds.
    """
    chance = next(row for row in record["rows"] if "mean" in row)
    linear = {**record, "rows": [row for row in record["rows"] if "coeffs" in row]}
    live, solution = solve(linear)
    for number in range(most):
        x = by_name(live.program, solution.values)
        spread = sqrt(sum(v * x[key] ** 2 for key, v in chance["variance"].items()))
        if (
            sum(m * x[key] for key, m in chance["mean"].items()) - chance["k"] * spread
            >= chance["rhs"] - 1e-9
        ):
            return solution.objective, x
        coefs = {("x", key): m - chance["k"] * chance["variance"][key] * x[key] / spread
                 for key, m in chance["mean"].items()}  # fmt: skip
        live.add_row(Row(("cut", str(number)), coefs, float(chance["rhs"]), inf))
        solution = live.solve()
    raise AssertionError(f"{most} rows did not close the cone")


def test_the_printed_chance_constrained_cattle_feed() -> None:
    """Hock & Schittkowski 1981, problem 73, after van de Panne & Popp 1963: reached with linear
    rows alone.
    """
    record = records()["chance-cattle-feed"]
    cost, mix = cone_by_cuts(record)
    assert near(record, record["printed"]["objective"], cost)
    assert all(near(record, value, mix[key]) for key, value in record["printed"]["primal"].items())


@pytest.mark.parametrize(("margin", "number"), [(0.0, 0), (0.5, 1), (1.645, 2)])
def test_a_margin_feed_by_feed(margin: float, number: int) -> None:
    """Mean less a margin of standard deviations per feed is one linear programme; cost and mix
    computed once before.
    """
    record = records()["chance-cattle-feed"]
    chance = next(row for row in record["rows"] if "mean" in row)
    coeffs = {
        key: mean - margin * sqrt(chance["variance"][key]) for key, mean in chance["mean"].items()
    }
    rows = [*(row for row in record["rows"] if "coeffs" in row),
            {"name": "protein", "coeffs": coeffs, "op": ">=", "rhs": chance["rhs"]}]  # fmt: skip
    live, solution = solve({**record, "rows": rows})
    known = record["computed"]["comparison"][number]
    assert solution.objective == pytest.approx(known["cost"], rel=1e-9)
    mix = by_name(live.program, solution.values)
    spread = sqrt(sum(v * mix[key] ** 2 for key, v in chance["variance"].items()))
    surplus = sum(mean * mix[key] for key, mean in chance["mean"].items()) - chance["rhs"]
    assert NormalDist().cdf(surplus / spread) == pytest.approx(known["prob_protein"], abs=1e-6)
