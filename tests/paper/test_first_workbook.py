"""A workbook that a farmer can fill, and the answer as a new one."""

from __future__ import annotations

from pathlib import Path

from openpyxl import load_workbook
from typer.testing import CliRunner

from rationlp.cli.app import app
from rationlp.farm.feed_table import packaged_feeds
from rationlp.read.farm import read_farm
from rationlp.report.workbook_form import write_farm_workbook

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def test_few_columns_are_open_and_the_rest_folded(tmp_path: Path) -> None:
    """Columns that the farm uses are all seen; the farm is read as before."""
    path = tmp_path / "farm.xlsx"
    write_farm_workbook(path, EXAMPLES / "few")
    book = load_workbook(path)
    groups = book["Groups"]
    keys = [cell.value for cell in groups[2]]
    assert keys[:4] == ["id", "name", "class", "head"]
    folded = [name for name, column in groups.column_dimensions.items() if column.hidden]
    assert len(folded) == 1
    assert groups.column_dimensions[folded[0]].outlineLevel == 1
    first_folded = groups.column_dimensions[folded[0]].min
    assert first_folded <= 20 < len(keys)
    used = [number for number, cell in enumerate(groups[3], 1) if cell.value is not None]
    assert max(used) < first_folded
    assert read_farm(path).groups[0].head == read_farm(EXAMPLES / "few").groups[0].head


def test_a_page_of_steps_and_names_beside_keys(tmp_path: Path) -> None:
    """Six steps; every feed's key beside its name."""
    path = tmp_path / "farm.xlsx"
    write_farm_workbook(path)
    book = load_workbook(path)
    lines = [str(row[0].value) for row in book.worksheets[0].iter_rows()]
    assert sum(line.startswith("Step ") for line in lines) == 6
    names = {row[0].value: row[1].value for row in book["Names"].iter_rows(min_row=2)}
    assert all(names[key] == feed.name for key, feed in packaged_feeds().items())


def test_an_empty_one_has_an_example_beside_it(tmp_path: Path) -> None:
    """And the command says what it wrote."""
    path = tmp_path / "mine.xlsx"
    done = CliRunner().invoke(app, ["new", "--workbook", str(path), "--empty"])
    assert done.exit_code == 0
    assert read_farm(tmp_path / "mine-example.xlsx").groups
    assert "mine-example.xlsx" in done.stdout


def test_the_answer_is_a_new_workbook(tmp_path: Path) -> None:
    """The farm's sheets first, a cover with the first sentences, a sheet a group by name."""
    path, out = tmp_path / "farm.xlsx", tmp_path / "answer.xlsx"
    write_farm_workbook(path, EXAMPLES / "few")
    before = path.read_bytes()
    done = CliRunner().invoke(app, ["winter", str(path), "--output", str(out)])
    assert done.exit_code == 0, done.stderr
    assert path.read_bytes() == before
    book = load_workbook(out)
    assert book.sheetnames[:3] == ["Farm", "Farm Stores", "Farm Lab"]
    assert book.active.title == "Answer"
    assert "GBP" in book["Answer"]["A1"].value
    assert "Eleven suckler cows" in book.sheetnames
