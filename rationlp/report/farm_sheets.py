"""The sheets of a farm's workbook before the answer: what was asked stands beside what came out."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from rationlp.read.cells import open_workbook
from rationlp.read.sheets import FARM, UNREAD
from rationlp.report.workbook import cell_at, fit_page, put, sheet_title

if TYPE_CHECKING:
    from openpyxl import Workbook


def farm_sheets(farm: Path, book: Workbook, taken: set[str]) -> None:
    """Copies the sheets of a farm's own workbook, values alone, into a new one."""
    for source in open_workbook(farm).worksheets:
        if source.title in UNREAD:
            continue
        title = source.title
        if title != FARM:
            title = f"{FARM} {title}"
        sheet = book.create_sheet(sheet_title(title, taken))
        for row, values in enumerate(source.iter_rows(values_only=True), 1):
            for column, value in enumerate(values, 1):
                if isinstance(value, datetime):
                    value = value.date()
                put(cell_at(sheet, row, column), value, 2)
        for name, dimension in source.column_dimensions.items():
            sheet.column_dimensions[name].width = dimension.width
        sheet.freeze_panes = source.freeze_panes
        fit_page(sheet)
