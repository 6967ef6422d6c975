"""Any story as a page, hostile names in the data of a slider, the reasons of a group, drawings."""

from __future__ import annotations

import json
import re
from datetime import date, timedelta

import pytest
from page_plans import HOSTILE, plan_of, winter_page
from test_page import Page

from rationlp.ask.why import Reasons, why_ration
from rationlp.model.ration import solve_rations
from rationlp.needs.calendar import farm_on
from rationlp.report.chart import Axis, Band, Chart, Column, Columns, Curve, Mark, Marks, legend
from rationlp.report.draw import draw, draw_store_bar, frame_of
from rationlp.report.glance import Slider, Step, StoreBar, StoreBars
from rationlp.report.page import slider_steps, story_page
from rationlp.report.story import Story, Words, always, brief, on_page, on_screen, placed
from rationlp.report.tables.table import Column as TableColumn
from rationlp.report.tables.table import Table
from rationlp.report.wording import unbroken

BEGIN, TURNOUT = date(2026, 11, 1), date(2027, 4, 1)


def chart(name: str) -> Chart:
    """A curve of three points."""
    points = ((0.0, 3.0), (40.0, 2.5), (100.0, 4.0))
    marks = (Mark(40.0, 2.5, name),)
    layers = (Curve(name, points), Marks("turns", marks))
    return Chart(name, name, Axis("share, %", 0.0, 100.0), Axis("GBP"), layers)


def slider(name: str) -> Slider:
    """A slider along it."""
    steps = tuple(Step(at, value, "1 %", ((name, "1"),), name) for at, value in
                  ((0.0, 3.0), (40.0, 2.5), (100.0, 4.0)))  # fmt: skip
    return Slider(chart(name), name, steps, 1)


def any_story(name: str) -> Story:
    """A story that knows no farm: sentences, a table, a chart, a slider; a fold."""
    table = Table("kg", name, (TableColumn("feed", name), TableColumn("kg", "Fresh", "kg", 1)),
                  ((name, 1250.0), ("Hay of 2026-12-01", 2.0)))  # fmt: skip
    return Story(
        "any",
        (
            *always(Words((name,))),
            *brief(Words(("Of the screen.",))),
            *on_screen(always(Words(("Of the screen too.",)))),
            *placed(f"Fold {name}", always(table)),
            *placed(f"Fold {name}", on_page(chart(name), slider(name))),
        ),
        days=(BEGIN, TURNOUT),
    )


@pytest.mark.parametrize("name", HOSTILE)
def test_any_story_is_a_page_and_names_are_text(name: str) -> None:
    """The same tags as with plain names: no name ends the data that the script reads, and the
    script gets it whole.
    """
    html = story_page(any_story(name))
    assert Page(html).tags == Page(story_page(any_story("Plain"))).tags
    data = re.search(r'<script type="application/json">(.*?)</script>', html, re.S)
    assert data is not None
    assert [step["remark"] for step in json.loads(data.group(1))] == [name] * 3
    assert name in Page(html).text


def test_a_page_prints_what_its_medium_has() -> None:
    """Nothing that is for the screen only; what has a place is folded below a heading; days are
    written as people do."""
    html = story_page(any_story("Plain"))
    assert "Of the screen" not in html
    first, _, folded = html.partition("<details")
    assert "<table" not in first
    assert "<h2>Fold Plain</h2>" in folded
    assert unbroken("Hay of 1 December") in folded
    assert re.search(r"\d{4}-\d\d-\d\d", Page(html).text) is None


def test_the_mark_moves_along_the_drawn_line() -> None:
    """Each step's place is that of the drawn line, in order, to a tenth of a per cent and pixel."""
    [path] = re.findall(r'<path class="curve plain" d="M([^"]*)"', draw(chart("Plain"), "a"))
    frame = frame_of(chart("Plain"))
    drawn = [tuple(map(float, point.split())) for point in path.split("L")]
    wide = frame.x(100.0) - frame.x(0.0)
    places = [(frame.x(0.0) + wide * x / 1000.0, y) for x, y in drawn]
    steps = [(step["x"], step["y"]) for step in slider_steps(slider("Plain"))]
    assert steps == [pytest.approx(place, abs=0.1) for place in places]


def test_heights_of_columns_and_bands_are_their_values() -> None:
    """A column of 3 and 1 stands three to one; a band is as high as its spread; the axis ends on a
    round figure."""
    middle = BEGIN + timedelta(days=30)
    stacked = Chart("a", "a", Axis(), Axis("kg"), (
        Columns((Column(BEGIN, middle, ((3.0, "grown-1"), (1.0, "bought-1"))),),
                (("grown-1", "A"),)),
    ))  # fmt: skip
    heights = [
        float(text) for text in re.findall(r'<rect[^>]* height="([\d.]+)"', draw(stacked, "a"))
    ]
    assert heights[0] == pytest.approx(3.0 * heights[1], abs=0.02)
    assert list(legend(stacked)) == [("grown-1", "A")]
    band = Chart("b", "b", Axis(), Axis("t"), (Band("b", ((BEGIN, 2.0, 4.0), (middle, 0.0, 1.0))),))
    frame = frame_of(band)
    assert (frame.low, frame.high) == (0.0, 4.0)
    assert frame.y(2.0) - frame.y(4.0) == pytest.approx(frame.y(0.0) - frame.y(2.0))


def test_a_store_that_runs_out_is_hatched_to_turnout_and_one_that_lasts_is_not() -> None:
    """The hatching begins on the day it runs out and ends at turnout; dots begin at turnout."""
    empty, later = date(2027, 3, 1), date(2027, 4, 11)
    bars = StoreBars(BEGIN, TURNOUT, ())
    short = StoreBar("A", "", BEGIN, empty, empty, empty, True, "", "", "")
    lasts = StoreBar("B", "", BEGIN, later, later, later, False, "", "", "")

    def edges(bar: StoreBar, looks: str) -> list[tuple[float, float]]:
        found = re.findall(rf'<rect class="{looks}" x="([\d.]+)%"[^>]* width="([\d.]+)%"',
                           draw_store_bar(bars, bar))  # fmt: skip
        return [(float(x), float(x) + float(width)) for x, width in found]

    ruler = 1.16 * (TURNOUT - BEGIN).days / 100.0
    need = (TURNOUT - BEGIN).days / ruler
    assert edges(short, "lack") == [pytest.approx(((empty - BEGIN).days / ruler, need), abs=0.02)]
    assert edges(short, "left") == []
    assert edges(lasts, "left") == [pytest.approx((need, (later - BEGIN).days / ruler), abs=0.02)]
    assert edges(lasts, "lack") == []


def test_reasons_stand_with_the_day_they_are_of() -> None:
    """The sentence of the group, that it stands alone there, and how far its feeds could move."""
    farm = farm_on(plan_of("few").farm)
    [ration] = solve_rations(farm).groups
    why = why_ration(farm, ration)
    assert isinstance(why, Reasons)
    text = Page(winter_page(plan_of("few"), reasons=(("Eleven cows", why),))).text
    assert unbroken("Each group by itself on 1 November") in text
    assert why.binding[0].words in text
    assert why.ranges[0].name in text
