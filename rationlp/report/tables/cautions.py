"""The table of cautions: one row for each thing a caution is about, gravest first."""

from __future__ import annotations

from collections.abc import Iterable

from rationlp.report.cautions import weeks_words
from rationlp.report.tables.table import Column, Table, table_of
from rationlp.result import Caution

_COLUMNS = (
    Column("about", "About", of=lambda caution: caution.about_name or caution.about),
    Column("title", "Caution"),
    Column("harm", "Can kill or maim"),
    Column("action", "What to do"),
    Column("says", "Says"),
    Column("weeks", "When", of=lambda caution: weeks_words(caution)),
    Column("found", "Found"),
    Column("threshold", "Warns"),
    Column("name", "Name", of="id"),
)


def cautions_table(cautions: Iterable[Caution]) -> Table:
    """Cautions in the order given, for workbooks and CSV."""
    return table_of("cautions", "Cautions, gravest first", cautions, _COLUMNS)
