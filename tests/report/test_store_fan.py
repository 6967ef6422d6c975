"""The fan of what is left of a store in many winters."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from rationlp.after.stock import Remainder, RunOut, StoreLife
from rationlp.farm.store import Spread
from rationlp.report.chart import Band, Curve, Marks
from rationlp.report.draw import draw
from rationlp.report.winter_charts import store_fan


def test_a_fan_says_its_figures_and_marks_the_days_to_look() -> None:
    """A store of 100 t with a spread of a tenth, eaten evenly over 100 days: nine of ten winters
    within 1.645 of 10 t to either side, never below nothing; a day outside the winter is no mark.
    """
    first = date(2026, 11, 1)
    none = Spread(0.0, 0.0, 0.0)
    left = tuple(
        Remainder(first + timedelta(days=days), Spread(t, t, t), 0.0)
        for days, t in ((0, 100.0), (100, 0.0))
    )
    out = RunOut(None, None, None)
    store = StoreLife("clamp", "Clamp", left[-1].on, 0.0, left, out, none, none)
    looks = (first + timedelta(days=50), first + timedelta(days=200))
    chart = store_fan(store, 0.1, looks)
    outer, inner, typical, marks = chart.layers
    assert isinstance(outer, Band)
    assert isinstance(inner, Band)
    assert isinstance(typical, Curve)
    assert isinstance(marks, Marks)
    assert outer.points[0] == (first, pytest.approx(83.55), pytest.approx(116.45))
    assert outer.points[1][1:] == (0.0, pytest.approx(16.45))
    assert inner.points[0][1] == pytest.approx(93.26)
    assert [(mark.at, mark.value) for mark in marks.marks] == [(looks[0], pytest.approx(50.0))]
    assert "21 December 50.0 (33.5 to 66.5)" in chart.says
    assert 'class="band inner"' in draw(chart, "fan")
