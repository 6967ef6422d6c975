"""`rationlp clamp` on the example farms: what a person reads, the same as JSON and CSV, and what is
refused.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

import rationlp
from rationlp.cli.app import app

EXAMPLES = Path(rationlp.__file__).resolve().parents[1] / "examples"
DAIRY = str(EXAMPLES / "dairy")


def said(*arguments: str) -> str:
    """The answer of a command, its lines joined."""
    result = CliRunner(env={"COLUMNS": "130"}).invoke(app, list(arguments))
    assert result.exit_code == 0, result.output
    return result.stdout if "--format" in arguments else " ".join(result.stdout.split())


def test_the_first_line_says_what_can_be_eaten() -> None:
    """Typical, low and high of all stores."""
    document = json.loads(said("clamp", DAIRY, "--format", "json"))
    low, typical, high = (
        sum(s["edible_t_dm"][side] for s in document["stocks"])
        for side in ("low", "typical", "high")
    )
    assert (
        f"an invented farm: {typical:.0f} t DM to eat ({low:.0f} to {high:.0f}) in 5 stores."
        in said("clamp", DAIRY)
    )


def test_the_figures_of_a_clamp_by_hand() -> None:
    """Second cut, 30 x 9 x 2.2 m at 30 % DM and 0.60 t/m3 (Northern Ireland, 2017): 594 m3 x 180 kg
    x 0.97 x 0.97, less what the sheet of its own dry matter changes.
    """
    document = json.loads(said("clamp", DAIRY, "--store", "second_cut", "--format", "json"))
    [stock] = document["stocks"]
    assert stock["volume_m3"] == pytest.approx(594.0)
    assert stock["edible_t_dm"]["typical"] == pytest.approx(594 * 0.180 * 0.97**2, rel=0.01)


def test_a_stated_use_of_one_store() -> None:
    """20 head at 25 kg: the face fails, bales are named, every step stands there."""
    text = said("clamp", DAIRY, "--store", "second_cut", "--head", "20", "--kg-fresh", "25")
    assert "fail" in text
    assert "so little use is better kept as bales" in text
    assert "second_cut: step by step" in text
    assert "[1] geometry" in text


def test_a_number_of_animals_goes_with_an_amount() -> None:
    """A mistyped command, exit code 2."""
    result = CliRunner().invoke(app, ["clamp", DAIRY, "--head", "20"])
    assert result.exit_code == 2
    assert "it goes with --kg-fresh" in result.stderr


def test_csv_is_the_table_of_stores() -> None:
    """One row a store."""
    lines = said("clamp", DAIRY, "--format", "csv").splitlines()
    assert lines[0].lstrip("\ufeff").startswith("id,volume_m3")
    assert len(lines) == 6


def test_an_unknown_store_is_told_the_nearest() -> None:
    """Bad input, exit code 2."""
    result = CliRunner().invoke(app, ["clamp", DAIRY, "--store", "maze"])
    assert result.exit_code == 2
    assert 'IN507 --store — no store "maze" — nearest: "maize"' in result.stderr


def test_check_shows_what_can_be_eaten() -> None:
    """In its table of stores and in its JSON."""
    assert "To eat" in said("check", DAIRY, "--full")
    document = json.loads(said("check", DAIRY, "--format", "json"))
    assert [stock["store"] for stock in document["stocks"]] == [
        store["id"] for store in document["stores"]
    ]


@pytest.mark.parametrize("name", ["dairy", "beef", "hill"])
def test_the_examples_have_no_face_that_fails(name: str) -> None:
    """Stores of the examples are such as a farm would fill."""
    document = json.loads(said("clamp", str(EXAMPLES / name), "--format", "json"))
    assert "fail" not in {use["verdict"] for use in document["uses"]}
    assert all(use["days"] > 100 for use in document["uses"])


def test_a_store_that_nobody_may_get_is_said(tmp_path: Path) -> None:
    """Maize barred from all."""
    text = (EXAMPLES / "dairy" / "farm.toml").read_text(encoding="utf-8")
    text = text.replace('id = "maize"\n', 'id = "maize"\nkept_for = ["dry"]\n', 1)
    folder = tmp_path / "farm"
    folder.mkdir()
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    assert "Maize clamp: no group may get it." in said("clamp", str(folder))
