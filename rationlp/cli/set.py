"""`rationlp set`: change keys of farm.toml by command, comments kept."""

from __future__ import annotations

from typing import Annotated

import typer

from rationlp.cli.options import FarmArgument


def set_keys(
    farm: FarmArgument,
    settings: Annotated[
        list[str],
        typer.Argument(
            metavar="PATH=VALUE…",
            help="Such as first_cut.length_m=18 or cows.head=24; ID=none takes an entry out.",
        ),
    ],
) -> None:
    """Change keys of farm.toml: checked whole, written whole or not at all, comments kept."""
    from rationlp.paper.edited import edited
    from rationlp.report.files import write_whole
    from rationlp.report.terminal import show, tell

    changed = edited(farm, settings)
    for edit in changed.edits:
        if edit.after is None:
            show(f"{edit.path}: taken out")
        else:
            before = "not stated" if edit.before is None else edit.before
            show(f"{edit.path}: {before} → {edit.after}")
    write_whole(farm / "farm.toml", changed.text, ())
    tell(f"Written: {farm / 'farm.toml'}")
