"""What moves when a price or a need moves: exact pieces and ranges against re-solves in place.

after-the-optimum.json holds the exact facts, computed in fractions from published data; printed
ones are named so.
"""

from __future__ import annotations

from fractions import Fraction
from math import inf

import pytest
from published_problems import Record, after_the_optimum, as_program, records, sign

from rationlp.model.solution import Solution, Status
from rationlp.model.solve import LiveModel

RANGES = after_the_optimum()["ranges"]["by_id"]
STEP = 1e-3
"""How far inside and outside the end of a range a re-solve is done, as a share of the way to it."""


def live(name: str) -> LiveModel:
    """The live model of a record."""
    return LiveModel(as_program(records()[name]))


def pieces(fact: str) -> list[Record]:
    """The pieces of a value function."""
    found: list[Record] = after_the_optimum()[fact]["pieces"]
    return found


def with_cost(model: LiveModel, name: str, cost: float) -> Solution:
    """Re-solved with one cost changed."""
    costs = {column.key: column.cost for column in model.program.columns}
    model.set_costs({**costs, ("x", name): cost})
    return model.solve()


def with_need(model: LiveModel, record: Record, name: str, bound: float) -> Solution:
    """Re-solved with one right-hand side changed."""
    op = next(row["op"] for row in record["rows"] if row["name"] == name)
    model.set_row_bounds(("r", name), -inf if op == "<=" else bound, inf if op == ">=" else bound)
    return model.solve()


def test_a_printed_change_of_prices() -> None:
    """The AMPL book's eight foods: beef at 5.01 and ham at 4.55 raise the printed cost from
    118.0594 to 144.4157 (a).
    """
    model = live("lp-diet-8foods")
    assert model.solve().objective == pytest.approx(
        records()["lp-diet-8foods"]["printed"]["objective"], rel=1e-8
    )
    costs = {column.key: column.cost for column in model.program.columns}
    model.set_costs({**costs, ("x", "BEEF"): 5.01, ("x", "HAM"): 4.55})
    assert model.solve().objective == pytest.approx(
        records()["lp-diet-8foods-price1"]["printed"]["objective"], rel=1e-9
    )


@pytest.mark.parametrize("number", range(4))
def test_cost_as_the_price_of_tankage_moves(number: int) -> None:
    """Hog feed of Hillier & Lieberman: on each exact piece the cost is a line whose slope is the kg
    of tankage.
    """
    piece = pieces("tankage_price")[number]
    start, end, slope = (float(Fraction(piece[key])) for key in ("from", "to", "slope"))
    model = live("lp-hog")
    at_start, middle, at_end = (
        with_cost(model, "tankage", price) for price in (start, 0.5 * (start + end), end)
    )
    assert at_end.objective - at_start.objective == pytest.approx(slope * (end - start), abs=1e-9)
    assert middle.objective == pytest.approx(
        0.5 * (at_start.objective + at_end.objective), rel=1e-9
    )
    assert model.value(middle, ("x", "tankage")) == pytest.approx(slope, abs=1e-9)


def test_cost_is_concave_in_a_price() -> None:
    """Slopes fall from piece to piece, and the pieces join."""
    slopes = [Fraction(piece["slope"]) for piece in pieces("tankage_price")]
    assert slopes == sorted(slopes, reverse=True)
    model = live("lp-hog")
    prices = [0.05 * number for number in range(1, 20)]
    costs = [with_cost(model, "tankage", price).objective for price in prices]
    assert all(
        costs[n] >= 0.5 * (costs[n - 1] + costs[n + 1]) - 1e-9 for n in range(1, len(costs) - 1)
    )


@pytest.mark.parametrize(("share", "eaten"), [(1.0001, False), (0.9999, True)])
def test_a_feed_enters_when_its_price_falls_by_its_reduced_cost(share: float, eaten: bool) -> None:
    """Tankage at 0.72 less 0.1771 enters the hog feed, a hair above it stays out."""
    model = live("lp-hog")
    reduced = model.solve().reduced_costs[model.column_index[("x", "tankage")]]
    assert 0.72 - reduced == pytest.approx(float(Fraction("19/35")))
    cheaper = with_cost(model, "tankage", (0.72 - reduced) * share)
    assert (model.value(cheaper, ("x", "tankage")) > 1e-6) is eaten


