"""Last year's difference as a sentence and as a document."""

from __future__ import annotations

from rationlp.after.lastyear import LastYear
from rationlp.report.tables.table import shown


def last_year_line(found: LastYear) -> str:
    """The ratio in a sentence, and what could account for it by itself."""
    gap = found.thought_t - found.had_t
    if not gap:
        return (
            f"{found.name}: {found.had_t:g} t had, as expected. There is nothing to explain or to"
            " carry on."
        )
    word = "less" if gap > 0.0 else "more"
    line = (
        f"{found.name}: {found.had_t:g} t had where {found.thought_t:g} t were expected,"
        f" {shown(100.0 * found.ratio, 1)} %: {shown(abs(gap), 1)} t {word}."
    )
    best = [one.name for one in found.reasons if one.believable]
    if best:
        line += f" Enough by itself and within the usual: {', or '.join(best)}."
    elif found.reasons[0].needed is not None:
        line += f" Nearest to the usual, though outside it: {found.reasons[0].name}."
    return line
