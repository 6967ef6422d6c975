"""Run every `rationlp …` line of the README's console blocks, in the folder it is called from; stop at the first that fails.

A line that ends in `# exit 3` (any number) must end with that code.
"""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path


def commands(readme: str) -> list[tuple[str, int]]:
    """(command, expected exit code) of every console line that starts with `$ rationlp`."""
    found = []
    for block in re.findall(r"```console\n(.*?)```", readme, re.S):
        for line in block.splitlines():
            if line.startswith("$ rationlp"):
                command, _, remark = line[2:].partition("  # exit ")
                found.append((command.strip(), int(remark or 0)))
    return found


def main() -> None:
    """Entry point: the README's path is the only argument."""
    wanted = commands(Path(sys.argv[1]).read_text(encoding="utf-8"))
    if not wanted:
        sys.exit("the README shows no command")
    for command, code in wanted:
        done = subprocess.run(command, shell=True, capture_output=True, text=True, check=False)
        if done.returncode != code:
            sys.exit(f"{command}\nended with {done.returncode}, expected {code}\n{done.stdout}\n{done.stderr}")
    sys.stdout.write(f"{len(wanted)} commands of the README run as shown\n")


if __name__ == "__main__":
    main()
