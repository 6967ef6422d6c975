"""`rationlp new`: a commented farm folder to fill in."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def new(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Folder to make; it must not hold a farm yet.")],
) -> None:
    """Write a complete, commented farm folder that runs at once, to be changed into your own."""
    from rationlp.read.template import write_new_farm
    from rationlp.report.terminal import show

    for path in write_new_farm(folder):
        show(str(path))
    typer.echo(f"Next: rationlp ration {folder}", err=True)
