"""`rationlp meaning`: what a code, a caution or a quantity means."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from rationlp.quantities import Quantity

_CSV = Path(__file__).resolve().parent.parent / "codes.csv"
_GLOSSARY = _CSV.with_name("glossary.csv")


def codes() -> dict[str, dict[str, str]]:
    """All codes with title, meaning and remedy, in the order of codes.csv."""
    import csv

    with _CSV.open(encoding="utf-8", newline="") as handle:
        return {row["code"]: row for row in csv.DictReader(handle)}


def glossary() -> dict[str, str]:
    """What each quantity means in plain words, by its key, in the order of glossary.csv."""
    import csv

    with _GLOSSARY.open(encoding="utf-8", newline="") as handle:
        return {row["name"]: row["means"] for row in csv.DictReader(handle)}


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
    """The quantities of the vocabulary that a word names: by key, by title, or by a word of the
    title in capitals.
    """
    from rationlp.quantities import quantities

    asked = word.strip().lower()
    return tuple(
        quantity
        for quantity in quantities().values()
        if asked in (quantity.name, quantity.title.lower())
        or word.strip() in quantity.title.split()
    )


def glossary_entry(quantity: Quantity) -> str:
    """A quantity in words: title, key, what it means, unit, what it is counted on, what is refused
    and asked about.
    """
    lines = [f"{quantity.title} ({quantity.name})", ""]
    means = glossary().get(quantity.name)
    lines += [means, ""] if means else []
    lines.append(f"Unit: {quantity.unit}; {BASES[quantity.basis]}.")
    for low, high, said in (
        (quantity.hard_low, quantity.hard_high, "Refused"),
        (quantity.soft_low, quantity.soft_high, "Asked about"),
    ):
        sides = [f"below {low:g}"] if low is not None else []
        sides += [f"above {high:g}"] if high is not None else []
        if sides:
            lines.append(f"{said} {' and '.join(sides)} {quantity.unit}.")
    lines.append(f"Where these limits come from: {quantity.source} ({_STATUS[quantity.status]}).")
    return "\n".join(lines)


def meaning(
    code: Annotated[
        str | None,
        typer.Argument(
            metavar="WORD",
            help=(
                "A code such as IN101, a caution's name, or a quantity such as NDF; without one,"
                " all are listed."
            ),
        ),
    ] = None,
) -> None:
    """Say what an error code, a caution or a quantity means, and what to do about it."""
    from rationlp.report.cautions import meaning_of
    from rationlp.report.terminal import show, terminal_width, wrapped
    from rationlp.rules.cautions import caution_rows

    width = terminal_width()
    every = codes()
    cautions = {caution.id: caution for caution in caution_rows()}
    if code is None:
        show(
            wrapped(
                _everything(every, {key: caution.title for key, caution in cautions.items()}), width
            )
        )
    elif code.lower() in cautions:
        show(wrapped(meaning_of(cautions[code.lower()]), width))
    elif code.upper() in every:
        row = every[code.upper()]
        show(
            wrapped(
                f"{row['code']}: {row['title']}\n\n{row['meaning']}\n\nWhat to do: {row['remedy']}",
                width,
            )
        )
    else:
        found = quantities_named(code)
        if not found:
            raise _unknown(code, list(every), list(cautions))
        show(wrapped("\n\n".join(glossary_entry(quantity) for quantity in found), width))


def _everything(every: dict[str, dict[str, str]], cautions: dict[str, str]) -> str:
    """All codes, cautions and quantities, a line each."""
    from rationlp.quantities import quantities

    lines = [f"{key}  {row['title']}" for key, row in every.items()]
    lines += ["", *(f"{key}  {title}" for key, title in cautions.items())]
    return "\n".join(
        [*lines, "", *(f"{name}  {one.title}, {one.unit}" for name, one in quantities().items())]
    )


def _unknown(code: str, every: list[str], cautions: list[str]) -> Exception:
    from rationlp.errors import Finding, InputError, nearest_or
    from rationlp.quantities import quantities

    words = [*quantities(), *(quantity.title.lower() for quantity in quantities().values())]
    known = [*every, *cautions, *words]
    remedy = nearest_or(code, known, 'see "rationlp meaning" for all codes and words')
    return InputError([Finding("IN607", f'code "{code}"', "there is no such code", remedy)])
