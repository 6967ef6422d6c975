"""`clamp --thought --had` and `sheet --record` from the command line: forms of the answer, and what
is refused.
"""

from __future__ import annotations

import csv
import io
import json
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner
from winter_plans import without_plan

from rationlp.cli.app import app
from rationlp.folders import examples_folder

sys.path.insert(0, str(Path(__file__).parents[1] / "report"))
from schema_check import against_schema

FARMS = examples_folder()
DAIRY = str(FARMS / "dairy")
LAST_YEAR = ["clamp", DAIRY, "--store", "hay", "--thought", "33", "--had", "30"]
RECORD = ["sheet", str(FARMS / "few"), "--record"]


@pytest.mark.parametrize(("words", "kind"), [(LAST_YEAR, "last_year"), (RECORD, "record")])
def test_the_json_keeps_to_the_schema(words: list[str], kind: str) -> None:
    """Kind and schema, and every level of it known."""
    found = json.loads(CliRunner().invoke(app, [*words, "--format", "json"]).stdout)
    assert found["kind"] == kind
    assert against_schema(found) == []


@pytest.mark.parametrize("words", [LAST_YEAR, RECORD])
def test_csv_has_a_heading_and_full_rows(words: list[str]) -> None:
    """As many cells in every row."""
    rows = list(
        csv.reader(io.StringIO(CliRunner().invoke(app, [*words, "--format", "csv"]).stdout))
    )
    assert len(rows) > 1
    assert {len(row) for row in rows} == {len(rows[0])}


@pytest.mark.parametrize(
    ("words", "codes"),
    [
        (["clamp", DAIRY, "--store", "hay", "--thought", "33"], ["IN522"]),
        (["clamp", DAIRY, "--store", "hay", "--had", "33"], ["IN522"]),
        (["clamp", DAIRY, "--store", "hay", "--thought", "0", "--had", "nan"], ["IN522", "IN522"]),
        (["clamp", DAIRY, "--thought", "33", "--had", "30"], ["IN522"]),
        (
            [
                "clamp",
                DAIRY,
                "--store",
                "hay",
                "--store",
                "straw",
                "--thought",
                "33",
                "--had",
                "-3",
            ],
            ["IN522", "IN522"],
        ),
        (["clamp", DAIRY, "--store", "hey", "--thought", "33", "--had", "30"], ["IN507"]),
        (["sheet", DAIRY, "--record", "--group", "high", "--dm", "maize=30"], ["IN523", "IN523"]),
        (["sheet", DAIRY, "--record", "--weeks", "0"], ["IN523"]),
        (["sheet", DAIRY, "--record", "--weeks", "61"], ["IN523"]),
        (["sheet", DAIRY, "--weeks", "8"], ["IN523"]),
        (["sheet", DAIRY, "--record", "--on", "soon"], ["IN504"]),
    ],
)
def test_what_is_refused(words: list[str], codes: list[str]) -> None:
    """Exit code 2, every finding with its code, nothing on stdout."""
    result = CliRunner().invoke(app, words)
    assert (result.exit_code, result.stdout) == (2, "")
    assert [
        line.split()[0] for line in result.stderr.splitlines() if line.startswith("IN")
    ] == codes


def test_a_stated_use_does_not_go_with_last_year() -> None:
    """A mistyped command, exit code 2."""
    result = CliRunner().invoke(app, [*LAST_YEAR, "--kg-fresh", "5"])
    assert (result.exit_code, result.stdout) == (2, "")


def test_as_thought() -> None:
    """The answer says that there is nothing to explain."""
    words = ["clamp", DAIRY, "--store", "hay", "--thought", "30", "--had", "30"]
    assert "nothing to explain" in CliRunner().invoke(app, words).stdout


def test_a_winter_that_cannot_be_fed_has_no_page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Exit code 3 and the winter's own answer; no page is written."""
    monkeypatch.setattr("rationlp.ask.carried.solve_winter", lambda *_: without_plan())
    page = tmp_path / "page.html"
    result = CliRunner().invoke(app, [*RECORD, "--html", str(page)])
    assert result.exit_code == 3
    assert not page.exists()
    assert "Milkers" in result.stdout


def test_the_weeks_asked_for_stand_on_pages_of_eight(tmp_path: Path) -> None:
    """Twelve weeks: two pages."""
    page = tmp_path / "page.html"
    result = CliRunner().invoke(app, [*RECORD, "--weeks", "12", "--html", str(page)])
    assert result.exit_code == 0, result.stderr
    assert page.read_text(encoding="utf-8").count("<section") == 2
