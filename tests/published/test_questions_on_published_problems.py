"""Prices and needs asked about on published problems: the ranges printed, or computed exactly from
published data.

lp-sens: reference guide of a general-purpose solver, its page on sensitivity (ranges printed, (a)).
lp-hog: Hillier & Lieberman's hog feed (data (a), ranges computed in fractions). Both stand with
their sources in blending.json and after-the-optimum.json.
"""

from __future__ import annotations

from math import inf
from pathlib import Path

import pytest
from published_farm import GROUP, blend_of, offer, write_blend
from published_problems import after_the_optimum, as_program, records

from rationlp.ask.tonnes import Line, breakpoints
from rationlp.ask.worth import FeedWorth, WorthOptions, worth
from rationlp.model.solve import LiveModel
from rationlp.read.farm import read_farm

PER_T = 1000.0


def worths(name: str, folder: Path) -> dict[str, FeedWorth]:
    """What every feed of a problem is worth, by its own name there."""
    record = records()[name]
    farm = read_farm(write_blend(blend_of(record), folder))
    found = worth(farm, farm, WorthOptions(groups=[GROUP], winter=False))
    by_id = {feed.offer: feed for feed in found.feeds}
    return {variable["name"]: by_id[offer(variable["name"])] for variable in record["variables"]}


def test_printed_range_of_a_need() -> None:
    """THISROW of lp-sens holds its shadow price 0.03448276 from 52.2 to 142.042 (printed):
    breakpoints of the cost curve.
    """
    live = LiveModel(as_program(records()["lp-sens"]))
    row = live.row_index["r", "THISROW"]

    def line(need: float) -> Line:
        live.set_row_bounds(("r", "THISROW"), need, inf)
        solution = live.solve()
        return need, solution.objective, solution.row_duals[row]

    found = breakpoints(line, 40.0, 160.0)
    printed = records()["lp-sens"]["printed"]
    assert [need for need, _, _ in found][1:-1] == pytest.approx(
        printed["ranging"]["rhs"]["THISROW"], rel=1e-6
    )
    inside = (found[2][1] - found[1][1]) / (found[2][0] - found[1][0])
    assert inside == pytest.approx(printed["duals"]["THISROW"], rel=1e-6)


def test_printed_ranges_of_costs(tmp_path: Path) -> None:
    """lp-sens as a farm: COLTWO comes in below 2.698621, COLFOUR is eaten as it is up to 0.1111679
    (both printed).
    """
    found = worths("lp-sens", tmp_path)
    ranges = records()["lp-sens"]["printed"]["ranging"]["objective"]
    assert found["COLTWO"].turns_at == pytest.approx(PER_T * ranges["COLTWO"][0], abs=0.1)
    assert found["COLFOUR"].same_high == pytest.approx(PER_T * ranges["COLFOUR"][1], abs=0.1)
    assert found["COLFOUR"].same_low is None


def test_printed_reduced_cost(tmp_path: Path) -> None:
    """COLTWO's reduced cost 0.3013793 and COLTHREE's 6.24 (printed), a tonne."""
    found = worths("lp-sens", tmp_path)
    printed = records()["lp-sens"]["printed"]["reduced_costs"]
    for name in ("COLTWO", "COLTHREE"):
        assert found[name].reduced_cost == pytest.approx(PER_T * printed[name], rel=1e-5)


@pytest.mark.parametrize("feed", ["corn", "alfalfa"])
def test_ranges_of_the_hog_feed(feed: str, tmp_path: Path) -> None:
    """The prices between which corn and alfalfa stay as they are, to a tenth a tonne."""
    low, high = after_the_optimum()["ranges"]["by_id"]["lp-hog"]["cost"][feed]
    found = worths("lp-hog", tmp_path)[feed]
    assert (found.same_low, found.same_high) == (
        pytest.approx(PER_T * low, abs=0.1),
        pytest.approx(PER_T * high, abs=0.1),
    )


def test_entry_price_of_tankage(tmp_path: Path) -> None:
    """Tankage comes in below 19/35 a kg; at 0.72 it is out."""
    found = worths("lp-hog", tmp_path)["tankage"]
    assert found.kg_dm == pytest.approx(0.0, abs=1e-9)
    assert found.turns_at == pytest.approx(PER_T * 19.0 / 35.0, abs=0.1)
    assert found.reduced_cost == pytest.approx(PER_T * (0.72 - 19.0 / 35.0), rel=1e-6)
