"""Last year's difference as text."""

from __future__ import annotations

from rationlp.after.lastyear import LastYear
from rationlp.report.tables.lastyear import carries_table, reasons_table
from rationlp.report.tables.table import shown
from rationlp.report.terminal import closed, remarks_text, tables_text, wrapped


def last_year_text(found: LastYear, width: int) -> str:
    """The ratio in a sentence, the reasons, what to write for this year, and what a person would
    remark.
    """
    gap = found.thought_t - found.had_t
    if not gap:
        first = (
            f"{found.name}: {found.had_t:g} t had, as thought. There is nothing to explain or to"
            " carry on."
        )
        return closed([wrapped(first, width)], width)
    word = "less" if gap > 0.0 else "more"
    first = (
        f"{found.name}: {found.had_t:g} t had where {found.thought_t:g} t were thought,"
        f" {shown(100.0 * found.ratio, 1)} %: {shown(abs(gap), 1)} t {word}."
    )
    best = [one.name for one in found.reasons if one.believable]
    if best:
        first += f" Enough by itself and within the usual: {', or '.join(best)}."
    elif found.reasons[0].needed is not None:
        first += f" Nearest to the usual, though outside it: {found.reasons[0].name}."
    tables = [reasons_table(found), *([carries_table(found)] if found.carries else [])]
    return closed(
        [wrapped(first, width), tables_text(tables, width), remarks_text(found.words, width)], width
    )
