"""Cautions as sentences: one a caution, whoever it is about, the line that stands under them, and a whole row for `meaning`."""

from __future__ import annotations

from collections.abc import Iterable

from rationlp.after.cautions import DEFER_LINE, threshold_words
from rationlp.read.cautions import CautionRow, caution_rows
from rationlp.result import Caution

HEADING = "Cautions (`rationlp meaning NAME` tells where each comes from):"
_KINDS = {
    "hard": "kept by every ration; it may be tightened, not loosened",
    "soft": "kept by every ration, unless the farm sets a limit of its own",
    "said": "said, nothing is forbidden",
}


def caution_lines(cautions: Iterable[Caution]) -> list[str]:
    """A sentence a caution, in the order of feeds/cautions.csv: its name, about whom and what was found, against what, what it
    says. Empty when there are none."""
    by_id: dict[str, list[Caution]] = {}
    for caution in cautions:
        by_id.setdefault(caution.id, []).append(caution)
    lines = []
    for row in caution_rows():
        found = by_id.get(row.id)
        if found:
            about = "; ".join(f"{caution.about}, {_inside(caution.found)}" for caution in found)
            against = "" if row.quantity.startswith("seen_") else f"; said {found[0].threshold}"
            lines.append(f"{row.id} ({about}{against}): {row.says}")
    return lines


def _inside(text: str) -> str:
    """A found figure inside a sentence: a small letter, except where the word is an abbreviation."""
    return text if text[1:2].isupper() or not text[1:2].isalpha() else f"{text[:1].lower()}{text[1:]}"


def meaning_of(row: CautionRow) -> str:
    """Everything that a row of feeds/cautions.csv holds, in words, with status and source."""
    kept = []
    if row.keeps_from:
        kept.append(f"Kept from: {', '.join(sorted(row.keeps_from))}.")
    if row.most_share is not None:
        kept.append(f"Held to: {100.0 * row.most_share:g} % of the dry matter of the others.")
    conditions = "".join(f"; {when.name} {when.sign} {when.number:g}" for when in row.when)
    return "\n".join(
        [
            f"{row.id}: {row.title}",
            "",
            row.says,
            "",
            f"Said when: {row.quantity} is {threshold_words(row)}{conditions}.",
            f"Looks at: {row.looks_at}{f' ({_listed(row.feeds)})' if row.feeds else ''}.",
            f"Concerns: {_listed(row.classes) if row.classes else 'every group'}.",
            *kept,
            f"Kind: {row.kind} ({_KINDS[row.kind]}).",
            f"Status: {row.status}.",
            f"Source: {row.source}.",
            "",
            DEFER_LINE,
        ]
    )


def _listed(words: Iterable[str]) -> str:
    return ", ".join(sorted(words))
