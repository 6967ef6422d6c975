"""The parlour sheet of a group: concentrate by the litre above what the base ration carries."""

from __future__ import annotations

from rationlp.report.tables.table import Column, Table, shown
from rationlp.yard.parlour import Parlour

_COLUMNS = (
    Column("litres", "Milk", "litres", 0, "right"),
    Column("kg_fresh", "Feed", "kg a day", 1, "right"),
    Column("kg_a_milking", "Feed", "kg a milking", 1, "right"),
    Column("limited_by", "Given for"),
    Column("remark", "Remark"),
)


def parlour_table(sheet: Parlour, name: str) -> Table:
    """Litres a day, parlour feed [kg fresh] a day and a milking, what it is given for; what the
    base carries in the notes.
    """
    past = f"more than {shown(sheet.meal_most_kg, 1)} kg a meal"
    rows = tuple(
        (
            line.litres,
            line.kg_fresh,
            line.kg_a_milking,
            line.limited_by,
            "" if line.within_meal else past,
        )
        for line in sheet.lines
    )
    base = "; ".join(f"{shown(amount.kg_fresh, 1)} kg {amount.name}" for amount in sheet.base)
    notes = (
        f"Base at the trough: {base}.",
        (
            f"It carries maintenance and {shown(sheet.base_litres, 1)} litres, limited by"
            f" {sheet.base_limited_by}; above that {shown(sheet.kg_per_litre, 2)} kg of"
            f" {sheet.feed} a litre."
        ),
        (
            f"Two milkings of {shown(sheet.meal_most_kg, 1)} kg reach {shown(sheet.most_litres, 0)}"
            " litres (meal limit: common practice); higher yielders need a better base."
        ),
    )
    return Table(
        "parlour", f"{name}: {sheet.feed} in the parlour, a cow a day", _COLUMNS, rows, notes
    )
