"""The console blocks of the README and of the guide: run each command, compare what it prints with
what the page shows.

`python tests/readme_commands.py PAGE.md …` runs every `$ rationlp …` line, each page in a new
folder that holds a copy of the `examples` of the current one, and stops at the first that fails;
with `--write` it puts the real output under each command that shows one. A line that ends in `#
exit 3` (any number) must end with that code. A shown output whose last line is `…` is the beginning
of what is printed.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

WIDTH = "80"
MORE = "…"
BLOCK = re.compile(r"```console\n(.*?)```", re.S)


@dataclass(frozen=True)
class Shown:
    """A command of a page, the exit code it must end with, and the output shown below it (empty:
    none shown).
    """

    command: str
    code: int
    output: str

    def as_printed(self, printed: str) -> str:
        """What the page should show of what was printed: all of it, or as many lines as it shows
        before `…`.
        """
        lines = self.output.split("\n")
        if lines[-1] != MORE:
            return printed.strip("\n")
        return "\n".join([*printed.strip("\n").split("\n")[: len(lines) - 1], MORE])


def shown(page: str) -> list[Shown]:
    """Every command of the console blocks, in order."""
    commands = []
    for block in BLOCK.findall(page):
        for part in re.split(r"^\$ ", block, flags=re.M)[1:]:
            line, _, output = part.partition("\n")
            command, _, remark = line.partition("  # exit ")
            commands.append(Shown(command.strip(), int(remark or 0), output.strip("\n")))
    return commands


def run(command: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """Run a command through the shell in a folder, at a fixed width."""
    environment = {**os.environ, "COLUMNS": WIDTH}
    return subprocess.run(
        command,
        shell=True,
        capture_output=True,
        text=True,
        check=False,
        env=environment,
        cwd=folder,
    )


def checked(path: Path, folder: Path, write: bool) -> int:
    """Run the commands of one page in a folder; the number of them. Ends the process at the first
    that is not as shown.
    """
    text = path.read_text(encoding="utf-8")
    commands = shown(text)
    for item in commands:
        done = run(item.command, folder)
        if done.returncode != item.code:
            sys.exit(
                f"{item.command}\nended with {done.returncode}, expected"
                f" {item.code}\n{done.stdout}\n{done.stderr}"
            )
        if item.output and item.as_printed(done.stdout) != item.output:
            if not write:
                sys.exit(
                    f"{item.command}\nprints something else than {path.name} shows:\n{done.stdout}"
                )
            text = text.replace(item.output, item.as_printed(done.stdout))
    if write:
        path.write_text(text, encoding="utf-8")
    return len(commands)


def main() -> None:
    """Entry point: the paths of the pages, and `--write` to put real output in."""
    write = "--write" in sys.argv
    pages = [Path(word) for word in sys.argv[1:] if word != "--write"]
    count = 0
    for path in pages:
        with tempfile.TemporaryDirectory() as folder:
            shutil.copytree("examples", Path(folder) / "examples")
            count += checked(path, Path(folder), write)
    if not count:
        sys.exit("the pages show no command")
    sys.stdout.write(f"{count} commands of {len(pages)} pages run as shown\n")


if __name__ == "__main__":
    main()
