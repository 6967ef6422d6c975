"""Answers as workbooks: numbers are numbers, units stand in the headings, no text is a formula, an
old file is never lost.
"""

from __future__ import annotations

import errno
import io
from dataclasses import replace
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook

from rationlp import read_farm, write_workbook
from rationlp.errors import InputError
from rationlp.folders import examples_folder
from rationlp.report import files
from rationlp.report.story import Story, always, story_tables
from rationlp.report.tables.table import Column, Table
from rationlp.report.workbook import sheet_title, write_tables

HOSTILE = (
    '=HYPERLINK("http://example.invalid")',
    "+1",
    "-1",
    "@A1",
    "=1+1",
    "<b>",
    "\x07bell",
    "a" * 40_000,
)
COLUMNS = (
    Column("name", "Name"),
    Column("kg", "Fresh", "kg", 2),
    Column("eaten", "Eaten"),
)


def table(*rows: tuple[object, ...], name: str = "fed") -> Table:
    """A small table with a unit."""
    return Table(name, "What is fed", COLUMNS, rows, ("A note.",))


def written(path: Path, *tables: Table) -> Workbook:
    """The workbook as read again."""
    write_tables(path, tables)
    return load_workbook(path)


def test_numbers_are_numbers_with_a_format_and_units_stand_in_the_heading(tmp_path: Path) -> None:
    """Unrounded in the cell, rounded as shown."""
    sheet = written(tmp_path / "a.xlsx", table(("hay", 1.23456, True), ("salt", 0.002, False)))[
        "fed"
    ]
    assert [cell.value for cell in sheet[2]] == ["Name", "Fresh [kg]", "Eaten"]
    assert (sheet["B3"].value, sheet["B3"].number_format, sheet["B3"].data_type) == (
        1.23456,
        "0.00",
        "n",
    )
    assert sheet["B4"].number_format == "0.00000"
    assert (sheet["C3"].value, sheet["C4"].value) == ("yes", None)


def test_the_heading_stays_in_sight_and_the_caution_stands_below(tmp_path: Path) -> None:
    """Frozen panes, repeated on paper; notes and the closing line under the table."""
    sheet = written(tmp_path / "a.xlsx", table(("hay", 1.0, None)))["fed"]
    assert (sheet.freeze_panes, sheet.print_title_rows) == ("A3", "$1:$2")
    below = [cell.value for (cell,) in sheet.iter_rows(min_row=4, max_col=1) if cell.value]
    assert below[0] == "A note."
    assert below[1].startswith("Planning aid")


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_no_text_is_ever_a_formula(text: str, tmp_path: Path) -> None:
    """In a cell, a title, a note or the name of a sheet."""
    hostile = Table(text[:100], text, (Column("name", text),), ((text,),), (text,))
    book = written(tmp_path / "a.xlsx", hostile)
    kinds = {
        cell.data_type
        for row in book.worksheets[0].iter_rows()
        for cell in row
        if cell.value is not None
    }
    assert kinds == {"s"}


def test_titles_of_sheets_are_allowed_and_all_different() -> None:
    """Signs that a sheet may not bear, names too long, names that differ in case only."""
    taken: set[str] = set()
    titles = [
        sheet_title(name, taken)
        for name in ("a/b", "A B", "", "x" * 50, "X" * 50, "'", "History", "supply [1]")
    ]
    assert len({title.casefold() for title in titles}) == len(titles)
    assert all(0 < len(title) <= 31 and not set(title) & set("[]:*?/\\") for title in titles)


def test_tables_without_rows_are_left_out(tmp_path: Path) -> None:
    """And a file with none of them still opens."""
    assert written(
        tmp_path / "a.xlsx", table(("hay", 1.0, None)), table(name="none")
    ).sheetnames == ["fed"]
    assert written(tmp_path / "b.xlsx", table(), table(name="none")).sheetnames == ["Nothing"]


def test_an_output_that_is_open_is_left_alone(tmp_path: Path) -> None:
    """A lock beside it says that a spreadsheet programme has it open."""
    path = tmp_path / "a.xlsx"
    for lock in ("~$a.xlsx", ".~lock.a.xlsx#"):
        path.write_text("mine")
        (tmp_path / lock).write_text("")
        with pytest.raises(InputError, match=r"IN712 .* open in a spreadsheet programme"):
            write_tables(path, [table(("hay", 1.0, None))])
        (tmp_path / lock).unlink()
        assert path.read_text() == "mine"


def test_an_output_that_is_read_only_is_left_alone(tmp_path: Path) -> None:
    """Though the folder would allow it to be replaced."""
    path = tmp_path / "a.xlsx"
    path.write_text("mine")
    path.chmod(0o444)
    with pytest.raises(InputError, match=r"IN712 .* read-only"):
        write_tables(path, [table(("hay", 1.0, None))])
    assert path.read_text() == "mine"


def test_a_full_disk_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """And nothing else behind."""
    path = tmp_path / "a.xlsx"
    path.write_text("mine")

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(files.os, "replace", full)
    with pytest.raises(InputError, match=r"IN604 .* No space left on device"):
        write_tables(path, [table(("hay", 1.0, None))])
    assert [one.name for one in tmp_path.iterdir()] == ["a.xlsx"]
    assert path.read_text() == "mine"


def test_an_input_is_never_written_over(tmp_path: Path) -> None:
    """Nor a folder, nor into one that is not there."""
    path = tmp_path / "a.xlsx"
    path.write_text("mine")
    for target, code in (
        (path, "IN602"),
        (tmp_path, "IN603"),
        (tmp_path / "none" / "a.xlsx", "IN601"),
    ):
        with pytest.raises(InputError, match=code):
            write_tables(target, [table(("hay", 1.0, None))], [path])
    assert path.read_text() == "mine"


def test_a_result_is_written_with_all_its_tables(tmp_path: Path) -> None:
    """A farm: its groups, stores and feeds, by the public name."""
    write_workbook(read_farm(examples_folder() / "beef"), tmp_path / "a.xlsx")
    assert load_workbook(tmp_path / "a.xlsx").sheetnames[:3] == ["groups", "stores", "offers"]


def test_a_second_table_of_a_name_is_numbered() -> None:
    """None is lost."""
    tables = [
        table(("hay", 1.0, None)),
        table(("straw", 2.0, None)),
        replace(table(("salt", 0.1, None)), name="other"),
    ]
    assert [one.name for one in story_tables(Story("any", always(*tables)))] == [
        "fed",
        "fed 2",
        "other",
    ]


def test_without_the_library_the_line_that_installs_it_is_given(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Before anything is written."""
    monkeypatch.setitem(__import__("sys").modules, "openpyxl", None)
    with pytest.raises(InputError, match=r"IN711 .* pip install '\.\[report\]'"):
        write_tables(tmp_path / "a.xlsx", [table(("hay", 1.0, None))])
    assert list(tmp_path.iterdir()) == []


def test_what_is_written_is_a_whole_workbook(tmp_path: Path) -> None:
    """Its bytes open by themselves, and no part of a file stays beside it."""
    write_tables(tmp_path / "a.xlsx", [table(("hay", 1.0, None))])
    assert load_workbook(io.BytesIO((tmp_path / "a.xlsx").read_bytes())).sheetnames == ["fed"]
    assert [one.name for one in tmp_path.iterdir()] == ["a.xlsx"]
