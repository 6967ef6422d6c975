"""The README's console blocks: run each command, compare what it prints with what the README shows.

`python tests/readme_commands.py README.md` runs every `$ rationlp …` line in the current folder and stops at the first that
fails; with `--write` it puts the real output under each command that shows one. A line that ends in `# exit 3` (any
number) must end with that code.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

WIDTH = "80"
BLOCK = re.compile(r"```console\n(.*?)```", re.S)


@dataclass(frozen=True)
class Shown:
    """A command of the README, the exit code it must end with, and the output shown below it (empty: none shown)."""

    command: str
    code: int
    output: str


def shown(readme: str) -> list[Shown]:
    """Every command of the console blocks, in order."""
    found = []
    for block in BLOCK.findall(readme):
        for part in re.split(r"^\$ ", block, flags=re.M)[1:]:
            line, _, output = part.partition("\n")
            command, _, remark = line.partition("  # exit ")
            found.append(Shown(command.strip(), int(remark or 0), output.strip("\n")))
    return found


def run(command: str) -> subprocess.CompletedProcess[str]:
    """Run a command through the shell at a fixed width."""
    environment = {**os.environ, "COLUMNS": WIDTH}
    return subprocess.run(command, shell=True, capture_output=True, text=True, check=False, env=environment)


def main() -> None:
    """Entry point: the README's path, and `--write` to put real output in."""
    path = Path(sys.argv[1])
    text = path.read_text(encoding="utf-8")
    commands = shown(text)
    if not commands:
        sys.exit("the README shows no command")
    for one in commands:
        done = run(one.command)
        if done.returncode != one.code:
            sys.exit(f"{one.command}\nended with {done.returncode}, expected {one.code}\n{done.stdout}\n{done.stderr}")
        if one.output and done.stdout.strip("\n") != one.output:
            if "--write" not in sys.argv:
                sys.exit(f"{one.command}\nprints something else than the README shows:\n{done.stdout}")
            text = text.replace(one.output, done.stdout.strip("\n"))
    if "--write" in sys.argv:
        path.write_text(text, encoding="utf-8")
    sys.stdout.write(f"{len(commands)} commands of the README run as shown\n")


if __name__ == "__main__":
    main()
