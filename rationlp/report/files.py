"""Answers into files: CSV from the tables of the screen; written whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from stat import S_ISREG
from typing import Any

from rationlp.errors import InputError, refused
from rationlp.report.tables.table import Table

_RUN_AS_FORMULA = ("=", "+", "-", "@")
"""How a text begins that a spreadsheet would work out when it opens a CSV."""


def csv_text(table: Table) -> str:
    """A table as CSV: a heading of column keys, full precision, blanks empty, lines ended by a line
    feed.

    A text that a spreadsheet would run as a formula gets an apostrophe before it, headings too;
    numbers stay as they are.
    """
    columns = tuple(replace(column, key=_as_text(column.key)) for column in table.columns)
    rows = tuple(tuple(map(_as_text, row)) for row in table.rows)
    text: str = (
        replace(table, columns=columns, rows=rows).frame().to_csv(index=False, lineterminator="\n")
    )
    return text


def _as_text(value: Any) -> Any:
    """A text that stays a text in a spreadsheet; any other value as it is."""
    if not isinstance(value, str):
        return value
    if value.startswith("\t") or value.lstrip().startswith(_RUN_AS_FORMULA):
        return f"'{value}"
    return value


def write_whole(path: Path, text: str, inputs: Iterable[Path]) -> None:
    """Write UTF-8 text to `path`, whole or not at all; see `write_bytes`."""
    write_bytes(path, text.encode("utf-8"), inputs)


def write_bytes(path: Path, packed: bytes, inputs: Iterable[Path]) -> None:
    """Write a file: to a temporary file beside it first, then moved into place in one step.

    inputs: files that the answer was made from, or that stand among those; none of them is ever
    written over, not even through a link. Raises InputError when the folder is missing, the path is
    a folder, an input or anything else that is no plain file, or the system refuses; nothing is
    left behind.
    """
    target = real_path(path)
    try:
        _refuse(path, target, inputs)
    except OSError as trouble:
        raise _refused(path, trouble) from trouble
    # Cut, so that a name that the system allows does not become too long for it.
    part = target.with_name(f".{target.name[:40]}.{os.getpid()}.part")
    unfinished = False
    try:
        with part.open("xb") as handle:
            unfinished = True
            handle.write(packed)
            handle.flush()
            # A full disk may only be told of now; the file that is replaced must not be gone by
            # then.
            os.fsync(handle.fileno())
        _keep_mode(part, target)
        os.replace(part, target)
        unfinished = False
    except OSError as trouble:
        raise _refused(path, trouble) from trouble
    finally:
        if unfinished:
            with suppress(OSError):
                part.unlink()


def _keep_mode(part: Path, target: Path) -> None:
    """Whoever may read the file that is replaced may read the new one."""
    with suppress(FileNotFoundError):
        part.chmod(target.stat().st_mode & 0o777)


def real_path(path: Path) -> Path:
    """Where a path leads through all links. Raises InputError for one that leads nowhere."""
    try:
        return path.resolve()
    except OSError as trouble:
        raise _refused(path, trouble) from trouble
    except RuntimeError as trouble:  # what pathlib calls a loop of links before Python 3.13
        raise _no_plain_file(path, "links that lead back to themselves") from trouble


def _refused(path: Path, trouble: OSError) -> InputError:
    """What the system said about a path that cannot be written."""
    trouble_words = f"cannot be written: {trouble.strerror or 'the system refused'}"
    return refused(
        "IN604", str(path), trouble_words, "choose a folder that you may write to, and a short name"
    )


def _no_plain_file(path: Path, what: str) -> InputError:
    remedy = (
        "name a plain file, or a name that is still free; leave out --output to write to the screen"
        " or a pipe"
    )
    return refused("IN740", str(path), what, remedy)


def _refuse(path: Path, target: Path, inputs: Iterable[Path]) -> None:
    if path.exists() and not path.is_dir() and not S_ISREG(path.stat().st_mode):
        raise _no_plain_file(path, "a device, a pipe or a socket")
    if target.is_symlink():  # it would have been followed if it led anywhere
        raise _no_plain_file(path, "links that lead back to themselves")
    if not target.parent.is_dir():
        trouble = f'there is no folder "{path.parent}"'
        raise refused("IN601", str(path), trouble, "make the folder first, or name another file")
    if target.is_dir():
        raise refused("IN603", str(path), "this is a folder", "name a file inside it")
    if any(_same(target, file) for file in inputs):
        trouble = "this file is an input of the farm, or stands among its inputs"
        raise refused(
            "IN602", str(path), trouble, "name another file, best outside the farm folder"
        )


def _same(target: Path, path: Path) -> bool:
    if target == path.resolve():
        return True
    return target.exists() and path.exists() and target.samefile(path)
