"""Answers into files: CSV from the same tables as the screen, and one way to write: whole or not at all, never over an input."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from rationlp.errors import Finding, InputError
from rationlp.report.tables.table import Table

_RUN_AS_FORMULA = ("=", "+", "-", "@", "\t")
"""How a text begins that a spreadsheet would work out when it opens a CSV."""


def csv_text(table: Table) -> str:
    """A table as CSV: a heading of column keys, full precision, blanks empty, lines ended by a line feed.

    A text that a spreadsheet would run as a formula gets an apostrophe before it, headings too; numbers stay as they are.
    """
    columns = tuple(replace(column, key=_as_text(column.key)) for column in table.columns)
    rows = tuple(tuple(_as_text(value) if isinstance(value, str) else value for value in row) for row in table.rows)
    text: str = replace(table, columns=columns, rows=rows).frame().to_csv(index=False, lineterminator="\n")
    return text


def _as_text(text: str) -> str:
    return f"'{text}" if text.startswith(_RUN_AS_FORMULA) else text


def write_whole(path: Path, text: str, inputs: Iterable[Path]) -> None:
    """Write UTF-8 text to `path`, whole or not at all; see `write_bytes`."""
    write_bytes(path, text.encode("utf-8"), inputs)


def write_bytes(path: Path, packed: bytes, inputs: Iterable[Path]) -> None:
    """Write a file: to a temporary file beside it first, then moved into place in one step.

    inputs: files that the answer was made from, or that stand among those; none of them is ever written over, not even
    through a link. Raises InputError when the folder is missing, the path is a folder or an input, or the system refuses;
    nothing is left behind.
    """
    try:
        target = path.resolve()
        _refuse(path, target, inputs)
    except OSError as trouble:
        raise _refused(path, trouble) from trouble
    # Cut, so that a name that the system allows does not become too long for it.
    part = target.with_name(f".{target.name[:40]}.{os.getpid()}.part")
    try:
        with part.open("xb") as handle:
            handle.write(packed)
        os.replace(part, target)
    except OSError as trouble:
        raise _refused(path, trouble) from trouble
    finally:
        part.unlink(missing_ok=True)


def _refused(path: Path, trouble: OSError) -> InputError:
    """What the system said about a path that cannot be written."""
    found = f"cannot be written: {trouble.strerror or 'the system refused'}"
    return InputError([Finding("IN604", str(path), found, "choose a folder that you may write to, and a short name")])


def _refuse(path: Path, target: Path, inputs: Iterable[Path]) -> None:
    if not target.parent.is_dir():
        found = f'there is no folder "{path.parent}"'
        raise InputError([Finding("IN601", str(path), found, "make the folder first, or name another file")])
    if target.is_dir():
        raise InputError([Finding("IN603", str(path), "this is a folder", "name a file inside it")])
    if any(_same(target, one) for one in inputs):
        found = "this file is an input of the farm, or stands among its inputs"
        raise InputError([Finding("IN602", str(path), found, "name another file, best outside the farm folder")])


def _same(target: Path, other: Path) -> bool:
    if target == other.resolve():
        return True
    return target.exists() and other.exists() and target.samefile(other)
