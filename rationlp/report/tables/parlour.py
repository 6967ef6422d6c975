"""The parlour sheet of a group: concentrate by the litre above what the base ration carries."""

from __future__ import annotations

from rationlp.report.tables.table import Column, Table, shown, table_of
from rationlp.yard.parlour import Parlour

_COLUMNS = (
    Column("litres", "Milk", "litres", 0),
    Column("kg_fresh", "Feed", "kg a day", 1),
    Column("kg_a_milking", "Feed", "kg a milking", 1),
    Column("limited_by", "Given for"),
)


def parlour_table(sheet: Parlour, name: str) -> Table:
    """Parlour feed [kg fresh] a day and a milking by litres a day; notes: what the base carries."""
    past = f"more than {shown(sheet.meal_most_kg, 1)} kg a meal"
    remarks = {True: "", False: past}
    columns = (*_COLUMNS, Column("remark", "Remark", of=lambda line: remarks[line.within_meal]))
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
    title = f"{name}: {sheet.feed} in the parlour, a cow a day"
    return table_of("parlour", title, sheet.lines, columns, notes)
