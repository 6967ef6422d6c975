"""`rationlp sheet` and the terminal: forms, corrections, files, completion, no colour, examples in
every help.
"""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

import rationlp
from rationlp.cli.app import app
from rationlp.cli.meaning import glossary, words
from rationlp.folders import examples_folder
from rationlp.quantities import quantities

ROOT = Path(rationlp.__file__).resolve().parents[1]
BEEF = str(examples_folder() / "beef")
FEW = str(examples_folder() / "few")
COMMANDS = [command.name for command in app.registered_commands] + [
    "feeds list",
    "feeds show",
    "feeds compare",
    "feeds validate",
]


def process(*arguments: str, **settings: str) -> subprocess.CompletedProcess[str]:
    """A command as a process of its own."""
    environment = {
        **os.environ,
        "PYTHONPATH": str(ROOT),
        "COLUMNS": "100",
        "PYTHONUTF8": "1",
        **settings,
    }
    command = [sys.executable, "-m", "rationlp", *arguments]
    return subprocess.run(
        command, capture_output=True, text=True, check=False, env=environment, encoding="utf-8"
    )


@pytest.mark.parametrize("form", ["table", "csv", "json"])
def test_a_sheet_in_every_form(form: str) -> None:
    """A page, rows with a heading, or a document of its kind."""
    result = CliRunner(env={"COLUMNS": "100"}).invoke(
        app, ["sheet", BEEF, "--group", "bulls", "--format", form]
    )
    assert result.exit_code == 0
    if form == "json":
        document = json.loads(result.stdout)
        assert (document["kind"], [group["group"] for group in document["groups"]]) == (
            "sheet",
            ["bulls"],
        )
    elif form == "csv":
        assert "Rolled barley" in [
            row["feed"] for row in csv.DictReader(io.StringIO(result.stdout))
        ]
    else:
        assert result.stdout.startswith("Finishing bulls (16 head), 1 November 2026")


def test_another_day_stands_on_the_sheet() -> None:
    """--on gives the day, and the group as it then is."""
    result = CliRunner().invoke(app, ["sheet", FEW, "--group", "cows", "--on", "2027-02-10"])
    assert result.stdout.startswith("Eleven suckler cows (11 head), 10 February 2027")


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (["--dm", "first"], "IN520", "--dm id=25"),
        (["--dm", "early_bales=wet"], "IN520", "--dm id=25"),
        (["--dm", "early_bales=250"], "IN520", "from 4 to 100"),
        (["--dm", "early_bales=nan"], "IN520", "from 4 to 100"),
        (["--dm", "early_bales=25", "--dm", "early_bales=26"], "IN520", "keep one"),
        (["--dm", "erly_bales=25"], "IN124", "early_bales"),
        (["--head", "bulls=12.5"], "IN520", "--head id=25"),
        (["--head", "bulls=-1"], "IN520", "from 1 to"),
        (["--head", "cows=20"], "IN501", "bulls"),
    ],
)
def test_a_correction_that_cannot_be_used(words: list[str], code: str, told: str) -> None:
    """Exit 2, code and remedy on stderr, nothing on stdout."""
    result = CliRunner().invoke(app, ["sheet", BEEF, "--group", "bulls", *words])
    assert (result.exit_code, result.stdout) == (2, "")
    assert code in result.stderr
    assert told in result.stderr


def test_every_wrong_correction_is_told_at_once() -> None:
    """Two that cannot be read give two lines."""
    result = CliRunner().invoke(app, ["sheet", BEEF, "--dm", "x", "--head", "y"])
    assert result.stderr.count("IN520") == 2


def test_the_page_is_never_written_over_an_input(tmp_path: Path) -> None:
    """farm.toml stands as it was."""
    assert CliRunner().invoke(app, ["new", str(tmp_path / "farm")]).exit_code == 0
    before = (tmp_path / "farm" / "farm.toml").read_bytes()
    result = CliRunner().invoke(
        app,
        [
            "sheet",
            str(tmp_path / "farm"),
            "--group",
            "dry",
            "--html",
            str(tmp_path / "farm" / "farm.toml"),
        ],
    )
    assert result.exit_code == 2
    assert "IN602" in result.stderr
    assert (tmp_path / "farm" / "farm.toml").read_bytes() == before


def test_page_and_document_in_one_go(tmp_path: Path) -> None:
    """--html beside --output writes both files and leaves stdout empty."""
    page, document = tmp_path / "a.html", tmp_path / "a.json"
    words = [
        "sheet",
        FEW,
        "--group",
        "cows",
        "--html",
        str(page),
        "--format",
        "json",
        "--output",
        str(document),
    ]
    result = CliRunner().invoke(app, words)
    assert (result.exit_code, result.stdout) == (0, "")
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert json.loads(document.read_text(encoding="utf-8"))["kind"] == "sheet"


