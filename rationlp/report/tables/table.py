"""A table as plain data, and the one place where a number is rounded for a reader."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from functools import partial
from math import ceil, floor, isfinite
from typing import TYPE_CHECKING, Any

from rationlp.quantities import Quantity, quantities
from rationlp.records import dataclass

if TYPE_CHECKING:
    import pandas as pd

UNKNOWN_DECIMALS = 2
"""Decimals of a quantity that is in no vocabulary."""


_SLACK = 1e-9
"""A figure that is round but for the machine's last digits is not pushed to the next."""


@dataclass(frozen=True)
class Column:
    """One column, declared once: where its values come from, and how they are headed and shown.

    key: stable name, unit included where it has one, used as heading in files. title, unit: as
    printed. decimals: shown on screen; None for text. varies: numbers whose decimals differ from
    row to row (`Table.decimals`). full: on the screen only with --full. of: the value of what a row
    is made of (`table_of`): the path of an attribute, by default the key, or a function; a number
    in a path is a place in a tuple. share: it is a share, to be shown as a percentage.
    """

    key: str
    title: str
    unit: str = ""
    decimals: int | None = None
    full: bool = False
    of: str | Callable[[Any], object] = ""
    varies: bool = False
    share: bool = False

    @property
    def align(self) -> str:
        """How its cells stand: numbers to the `right`, text to the `left`."""
        if self.varies or self.decimals is not None:
            return "right"
        return "left"

    def places(self, of_row: int) -> int:
        """Its decimals in a row that has `of_row` of its own."""
        if self.decimals is None:
            return of_row
        return self.decimals

    def value(self, item: Any) -> object:
        """Its cell in the row that is made of `item`."""
        value: Any = item
        if callable(self.of):
            value = self.of(item)
        else:
            for step in (self.of or self.key).split("."):
                value = value[int(step)] if step.isdigit() else getattr(value, step)
        return percent(value) if self.share else value


@dataclass(frozen=True)
class Drawing:
    """How a table is drawn where its form allows it: `lines` over days, or `stacked` columns, one a
    row.

    across: key of the column that runs along the x axis; of lines it holds days (year-month-day).
    series: keys of the columns drawn. x_title, y_title: of the axes, with unit.
    """

    kind: str
    across: str
    series: tuple[str, ...]
    x_title: str
    y_title: str


@dataclass(frozen=True)
class Table:
    """A table. rows hold values as they are, never rounded; a blank is None.

    decimals: one figure a row, for right-aligned columns without decimals of their own; empty when
    there is none. drawing: how it is drawn beside itself in a workbook.
    """

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[object, ...], ...]
    notes: tuple[str, ...] = ()
    decimals: tuple[int, ...] = ()
    drawing: Drawing | None = None

    def frame(self) -> pd.DataFrame:
        """The table as a pandas DataFrame: columns are the columns' keys, the index counts rows
        from 0.

        Values are unrounded; a blank is None in a text column and NaN in a column of numbers.
        `attrs` holds `units` (by column, for columns of one unit), `title` and `notes`.
        """
        import pandas as pd

        frame = pd.DataFrame(list(self.rows), columns=[column.key for column in self.columns])
        units = {column.key: column.unit for column in self.columns if column.unit}
        frame.attrs.update(units=units, title=self.title, notes=list(self.notes))
        return frame

    def cells(self) -> list[list[str]]:
        """Every cell as text, rounded for a reader."""
        spread = self.decimals or (UNKNOWN_DECIMALS,) * len(self.rows)
        return [
            [
                shown(value, column.places(decimals))
                for value, column in zip(row, self.columns, strict=True)
            ]
            for row, decimals in zip(self.rows, spread, strict=True)
        ]


def table_of(
    name: str,
    title: str,
    items: Iterable[Any],
    columns: Sequence[Column],
    notes: tuple[str, ...] = (),
    decimals: Callable[[Any], int] | None = None,
) -> Table:
    """A table with a row for each of `items`, read by the columns. decimals: of a row."""
    every = tuple(items)
    spread: tuple[int, ...] = ()
    if decimals is not None:
        spread = tuple(map(decimals, every))
    rows = tuple(tuple(column.value(item) for column in columns) for item in every)
    return Table(name, title, tuple(columns), rows, notes, spread)


