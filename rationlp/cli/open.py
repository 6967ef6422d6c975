"""`rationlp open`: the farm in the browser, on this machine only."""

from __future__ import annotations

from pathlib import Path

from rationlp.cli.options import Options
from rationlp.errors import refused
from rationlp.live.serve import serve
from rationlp.read.folder import is_workbook
from rationlp.report.terminal import tell


def say(options: Options) -> None:
    """Serve the page until Ctrl-C or its last window is closed. Raises InputError (IN908)."""
    farm: Path | None = options.farm_folder
    if farm is not None and is_workbook(farm):
        remedy = "make a folder of it: `rationlp new FOLDER`, with its figures in farm.toml"
        raise refused("IN908", str(farm), "a workbook, which the page cannot write", remedy)
    try:
        serve(farm, Path.cwd(), _address, browser=not options.no_browser, port=options.port or 0)
    except KeyboardInterrupt:
        tell("Ended. Edits that were not saved wait beside the farm.")


def _address(address: str) -> None:
    tell(f"Open: {address}")
    tell("Only this machine can reach it. Ctrl-C ends it.")
