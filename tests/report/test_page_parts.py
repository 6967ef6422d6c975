"""The reasons and the switch on the page: the sentence of each group with its day, hostile names in
the data of the slider.
"""

from __future__ import annotations

import json
import re

import pytest
from page_plans import HOSTILE, plan_of
from test_page import Page

from rationlp.ask.why import Reasons, why_ration
from rationlp.model.ration import solve_rations
from rationlp.needs.calendar import farm_on
from rationlp.report.charts import Alt, CurvePoint, curve_svg
from rationlp.report.page import winter_page
from rationlp.report.page_parts import Besides, SwitchPart
from rationlp.report.page_why import why_parts
from rationlp.report.tables.table import Column, Table


def _part(name: str) -> SwitchPart:
    curve = (
        CurvePoint(0.0, 3.0, 2.9, False),
        CurvePoint(40.0, 2.5, 2.5, True),
        CurvePoint(100.0, 4.0, 4.0, False),
    )
    chart, places = curve_svg(curve, ("share, %", "GBP"), Alt("switch-0", name, name))
    points = tuple(
        {"x": x, "y": y, "share": "1 %", "rows": [[name, "1"]], "turns": name} for x, y in places
    )
    table = Table(
        "switch", name, (Column("share", name, "%", 0, "right"),), ((0.0,), (40.0,), (100.0,))
    )
    return SwitchPart(name, name, (name,), chart, table, name, points, 1)


@pytest.mark.parametrize("name", HOSTILE)
def test_names_in_the_slider_are_text_too(name: str) -> None:
    """The same tags as with plain names: no name ends the data that the script reads, and the
    script gets it whole.
    """
    html = winter_page(plan_of("few"), Besides(switches=(_part(name),)))
    assert (
        Page(html).tags
        == Page(winter_page(plan_of("few"), Besides(switches=(_part("Plain"),)))).tags
    )
    found = re.search(r'<script type="application/json">(.*?)</script>', html, re.S)
    assert found is not None
    assert [point["turns"] for point in json.loads(found.group(1))] == [name] * 3


def test_the_mark_moves_along_the_drawn_line() -> None:
    """Each point's place is that of the drawn line, in order."""
    part = _part("Plain")
    lines = [
        re.findall(r"[ML] ([\d.]+) ([\d.]+)", path)
        for path in re.findall(r'<path d="([^"]*)"', part.chart)
    ]
    drawn = [[(float(x), float(y)) for x, y in line] for line in lines]
    assert [pytest.approx((point["x"], point["y"]), abs=0.01) for point in part.points] in drawn


def test_reasons_stand_with_the_day_they_are_of() -> None:
    """The sentence of the group, that it stands alone there, and how far its feeds could move."""
    farm = farm_on(plan_of("few").farm)
    [ration] = solve_rations(farm).groups
    why = why_ration(farm, ration)
    assert isinstance(why, Reasons)
    parts = why_parts({"cows": why}, {"cows": "Eleven cows"}, "GBP")
    text = Page(winter_page(plan_of("few"), Besides({}, (), parts, "2026-11-01"))).text
    assert "each group by itself on 2026-11-01" in text
    assert why.binding[0].words in text
    assert why.ranges[0].name in text
