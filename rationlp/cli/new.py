"""`rationlp new`: a commented farm folder, or a workbook, to fill in."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

WorkbookOption = Annotated[
    Path | None,
    typer.Option(
        "--workbook", metavar="FARM.XLSX", help="Write a workbook to fill in instead of a folder."
    ),
]
FromOption = Annotated[
    Path | None,
    typer.Option(
        "--from", metavar="FARM", help="Fill the workbook with this farm folder; with --workbook."
    ),
]
EmptyOption = Annotated[
    bool,
    typer.Option(
        "--empty",
        help="Leave the workbook empty instead of filling in an example; with --workbook.",
    ),
]


def new(
    folder: Annotated[
        Path | None,
        typer.Argument(metavar="FOLDER", help="Folder to make; it must not hold a farm yet."),
    ] = None,
    workbook: WorkbookOption = None,
    source: FromOption = None,
    empty: EmptyOption = False,
) -> None:
    """Write a complete, commented farm folder that runs at once, to be changed into your own; or a
    workbook to fill in.
    """
    from rationlp.report.terminal import show

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
    typer.echo(f"Next: rationlp {'check' if empty else 'ration'} {folder or workbook}", err=True)


def _written(
    folder: Path | None, workbook: Path | None, source: Path | None, empty: bool
) -> tuple[Path, ...]:
    if workbook is not None:
        from rationlp.report.workbook_form import write_farm_workbook

        write_farm_workbook(workbook, source, empty=empty)
        return (workbook,)
    from rationlp.read.template import write_new_farm

    assert folder is not None
    return write_new_farm(folder)
