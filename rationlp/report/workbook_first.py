"""What makes a workbook easy to fill: first steps, few columns open, names beside keys."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from rationlp.farm.animals import CLASSES
from rationlp.read.cells import letters
from rationlp.read.feeds import read_feed_tables
from rationlp.read.sheets import CHOICES, NAMES, Heading, Layout
from rationlp.read.stores import KINDS as STORE_KINDS
from rationlp.report.workbook import FONT, cell_at, fit_page, put

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

Row = dict[str, Any]
STEPS = (
    "Step 1. Farm: the name, the currency, the first day of winter feeding and the day of turnout.",
    "Step 2. Stores: a row a clamp, stack of bales or heap: an id, its feed, its kind, its sizes.",
    "Step 3. Bought: a row a feed that you can buy, with its price a tonne fresh, delivered.",
    "Step 4. Groups: a row a group: an id, its class, how many there are, what they weigh.",
    "Step 5. Lab: a row a sheet of the laboratory, if you have one.",
    (
        "Step 6. Save, then rationlp check FARM.xlsx says what is wrong or missing, cell by cell;"
        " rationlp winter FARM.xlsx --output ANSWER.xlsx writes the answer as a new workbook."
    ),
    (
        "Columns and rows that few farms need are folded: open them with the + above or beside"
        " them. The sheet Names has the key of every feed beside its name, and every class; words"
        " that people use, such as barley straw or milking cow, are understood too."
    ),
)
FIRST = {
    "Stores": (
        "id",
        "name",
        "feed",
        "kind",
        "length_m",
        "width_m",
        "height_m",
        "count",
        "weight_kg",
        "amount_t_fresh",
        "cost_per_t_fresh",
    ),
    "Bought": ("feed", "price_per_t_fresh", "id", "name"),
    "Groups": (
        "id",
        "name",
        "class",
        "head",
        "live_weight_kg",
        "milk_kg_per_day",
        "days_to_calving",
        "days_to_lambing",
        "week_of_lactation",
        "gain_kg_per_day",
        "lambs_carried",
        "barred",
    ),
}
"""Columns that stay open; the others are folded unless the farm uses them."""
OPEN_ROWS = ("farm.name", "farm.currency", "winter.start", "winter.turnout", "home_grown.price")


def names(book: Workbook) -> None:
    """Keys beside names: feeds with their kind, classes of animals, kinds of stores."""
    from openpyxl.styles import Font

    sheet = book.create_sheet(NAMES)
    rows: list[tuple[str, str, str]] = [("key", "name", "what it is")]
    rows += [
        (key, feed.name, feed.kind.replace("_", " ")) for key, feed in read_feed_tables().items()
    ]
    rows += [(key, key.replace("_", " ").capitalize(), "class of animals") for key in CLASSES]
    rows += [(key, key.capitalize(), "kind of store") for key in STORE_KINDS]
    for row, texts in enumerate(rows, 1):
        for column, text in enumerate(texts, 1):
            put(cell_at(sheet, row, column), text)
            cell_at(sheet, row, column).font = Font(name=FONT, bold=row == 1)
    for letter, width in (("A", 30.0), ("B", 60.0), ("C", 20.0)):
        sheet.column_dimensions[letter].width = width
    sheet.freeze_panes = "A2"
    fit_page(sheet)


def open_headings(layout: Layout, rows: list[Row]) -> list[Heading]:
    """The few columns that every farm needs, and those that this one uses."""
    used = {key for row in rows for key, value in row.items() if value not in (None, "", "no")}
    first = FIRST[layout.title]
    return [
        heading
        for heading in layout.headings
        if heading.required or heading.key in first or heading.key in used
    ]


def folded_headings(layout: Layout, rows: list[Row]) -> list[Heading]:
    still_open = open_headings(layout, rows)
    return [heading for heading in layout.headings if heading not in still_open]


def fold(sheet: Worksheet, layout: Layout, rows: list[Row]) -> None:
    """Fold the columns that this farm does not use."""
    if layout.title not in FIRST:
        return
    count = len(open_headings(layout, rows))
    last = count + len(folded_headings(layout, rows))
    if sheet.sheet_properties.outlinePr is not None:
        sheet.sheet_properties.outlinePr.summaryRight = False
    if last > count:
        sheet.column_dimensions.group(
            letters(count + 1), letters(last), outline_level=1, hidden=True
        )


def choices_sheet(book: Workbook, lists: Mapping[str, list[str]]) -> None:
    """The hidden sheet with the words that do not fit into a rule of their own."""
    sheet = book.create_sheet(CHOICES)
    for column, (name, choices) in enumerate(lists.items(), 1):
        for row, word in enumerate([name, *choices], 1):
            put(cell_at(sheet, row, column), word)
    sheet.sheet_state = "hidden"
