"""A farm folder as the rows of a workbook to fill in, by sheet and heading."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

from rationlp.csvfile import parse_number, read_rows, read_text
from rationlp.farm.feed_table import WORDS as FEED_WORDS
from rationlp.read.lab import WORDS as LAB_WORDS
from rationlp.read.sheets import (
    AFTER_BIRTH,
    CHANGES,
    FEEDS,
    LAB,
    OWN_FIGURES,
    Layout,
    layouts,
)
from rationlp.report.workbook_first import (
    Row,
)


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
