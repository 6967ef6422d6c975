"""What every command prints by default: one screen, days as people write them, no table in halves;
--full prints more.
"""

from __future__ import annotations

import os
import re

import pytest
from typer.testing import CliRunner

from rationlp.cli.app import app
from rationlp.cli.commands import commands
from rationlp.folders import examples_folder
from rationlp.report.story import KILLS
from rationlp.report.terminal import ALSO

EXAMPLES = ("beef", "calving", "dairy", "few", "hill", "short")
COMMANDS = (
    "check",
    "needs",
    "needs --over-winter",
    "needs --compare",
    "clamp",
    "ration",
    "sheet",
    "sheet --record",
    "supply",
    "winter",
    "last",
    "log",
    "switch",
    "worth",
    "promise",
    "manure",
    "whatif --stress",
    "sure --draws 5",
    "grow",
)
LONG_QUESTIONS = ("switch", "worth", "promise", "whatif --stress", "sure --draws 5")
LARGE = ("beef", "hill", "short")
ANSWERS = [
    (command, name)
    for command in COMMANDS
    for name in EXAMPLES
    if os.environ.get("RATIONLP_FULL") or command not in LONG_QUESTIONS or name not in LARGE
]
"""Every command on every example; questions that plan a large farm many times with RATIONLP_FULL=1
only.
"""
MOST_LINES = 60
WIDTH = 100


def printed(command: str, name: str) -> str:
    """What a command prints of an example; a farm that it cannot answer prints nothing."""
    first, *others = command.split()
    runner = CliRunner(env={"COLUMNS": str(WIDTH)})
    result = runner.invoke(app, [first, str(examples_folder() / name), *others])
    assert result.exit_code in (0, 2, 3), result.output
    return result.stdout


def lines_that_count(text: str) -> list[str]:
    """Lines of an answer without cautions about what can kill or maim."""
    before, mark, after = text.partition(f"{KILLS}\n")
    if not mark:
        return text.splitlines()
    lines = after.splitlines()
    end = next((n for n, line in enumerate(lines) if not line.startswith(("- ", "  "))), len(lines))
    return [*before.splitlines(), *lines[end:]]


@pytest.mark.parametrize(("command", "name"), ANSWERS)
def test_a_default_answer_is_one_screen(command: str, name: str) -> None:
    """At most sixty lines, no days by number, no table broken into halves."""
    text = printed(command, name)
    assert len(lines_that_count(text)) <= MOST_LINES
    assert not re.search(r"\d{4}-\d\d-\d\d", text.replace("--on 2027-01-15", ""))
    assert max((len(line) for line in text.splitlines()), default=0) <= WIDTH
    for block in text.split("\n\n"):
        rules = [line for line in block.splitlines() if set(line) <= set("- ") and "--" in line]
        assert len(rules) <= 1
    assert halves(text) == []


def halves(text: str) -> list[str]:
    """Tables that go on below themselves: two grids with nothing but a blank line between them."""
    blocks = text.split("\n\n")
    grid = [any(set(line) <= set("- ") and "--" in line for line in b.split("\n")) for b in blocks]
    return [blocks[n] for n in range(1, len(blocks)) if grid[n] and grid[n - 1]]


def test_every_command_of_a_farm_is_looked_at() -> None:
    """None is left out but those that write, list or open a page."""
    others = {"new", "open", "set", "take", "report", "guide", "meaning"}
    known = {command.name for command in commands() if " " not in command.name}
    assert known - others == {command.split()[0] for command in COMMANDS}


def test_lists_are_one_screen() -> None:
    """The feeds and the words that can be asked for."""
    for words in (["feeds", "list"], ["meaning"]):
        result = CliRunner(env={"COLUMNS": str(WIDTH)}).invoke(app, words)
        assert len(result.stdout.splitlines()) <= MOST_LINES
        longer = CliRunner(env={"COLUMNS": str(WIDTH)}).invoke(app, [*words, "--full"])
        assert len(longer.stdout.splitlines()) > len(result.stdout.splitlines())


def test_what_can_kill_is_always_told_and_the_others_by_name() -> None:
    """By default title and action of the one, titles of the others; with --full every sentence."""
    short = printed("ration", "dairy")
    whole = printed("ration --full", "dairy")
    assert "Silage gas: Keep out of clamps" in short
    assert "Mixer tub and drive shaft: Guards on" in " ".join(short.split())
    assert ALSO in short
    assert "[mineral_dust]" not in short
    assert "[mineral_dust]" in whole
    assert "supply against need" in whole
    assert "supply against need" not in short
