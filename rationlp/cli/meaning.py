"""`rationlp meaning`: what a code, a caution or a quantity means."""

from __future__ import annotations

from pathlib import Path

from rationlp.cli.options import Options
from rationlp.errors import nearest_or, refused
from rationlp.folders import rows_of
from rationlp.quantities import Quantity, quantities
from rationlp.report.cautions import meaning_of
from rationlp.report.terminal import show, terminal_width, wrapped
from rationlp.rules.cautions import CautionRow, caution_rows

_CSV = Path(__file__).resolve().parent.parent / "codes.csv"
_GLOSSARY = _CSV.with_name("glossary.csv")


def codes() -> dict[str, dict[str, str]]:
    """All codes with title, meaning and remedy, in the order of codes.csv."""
    return {row["code"]: row for row in rows_of(_CSV)}


def glossary() -> dict[str, str]:
    """What each quantity (by key) and word of an answer means, as in glossary.csv."""
    return {row["name"]: row["means"] for row in rows_of(_GLOSSARY)}


def words() -> dict[str, str]:
    """What each word of an answer means that is no quantity."""
    return {name: means for name, means in glossary().items() if name not in quantities()}


BASES = {
    "fresh": "in a kg of the feed as it lies",
    "dm": "in a kg of dry matter",
    "feed": "a property of the feed itself",
    "day": "an amount a head a day",
    "ration": "of the whole ration",
}
_STATUS = {
    "a": "checked in a cited text",
    "b": "from memory of a named publication",
    "c": "common practice, no source",
}


def quantities_named(word: str) -> tuple[Quantity, ...]:
    """The quantities that a word names: by key, by title, or by a title's capitals."""
    name = word.strip().lower()
    return tuple(
        quantity
        for quantity in quantities().values()
        if name in (quantity.name, quantity.title.lower()) or word.strip() in quantity.title.split()
    )


def glossary_entry(quantity: Quantity) -> str:
    """A quantity in words: title, key, meaning, unit, basis, and its limits."""
    lines = [f"{quantity.title} ({quantity.name})", ""]
    means = glossary().get(quantity.name)
    if means:
        lines += [means, ""]
    lines.append(f"Unit: {quantity.unit}; {BASES[quantity.basis]}.")
    for low, high, verb in (
        (quantity.hard_low, quantity.hard_high, "Refused"),
        (quantity.soft_low, quantity.soft_high, "Asked about"),
    ):
        limits = (("below", low), ("above", high))
        sides = [f"{side} {limit:g}" for side, limit in limits if limit is not None]
        if sides:
            lines.append(f"{verb} {' and '.join(sides)} {quantity.unit}.")
    lines.append(f"Where these limits come from: {quantity.source} ({_STATUS[quantity.status]}).")
    return "\n".join(lines)


def say(options: Options) -> None:
    """Print what a code, a caution, a word or a quantity means; without one, what can be asked."""
    if options.code is not None:
        text = meaning(options.code)
    else:
        text = _everything() if options.full else _overview()
    show(wrapped(text, terminal_width()))


def meaning(typed: str) -> str:
    """What a code, caution, word or quantity means. Raises InputError (IN607) for none."""
    every, cautions = codes(), _cautions()
    word = typed.strip()
    if word.lower() in cautions:
        return meaning_of(cautions[word.lower()])
    if word.upper() in every:
        row = every[word.upper()]
        return f"{row['code']}: {row['title']}\n\n{row['meaning']}\n\nWhat to do: {row['remedy']}"
    entries = [f"{name}: {means}" for name, means in words().items() if _same(word, name)]
    entries += [glossary_entry(quantity) for quantity in quantities_named(word)]
    if not entries:
        titles = (quantity.title.lower() for quantity in quantities().values())
        known = [*every, *cautions, *quantities(), *titles, *words()]
        remedy = nearest_or(typed, known, 'see "rationlp meaning" for all words')
        raise refused("IN607", f'code "{typed}"', "there is no such code", remedy)
    return "\n\n".join(entries)


def _same(word: str, name: str) -> bool:
    """Whether a word is meant, one or many of it."""
    typed, known = word.casefold(), name.casefold()
    return typed in (known, f"{known}s")


def _cautions() -> dict[str, CautionRow]:
    """Every caution by its name and by its title."""
    rows = caution_rows()
    return {**{row.title.lower(): row for row in rows}, **{row.id: row for row in rows}}


def _overview() -> str:
    """What can be asked: words, quantities and cautions by name, and how many codes there are."""
    titles = dict.fromkeys(quantity.title for quantity in quantities().values())
    return (
        f"Ask with: rationlp meaning WORD\n\nWords: {', '.join(words())}.\n\n"
        f"Quantities: {', '.join(titles)}.\n\n"
        f"Cautions: {', '.join(row.id for row in caution_rows())}.\n\n"
        f"Codes: {len(codes())}, listed by `rationlp meaning --full`."
    )


def _everything() -> str:
    """All codes, cautions, words and quantities, a line each."""
    lines = [f"{key}  {row['title']}" for key, row in codes().items()]
    lines += ["", *(f"{row.id}  {row.title}" for row in caution_rows())]
    of_quantities = (f"{key}  {of.title}, {of.unit}" for key, of in quantities().items())
    return "\n".join([*lines, "", *words(), "", *of_quantities])
