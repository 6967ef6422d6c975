"""`rationlp meaning`: what a code or a caution means and what to do about it."""

from __future__ import annotations

from difflib import get_close_matches
from pathlib import Path
from typing import Annotated

import typer

_CSV = Path(__file__).resolve().parent.parent / "codes.csv"


def codes() -> dict[str, dict[str, str]]:
    """All codes with title, meaning and remedy, in the order of codes.csv."""
    import csv

    with _CSV.open(encoding="utf-8", newline="") as handle:
        return {row["code"]: row for row in csv.DictReader(handle)}


def meaning(
    code: Annotated[
        str | None,
        typer.Argument(metavar="CODE", help="A code such as IN101 or a caution's name; without one, all are listed."),
    ] = None,
) -> None:
    """Say what an error code or a caution means, and what to do about it."""
    from rationlp.errors import Finding, InputError
    from rationlp.read.cautions import caution_rows
    from rationlp.report.cautions import meaning_of
    from rationlp.report.terminal import show

    every = codes()
    cautions = {caution.id: caution for caution in caution_rows()}
    if code is None:
        lines = [f"{key}  {row['title']}" for key, row in every.items()]
        show("\n".join([*lines, "", *(f"{key}  {caution.title}" for key, caution in cautions.items())]))
        return
    if code.lower() in cautions:
        show(meaning_of(cautions[code.lower()]))
        return
    row = every.get(code.upper())
    if row is None:
        near = get_close_matches(code.upper(), list(every), n=1) or get_close_matches(code.lower(), list(cautions), n=1)
        remedy = f'did you mean "{near[0]}"?' if near else 'see "rationlp meaning" for all codes'
        raise InputError([Finding("IN607", f'code "{code}"', "there is no such code", remedy)])
    show(f"{row['code']}: {row['title']}\n\n{row['meaning']}\n\nWhat to do: {row['remedy']}")
