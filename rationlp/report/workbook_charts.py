"""Charts in a workbook: lines over days and stacked columns, drawn by the spreadsheet programme
from the cells of the sheet.

What tells things apart is dashes and marks, or hatching, beside the colour, so that it holds in
grey print.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from math import ceil
from typing import TYPE_CHECKING, Any, cast

from rationlp.read.cells import letters
from rationlp.report.tables.table import Drawing, Table

if TYPE_CHECKING:
    from openpyxl.cell.cell import Cell
    from openpyxl.chart import Reference
    from openpyxl.chart.shapes import GraphicalProperties
    from openpyxl.worksheet.worksheet import Worksheet

HEADING_ROW = 2
"""Row of the headings; the rows of the table follow below."""

_INK, _GRID = "222222", "D0D0D0"
_LINES = ("0B3D66", "A8480F", "2F7D4F", "7A3E8E", "4A4A4A", "8A6D00")
_DASHES = ("solid", "dash", "sysDot", "lgDashDot", "sysDash", "lgDash", "dashDot")
_MARKS = ("circle", "square", "triangle", "diamond", "x", "plus", "star")
_FILLS = ("F4D58D", "8CC3EA", "FDFBE4", "E8956A", "A5D6B7", "CFA3C9", "C9C9C9", "6F9FC8")
_HATCHES = ("", "wdUpDiag", "ltDnDiag", "narVert", "narHorz", "smGrid", "pct25")
_WIDTH_CM, _HEIGHT_CM = 22.0, 11.5
_NAMES_A_LINE = 4
_LINE_CM = 0.6
_MOST_LABELS = 9
_WIDEST_BESIDE = 80.0
"""Width of a table [characters] up to which its chart stands beside it; else below."""


def draw(sheet: Worksheet, table: Table, drawing: Drawing) -> None:
    """A chart beside a table that stands in a sheet already, or below a wide one.

    The days along the x axis of lines become days in the cells as well.
    """
    chart, look = _stacked(), _as_column
    if drawing.kind == "lines":
        chart, look = _lines(sheet, table, drawing), _as_line
    keys, last = [column.key for column in table.columns], HEADING_ROW + len(table.rows)
    for key in drawing.series:
        chart.add_data(_cells(sheet, keys.index(key) + 1, HEADING_ROW, last), titles_from_data=True)
    chart.set_categories(_cells(sheet, keys.index(drawing.across) + 1, HEADING_ROW + 1, last))
    for number, series in enumerate(chart.series):
        look(series, number)
    chart.title = table.title
    chart.x_axis.title, chart.y_axis.title = drawing.x_title, drawing.y_title
    # Charts are written with both axes left out unless they are asked for.
    chart.x_axis.delete = chart.y_axis.delete = False
    chart.y_axis.scaling.min = 0.0
    chart.y_axis.number_format = "General"
    chart.y_axis.majorGridlines.spPr = _edged(_GRID)
    chart.legend.position = "b"
    chart.width = _WIDTH_CM
    chart.height = _HEIGHT_CM + _LINE_CM * ceil(len(drawing.series) / _NAMES_A_LINE)
    sheet.add_chart(chart, _place(sheet, table))
    # On one page: a page would end in the midst of the chart.
    sheet.page_setup.fitToHeight = 1


def _place(sheet: Worksheet, table: Table) -> str:
    """The cell where the chart begins."""
    columns = len(table.columns)
    if (
        sum(sheet.column_dimensions[letters(number)].width for number in range(1, columns + 1))
        > _WIDEST_BESIDE
    ):
        return f"A{sheet.max_row + 2}"
    return f"{letters(columns + 2)}{HEADING_ROW}"


def _cells(sheet: Worksheet, column: int, first: int, last: int) -> Reference:
    from openpyxl.chart import Reference

    return Reference(sheet, min_col=column, min_row=first, max_col=column, max_row=last)


def _lines(sheet: Worksheet, table: Table, drawing: Drawing) -> Any:
    from openpyxl.chart import LineChart
    from openpyxl.chart.axis import DateAxis

    days = _as_days(
        sheet, [column.key for column in table.columns].index(drawing.across) + 1, len(table.rows)
    )
    chart: Any = LineChart()
    axis: Any = DateAxis(crossAx=chart.y_axis.axId)
    axis.number_format, axis.baseTimeUnit, axis.majorTimeUnit = "yyyy-mm-dd", "days", "days"
    axis.majorUnit = max(1, ceil((days[-1] - days[0]).days / _MOST_LABELS))
    chart.x_axis, chart.y_axis.crossAx = axis, axis.axId
    return chart


def _as_days(sheet: Worksheet, column: int, rows: int) -> Sequence[date]:
    """The days of a column, written as text, as days that an axis can measure."""
    days = []
    for row in range(HEADING_ROW + 1, HEADING_ROW + 1 + rows):
        cell = cast("Cell", sheet.cell(row, column))
        days.append(date.fromisoformat(str(cell.value)))
        cell.value = days[-1]
        cell.number_format = "yyyy-mm-dd"
    return days


def _stacked() -> Any:
    from openpyxl.chart import BarChart

    chart: Any = BarChart()
    chart.type, chart.grouping, chart.overlap, chart.gapWidth = "col", "stacked", 100, 40
    return chart


def _as_line(series: Any, number: int) -> None:
    series.graphicalProperties.line.solidFill = _LINES[number % len(_LINES)]
    series.graphicalProperties.line.dashStyle = _DASHES[number % len(_DASHES)]
    series.graphicalProperties.line.width = 28_000  # 2.2 pt
    series.smooth = False
    series.marker.symbol = _MARKS[number % len(_MARKS)]
    series.marker.size = 7
    series.marker.graphicalProperties = _filled(_LINES[number % len(_LINES)])
    series.marker.graphicalProperties.line.solidFill = _LINES[number % len(_LINES)]


def _as_column(series: Any, number: int) -> None:
    fill, hatch = _FILLS[number % len(_FILLS)], _HATCHES[number % len(_HATCHES)]
    if hatch:
        series.graphicalProperties = _hatched(fill, hatch)
    else:
        series.graphicalProperties = _filled(fill)
    series.graphicalProperties.line.solidFill = _INK
    series.invertIfNegative = False


def _hatched(code: str, hatch: Any) -> GraphicalProperties:
    from openpyxl.chart.shapes import GraphicalProperties
    from openpyxl.drawing.colors import ColorChoice
    from openpyxl.drawing.fill import PatternFillProperties

    behind: Any = code
    ink: Any = _INK
    pattern = PatternFillProperties(
        prst=hatch, bgClr=ColorChoice(srgbClr=behind), fgClr=ColorChoice(srgbClr=ink)
    )
    return GraphicalProperties(pattFill=pattern)


def _filled(code: str) -> GraphicalProperties:
    from openpyxl.chart.shapes import GraphicalProperties

    return GraphicalProperties(solidFill=code)


def _edged(code: str) -> GraphicalProperties:
    from openpyxl.chart.shapes import GraphicalProperties

    properties = GraphicalProperties()
    properties.line.solidFill = code
    return properties
