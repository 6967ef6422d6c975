"""`whatif`, `sure` and `grow`: all three forms, options that do not go together, and what is
refused.
"""

from __future__ import annotations

import csv
import io
import json
import sys
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from rationlp.cli.app import app

sys.path.insert(0, str(Path(__file__).parents[1] / "ask"))
sys.path.insert(0, str(Path(__file__).parents[1] / "report"))
from ask_farm import small_farm
from schema_check import against_schema

WHATIF = ["--set", "barley.price_per_t_fresh=200:240:20", "--cores", "1"]


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The small farm's folder."""
    return str(small_farm(tmp_path_factory.mktemp("cli") / "farm"))


def run(*words: str) -> Result:
    """A command at 100 columns."""
    return CliRunner().invoke(app, list(words), env={"COLUMNS": "100"})


def document(*words: str) -> dict[str, Any]:
    """The JSON answer, which keeps to the schema."""
    done = run(*words, "--format", "json")
    assert done.exit_code == 0, done.output
    found: dict[str, Any] = json.loads(done.stdout)
    assert against_schema(found) == []
    return found


QUESTIONS = [
    ("whatif", [*WHATIF], "what_if"),
    ("whatif", [*WHATIF, "--group", "stores"], "what_if"),
    ("sure", ["--draws", "3", "--hold-plan"], "sure_winter"),
    ("sure", ["--draws", "2", "--cores", "1"], "sure_winter"),
    ("sure", ["--group", "cows"], "sure_rations"),
    ("grow", [], "grow"),
]


@pytest.mark.parametrize(("command", "words", "kind"), QUESTIONS)
def test_the_json_of_every_question_keeps_to_the_schema(
    farm: str, command: str, words: list[str], kind: str
) -> None:
    """Kind, schema, and the line that stands under everything."""
    found = document(command, farm, *words)
    assert found["kind"] == kind
    assert "nutritionist or vet" in found["caution"]


@pytest.mark.parametrize(("command", "words", "kind"), QUESTIONS)
def test_text_and_csv_of_every_question(
    farm: str, command: str, words: list[str], kind: str
) -> None:
    """The text ends with the line that stands under every answer; the CSV has a heading and as many
    cells in every row.
    """
    text = run(command, farm, *words)
    assert text.exit_code == 0, text.output
    assert " ".join(text.stdout.split()).endswith("local rules come first.")
    rows = list(csv.reader(io.StringIO(run(command, farm, *words, "--format", "csv").stdout)))
    assert len(rows) > 1
    assert {len(row) for row in rows} == {len(rows[0])}


def test_whatif_says_first_what_a_person_wants_to_know(farm: str) -> None:
    """The dearest of the scenarios, in money."""
    first = run(
        "whatif", farm, "--set", "cows.head=26", "--set", "stores.head=14"
    ).stdout.splitlines()[0]
    assert first.startswith("cows.head=26, stores.head=14 costs GBP ")
    assert first.endswith("more over the winter than now.")


def test_the_stress_table_stands_beside_typed_scenarios(farm: str) -> None:
    """Typed ones first."""
    found = document("whatif", farm, "--set", "cows.head=17", "--stress")
    names = [one["name"] for one in found["scenarios"]]
    assert names[0] == "cows.head=17"
    assert "turnout 21 days later" in names


def test_scenarios_of_a_file(farm: str, tmp_path: Path) -> None:
    """With their names."""
    path = tmp_path / "mine.toml"
    path.write_text("[[scenarios]]\nname = 'more cows'\nset = ['cows.head+=1']\n", encoding="utf-8")
    found = document("whatif", farm, "--scenarios", str(path))
    assert [one["name"] for one in found["scenarios"]] == ["more cows"]


def test_the_scenario_file_is_never_written_over(farm: str, tmp_path: Path) -> None:
    """It is an input like the farm."""
    path = tmp_path / "mine.toml"
    path.write_text("[[scenarios]]\nname = 'more cows'\nset = ['cows.head+=1']\n", encoding="utf-8")
    done = run("whatif", farm, "--scenarios", str(path), "--output", str(path))
    assert (done.exit_code, "IN602" in done.output) == (2, True)
    assert "more cows" in path.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["whatif"], "IN532"),
        (["whatif", "--set", "cows.hed=3"], 'nearest: "cows.head"'),
        (["whatif", "--set", "cows.head=1:1000:1"], "add --many"),
        (["whatif", "--set", "cows.head=3", "--group", "goats"], "IN501"),
        (["whatif", "--set", "cows.head=3", "--on", "2026-11-10"], "goes with --group"),
        (["whatif", "--set", "cows.head=3", "--group", "cows", "--on", "2030-01-01"], "IN504"),
        (["whatif", "--scenarios", "nowhere.toml"], "IN201"),
        (["sure", "--chance", "0.9"], "goes with --group"),
        (["sure", "--on", "2026-11-10"], "goes with --group"),
        (["sure", "--group", "cows", "--draws", "9"], "does not go with --group"),
        (["sure", "--group", "cows", "--hold-plan"], "does not go with --group"),
        (["sure", "--group", "goats"], "IN501"),
        (["sure", "--group", "cows", "--chance", "90"], "IN538"),
        (["sure", "--draws", "0"], "IN538"),
        (["sure", "--spread", "density_table=-1"], "IN538"),
        (["grow", "--reserve", "-1"], "IN539"),
    ],
)
def test_what_is_refused(farm: str, words: list[str], said: str) -> None:
    """Exit code 2, nothing on stdout, and what to do on stderr."""
    done = run(words[0], farm, *words[1:])
    assert done.exit_code == 2
    assert said in " ".join(done.stderr.split())
    assert done.stdout == ""


def test_grow_without_a_plan_ends_with_three(tmp_path: Path) -> None:
    """And says what would help."""
    folder = small_farm(
        tmp_path / "farm", ("[[growing]]", "[land]\nhectares = 0.01\n\n[[growing]]")
    )
    path = folder / "farm.toml"
    price = "price_per_t_fresh = 205"
    path.write_text(
        path.read_text(encoding="utf-8").replace(price, f"{price}\nmost_t = 0.1"), encoding="utf-8"
    )
    done = run("grow", str(folder))
    assert done.exit_code == 3
    assert "more land, another crop, more to buy" in " ".join(done.stdout.split())
