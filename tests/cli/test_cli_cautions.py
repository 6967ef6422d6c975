"""Cautions on the command line: at the end of check, ration and supply, in JSON, and a whole row by
name.
"""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner

import rationlp
from rationlp.after.cautions import DEFER_LINE
from rationlp.cli.app import app

EXAMPLE = Path(rationlp.__file__).resolve().parents[1] / "examples" / "dairy"


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    """The dairy example with ragwort in its hay."""
    folder = tmp_path / "farm"
    shutil.copytree(EXAMPLE, folder)
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    text = text.replace('id = "hay"\n', 'id = "hay"\nseen = ["ragwort"]\n', 1)
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    return folder


def said(*arguments: str) -> str:
    """The answer of a command, its lines joined."""
    result = CliRunner(env={"COLUMNS": "100"}).invoke(app, list(arguments))
    assert result.exit_code == 0, result.output
    return " ".join(result.stdout.split())


def test_check_counts_and_says_them_once_with_the_line_that_defers(farm: Path) -> None:
    """A caution of three clamps is one line."""
    text = said("check", str(farm), "--full")
    assert "5 cautions" in text
    assert text.count("(Meadow hay, ragwort seen or known) [ragwort]") == 1
    assert text.count("(First-cut clamp, face 2.6 m; Second-cut clamp, ") == 1
    assert text.count(DEFER_LINE) == 1


def test_ration_says_those_of_the_groups_and_of_the_farm(farm: Path) -> None:
    """Starch of the high yielders, ragwort of the hay, which the group is told it does not get."""
    text = said("ration", str(farm), "--group", "high", "--full")
    assert "(High yielders, starch above what was fed before by " in text
    assert "(Meadow hay, ragwort seen or known) [ragwort]" in text
    assert "is left out: ragwort seen or suspected in a store (caution ragwort;" in text
    assert text.count(DEFER_LINE) == 1


def test_supply_tells_a_group_that_eats_what_is_kept_from_it(farm: Path, tmp_path: Path) -> None:
    """Hay with ragwort that is fed all the same is a caution about the group."""
    fed = tmp_path / "fed.csv"
    fed.write_text("group,feed,kg_dm\ndry,hay,10\n", encoding="utf-8")
    document = json.loads(said("supply", str(farm), str(fed), "--format", "json"))
    [group] = document["groups"]
    assert [(one["id"], one["about"]) for one in group["cautions"] if one["id"] == "ragwort"] == [
        ("ragwort", "dry")
    ]
    assert "ragwort" in {one["id"] for one in document["cautions"]}


def test_json_holds_the_figures_of_a_caution(farm: Path) -> None:
    """Found and threshold as numbers with their unit, kind, status and source."""
    document = json.loads(said("check", str(farm), "--format", "json"))
    face = next(one for one in document["cautions"] if one["id"] == "face_collapse")
    assert (face["about"], face["value"], face["bound"], face["unit"]) == (
        "first_cut",
        2.6,
        2.0,
        "m",
    )
    assert face["source"]
    assert document["stores"][3]["seen"] == ["ragwort"]


def test_meaning_shows_a_caution_by_name_and_lists_all() -> None:
    """In either case of letters; without a name the list holds codes and cautions; a slip is told
    the nearest.
    """
    assert "Source: Clemson University" in said("meaning", "Nitrate_Third")
    listed = said("meaning", "--full")
    assert "IN101 No such folder" in listed
    assert "nitrate_third Nitrate: a third of the diet" in listed
    wrong = CliRunner().invoke(app, ["meaning", "nitrat_third"])
    assert wrong.exit_code == 2
    assert '"nitrate_third"' in wrong.stderr


def test_a_herd_fed_the_same_already_is_not_told_of_a_change(tmp_path: Path) -> None:
    """The high yielders' own ration as what is fed now: no change; straw as what is fed now: a
    change.
    """
    first = json.loads(said("ration", str(EXAMPLE), "--group", "high", "--format", "json"))
    amounts = first["groups"][0]["amounts"]
    for rows, changed in (
        ([f"high,{one['offer']},{one['kg_dm']}" for one in amounts], False),
        (["high,straw,10"], True),
    ):
        fed = tmp_path / "fed.csv"
        fed.write_text("\n".join(["group,feed,kg_dm", *rows]) + "\n", encoding="utf-8")
        arguments = ("ration", str(EXAMPLE), "--group", "high", "--instead-of", str(fed))
        document = json.loads(said(*arguments, "--format", "json"))
        assert (
            "change_over" in {one["id"] for one in document["groups"][0]["cautions"]}
        ) is changed
        assert ("[change_over]" in said(*arguments, "--full")) is changed
