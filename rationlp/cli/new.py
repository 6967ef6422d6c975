"""`rationlp new`: a commented farm folder, or a workbook, to fill in."""

from __future__ import annotations

from pathlib import Path

import typer

from rationlp.cli.options import Given
from rationlp.read.template import write_new_farm
from rationlp.report.terminal import show, tell
from rationlp.report.workbook_form import write_farm_workbook


def say(given: Given) -> None:
    """Write the folder or the workbook, and say what was written and what comes next."""
    folder, workbook, source, empty = given.folder, given.workbook, given.source, given.empty
    if (folder is None) == (workbook is None):
        raise typer.BadParameter(
            "give either a folder to make, or --workbook FARM.xlsx", param_hint="FOLDER"
        )
    if workbook is None and (source is not None or empty):
        raise typer.BadParameter("--from and --empty go with --workbook", param_hint="--workbook")
    if source is not None and empty:
        raise typer.BadParameter(
            "a farm to fill it with, and yet empty: leave one of them out", param_hint="--empty"
        )
    for path in _written(folder, workbook, source, empty):
        show(str(path))
    then = "check" if empty else "ration"
    tell(f"Written: the files above. Next: rationlp {then} {folder or workbook}")


def _written(
    folder: Path | None, workbook: Path | None, source: Path | None, empty: bool
) -> tuple[Path, ...]:
    if workbook is not None:
        write_farm_workbook(workbook, source, empty=empty)
        return (workbook,)
    assert folder is not None
    return write_new_farm(folder)
