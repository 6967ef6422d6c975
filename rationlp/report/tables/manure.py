"""Tables of what a winter excretes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rationlp.report.dates import day_words
from rationlp.report.tables.table import Column, Table

if TYPE_CHECKING:
    from rationlp.after.manure import WinterManure


def manure_table(answer: WinterManure) -> Table:
    """A row a group: nitrogen and phosphate by its rations and by the table, volume to the end of
    storage and to turnout.
    """
    columns = (
        Column("group", "Group id", full=True),
        Column("group_name", "Group"),
        Column("head_days", "Head-days", "", 0, "right", full=True),
        Column("n_kg", "N, rations", "kg", 0, "right"),
        Column("standard_n_kg", "N, table", "kg", 0, "right"),
        Column("p2o5_kg", "P2O5, rations", "kg", 0, "right"),
        Column("standard_p2o5_kg", "P2O5, table", "kg", 0, "right"),
        Column("stored_m3", f"To {day_words(answer.storage_ends)}", "m3", 0, "right"),
        Column("all_m3", "To turnout", "m3", 0, "right"),
        Column("bedded", "Bedded", full=True),
    )
    rows = tuple(
        (
            group.group,
            group.name,
            group.head_days,
            group.n_kg,
            group.standard_n_kg,
            group.p2o5_kg,
            group.standard_p2o5_kg,
            group.stored_m3,
            group.all_m3,
            group.bedded,
        )
        for group in answer.groups
    )
    return Table("manure", "Excreted over the winter", columns, rows)


def standard_table(answer: WinterManure) -> Table:
    """The rows of the published table that the groups were put into, and by what."""
    columns = (
        Column("group_name", "Group"),
        Column("row", "Counted as"),
        Column("litres", "A head a day", "l", 1, "right"),
        Column("n_g", "N", "g", 1, "right"),
        Column("p2o5_g", "P2O5", "g", 1, "right"),
        Column("chosen_by", "Put there by"),
        Column("status", "Status"),
    )
    rows = tuple(
        (
            group.name,
            row.title,
            row.litres,
            row.n_g,
            row.p2o5_g,
            row.chosen_by,
            f"{row.status}, {row.chosen_status}",
        )
        for group in answer.groups
        for row in group.rows
    )
    sources = dict.fromkeys(row.source for group in answer.groups for row in group.rows)
    notes = tuple(f"Figures: {source}." for source in sources)
    return Table("manure_standard", "Figures of the table", columns, rows, notes)
