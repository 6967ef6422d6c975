"""`needs --compare` on the examples: other published standards beside ours, in all three forms."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

import rationlp
from rationlp.cli.app import app
from rationlp.needs.compare import OURS_AGAIN

EXAMPLES = Path(rationlp.__file__).resolve().parents[1] / "examples"
NAMES = sorted(path.name for path in EXAMPLES.iterdir() if (path / "farm.toml").is_file())


def asked(*arguments: str) -> str:
    """What a command prints on stdout at 100 columns; it must answer."""
    result = CliRunner(env={"COLUMNS": "100"}).invoke(app, list(arguments))
    assert result.exit_code == 0
    return result.stdout


@pytest.mark.parametrize("name", NAMES)
def test_every_group_of_every_example_is_set_beside_other_standards(name: str) -> None:
    """By two methods at least besides our own with another maintenance; a heavy ram by one, for
    lack of figures.
    """
    document = json.loads(asked("needs", str(EXAMPLES / name), "--compare", "--format", "json"))
    entries = document["second_opinions"]
    assert [entry["group"] for entry in entries] == [group["group"] for group in document["groups"]]
    for entry in entries:
        methods = {
            opinion["method"] for opinion in entry["opinions"] if opinion["value"] is not None
        }
        heavy_ram = {group["group"]: group["animal_class"] for group in document["groups"]}[
            entry["group"]
        ] == "ram"
        assert len(methods - {OURS_AGAIN}) >= (1 if heavy_ram else 2), entry["group"]


@pytest.mark.parametrize("name", NAMES)
def test_the_tables_fit_the_width_and_end_with_the_caution(name: str) -> None:
    """A table a group, nothing wider than the terminal."""
    text = asked("needs", str(EXAMPLES / name), "--compare", "--full")
    groups = json.loads(asked("needs", str(EXAMPLES / name), "--compare", "--format", "json"))[
        "groups"
    ]
    assert text.count(": other standards beside ours") == len(groups)
    assert max(len(line) for line in text.splitlines()) <= 100
    assert text.rstrip().endswith("local rules come first.")


def test_csv_has_a_row_an_opinion_with_group_and_class() -> None:
    """The columns of the table, the group and its class in front."""
    found = list(
        csv.DictReader(
            io.StringIO(asked("needs", str(EXAMPLES / "dairy"), "--compare", "--format", "csv"))
        )
    )
    assert {row["class"] for row in found} >= {
        "dairy_cow_milking",
        "dairy_cow_dry",
        "growing_cattle",
    }
    assert all(float(row["ours_mj_per_day"]) > 0.0 for row in found)


def test_without_the_option_nothing_is_added() -> None:
    """The document has no second opinions."""
    document = json.loads(asked("needs", str(EXAMPLES / "dairy"), "--format", "json"))
    assert document["second_opinions"] == []


def test_a_group_that_states_its_needs_is_said_to_have_nothing_to_compare(tmp_path: Path) -> None:
    """A sentence in place of a table."""
    text = (EXAMPLES / "beef" / "farm.toml").read_text(encoding="utf-8")
    own = (
        '\n[[groups]]\nid = "own"\nclass = "stated"\nhead = 3\nintake_kg_dm ='
        ' 9.0\n[[groups.quantity_limits]]\nquantity = "me_mj_per_kg_dm"\nper = "head_day"\nat_least'
        " = 90\n"
    )
    for path in (EXAMPLES / "beef").iterdir():
        (tmp_path / path.name).write_bytes(path.read_bytes())
    (tmp_path / "farm.toml").write_text(text + own, encoding="utf-8")
    printed = asked("needs", str(tmp_path), "--group", "own", "--compare")
    assert printed.startswith("own states its own needs: there is nothing to set beside them.")
