"""A table as plain data, and the one place where a number is rounded for a reader."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import ceil, floor, isfinite
from typing import TYPE_CHECKING

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
    """One column. key: stable name, unit included where it has one, used as heading in files.
    title, unit: as printed.

    decimals: shown on screen; None where it differs from row to row (`Table.decimals`) or the
    column is text.
    align: `left` or `right`. full: on the screen only with --full.
    """

    key: str
    title: str
    unit: str = ""
    decimals: int | None = None
    align: str = "left"
    full: bool = False


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
                shown(value, column.decimals if column.decimals is not None else decimals)
                for value, column in zip(row, self.columns, strict=True)
            ]
            for row, decimals in zip(self.rows, spread, strict=True)
        ]


def cut(table: Table, rows: int) -> Table:
    """The first rows of a table, and in its title how many there are."""
    title = f"{table.title} ({rows} of {len(table.rows)} rows)"
    return replace(table, title=title, rows=table.rows[:rows], decimals=table.decimals[:rows])


def without_blank(table: Table) -> Table:
    """A table without the columns in which no row has anything; one without rows as it is."""
    if not table.rows:
        return table
    filled = [i for i in range(len(table.columns)) if any(row[i] is not None for row in table.rows)]
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


def small_decimals(kg: float, decimals: int) -> int:
    """Decimals for an amount of feed [kg]: more below 1 kg, so that 0.04 kg of a mineral is not
    printed as 0.0.
    """
    if abs(kg) >= 1.0:
        return decimals
    return max(decimals, 2 if abs(kg) >= 0.1 else 3)


def known(quantity: str, own: Mapping[str, Quantity] | None = None) -> Quantity | None:
    """The quantity from the vocabulary or the farm's own list; None when neither has it."""
    return quantities().get(quantity) or (own or {}).get(quantity)


def decimals_of(quantity: str, own: Mapping[str, Quantity] | None = None) -> int:
    """Decimals to print of a quantity."""
    quantity_known = known(quantity, own)
    if quantity_known is None:
        return UNKNOWN_DECIMALS
    return quantity_known.decimals


def quantity_column(quantity: str, title: str = "", full: bool = False) -> Column:
    """A column that holds one quantity of the vocabulary."""
    entry = quantities()[quantity]
    return Column(quantity, title or entry.title, entry.unit, entry.decimals, "right", full)
