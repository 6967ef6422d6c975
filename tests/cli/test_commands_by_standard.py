"""Every command that works out needs, on every example by both of its standards: an answer that
names the standard and how far it is proved, or a refusal with its reason; never a traceback.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from rationlp.cli.app import app
from rationlp.farm.group import AFRC, CSIRO, NRC
from rationlp.folders import examples_folder
from rationlp.needs.standards import TITLES

SECOND = {"dairy": NRC, "calving": NRC, "beef": CSIRO, "hill": CSIRO, "short": CSIRO, "few": CSIRO}
"""The standard that holds for most animals of each example beside AFRC (1993)."""
ASKED = {
    "needs": (),
    "needs over winter": ("--over-winter",),
    "check": (),
    "ration": (),
    "ration explained": ("--explain",),
    "sheet": (),
    "supply": (),
    "winter": (),
    "last": (),
    "worth": (),
    "switch": (),
    "promise": (),
    "manure": (),
    "whatif": ("--set", "winter.turnout+=7"),
    "sure": ("--draws", "3"),
    "grow": (),
}
"""What is asked for of each command, by a name whose first word is the command."""
PROVES = {"ration", "winter"}
"""Commands whose first answer says how far it is proved."""
NO_RATION = 3
REFUSED = 2


def arguments(asked: str, farm: str, standard: str) -> list[str]:
    """A command as it is typed."""
    folder = examples_folder() / farm
    typed = [asked.split()[0], str(folder)]
    if asked == "supply" and (folder / "fed.csv").is_file():
        typed.append(str(folder / "fed.csv"))
    return [*typed, *ASKED[asked], "--standard", standard]


def answered(typed: list[str]) -> str | None:
    """What a command says on stdout; None where it refuses, with code and remedy on stderr."""
    done = CliRunner(env={"COLUMNS": "100"}).invoke(app, typed)
    said = f"{done.stdout}{done.stderr}"
    assert "Traceback" not in said
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    assert done.exit_code in (0, NO_RATION, REFUSED), said
    if done.exit_code == REFUSED:
        assert not done.stdout
        assert re.search(r"\b[A-Z]{2}\d{3}\b.* — .*", " ".join(done.stderr.split())), done.stderr
        return None
    assert not re.search(r"\b(nan|inf|None)\b", done.stdout)
    return done.stdout


@pytest.mark.parametrize("asked", ASKED)
@pytest.mark.parametrize("farm", SECOND)
def test_a_second_standard_is_named_and_its_answer_proved(farm: str, asked: str) -> None:
    """Else nobody could tell a bill by another science from his own."""
    told = answered(arguments(asked, farm, SECOND[farm]))
    if told is None:
        return
    said = " ".join(told.split())
    assert re.search(rf"Needs by .*?{re.escape(TITLES[SECOND[farm]])}", said)
    if asked in PROVES:
        assert re.search(r"[Pp]roved", said)
    if SECOND[farm] == NRC:
        assert not re.search(r"MJ ME needed|ME at 1\d", said)


@pytest.mark.parametrize("asked", ASKED)
@pytest.mark.parametrize("farm", SECOND)
def test_the_usual_standard_is_not_said_to_be_another(farm: str, asked: str) -> None:
    """By AFRC (1993) nothing is told of standards that were not asked for."""
    told = answered(arguments(asked, farm, AFRC))
    if told is not None:
        assert "Needs by" not in told
        assert not any(TITLES[name] in told for name in (NRC, CSIRO))


@pytest.mark.parametrize("command", ["ration", "winter"])
@pytest.mark.parametrize("farm", SECOND)
def test_both_side_by_side(farm: str, command: str) -> None:
    """Both bills; where they part, a reason for it."""
    told = answered([command, str(examples_folder() / farm), "--compare-standards"])
    assert told is not None
    said = " ".join(told.split())
    for title in (TITLES[AFRC], TITLES[SECOND[farm]]):
        assert title in said
    if command == "ration":
        assert said.count("Why: ") == said.count("They differ most in")
        assert said.count("Why: ") + said.count("Both feed the same.") > 0


def test_a_report_is_written_by_the_second_standard(tmp_path: Path) -> None:
    """The smallest example, whole."""
    page = tmp_path / "page.html"
    typed = ["report", str(examples_folder() / "few"), "--output", str(page)]
    assert answered([*typed, "--standard", CSIRO]) is not None
    assert "CSIRO (2007)" in page.read_text(encoding="utf-8")
