"""The table of cautions: one row for each thing a caution is about, gravest first."""

from __future__ import annotations

from collections.abc import Iterable

from rationlp.report.cautions import weeks_words
from rationlp.report.tables.table import Column, Table
from rationlp.result import Caution

_COLUMNS = (
    Column("about", "About"),
    Column("title", "Caution"),
    Column("harm", "Can kill or maim"),
    Column("action", "What to do"),
    Column("says", "Says"),
    Column("weeks", "When"),
    Column("found", "Found"),
    Column("threshold", "Warns"),
    Column("name", "Name"),
)


def cautions_table(cautions: Iterable[Caution]) -> Table:
    """Cautions in the order given, for workbooks and CSV."""
    rows = tuple(
        (
            caution.about_name or caution.about,
            caution.title,
            caution.harm,
            caution.action,
            caution.says,
            weeks_words(caution),
            caution.found,
            caution.threshold,
            caution.id,
        )
        for caution in cautions
    )
    return Table("cautions", "Cautions, gravest first", _COLUMNS, rows)
