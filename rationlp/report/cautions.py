"""Cautions as sentences, gravest first, whoever they are about; a whole row for `meaning`."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from rationlp.after.cautions import DEFER_LINE, gravest_first, threshold_words
from rationlp.report.story import CautionLine, Cautions
from rationlp.report.tables.table import Column, Table, table_of
from rationlp.report.wording import day_words
from rationlp.result import Caution
from rationlp.rules.cautions import CautionRow

HEADING = "Cautions, gravest first (`rationlp meaning NAME` tells where each comes from):"
_KINDS = {
    "hard": "kept by every ration; it may be tightened, not loosened",
    "soft": "kept by every ration, unless the farm sets a limit of its own",
    "said": "a warning only, nothing is forbidden",
}
_HARMS = {"people": "can kill or maim people", "stock": "can kill or maim stock"}


def cautions_of(
    cautions: Iterable[Caution], winter: tuple[date, date] | None = None, about: str = "the farm"
) -> Cautions:
    """Cautions in sentences, gravest first: title and what to do, then about whom, in which weeks,
    what was found, its name.

    winter: first day and first day after of a plan; what holds from the one to the other needs no
    dates. about: whose they are.
    """
    by_id: dict[str, list[Caution]] = {}
    for caution in gravest_first(cautions):
        by_id.setdefault(caution.id, []).append(caution)
    grave, others, daily, first, names = [], [], [], [], []
    for same in by_id.values():
        line, caution = _line(same, winter), same[0]
        if caution.daily:
            daily.append(line)
        elif caution.harm:
            grave.append(line)
        else:
            others.append(line)
        if caution.harm:
            first.append(line)
        else:
            names.append(caution.title)
    return Cautions(
        HEADING,
        tuple(grave),
        tuple(others),
        tuple(daily),
        tuple(first),
        tuple(names),
        DEFER_LINE,
        about,
    )


def _line(same: Sequence[Caution], winter: tuple[date, date] | None) -> CautionLine:
    """One caution of several groups or stores; of a grave or daily one its title and what to do."""
    first = same[0]
    if first.daily:
        return CautionLine(first.title, first.action, "", first.id)
    about = "; ".join(dict.fromkeys(about_words(caution, winter) for caution in same))
    if first.threshold != "any":
        about += f"; warns {first.threshold}"
    action = first.action if first.harm else first.says
    new = any(caution.new for caution in same)
    return CautionLine(first.title, action, about, first.id, new)


def about_words(caution: Caution, winter: tuple[date, date] | None = None) -> str:
    """Whom or what a caution is about, in which weeks, and what was found."""
    who = caution.about_name or caution.about
    weeks = weeks_words(caution, winter)
    if weeks:
        who += f" {weeks}"
    return f"{who}, {_inside(caution.found)}"


def weeks_words(caution: Caution, winter: tuple[date, date] | None = None) -> str:
    """The weeks of a caution, like `24 March to 7 April`; empty for what holds all winter."""
    whole = None
    if winter is not None:
        whole = (winter[0].isoformat(), winter[1].isoformat())
    spans = [(date.fromisoformat(first), date.fromisoformat(last)) for first, last in caution.weeks]
    if caution.weeks == (whole,):
        return ""
    return " and ".join(f"{day_words(first)} to {day_words(last)}" for first, last in spans)


def _inside(text: str) -> str:
    """A found figure inside a sentence: a small letter, except where it is an abbreviation."""
    if text[1:2].isupper() or not text[1:2].isalpha():
        return text
    return f"{text[:1].lower()}{text[1:]}"


def meaning_of(row: CautionRow) -> str:
    """Everything that a row of feeds/cautions.csv holds, in words, with status and source."""
    sentences = []
    if row.harm:
        sentences.append(f"It {_HARMS[row.harm]}.")
    if row.action:
        sentences.append(f"What to do: {row.action}")
    if row.keeps_from:
        sentences.append(f"Kept from: {', '.join(sorted(row.keeps_from))}.")
    if row.most_share is not None:
        sentences.append(f"Held to: {100.0 * row.most_share:g} % of the dry matter of the others.")
    conditions = "".join(
        f"; {condition.name} {condition.sign} {condition.number:g}" for condition in row.when
    )
    feeds, classes = "", "every group"
    if row.feeds:
        meant = sorted(word for word in row.feeds if not word.startswith("-"))
        others = sorted(f"not {word[1:]}" for word in row.feeds if word.startswith("-"))
        feeds = f" ({', '.join([*meant, *others])})"
    if row.classes:
        classes = ", ".join(sorted(row.classes))
    return "\n".join(
        [
            f"{row.id}: {row.title}",
            "",
            row.says,
            "",
            f"Warns when: {row.quantity} is {threshold_words(row)}{conditions}.",
            f"Looks at: {row.looks_at}{feeds}.",
            f"Concerns: {classes}.",
            *sentences,
            f"Kind: {row.kind} ({_KINDS[row.kind]}).",
            f"Status: {row.status}.",
            f"Source: {row.source}.",
            "",
            DEFER_LINE,
        ]
    )


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
