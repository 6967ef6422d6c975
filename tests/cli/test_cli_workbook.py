"""Commands with a workbook in place of a farm folder, and answers written as workbooks."""

from __future__ import annotations

from pathlib import Path

import pytest
from openpyxl import load_workbook
from typer.testing import CliRunner

from rationlp.cli.app import app
from rationlp.folders import examples_folder
from rationlp.report.workbook_form import write_farm_workbook

RUN = CliRunner()
FED = str(examples_folder() / "beef" / "fed.csv")


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A workbook of the invented beef farm."""
    write_farm_workbook(tmp_path / "farm.xlsx", examples_folder() / "beef")
    return tmp_path / "farm.xlsx"


def test_new_writes_a_workbook_that_runs_at_once(tmp_path: Path) -> None:
    """Filled with the example, and empty where asked."""
    path = tmp_path / "farm.xlsx"
    done = RUN.invoke(app, ["new", "--workbook", str(path)])
    assert (done.exit_code, done.stdout.strip()) == (0, str(path))
    assert RUN.invoke(app, ["check", str(path)]).exit_code == 0
    empty = RUN.invoke(app, ["new", "--workbook", str(tmp_path / "empty.xlsx"), "--empty"])
    assert empty.exit_code == 0
    assert RUN.invoke(app, ["check", str(tmp_path / "empty.xlsx")]).exit_code == 2


def test_new_fills_a_workbook_with_a_farm(tmp_path: Path) -> None:
    """`--from` takes a folder's figures along."""
    path = tmp_path / "farm.xlsx"
    done = RUN.invoke(
        app, ["new", "--workbook", str(path), "--from", str(examples_folder() / "hill")]
    )
    assert done.exit_code == 0
    assert load_workbook(path)["Farm"]["B3"].value == "Scar Top, an invented hill farm"


@pytest.mark.parametrize(
    "words",
    [
        [],
        ["a", "--workbook", "b.xlsx"],
        ["a", "--empty"],
        ["--workbook", "b.xlsx", "--empty", "--from", "a"],
    ],
    ids=["nothing", "both", "empty folder", "empty and filled"],
)
def test_new_is_asked_for_one_thing(
    words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Options that contradict one another are refused, and nothing is written."""
    monkeypatch.chdir(tmp_path)
    assert RUN.invoke(app, ["new", *words]).exit_code == 2
    assert list(tmp_path.iterdir()) == []


def test_new_wants_the_name_of_a_workbook(tmp_path: Path) -> None:
    """Another ending would be taken for a folder by every other command."""
    done = RUN.invoke(app, ["new", "--workbook", str(tmp_path / "farm.xls")])
    assert done.exit_code == 2
    assert "IN713" in done.stderr


def test_a_workbook_gives_the_answer_of_its_folder(book: Path) -> None:
    """The same text to the letter."""
    words = ["--group", "bulls"]
    here = RUN.invoke(app, ["ration", str(book), *words])
    there = RUN.invoke(app, ["ration", str(examples_folder() / "beef"), *words])
    assert here.exit_code == 0
    assert here.stdout == there.stdout


@pytest.mark.parametrize(
    ("command", "sheets"),
    [
        (["check"], ["groups", "stores", "offers"]),
        (["check", "--figures"], ["groups", "stores", "offers"]),
        (["needs", "--group", "bulls"], ["needs", "energy bulls"]),
        (["needs", "--compare", "--group", "bulls"], ["second_opinions"]),
        (["needs", "--over-winter", "--group", "bulls"], ["needs_over_winter"]),
        (["ration", "--group", "bulls"], ["overview", "rations", "supply"]),
        (["ration", "--group", "bulls", "--instead-of", FED], ["overview", "change_over"]),
        (["clamp"], ["stocks"]),
        (["last", "--fed", FED], ["run_out", "lasting", "springs"]),
        (["supply"], ["supply"]),
    ],
    ids=lambda value: " ".join(value).replace(FED, "FED")[:40],
)
def test_every_command_writes_its_tables(
    command: list[str], sheets: list[str], book: Path, tmp_path: Path
) -> None:
    """One file, the tables as its sheets."""
    out = tmp_path / "out.xlsx"
    fed = [FED] if command == ["supply"] else []
    done = RUN.invoke(app, [command[0], str(book), *fed, *command[1:], "--output", str(out)])
    assert done.exit_code == 0, done.stderr
    assert set(sheets) <= set(load_workbook(out).sheetnames)


def test_feeds_are_written_too(tmp_path: Path) -> None:
    """The list of the feed tables."""
    out = tmp_path / "feeds.xlsx"
    assert (
        RUN.invoke(app, ["feeds", "list", "--kind", "straw", "--output", str(out)]).exit_code == 0
    )
    assert load_workbook(out)["feeds"]["A2"].value


def test_the_workbook_itself_is_never_written_over(book: Path) -> None:
    """It is an input."""
    before = book.read_bytes()
    done = RUN.invoke(app, ["check", str(book), "--output", str(book)])
    assert done.exit_code == 2
    assert "IN602" in done.stderr
    assert book.read_bytes() == before


@pytest.mark.parametrize("form", ["csv", "json"])
def test_a_form_that_does_not_go_with_the_file_is_refused(
    form: str, book: Path, tmp_path: Path
) -> None:
    """A CSV by the name of a workbook would not open."""
    out = tmp_path / "out.xlsx"
    done = RUN.invoke(app, ["check", str(book), "--format", form, "--output", str(out)])
    assert done.exit_code == 2
    assert "IN713" in done.stderr
    assert not out.exists()
