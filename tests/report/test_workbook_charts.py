"""Charts of a workbook: drawn from the cells of their own sheet, with units at the axes, apart in
grey print too.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.utils.cell import range_boundaries
from winter_plans import made_plan

from rationlp import write_workbook
from rationlp.planned import WinterPlan
from rationlp.report.tables.table import Column, Drawing, Table
from rationlp.report.workbook import write_tables


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Workbook:
    """The workbook of the plan made by hand, as read again."""
    return written(made_plan(), tmp_path_factory.mktemp("book") / "plan.xlsx")


def written(plan: WinterPlan, path: Path) -> Workbook:
    """The workbook of a plan as read again."""
    write_workbook(plan, path)
    return load_workbook(path)


def charts(book: Workbook) -> dict[str, Any]:
    """The one chart of each sheet that has any."""
    found = {sheet.title: sheet._charts for sheet in book.worksheets if sheet._charts}
    assert all(len(every) == 1 for every in found.values())
    return {title: every[0] for title, every in found.items()}


def cells(book: Workbook, reference: str) -> list[Any]:
    """The values of the cells of one column that a chart refers to."""
    title, _, span = reference.rpartition("!")
    left, top, right, bottom = range_boundaries(span.replace("$", ""))
    assert left == right
    sheet = book[title.strip("'").replace("''", "'")]
    return [sheet.cell(row, left).value for row in range(top, bottom + 1)]


def drawn(book: Workbook, chart: Any) -> dict[str, tuple[list[Any], list[Any]]]:
    """Of each series: its name, what stands along the x axis, its figures; all read from the
    cells.
    """
    return {
        cells(book, one.tx.strRef.f)[0]: (
            cells(book, one.cat.numRef.f),
            cells(book, one.val.numRef.f),
        )
        for one in chart.series
    }


def test_the_run_down_is_drawn_from_its_own_cells(book: Workbook) -> None:
    """25 t, 12.5 t gone in the first period, 6.75 in the second; the days are days of the
    calendar.
    """
    days, left = drawn(book, charts(book)["run_down"])["The clamp [t DM]"]
    assert days == [datetime(2026, 11, 1), datetime(2026, 12, 1), datetime(2026, 12, 31)]
    assert left == pytest.approx([25.0, 12.5, 5.75])


def test_a_group_is_stacked_by_period(book: Workbook) -> None:
    """9 kg DM of silage are 36 kg fresh, 1.6 and 3.2 kg DM of meal are 2 and 4; kg only, never cost
    or head.
    """
    chart = charts(book)["Milkers"]
    firsts = ["2026-11-01", "2026-12-01"]
    assert drawn(book, chart) == {
        "The clamp [kg]": (firsts, [36.0, 36.0]),
        "Meal [kg]": (firsts, [2.0, 4.0]),
    }
    assert (chart.type, chart.grouping, chart.overlap) == ("col", "stacked", 100)


def test_a_ration_that_never_changes_is_not_drawn(book: Workbook) -> None:
    """The stores eat the same in both periods: one row, no chart."""
    assert book["Stores"]["A1"].value.startswith("Stores")
    assert list(charts(book)) == ["Milkers", "run_down"]


def test_axes_are_shown_with_their_units(book: Workbook) -> None:
    """What is measured and in which unit; neither axis is left out, and columns begin at nought."""
    for name, words in (
        ("run_down", ("Date", "Left [t DM]")),
        ("Milkers", ("First day of the ration", "kg fresh")),
    ):
        chart = charts(book)[name]
        titles = [axis.title.tx.rich.p[0].r[0].t for axis in (chart.x_axis, chart.y_axis)]
        assert all(title.startswith(word) for title, word in zip(titles, words, strict=True))
        assert (chart.x_axis.delete, chart.y_axis.delete, chart.y_axis.scaling.min) == (
            False,
            False,
            0.0,
        )


def many(kind: str) -> Table:
    """Seven series over two days."""
    columns = (
        Column("on", "On"),
        *(Column(f"s{n}", f"Store's {n}", "t", 1) for n in range(7)),
    )
    rows = tuple((day, *map(float, range(7))) for day in ("2026-11-01", "2026-11-15"))
    series = tuple(column.key for column in columns[1:])
    return Table(
        "it's", "Left", columns, rows, drawing=Drawing(kind, "on", series, "Date", "Left [t]")
    )


def test_seven_lines_are_apart_without_colour(tmp_path: Path) -> None:
    """Each has dashes and a mark of its own."""
    write_tables(tmp_path / "a.xlsx", [many("lines")])
    series = charts(load_workbook(tmp_path / "a.xlsx"))["it's"].series
    assert len({(one.graphicalProperties.line.dashStyle, one.marker.symbol) for one in series}) == 7


def test_seven_parts_of_a_column_are_apart_without_colour(tmp_path: Path) -> None:
    """Each has a hatching of its own, one of them none."""
    write_tables(tmp_path / "a.xlsx", [many("stacked")])
    series = charts(load_workbook(tmp_path / "a.xlsx"))["it's"].series
    hatches = [
        fill.prst if (fill := one.graphicalProperties.pattFill) else "plain" for one in series
    ]
    assert len(set(hatches)) == 7


def test_a_chart_reads_a_sheet_whose_name_has_an_apostrophe(tmp_path: Path) -> None:
    """The name is quoted in every reference."""
    write_tables(tmp_path / "a.xlsx", [many("stacked")])
    book = load_workbook(tmp_path / "a.xlsx")
    assert drawn(book, charts(book)["it's"])["Store's 3 [t]"] == (
        ["2026-11-01", "2026-11-15"],
        [3.0, 3.0],
    )


def test_a_wide_table_has_its_chart_below_and_a_narrow_one_beside(tmp_path: Path) -> None:
    """Where it begins covers no cell that holds anything, and all is printed on one page."""
    wide = many("lines")
    narrow = replace(
        wide, name="narrow", columns=wide.columns[:2], rows=tuple(row[:2] for row in wide.rows)
    )
    narrow = replace(narrow, drawing=Drawing("lines", "on", ("s0",), "Date", "Left [t]"))
    write_tables(tmp_path / "a.xlsx", [wide, narrow])
    book = load_workbook(tmp_path / "a.xlsx")
    below, beside = (chart.anchor._from for chart in charts(book).values())
    assert (below.col, below.row > book["it's"].max_row - 1) == (0, True)
    assert (beside.col, beside.row) == (3, 1)
    assert [sheet.page_setup.fitToHeight for sheet in book.worksheets] == [1, 1]


def test_a_farm_without_stores_has_no_run_down_to_draw(tmp_path: Path) -> None:
    """Its workbook is written all the same."""
    assert list(charts(written(replace(made_plan(), stores=()), tmp_path / "a.xlsx"))) == [
        "Milkers"
    ]


def test_days_of_other_tables_stay_texts(book: Workbook) -> None:
    """Only the axis of lines needs days that can be measured."""
    assert book["Milkers"]["A3"].value == "2026-11-01"
    assert not isinstance(book["Milkers"]["A3"].value, date)
