"""`rationlp set`: change keys of farm.toml by command, comments kept."""

from __future__ import annotations

from rationlp.cli.options import Options
from rationlp.paper.edited import edited
from rationlp.report.files import write_whole
from rationlp.report.terminal import show, tell


def say(options: Options) -> None:
    """Change keys of farm.toml, whole or not at all, and show what stood there before."""
    changed = edited(options.farm, options.settings)
    for edit in changed.edits:
        if edit.after is None:
            show(f"{edit.path}: taken out")
        else:
            before = edit.before
            if before is None:
                before = "not stated"
            show(f"{edit.path}: {before} → {edit.after}")
    write_whole(options.farm / "farm.toml", changed.text, ())
    tell(f"Written: {options.farm / 'farm.toml'}")