@pytest.mark.parametrize("number", range(5))
def test_cost_as_the_sodium_cap_moves(number: int) -> None:
    """The AMPL book's eight foods: least cost and shadow price of the sodium cap on each exact
    piece.
    """
    piece = pieces("sodium_cap")[number]
    start, end, slope = (float(Fraction(piece[key])) for key in ("from", "to", "slope"))
    record = records()["lp-diet-8foods"]
    model = live("lp-diet-8foods")
    assert with_need(model, record, "NA_max", start).objective == pytest.approx(
        piece["z_at_from"], rel=1e-9
    )
    middle = with_need(model, record, "NA_max", 0.5 * (start + end))
    assert middle.row_duals[model.row_index[("r", "NA_max")]] == pytest.approx(slope, abs=1e-12)
    fall = with_need(model, record, "NA_max", end).objective - piece["z_at_from"]
    assert fall == pytest.approx(slope * (end - start), rel=1e-7, abs=1e-9)


@pytest.mark.parametrize("dropped", ["B2_min", "NA_max", "HAM at most", "TUR at least"])
def test_the_members_of_the_clash(dropped: str) -> None:
    """Eight foods, sodium 40 000: B2, sodium, the ham ceiling and the turkey floor clash, and
    without any one they do not.
    """
    rows, bounds = (
        {"B2_min": (700.0, inf), "NA_max": (-inf, 40_000.0)},
        {"HAM": (0.0, 10.0), "TUR": (2.0, inf)},
    )
    assert set(after_the_optimum()["clash"]["members"]) == {*rows, "HAM at most", "TUR at least"}
    model = live("lp-diet-8foods-infeasible")
    for row in model.program.rows:
        model.set_row_bounds(row.key, *rows.get(row.key[1], (-inf, inf)))
    for column in model.program.columns:
        model.set_column_bounds(column.key, *bounds.get(column.key[1], (0.0, inf)))
    assert model.solve().status is Status.INFEASIBLE
    if dropped in rows:
        model.set_row_bounds(("r", dropped), -inf, inf)
    else:
        model.set_column_bounds(("x", dropped.split()[0]), 0.0, inf)
    assert model.solve().status is Status.OPTIMAL


COST_ENDS = [(name, feed, number) for name, facts in RANGES.items() for feed,
ends in facts["cost"].items()
             for number in (0, 1) if ends[number] is not None]  # fmt: skip
NEED_ENDS = [(name, row, number) for name, facts in RANGES.items() for row,
ends in facts["rhs"].items()
             for number in (0, 1) if ends[number] is not None]  # fmt: skip


@pytest.mark.parametrize(("name", "feed", "number"), COST_ENDS)
def test_the_range_of_a_cost(name: str, feed: str, number: int) -> None:
    """Up to the end of its range a cost moves the optimum by the amount used; beyond, another
    ration is better.

    lp-sens prints its ranges (a); the others are computed exactly.
    """
    record = records()[name]
    ends = RANGES[name]["cost"][feed]
    model = live(name)
    before = model.solve()
    used = model.value(before, ("x", feed))
    cost = record["costs"][feed]
    span = abs(ends[number] - cost)
    outwards = span * (-1.0 if number == 0 else 1.0)
    at_end = with_cost(model, feed, sign(record) * (cost + outwards)).objective
    assert at_end == pytest.approx(
        before.objective + sign(record) * outwards * used, rel=1e-7, abs=1e-7
    )
    beyond = with_cost(model, feed, sign(record) * (cost + 1.1 * outwards))
    line = before.objective + sign(record) * 1.1 * outwards * used
    assert beyond.status is Status.UNBOUNDED or beyond.objective < line - 1e-9 * max(1.0, abs(line))


@pytest.mark.parametrize(("name", "row", "number"), NEED_ENDS)
def test_the_range_of_a_need(name: str, row: str, number: int) -> None:
    """Up to the end of its range a need moves the cost by its dual; beyond, by more or not at all.

    lp-sens prints the range of THISROW (a); the others are computed exactly.
    """
    record = records()[name]
    ends = RANGES[name]["rhs"][row]
    model = live(name)
    before = model.solve()
    dual = before.row_duals[model.row_index[("r", row)]]
    bound = next(r["rhs"] for r in record["rows"] if r["name"] == row)
    inside = (1.0 - STEP) * (ends[number] - bound)
    at_end = with_need(model, record, row, bound + inside)
    assert at_end.objective == pytest.approx(before.objective + dual * inside, rel=1e-8, abs=1e-8)
    outside = (1.0 + STEP) * (ends[number] - bound)
    beyond = with_need(model, record, row, bound + outside)
    line = before.objective + dual * outside
    assert beyond.status is Status.INFEASIBLE or beyond.objective > line + 1e-9 * max(
        1.0, abs(line)
    )