def test_a_group_without_a_ration_ends_with_three(tmp_path: Path) -> None:
    """Today by itself there is none; the winter's plan shares out what she can eat, and says first
    that it is not enough. The others have their sheets all the same.
    """
    assert CliRunner().invoke(app, ["new", str(tmp_path / "farm")]).exit_code == 0
    path = tmp_path / "farm" / "farm.toml"
    head, mark, rest = path.read_text(encoding="utf-8").partition("[[groups]]")
    path.write_text(f"{head}{mark}\nintake_kg_dm = 2.0{rest}", encoding="utf-8")
    today = CliRunner().invoke(app, ["sheet", str(tmp_path / "farm"), "--cheapest-today"])
    assert today.exit_code == 3
    assert "no ration, so no sheet" in today.stdout
    assert "Dry cows (24 head)" in today.stdout
    planned = CliRunner().invoke(app, ["sheet", str(tmp_path / "farm")])
    assert planned.exit_code == 3
    assert planned.stdout.count("NOT ENOUGH FOR THEM: short a head a day of ME ") == 1
    assert "Dry cows (24 head)" in planned.stdout


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_shows_an_example_in_its_help(command: str) -> None:
    """A line that can be typed."""
    result = CliRunner(env={"COLUMNS": "200"}).invoke(app, [*str(command).split(), "--help"])
    assert result.exit_code == 0
    assert f"Example: rationlp {command}" in result.stdout


def test_the_shell_completes_commands() -> None:
    """What the shell asks for with two letters typed."""
    asked = {"_RATIONLP_COMPLETE": "complete_bash", "COMP_WORDS": "rationlp sh", "COMP_CWORD": "1"}
    assert process(**asked).stdout.split() == ["sheet"]


@pytest.mark.parametrize(
    "settings", [{"FORCE_COLOR": "1"}, {"NO_COLOR": "1"}, {"TERM": "xterm-256color"}]
)
def test_there_is_never_a_colour(settings: dict[str, str]) -> None:
    """Neither in an answer nor in an error is there an escape sign, whatever the surroundings ask
    for.
    """
    for typed in (
        ["sheet", BEEF, "--group", "bulls"],
        ["sheet", BEEF, "--group", "nobody"],
        ["shet"],
        ["--help"],
    ):
        done = process(*typed, **settings)
        assert "\x1b" not in done.stdout + done.stderr


def test_a_word_of_the_trade_is_explained() -> None:
    """Title, key, meaning, unit and where its limits come from; every quantity that has the
    word.
    """
    text = CliRunner().invoke(app, ["meaning", "NDF"]).stdout
    assert "NDF (ndf_g_per_kg_dm)" in text
    assert "make an animal chew" in text
    assert "Unit: g/kg DM; in a kg of dry matter." in text
    assert "NDF from forage (forage_ndf_g_per_kg_dm)" in text


@pytest.mark.parametrize("name", quantities())
def test_every_quantity_can_be_asked_for(name: str) -> None:
    """By its key and by its title, with its unit."""
    quantity = quantities()[name]
    for word in (name, quantity.title, quantity.title.upper()):
        result = CliRunner().invoke(app, ["meaning", word])
        assert result.exit_code == 0
        assert f"{quantity.title} ({name})" in result.stdout
        assert f"Unit: {quantity.unit};" in result.stdout


def test_every_row_of_the_glossary_is_a_sentence() -> None:
    """Of quantities and of words; none is named twice, whatever the case of its letters."""
    assert all(text.endswith(".") for text in glossary().values())
    names = [name.casefold() for name in words()]
    assert len(set(names)) == len(names)


PRINTED = (
    "DM", "clamp", "face", "trough", "margin", "reserve", "proof", "low stock", "steady",
    "at limit", "head-days", "level of feeding", "breakpoint", "target", "turnout", "premix",
    "tub", "refusals", "stop above", "worth feeding below", "one t DM more saves",
    "plan in force", "trial winter", "short", "over", "below advice", "not known", "penalty",
    "only just lasts", "proved cheapest", "group", "head", "forage", "concentrates", "load",
)  # fmt: skip


@pytest.mark.parametrize("word", PRINTED)
def test_words_of_an_answer_can_be_asked_for(word: str) -> None:
    """What the default output prints and a newcomer stumbles on."""
    result = CliRunner().invoke(app, ["meaning", word])
    assert result.exit_code == 0, word


def test_a_mistyped_word_is_answered_with_the_nearest() -> None:
    """As a code is."""
    result = CliRunner().invoke(app, ["meaning", "crude protien"])
    assert result.exit_code == 2
    assert 'nearest: "crude protein"' in result.stderr


def test_cautions_that_are_new_on_a_day_are_told_to_be() -> None:
    """On a plan's first day all of a ration are; on a later day with the same ration none."""
    words = ["sheet", BEEF, "--group", "bulls", "--full"]
    first = CliRunner().invoke(app, words).stdout
    later = CliRunner().invoke(app, [*words, "--on", "2027-02-10"]).stdout
    assert first.count("- New: ") > later.count("- New: ")
