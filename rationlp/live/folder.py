"""The farm's folder as the live page uses it: what it held when it was read, what is written into
it, and the edits that wait beside it.
"""

from __future__ import annotations

import hashlib
import json
from contextlib import suppress
from pathlib import Path
from typing import Any

from rationlp.csvfile import read_rows
from rationlp.errors import Finding, InputError
from rationlp.live.edits import Edits
from rationlp.read.changed import Begun, Change, stated_text
from rationlp.records import dataclass
from rationlp.report.files import write_whole

FARM, PRICES = "farm.toml", "prices.csv"
UNSAVED = ".rationlp-unsaved.json"
"""Edits that were not saved wait here, beside the farm, and are offered next time."""
MOST_UNSAVED = 2_000_000
"""A longer file of unsaved edits is not ours [bytes]."""


def signature(folder: Path) -> dict[str, str]:
    """What the farm's files hold, as a checksum by name."""
    sums = {}
    for path in (folder / FARM, *sorted(folder.glob("*.csv"))):
        with suppress(OSError):
            sums[path.name] = hashlib.sha256(path.read_bytes()).hexdigest()
    return sums


def differences(before: dict[str, str], now: dict[str, str]) -> list[str]:
    """Names of files that are not as they were, gone or new ones too."""
    return sorted(name for name in before.keys() | now.keys() if before.get(name) != now.get(name))


@dataclass(frozen=True)
class Written:
    """Texts of files by name, as they are to be written."""

    texts: dict[str, str]


def drafted(folder: Path, begun: Begun, changes: tuple[Change, ...]) -> Written:
    """The farm's files with changes: farm.toml with its comments and order kept, prices.csv by
    row. Raises InputError with everything that is wrong.
    """
    # Whoever only looks at a farm writes none: these are loaded for a save.
    from rationlp.paper.edited import edited
    from rationlp.paper.lines import Line
    from rationlp.paper.price_list import PriceRow
    from rationlp.paper.writing import prices_text

    line = Line("", 0, ())
    priced = _prices(folder, begun, changes)
    others = [change for change in changes if change.path not in priced]
    texts = {}
    if others:
        texts[FARM] = edited(folder, [str(change) for change in others]).text
    if priced:
        rows = [
            PriceRow(path.partition(".")[0], float(stated_text(change)), None, "", "", False, line)
            for path, change in priced.items()
        ]
        texts[PRICES] = prices_text(folder, rows)
    return Written(texts)


def save(folder: Path, written: Written) -> list[str]:
    """Write the files, all or none: where one cannot be written those before it are put back.
    Raises InputError (IN604).
    """
    before = {name: (folder / name).read_text(encoding="utf-8") for name in written.texts}
    done: list[str] = []
    try:
        for name, text in written.texts.items():
            write_whole(folder / name, text, ())
            done.append(name)
    except InputError:
        for name in done:
            write_whole(folder / name, before[name], ())
        raise
    return done


def _prices(folder: Path, begun: Begun, changes: tuple[Change, ...]) -> dict[str, Change]:
    """Changes of prices that prices.csv states, by path."""
    path = folder / PRICES
    if not path.exists():
        return {}
    stated = {row.cells.get("feed") for row in read_rows(path).rows}
    bought = {offer.id for offer in begun.farm.offers if offer.bought} & stated
    return {
        change.path: change
        for change in changes
        if change.path.partition(".")[0] in bought and change.path.endswith(".price_per_t_fresh")
    }


def put_by(path: Path, edits: Edits) -> None:
    """Keep edits that are not saved in a file beside the farm; take it away where there are none.
    Raises InputError (IN604) where it cannot be written.
    """
    if path.is_symlink():
        path.unlink()  # nothing outside the folder is written
    if not edits.kept and not edits.tried and not edits.sets:
        with suppress(OSError):
            path.unlink()
        return
    document = {"kept": edits.kept, "tried": edits.tried, "sets": edits.sets}
    write_whole(path, json.dumps(document, ensure_ascii=False, indent=1) + "\n", ())


def not_put_by(path: Path, edits: Edits) -> str:
    """Keep edits in a file beside the farm; why they cannot be, empty where they are."""
    try:
        put_by(path, edits)
    except (InputError, OSError) as trouble:
        return f"Edits cannot be kept beside the farm: {trouble}"
    return ""


def both_versions(folder: Path, begun: Begun, changes: tuple[Change, ...]) -> dict[str, str]:
    """farm.toml as it stands on disk, and as it would be written."""
    disk = (folder / FARM).read_text(encoding="utf-8", errors="replace")
    try:
        written = drafted(folder, begun, changes).texts
    except InputError:
        written = {}
    return {"disk": disk, "ours": written.get(FARM, "")}


def put_by_before(path: Path) -> Edits | None:
    """The edits that a file holds of an earlier time; None where none can be read."""
    try:
        if path.is_symlink() or path.stat().st_size > MOST_UNSAVED:
            return None
        document = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return None
    if not isinstance(document, dict):
        return None
    sets = document.get("sets")
    named = sets.items() if isinstance(sets, dict) else ()
    return Edits(
        _texts(document.get("kept")),
        _texts(document.get("tried")),
        sets={name: _texts(texts) for name, texts in named},
    )


def _texts(value: Any) -> dict[str, str]:
    """A table of texts; what is none is left out."""
    if not isinstance(value, dict):
        return {}
    return {key: text for key, text in value.items() if isinstance(text, str)}


def changed_on_disk(names: list[str]) -> InputError:
    """The error of a save over files that changed since they were read (IN905)."""
    remedy = "read the folder again: your edits stay and are made on what stands there now"
    found = "changed on disk since it was read; nothing was overwritten"
    return InputError([Finding("IN905", name, found, remedy) for name in names])
