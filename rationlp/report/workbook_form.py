"""A workbook to fill in: every sheet that `read_farm` reads, with units, words to choose from, and
a note on each heading.

It is made from the same layout as the reading (read/sheets.py), so that what is written here is
read there.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rationlp.errors import refused
from rationlp.farm.feed_table import FME_RULES, KINDS, SORTS
from rationlp.folders import examples_folder
from rationlp.quantities import quantities
from rationlp.read.cells import letters
from rationlp.read.feeds import read_feed_tables
from rationlp.read.lab import units
from rationlp.read.sheets import (
    CHOICES,
    FEEDS,
    LAB,
    LIMITS,
    NOTES,
    OWN_FIGURES,
    Heading,
    Layout,
    layouts,
)
from rationlp.report.terminal import CLOSING_LINE
from rationlp.report.workbook import (
    FONT,
    HEADING_FILL,
    cell_at,
    fit_page,
    new_workbook,
    put,
    save,
    tall_enough,
)
from rationlp.report.workbook_first import (
    FIRST,
    OPEN_ROWS,
    STEPS,
    Row,
    cell_value,
    choices_sheet,
    farm_rows,
    fold,
    folded_headings,
    names,
    open_headings,
)
from rationlp.rules.limits import family_names

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.datavalidation import DataValidation
    from openpyxl.worksheet.worksheet import Worksheet

ROWS_TO_FILL = 300
"""Rows below the headings for which there are words to choose from."""

_NOTES = (
    "A farm's workbook for rationlp",
    (
        "The upper heading says what a column is, the lower one is its name: leave that as it"
        " stands. Point at it for a note on what is needed and valid. Columns that you do not need"
        " may be deleted, rows may be left empty."
    ),
    (
        "Every amount says its unit in its name: _kg, _t_fresh (tonnes as they lie), _m (metres),"
        " _per_day, _g_per_kg_dm (grams in a kg of dry matter). Numbers are typed as numbers, dates"
        " as dates. A cell without a figure stays empty, never 0."
    ),
    (
        "Nothing is ever worked out in here: paste values where you would put a formula, and merge"
        " no cells."
    ),
    (
        "Save it as .xlsx and use it in place of a farm folder: rationlp check FARM.xlsx, then"
        " rationlp ration FARM.xlsx"
    ),
    CLOSING_LINE,
)
_KINDS_OF_KEY = {
    "feed": "feeds", "quantity": "quantities", "family": "families", "kind": "kinds",
    "sort": "sorts", "fme_rule": "rules",
}  # fmt: skip
_COUNTED = {
    "Stores": ("feed",),
    "Bought": ("feed",),
    LIMITS: ("quantity", "family"),
    OWN_FIGURES: ("quantity",),
}
_FROM_LISTS = {**_COUNTED, "Grazing": ("feed",), FEEDS: ("kind", "sort", "fme_rule")}


def write_farm_workbook(
    path: Path, farm: Path | None = None, example: str = "dairy", empty: bool = False
) -> None:
    """Write a workbook to fill in, over nothing that is there.

    farm: a farm folder whose figures it is filled with; the packaged example by default, none if
    `empty`. Raises InputError where the folder cannot be read, the file is there already or cannot
    be written, or openpyxl is missing.
    """
    if path.suffix.lower() != ".xlsx":
        raise refused("IN713", str(path), "no name of a workbook", "let the name end in .xlsx")
    if path.exists():
        raise refused("IN161", str(path), "a file of this name is there", "choose another name")
    rows: dict[str, list[Row]] = {}
    if not empty:
        rows = farm_rows(farm or examples_folder() / example)
    book = new_workbook(path.name)
    _notes(book)
    lists = _lists()
    for layout in layouts():
        _sheet(book, layout, rows.get(layout.title, []), lists)
    names(book)
    choices_sheet(book, lists)
    save(book, path)


def _lists() -> dict[str, list[str]]:
    """The words that are chosen from on several sheets, by name."""
    names = [
        name
        for name, quantity in quantities().items()
        if quantity.basis in ("fresh", "dm", "feed", "day", "ration")
    ]
    feeds = sorted(read_feed_tables())
    families, kinds = list(family_names()), list(KINDS)
    return {
        "feeds": feeds, "quantities": names, "families": families, "kinds": kinds,
        "sorts": list(SORTS), "rules": list(FME_RULES),
    }  # fmt: skip


def _notes(book: Workbook) -> None:
    from openpyxl.styles import Alignment, Font

    sheet = book.create_sheet(NOTES)
    sheet.column_dimensions["A"].width = 100
    for row, line in enumerate((_NOTES[0], *STEPS, *_NOTES[1:]), 1):
        tall_enough(sheet, row, [line], [100.0])
        put(cell_at(sheet, row, 1), line)
        cell_at(sheet, row, 1).alignment = Alignment(wrap_text=True, vertical="top")
    cell_at(sheet, 1, 1).font = Font(name=FONT, bold=True, size=14)
    fit_page(sheet)


def _sheet(book: Workbook, layout: Layout, rows: list[Row], lists: Mapping[str, list[str]]) -> None:
    sheet = book.create_sheet(layout.title)
    if layout.into == "tables":
        _farm_sheet(sheet, layout, rows)
        return
    headings = _headings(layout, rows)
    widths = [
        float(max(14, *(len(str(value)) + 2 for value in _column(heading, rows))))
        for heading in headings
    ]
    tall_enough(sheet, 1, [heading.words for heading in headings], widths)
    for column, heading in enumerate(headings, 1):
        _heading(sheet, column, heading)
        sheet.column_dimensions[letters(column)].width = min(widths[column - 1], 50.0)
        for row, values in enumerate(rows, 3):
            put(cell_at(sheet, row, column), values.get(heading.key))
        if heading.kind == "date" or heading.key in ("sampled", "from"):
            for row in range(3, max(len(rows), 30) + 3):
                cell_at(sheet, row, column).number_format = "yyyy-mm-dd"
        _rule(sheet, column, heading, _source(layout, heading, lists))
    fold(sheet, layout, rows)
    sheet.freeze_panes = "B3"
    sheet.print_title_cols = "A:A"
    fit_page(sheet, pages_wide=max(1, len(headings) // 8))


def _column(heading: Heading, rows: list[Row]) -> list[Any]:
    """What stands in a column: its heading, then its cells."""
    return [heading.key, *(row[heading.key] for row in rows if row.get(heading.key) is not None)]


def _headings(layout: Layout, rows: list[Row]) -> list[Heading]:
    """The headings written: those of the layout; on Lab and Feeds after the farm's own columns."""
    known = {heading.key: heading for heading in layout.headings}
    if layout.title in FIRST:
        return [*open_headings(layout, rows), *folded_headings(layout, rows)]
    if layout.into != "csv":
        return list(known.values())
    used = list(dict.fromkeys(key for row in rows for key in row))
    taken = {units()[key].quantity for key in used if key in units()}
    others = [
        key
        for key in known
        if key not in used and (key not in units() or units()[key].quantity not in taken)
    ]
    if layout.title == LAB:
        headings = [key for key in known if key not in units()]
        used = [*headings, *(key for key in used if key not in headings)]
        others = [key for key in others if key not in headings]
    return [
        known.get(key) or Heading(key, "any", key.replace("_", " ")) for key in [*used, *others]
    ]


