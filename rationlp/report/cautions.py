"""Cautions as sentences: gravest first, one a caution, whoever it is about; the line under them; a
whole row for `meaning`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from rationlp.after.cautions import DEFER_LINE, gravest_first, threshold_words
from rationlp.records import dataclass
from rationlp.result import Caution
from rationlp.rules.cautions import CautionRow

HEADING = "Cautions, gravest first (`rationlp meaning NAME` tells where each comes from):"
KILLS, MIND, EVERY_DAY = "Can kill or maim:", "Mind:", "Every day:"
_KINDS = {
    "hard": "kept by every ration; it may be tightened, not loosened",
    "soft": "kept by every ration, unless the farm sets a limit of its own",
    "said": "a warning only, nothing is forbidden",
}
_HARMS = {"people": "can kill or maim people", "stock": "can kill or maim stock"}


@dataclass(frozen=True)
class CautionLines:
    """Cautions in words. grave: what can kill or maim; others; daily: what holds every day,
    whatever is fed.
    """

    grave: tuple[str, ...]
    others: tuple[str, ...]
    daily: tuple[str, ...]


def sorted_lines(
    cautions: Iterable[Caution], winter: tuple[date, date] | None = None
) -> CautionLines:
    """A sentence a caution, gravest first: title and what to do, then about whom, in which weeks,
    what was found, its name.

    winter: first day and first day after of a plan; what holds from the one to the other needs no
    dates.
    """
    by_id: dict[str, list[Caution]] = {}
    for caution in gravest_first(cautions):
        by_id.setdefault(caution.id, []).append(caution)
    parts: dict[str, list[str]] = {"grave": [], "others": [], "daily": []}
    for same in by_id.values():
        first = same[0]
        part = "others"
        if first.daily:
            part = "daily"
        elif first.harm:
            part = "grave"
        parts[part].append(_line(same, winter))
    return CautionLines(tuple(parts["grave"]), tuple(parts["others"]), tuple(parts["daily"]))


def caution_lists(
    cautions: Iterable[Caution], winter: tuple[date, date] | None = None
) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """The three lists with their headings."""
    lines = sorted_lines(cautions, winter)
    return (KILLS, lines.grave), (MIND, lines.others), (EVERY_DAY, lines.daily)


def caution_lines(
    cautions: Iterable[Caution], winter: tuple[date, date] | None = None
) -> list[str]:
    """The same as one list. Empty when there are none."""
    lines = sorted_lines(cautions, winter)
    return [*lines.grave, *lines.others, *lines.daily]


def _line(same: Sequence[Caution], winter: tuple[date, date] | None) -> str:
    """One caution of several groups or stores. What can kill or maim, and what holds every day, is
    its title and what to do.
    """
    first = same[0]
    name = f"[{first.id}]"
    if first.daily:
        return f"{first.title}: {first.action} {name}"
    about = "; ".join(dict.fromkeys(about_words(one, winter) for one in same))
    says = first.action if first.harm else first.says
    against = "" if first.threshold == "any" else f"; warns {first.threshold}"
    new = "New: " if any(one.new for one in same) else ""
    return f"{new}{first.title}: {says} ({about}{against}) {name}"


def about_words(caution: Caution, winter: tuple[date, date] | None = None) -> str:
    """Whom or what a caution is about, in which weeks, and what was found."""
    who = caution.about_name or caution.about
    weeks = weeks_words(caution, winter)
    return f"{who}{f' {weeks}' if weeks else ''}, {_inside(caution.found)}"


def weeks_words(caution: Caution, winter: tuple[date, date] | None = None) -> str:
    """The weeks of a caution, like `24 March to 7 April`; empty for what holds all winter."""
    whole = None if winter is None else (winter[0].isoformat(), winter[1].isoformat())
    spans = [(date.fromisoformat(first), date.fromisoformat(last)) for first, last in caution.weeks]
    if caution.weeks == (whole,):
        return ""
    return " and ".join(f"{day_words(first)} to {day_words(last)}" for first, last in spans)


def day_words(day: date) -> str:
    """A date as people say it, without its year: 24 March."""
    return f"{day.day} {_MONTHS[day.month - 1]}"


_MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def _inside(text: str) -> str:
    """A found figure inside a sentence: a small letter, except where the word is an
    abbreviation.
    """
    return (
        text if text[1:2].isupper() or not text[1:2].isalpha() else f"{text[:1].lower()}{text[1:]}"
    )


def meaning_of(row: CautionRow) -> str:
    """Everything that a row of feeds/cautions.csv holds, in words, with status and source."""
    more = []
    if row.harm:
        more.append(f"It {_HARMS[row.harm]}.")
    if row.action:
        more.append(f"What to do: {row.action}")
    if row.keeps_from:
        more.append(f"Kept from: {', '.join(sorted(row.keeps_from))}.")
    if row.most_share is not None:
        more.append(f"Held to: {100.0 * row.most_share:g} % of the dry matter of the others.")
    conditions = "".join(f"; {when.name} {when.sign} {when.number:g}" for when in row.when)
    return "\n".join(
        [
            f"{row.id}: {row.title}",
            "",
            row.says,
            "",
            f"Warns when: {row.quantity} is {threshold_words(row)}{conditions}.",
            f"Looks at: {row.looks_at}{f' ({_listed(row.feeds)})' if row.feeds else ''}.",
            f"Concerns: {_listed(row.classes) if row.classes else 'every group'}.",
            *more,
            f"Kind: {row.kind} ({_KINDS[row.kind]}).",
            f"Status: {row.status}.",
            f"Source: {row.source}.",
            "",
            DEFER_LINE,
        ]
    )


def _listed(words: Iterable[str]) -> str:
    return ", ".join(sorted(words))
