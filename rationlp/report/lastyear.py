"""Last year's difference as a sentence and as a document."""

from __future__ import annotations

from rationlp.after.lastyear import LastYear
from rationlp.report.tables.table import shown
from rationlp.report.wording import more_or_less


def last_year_line(last_year: LastYear) -> str:
    """The ratio in a sentence, and what could account for it by itself."""
    gap = last_year.thought_t - last_year.had_t
    if not gap:
        return (
            f"{last_year.name}: {last_year.had_t:g} t had, as expected. There is nothing to explain"
            " or to carry on."
        )
    word = more_or_less(-gap)
    line = (
        f"{last_year.name}: {last_year.had_t:g} t had where {last_year.thought_t:g} t were"
        f" expected, {shown(100.0 * last_year.ratio, 1)} %: {shown(abs(gap), 1)} t {word}."
    )
    best = [reason.name for reason in last_year.reasons if reason.believable]
    if best:
        line += f" Enough by itself and within the usual: {', or '.join(best)}."
    elif last_year.reasons[0].needed is not None:
        line += f" Nearest to the usual, though outside it: {last_year.reasons[0].name}."
    return line
