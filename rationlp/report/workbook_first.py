"""A farm folder as rows of a workbook, and what makes that easy to fill: first steps, names."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rationlp.csvfile import parse_number, read_rows, read_text
from rationlp.farm.animals import CLASSES
from rationlp.farm.feed_table import WORDS as FEED_WORDS
from rationlp.read.cells import letters, open_workbook
from rationlp.read.feeds import read_feed_tables
from rationlp.read.lab import WORDS as LAB_WORDS
from rationlp.read.sheets import (
    AFTER_BIRTH,
    CHANGES,
    CHOICES,
    FARM,
    FEEDS,
    LAB,
    NAMES,
    OWN_FIGURES,
    UNREAD,
    Heading,
    Layout,
    layouts,
)
from rationlp.read.stores import KINDS as STORE_KINDS
from rationlp.report.workbook import FONT, cell_at, fit_page, put, sheet_title

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


def farm_rows(folder: Path) -> dict[str, list[Row]]:
    """The rows of every sheet for a farm folder, by sheet and heading, prices.csv laid over the
    bought feeds.

    Raises InputError with everything that is wrong with the farm: a workbook is made of a farm that
    can be read.
    """
    from rationlp.read.farm import read_farm

    read_farm(folder)
    text, _ = read_text(folder / "farm.toml")
    raw = tomllib.loads(text)
    rows: dict[str, list[Row]] = {}
    for layout in layouts():
        if layout.into == "tables":
            rows[layout.title] = [_given(raw, heading.key) for heading in layout.headings]
        elif layout.into == "list":
            rows[layout.title] = [_cells(layout, entry) for entry in raw.get(layout.lists[0], [])]
        elif layout.into == "inside":
            rows[layout.title] = [_cells(layout, row) for row in _inside(layout, raw)]
    _lay_prices(folder / "prices.csv", rows["Bought"])
    for title, name, headings in ((LAB, "lab.csv", LAB_WORDS), (FEEDS, "feeds.csv", FEED_WORDS)):
        path = folder / name
        rows[title] = []
        if path.exists():
            rows[title] = _csv_rows(path, headings)
    return rows


def _given(raw: Mapping[str, Any], key: str) -> Row:
    table, _, name = key.partition(".")
    return {"key": key, "value": raw.get(table, {}).get(name)}


def _cells(layout: Layout, entry: Mapping[str, Any]) -> Row:
    """An entry's values as its cells hold them: lists as text with commas, true as yes."""
    row: Row = {}
    for heading in layout.headings:
        value: Any = entry
        for step in heading.key.split("."):
            if not isinstance(value, Mapping):
                value = {}
            value = value.get(step)
        row[heading.key] = cell_value(value)
    return row


def cell_value(value: Any) -> Any:
    """A value as a cell of a sheet holds it: lists in one cell, yes and no in words."""
    if isinstance(value, list):
        return ", ".join(map(_part, value))
    if isinstance(value, bool):
        if value:
            return "yes"
        return "no"
    return value


def _part(part: Any) -> str:
    if isinstance(part, dict):
        return f"{part['group']}={part.get('portion', 1.0):g}"
    return f"{part}"


def _inside(layout: Layout, raw: Mapping[str, Any]) -> Iterable[Row]:
    """The rows of lists inside entries, each with the id of its entry."""
    for key in layout.lists:
        for entry in raw.get(key, []):
            name = entry.get("id", entry.get("feed"))
            if layout.title == OWN_FIGURES:
                figures = entry.get("analysis", {}).items()
                yield from (
                    {"for": name, "quantity": quantity, "value": value}
                    for quantity, value in figures
                )
                continue
            for inner in layout.inner:
                entries = entry.get(inner, [])
                if layout.title == CHANGES and isinstance(entries, Mapping):
                    entries = [{"from": AFTER_BIRTH, **entries}]
                yield from ({"group": name, **row} for row in entries)


def _lay_prices(path: Path, bought: list[Row]) -> None:
    """The prices of prices.csv over those of the bought feeds; feeds only there are added."""
    if not path.exists():
        return
    for row in _csv_rows(path, ("feed", "name")):
        of_id = [entry for entry in bought if entry.get("id", entry["feed"]) == row["feed"]]
        same = of_id or [entry for entry in bought if entry["feed"] == row["feed"]]
        prices = {
            key: value
            for key, value in row.items()
            if value is not None and (key != "feed" or not same)
        }
        if same:
            same[0].update(prices)
        else:
            bought.append(prices)


def _csv_rows(path: Path, headings: Iterable[str]) -> list[Row]:
    """The rows of a CSV: words as text, dates of sampling as dates, all others as numbers."""
    table = read_rows(path)
    rows: list[Row] = []
    for row in table.rows:
        filled: Row = {}
        for heading, text in row.cells.items():
            if heading not in headings:
                filled[heading] = parse_number(text, table.where(row, heading))
            elif heading == "sampled" and text:
                filled[heading] = date.fromisoformat(text)
            else:
                filled[heading] = text or None
        rows.append(filled)
    return rows


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
