"""`switch` and `worth` on the command line: forms, exit codes, and everything that may be asked for
wrongly.
"""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from rationlp.cli.app import app

DAIRY = Path(__file__).resolve().parents[2] / "examples" / "dairy"
SWITCH = ["switch", str(DAIRY), "--from", "first_cut", "--to", "maize", "--group", "finishers"]
WORTH = ["worth", str(DAIRY), "--group", "finishers", "--feed", "maize", "--feed", "hay"]
TONNES = ["switch", str(DAIRY), "--from", "second_cut", "--to", "hay", "--by", "tonnes"]


@pytest.mark.parametrize("command", [SWITCH, WORTH, TONNES], ids=["switch", "worth", "tonnes"])
@pytest.mark.parametrize("form", ["table", "csv", "json"])
def test_every_form_is_answered(command: list[str], form: str) -> None:
    """A table that fits, rows with a heading, or a document of the command's kind."""
    result = CliRunner(env={"COLUMNS": "100"}).invoke(app, [*command, "--format", form])
    assert result.exit_code == 0, result.stderr
    if form == "json":
        assert json.loads(result.stdout)["kind"] == (
            command[0] if command is not TONNES else "switch_winter"
        )
    elif form == "csv":
        assert len(list(csv.DictReader(io.StringIO(result.stdout)))) >= 2
    else:
        assert max(len(line) for line in result.stdout.splitlines()) <= 100
        assert result.stdout.rstrip().endswith("local rules come first.")


def test_a_feed_key_and_a_name_are_understood() -> None:
    """The key of the feed tables and the name of the store give what the id gives."""
    by_id = CliRunner().invoke(app, [*SWITCH, "--format", "json"]).stdout
    words = [
        "switch",
        str(DAIRY),
        "--from",
        "grass_silage_1st_typical",
        "--to",
        "maize clamp",
        "--group",
        "finishers",
    ]
    assert CliRunner().invoke(app, [*words, "--format", "json"]).stdout == by_id


BAD = {
    "a switch to itself": (["switch", "--from", "maize", "--to", "maize"], "IN541"),
    "to itself under its feed key": (
        ["switch", "--from", "maize", "--to", "maize_silage_typical"],
        "IN541",
    ),
    "a forage that nobody holds": (
        ["switch", "--from", "first_cut", "--to", "maise"],
        'IN540 --to.*nearest: "maize"',
    ),
    "two unknown names at once": (
        ["switch", "--from", "qqq", "--to", "zzz"],
        "(?s)IN540 --from.*IN540 --to",
    ),
    "not a forage": (["switch", "--from", "first_cut", "--to", "barley"], "IN542 --to"),
    "nobody may eat both": (
        ["switch", "--from", "first_cut", "--to", "maize", "--group", "young"],
        "IN543",
    ),
    "an unknown group": (
        ["switch", "--from", "first_cut", "--to", "maize", "--group", "nobody"],
        "IN501",
    ),
    "not a day of the winter": (
        ["switch", "--from", "first_cut", "--to", "maize", "--on", "2027-08-01"],
        "IN504",
    ),
    "a bought feed by tonnes": (
        ["switch", "--from", "first_cut", "--to", "barley", "--by", "tonnes"],
        "IN544 --to",
    ),
    "a store to itself by tonnes": (
        ["switch", "--from", "hay", "--to", "hay", "--by", "tonnes"],
        "IN541",
    ),
    "an unknown store by hectares": (
        ["switch", "--from", "hay", "--to", "wheet", "--by", "hectares"],
        "IN540",
    ),
    "hectares without figures": (
        ["switch", "--from", "second_cut", "--to", "straw", "--by", "hectares"],
        "IN545",
    ),
    "a feed in no table": (["worth", "--feed", "unicorn"], "IN540 --feed"),
    "two feeds in no table": (
        ["worth", "--feed", "unicorn", "--feed", "gryphon"],
        "(?s)IN540.*IN540",
    ),
    "a group that is not there": (["worth", "--group", "nobody"], "IN501"),
    "a lot of nothing": (["worth", "--lot", "0"], "--lot"),
    "no such way to switch": (
        ["switch", "--from", "hay", "--to", "maize", "--by", "acres"],
        "--by",
    ),
    "a group by tonnes": (
        ["switch", "--from", "hay", "--to", "maize", "--by", "tonnes", "--group", "dry"],
        "--group",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_what_is_asked_for_wrongly(name: str) -> None:
    """Exit 2, nothing on stdout, the fault named."""
    import re

    words, said = BAD[name]
    result = CliRunner(env={"COLUMNS": "200", "TERM": "dumb"}).invoke(
        app, [words[0], str(DAIRY), *words[1:]]
    )
    assert (result.exit_code, result.stdout) == (2, "")
    assert re.search(said, result.stderr), result.stderr


def test_a_name_shared_by_two_feeds(tmp_path: Path) -> None:
    """Two stores of one feed: the key says too little, the ids are offered."""
    text = (DAIRY / "farm.toml").read_text(encoding="utf-8")
    (tmp_path / "farm.toml").write_text(
        text.replace('"grass_silage_2nd"', '"grass_silage_1st_typical"'), "utf-8"
    )
    words = ["switch", str(tmp_path), "--from", "grass_silage_1st_typical", "--to", "maize"]
    result = CliRunner().invoke(app, words)
    assert result.exit_code == 2
    assert "first_cut, second_cut" in result.stderr


def test_the_whole_winter_is_told_with_stores() -> None:
    """Without a group `worth` adds what a tonne of each store saves."""
    result = CliRunner(env={"COLUMNS": "100"}).invoke(app, ["worth", str(DAIRY), "--feed", "hay"])
    assert "What a tonne in store is worth this winter" in result.stdout
    assert "Meadow hay" in result.stdout
