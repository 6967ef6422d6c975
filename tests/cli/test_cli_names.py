"""Groups and stores by name on the command line: found in any letters, refused with the nearest."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from rationlp.cli.app import app
from rationlp.folders import examples_folder


@pytest.fixture
def dairy(tmp_path: Path) -> str:
    """A dairy farm that may be written to."""
    return str(shutil.copytree(examples_folder() / "dairy", tmp_path / "dairy"))


def run(*words: str) -> Result:
    """A command and what came of it."""
    return CliRunner().invoke(app, list(words))


@pytest.mark.parametrize("name", ["Dry cows", "dry COW", "DRY"])
def test_a_group_is_found_by_its_name(dairy: str, name: str) -> None:
    """In any letters, in the singular too: the same answer as by its id."""
    by_name = run("needs", dairy, "--group", name)
    assert by_name.exit_code == 0
    assert by_name.stdout == run("needs", dairy, "--group", "dry").stdout


def test_a_mistyped_group_gets_the_nearest(dairy: str) -> None:
    """Its id, and all there are."""
    refused = run("needs", dairy, "--group", "yuong stock")
    assert refused.exit_code == 2
    assert 'nearest: "young"; use one of dry, finishers' in refused.output


@pytest.mark.parametrize(("name", "key"), [("First-cut Clamp", "first_cut"), ("maize", "maize")])
def test_the_log_takes_a_store_by_name(dairy: str, name: str, key: str) -> None:
    """The line that is written has its id."""
    assert run("log", dairy, "face", name, "12.5", "--on", "2026-12-15").exit_code == 0
    text = (Path(dairy) / "log.csv").read_text(encoding="utf-8")
    assert text.splitlines()[1] == f"2026-12-15,face,{key},12.5,m,"


@pytest.mark.parametrize(
    ("name", "remedy"), [("clamp", "ids: first_cut, second_cut, maize"), ("medow hay", '"hay"')]
)
def test_the_log_asks_which_store_is_meant(dairy: str, name: str, remedy: str) -> None:
    """A name that fits several, or none; nothing is written."""
    refused = run("log", dairy, "left", name, "20", "--on", "2026-12-15")
    assert refused.exit_code == 2
    assert remedy in refused.output
    assert not (Path(dairy) / "log.csv").exists()
