"""Tables of what a winter excretes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rationlp.report.dates import day_words
from rationlp.report.tables.table import Column, Table, table_of

if TYPE_CHECKING:
    from rationlp.after.manure import WinterManure


def manure_table(answer: WinterManure) -> Table:
    """A row a group: nitrogen and phosphate by rations and by the table, volume to store."""
    columns = (
        Column("group", "Group id", full=True),
        Column("group_name", "Group", of="name"),
        Column("head_days", "Head-days", "", 0, full=True),
        Column("n_kg", "N, rations", "kg", 0),
        Column("standard_n_kg", "N, table", "kg", 0),
        Column("p2o5_kg", "P2O5, rations", "kg", 0),
        Column("standard_p2o5_kg", "P2O5, table", "kg", 0),
        Column("stored_m3", f"To {day_words(answer.storage_ends)}", "m3", 0),
        Column("all_m3", "To turnout", "m3", 0),
        Column("bedded", "Bedded", full=True),
    )
    return table_of("manure", "Excreted over the winter", answer.groups, columns)


def standard_table(answer: WinterManure) -> Table:
    """The rows of the published table that the groups were put into, and by what."""
    columns = (
        Column("group_name", "Group", of=lambda pair: pair[0].name),
        Column("row", "Counted as", of=lambda pair: pair[1].title),
        Column("litres", "A head a day", "l", 1, of=lambda pair: pair[1].litres),
        Column("n_g", "N", "g", 1, of=lambda pair: pair[1].n_g),
        Column("p2o5_g", "P2O5", "g", 1, of=lambda pair: pair[1].p2o5_g),
        Column("chosen_by", "Put there by", of=lambda pair: pair[1].chosen_by),
        Column("status", "Status", of=lambda p: f"{p[1].status}, {p[1].chosen_status}"),
    )
    pairs = [(group, row) for group in answer.groups for row in group.rows]
    sources = dict.fromkeys(row.source for _, row in pairs)
    notes = tuple(f"Figures: {source}." for source in sources)
    return table_of("manure_standard", "Figures of the table", pairs, columns, notes)