def reached(columns: Iterable[Column], reach: Callable[[Any], Any]) -> tuple[Column, ...]:
    """The same columns for rows made of something else. reach: from there to what they read."""

    def read(column: Column, item: Any) -> object:
        return column.value(reach(item))

    # What is read is shown as a percentage already.
    return tuple(replace(column, of=partial(read, column), share=False) for column in columns)


def percent(share: float | None) -> float | None:
    """A share as a percentage; None stays None."""
    if share is None:
        return None
    return 100.0 * share


def difference(value: float | None, base: float | None) -> float | None:
    """How much a value is above another; None where either is not known."""
    if value is None or base is None:
        return None
    return value - base


def day_text(day: date | None, otherwise: str = "") -> str:
    """A day as files write it, or what stands where there is none."""
    if day is None:
        return otherwise
    return day.isoformat()


def cut(table: Table, rows: int) -> Table:
    """The first rows of a table, and in its title how many there are."""
    title = f"{table.title} ({rows} of {len(table.rows)} rows)"
    return replace(table, title=title, rows=table.rows[:rows], decimals=table.decimals[:rows])


def without_blank(table: Table, blank: tuple[object, ...] = (None,)) -> Table:
    """A table without the columns in which no row has anything; one without rows as it is."""
    if not table.rows:
        return table
    places = range(len(table.columns))
    filled = [i for i in places if any(row[i] not in blank for row in table.rows)]
    rows = tuple(tuple(row[i] for i in filled) for row in table.rows)
    return replace(table, columns=tuple(table.columns[i] for i in filled), rows=rows)


def shown(value: object, decimals: int, towards: str = "nearest") -> str:
    """A value as printed: numbers rounded to `decimals`, never "-0.0"; None is blank, True is
    "yes", False is blank.

    towards: `nearest`, or `up` for a figure that must not be understated (a gap), or `down` for one
    that must not be overstated (a bound). Nothing is decided by what is rounded here.
    """
    if value is None or value is False:
        return ""
    if value is True:
        return "yes"
    if not isinstance(value, float):
        return str(value)
    if not isfinite(value):
        return ""
    unit = 10.0**decimals
    if towards == "up":
        value = ceil(value * unit - _SLACK) / unit
    elif towards == "down":
        value = floor(value * unit + _SLACK) / unit
    text = f"{value:,.{decimals}f}"
    if not text.strip("-0."):
        return text.removeprefix("-")
    return text


def tonnes_words(t: float) -> str:
    """Tonnes, or kilograms below one."""
    if t >= 1.0:
        return f"{shown(t, 1)} t"
    return f"{shown(1000.0 * t, 0)} kg"


def small_decimals(kg: float, decimals: int) -> int:
    """Decimals for an amount of feed [kg]: more below 1 kg: 0.04 kg is not printed as 0.0."""
    if abs(kg) >= 1.0:
        return decimals
    if abs(kg) >= 0.1:
        return max(decimals, 2)
    return max(decimals, 3)


def known(quantity: str, own: Mapping[str, Quantity] | None = None) -> Quantity | None:
    """The quantity from the vocabulary or the farm's own list; None when neither has it."""
    return quantities().get(quantity) or (own or {}).get(quantity)


def title_and_unit(quantity: str, own: Mapping[str, Quantity] | None = None) -> tuple[str, str]:
    """Title and unit of a quantity; its key without a unit where no vocabulary has it."""
    entry = known(quantity, own)
    if entry is None:
        return quantity, ""
    return entry.title, entry.unit


def decimals_of(quantity: str, own: Mapping[str, Quantity] | None = None) -> int:
    """Decimals to print of a quantity."""
    quantity_known = known(quantity, own)
    if quantity_known is None:
        return UNKNOWN_DECIMALS
    return quantity_known.decimals


def quantity_column(
    quantity: str, title: str = "", full: bool = False, of: str | Callable[[Any], object] = ""
) -> Column:
    """A column that holds one quantity of the vocabulary."""
    entry = quantities()[quantity]
    return Column(quantity, title or entry.title, entry.unit, entry.decimals, full, of)