def _heading(sheet: Worksheet, column: int, heading: Heading) -> None:
    from openpyxl.comments import Comment
    from openpyxl.styles import Alignment, Font, PatternFill

    title, key = cell_at(sheet, 1, column), cell_at(sheet, 2, column)
    put(title, heading.words)
    put(key, heading.key)
    title.alignment = Alignment(wrap_text=True, vertical="top")
    title.font = Font(name=FONT, italic=True)
    key.font = Font(name=FONT, bold=True)
    key.fill = PatternFill("solid", fgColor=HEADING_FILL)
    remarks = (heading.note, _choices(heading))
    note = "\n".join(part.replace("; ", "\n") for part in remarks if part)
    if note:
        key.comment = Comment(note, "rationlp", height=40 + 18 * note.count("\n"), width=380)


def _choices(heading: Heading) -> str:
    """The words to choose from, where there are any."""
    if not heading.choices:
        return ""
    return f"one of: {', '.join(heading.choices)}"


def _source(layout: Layout, heading: Heading, lists: Mapping[str, list[str]]) -> str:
    """Where the words to choose from stand: in the rule itself, on the hidden sheet, or nowhere."""
    if heading.choices and heading.kind in ("text", "any"):
        text = ",".join(heading.choices)
        if len(text) >= 250:
            return ""
        return f'"{text}"'
    if heading.kind == "yes_no":
        return '"yes,no"'
    if heading.key not in _FROM_LISTS.get(layout.title, ()):
        return ""
    name = _KINDS_OF_KEY[heading.key]
    column = letters(list(lists).index(name) + 1)
    return f"{CHOICES}!${column}$2:${column}${len(lists[name]) + 1}"


def _rule(sheet: Worksheet, column: int, heading: Heading, source: str) -> None:
    """Words to choose from below a heading. Others are warned of, not refused."""
    if source:
        rule = _choose(sheet, f"{letters(column)}3:{letters(column)}{ROWS_TO_FILL + 2}", source)
        rule.errorStyle, rule.errorTitle = "warning", heading.key
        rule.error = "This word is not among those known."


def _choose(sheet: Worksheet, cells: str, source: str) -> DataValidation:
    """Words to choose from in some cells."""
    from openpyxl.worksheet.datavalidation import DataValidation

    rule = DataValidation(type="list", formula1=source, allow_blank=True, showErrorMessage=True)
    rule.add(cells)
    sheet.add_data_validation(rule)
    return rule


def _farm_sheet(sheet: Worksheet, layout: Layout, rows: list[Row]) -> None:
    from openpyxl.styles import Font, PatternFill

    put(cell_at(sheet, 1, 1), layout.about)
    for column, (title, width) in enumerate(
        (("key", 32), ("value", 34), ("what it is", 60), ("note", 40)), 1
    ):
        put(cell_at(sheet, 2, column), title)
        cell_at(sheet, 2, column).font = Font(name=FONT, bold=True)
        cell_at(sheet, 2, column).fill = PatternFill("solid", fgColor=HEADING_FILL)
        sheet.column_dimensions[letters(column)].width = width
    values = {row["key"]: row["value"] for row in rows}
    for row, heading in enumerate(layout.headings, 3):
        put(cell_at(sheet, row, 1), heading.key)
        put(cell_at(sheet, row, 2), cell_value(values.get(heading.key)))
        put(cell_at(sheet, row, 3), heading.words)
        put(cell_at(sheet, row, 4), _choices(heading) or heading.note)
        if not heading.required and values.get(heading.key) is None:
            sheet.row_dimensions[row].outlineLevel = 1
            sheet.row_dimensions[row].hidden = heading.key not in OPEN_ROWS
        if heading.kind == "date":
            cell_at(sheet, row, 2).number_format = "yyyy-mm-dd"
        if heading.kind == "yes_no":
            _choose(sheet, f"B{row}", '"yes,no"')
        elif heading.choices:
            _choose(sheet, f"B{row}", f'"{",".join(heading.choices)}"')
    sheet.freeze_panes = "A3"
    fit_page(sheet)
