"""A complete commented farm to begin with, copied from the packaged example whole."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from rationlp.errors import refused
from rationlp.folders import examples_folder

EXAMPLE = "dairy"


LIKE = {
    "dairy": "dairy",
    "calving": "calving",
    "beef": "beef",
    "sheep": "hill",
    "mixed": "hill",
    "few": "few",
}
"""What farm to begin with, by word, and the example that is copied."""

LEFT_OUT = {"sheep": ("cows", "stores", "cow_minerals", "cattle_minerals")}
"""Entries of the example that a farm to begin with does without, by word."""


def write_new_farm(
    folder: Path, example: str = EXAMPLE, text: str | None = None
) -> tuple[Path, ...]:
    """Write the example farm into a new or empty folder and return the files written, in order.
    text: of farm.toml, which then stands alone, without the example's invented analyses.

    Raises InputError when the folder holds something, is a file, or cannot be written; nothing is
    left behind then.
    """
    source = examples_folder() / example
    if not source.is_dir():
        names = (path.name for path in examples_folder().iterdir() if path.is_dir())
        remedy = f"examples: {', '.join(sorted(names))}"
        raise refused("IN160", example, "no example of this name", remedy)
    try:
        _refuse_what_holds_something(folder)
        folder.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".new-farm-", dir=folder.parent) as scratch:
            draft = Path(scratch) / "farm"
            if text is None:
                shutil.copytree(source, draft)
            else:
                draft.mkdir()
                (draft / "farm.toml").write_text(text, encoding="utf-8")
            if folder.exists():
                folder.rmdir()
            draft.replace(folder)
    except OSError as trouble:
        reason = trouble.strerror or "it cannot be written"
        remedy = "choose a folder that you may write to"
        raise refused("IN162", str(folder), reason, remedy) from trouble
    return tuple(sorted(path for path in folder.rglob("*") if path.is_file()))


def _refuse_what_holds_something(folder: Path) -> None:
    """Raises InputError (IN161) for a file, and for a folder that is not empty."""
    if not folder.exists():
        return
    what, remedy = "a file of this name is there", "choose another folder"
    if folder.is_dir():
        if not any(folder.iterdir()):
            return
        what, remedy = "the folder is not empty", "choose a new or empty folder"
    raise refused("IN161", str(folder), what, remedy)
