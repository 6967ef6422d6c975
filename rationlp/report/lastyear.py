"""Last year's difference as text and as a document."""

from __future__ import annotations

from dataclasses import asdict

from rationlp.after.lastyear import LastYear
from rationlp.farm.farm import Farm
from rationlp.report.documents import Document, farm_part, notices_part, start_of
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


def last_year_document(farm: Farm, found: LastYear) -> Document:
    """The answer of `clamp --thought --had`."""
    return {
        **start_of("last_year"),
        "farm": farm_part(farm),
        "store": found.store,
        "thought_t_fresh": found.thought_t,
        "had_t_fresh": found.had_t,
        "ratio": found.ratio,
        "reasons": [asdict(one) for one in found.reasons],
        "carries": [asdict(one) for one in found.carries],
        "now_t_fresh": found.now_t_fresh,
        "now_t_dm": asdict(found.now_t_dm),
        "words": list(found.words),
        "notices": notices_part(farm.notices),
    }
