"""Bad workbooks: every fault is named with its sheet and cell and what to do; none ends in a
traceback.
"""

from __future__ import annotations

import zipfile
from datetime import datetime
from pathlib import Path

import pytest
from openpyxl import Workbook
from openpyxl.worksheet.formula import ArrayFormula
from workbooks import Spoil, filled, put

from rationlp.errors import Finding, InputError
from rationlp.read import cells
from rationlp.read.farm import read_farm


def faults(path: Path) -> list[Finding]:
    """What reading the workbook says is wrong."""
    with pytest.raises(InputError) as refused:
        read_farm(path)
    assert not any("farm.toml" in f"{finding}" for finding in refused.value.findings)
    return list(refused.value.findings)


def _merge(book: Workbook) -> None:
    book["Groups"].merge_cells("C4:C5")


def _remove(title: str) -> Spoil:
    return lambda book: book.remove(book[title])


def _rename(title: str, other: str) -> Spoil:
    def change(book: Workbook) -> None:
        book[title].title = other

    return change


def _cell(sheet: str, at: str, value: object) -> Spoil:
    def change(book: Workbook) -> None:
        book[sheet][at] = value

    return change


def _limits(row: int, **values: object) -> Spoil:
    def change(book: Workbook) -> None:
        for key, value in values.items():
            put("Limits", key, row, value)(book)

    return change


BAD: dict[str, tuple[Spoil, str, str, str]] = {
    # name: change, code, where, a part of what is found or of the remedy
    "a formula": (put("Groups", "head", 3, "=60+2"), "IN704", "farm.xlsx Groups!D3", 'paste the value in its place'),
    "a formula in lab": (_cell("Lab", "E3", "=A1"), "IN704", "farm.xlsx Lab!E3", "formula"),
    "an array formula": (_cell("Groups", "D3", ArrayFormula("D3:D4", "=A1:A2")), "IN704", "farm.xlsx Groups!D3", "=A1:A2"),
    "an error of a formula": (put("Groups", "head", 3, "#REF!"), "IN704", "farm.xlsx Groups!D3", "#REF!"),
    "merged cells": (_merge, "IN705", "farm.xlsx Groups!C4:C5", "undo the merge"),
    "a number as text": (put("Groups", "live_weight_kg", 3, "650"), "IN707", "farm.xlsx Groups!F3", "type it again as a number"),
    "a decimal comma as text": (put("Stores", "height_m", 3, "2,6"), "IN707", "farm.xlsx Stores!", "looks like a number"),
    "words for a number": (put("Groups", "head", 3, "many"), "IN710", "farm.xlsx Groups!D3", "number of animals"),
    "a date as text": (put("Stores", "filled", 3, "21/05/2026"), "IN708", "farm.xlsx Stores!", "type it again as a date"),
    "a winter as text": (_cell("Farm", "B6", "15.10.2026"), "IN708", "farm.xlsx Farm!B6 (winter.start)", "looks like a date"),
    "a time of day": (put("Stores", "filled", 3, datetime(2026, 5, 21, 7, 30)), "IN710", "farm.xlsx Stores!", "time of day"),
    "a word for a date": (put("Stores", "filled", 3, "in May"), "IN710", "farm.xlsx Stores!", "is no date"),
    "neither yes nor no": (put("Groups", "steady", 3, "perhaps"), "IN710", "farm.xlsx Groups!", "write yes or no"),
    "a date for a name": (put("Groups", "name", 3, datetime(2026, 5, 21)), "IN710", "farm.xlsx Groups!B3", "is no text"),
    "an unknown heading": (_cell("Groups", "D2", "heads"), "IN706", "farm.xlsx Groups!D2", 'nearest: "head"'),
    "a heading twice": (_cell("Bought", "D2", "feed"), "IN706", "farm.xlsx Bought!", '"feed" appears twice'),
    "no headings": (lambda book: book["Groups"].delete_rows(1, 2), "IN706", "farm.xlsx Groups", "put the headings above"),
    "a figure under no heading": (_cell("Bought", "Z4", 5), "IN706", "farm.xlsx Bought!Z4", "stands under no heading"),
    "an unknown key of the farm": (_cell("Farm", "A3", "farm.nome"), "IN706", "farm.xlsx Farm!A3", 'nearest: "farm.name"'),
    "a key of the farm twice": (_cell("Farm", "A4", "farm.name"), "IN706", "farm.xlsx Farm!A4", "appears twice"),
    "an unknown quantity in lab": (_cell("Lab", "E2", "dm_percnt"), "IN302", "farm.xlsx Lab headings", 'nearest: "dm_percent"'),
    "a missing sheet": (_remove("Groups"), "IN703", "farm.xlsx", 'no sheet "Groups"'),
    "a sheet by another name": (_rename("Stores", "Storse"), "IN703", "farm.xlsx Storse", 'name it "Stores"'),
    "a limit on nothing": (_limits(3, feed=None), "IN709", "farm.xlsx Limits row 3", "fill one of feed, quantity, family"),
    "a limit on two things": (_limits(3, quantity="me_mj"), "IN709", "farm.xlsx Limits row 3", "names more than one"),
    "a limit of no group": (_limits(3, group="hihg"), "IN709", "farm.xlsx Limits!A3", 'nearest: "high"'),
    "a limit without a group": (_limits(3, group=None), "IN709", "farm.xlsx Limits!A3", "no id"),
    "a change without a date": (
        _cell("Changes", "A3", "young"), "IN708", "farm.xlsx Changes!B3", 'or the word "birth"',
    ),
    "a figure of nothing": (_cell("Own figures", "A3", "strow"), "IN709", "farm.xlsx 'Own figures'!A3", 'nearest: "straw"'),
    # what the shared checks find, at its cell
    "out of range": (put("Groups", "live_weight_kg", 3, 65), "IN113", "farm.xlsx Groups!F3", "was it 650?"),
    "a word not allowed": (put("Groups", "fed", 3, "to_apetite"), "IN114", "farm.xlsx Groups!E3", "to_appetite"),
    "a class that nobody has": (put("Groups", "class", 3, "dairy_heifer_cow"), "IN404", "farm.xlsx Groups!C3", "nearest"),
    "a word inside a table": (put("Groups", "feeding.wagon", 3, "vertica"), "IN114", "farm.xlsx Groups!", "vertical"),
    "a missing fact": (put("Groups", "live_weight_kg", 3, None), "IN120", "farm.xlsx Groups row 3", "live_weight_kg"),
    "a missing id": (put("Groups", "id", 3, None), "IN111", "farm.xlsx Groups!A3", "missing"),
    "an id twice": (put("Stores", "id", 4, "first_cut"), "IN116", "farm.xlsx Stores row 4", "farm.xlsx Stores row 3"),
    "a feed that nobody has": (put("Bought", "feed", 3, "barly"), "IN119", "farm.xlsx Bought!A3", 'nearest: "barley"'),
    "a limit out of range": (_limits(3, max_kg_fresh=-1), "IN113", "farm.xlsx Limits!D3", "at least 0"),
    "a lab figure that cannot be": (_cell("Lab", "E3", 312), "IN225", "farm.xlsx Lab!E3", ""),
    "an own figure that cannot be": (_cell("Own figures", "C3", 86), "IN225", "farm.xlsx 'Own figures'!C3", ""),
    "no price": (put("Bought", "price_per_t_fresh", 3, None), "IN111", "farm.xlsx Bought!B3", "sheet Bought"),
    "an impossible winter": (_cell("Farm", "B7", datetime(2025, 4, 1)), "IN130", "farm.xlsx Farm", "turnout"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_a_fault_is_named_with_its_cell(name: str, tmp_path: Path) -> None:
    """One change to a good workbook, one code at the right place, with words that help."""
    spoil, code, where, words = BAD[name]
    found = faults(filled(tmp_path, spoil))
    assert [
        finding for finding in found if finding.code == code and finding.where.startswith(where)
    ], found
    assert any(
        words in f"{finding.found} {finding.remedy}" for finding in found if finding.code == code
    ), found


def test_one_slip_is_told_once(tmp_path: Path) -> None:
    """A number as text is no second fault of the shared checks."""
    assert [
        finding.code for finding in faults(filled(tmp_path, put("Groups", "head", 3, "62")))
    ] == ["IN707"]


def test_all_faults_are_told_at_once(tmp_path: Path) -> None:
    """Of several sheets, and of the shared checks as well."""

    def spoil(book: Workbook) -> None:
        put("Groups", "live_weight_kg", 3, "650")(book)
        put("Stores", "height_m", 4, 99)(book)
        put("Bought", "load_t", 3, "=1+1")(book)

    assert {finding.code for finding in faults(filled(tmp_path, spoil))} == {
        "IN707",
        "IN113",
        "IN704",
    }


def test_a_file_that_is_no_workbook(tmp_path: Path) -> None:
    """A text by the name of a workbook, an empty file, and another kind of packed file."""
    for number, raw in enumerate((b"id,name\n", b"", b"\xd0\xcf\x11\xe0" + bytes(600))):
        path = tmp_path / f"{number}.xlsx"
        path.write_bytes(raw)
        assert [finding.code for finding in faults(path)] == ["IN701"]
    path = tmp_path / "other.xlsx"
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr("letter.txt", "dear all")
    assert [finding.code for finding in faults(path)] == ["IN701"]


def test_a_damaged_workbook(tmp_path: Path) -> None:
    """Cut off in the middle, and with a sheet that is no XML."""
    path = filled(tmp_path)
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    assert [finding.code for finding in faults(path)] == ["IN701"]
    path.write_bytes(whole)
    with zipfile.ZipFile(path) as packed:
        parts = {name: packed.read(name) for name in packed.namelist()}
    parts["xl/worksheets/sheet2.xml"] = b"<worksheet><not closed"
    with zipfile.ZipFile(path, "w") as packed:
        for name, part in parts.items():
            packed.writestr(name, part)
    assert [finding.code for finding in faults(path)] == ["IN701"]


def test_no_file(tmp_path: Path) -> None:
    """A name with nothing behind it."""
    assert [finding.code for finding in faults(tmp_path / "none.xlsx")] == ["IN201"]


def test_a_sheet_that_goes_on_for_ever(tmp_path: Path) -> None:
    """A stray cell far below, and one far beside."""
    for at in ("A900000", "XFA5"):
        folder = tmp_path / at
        folder.mkdir()
        found = faults(filled(folder, _cell("Stores", at, "x")))
        assert [(finding.code, finding.where) for finding in found] == [
            ("IN702", "farm.xlsx Stores")
        ]
        assert "delete what stands below" in found[0].remedy


def test_a_workbook_that_unpacks_to_too_much(tmp_path: Path) -> None:
    """Judged by its directory: nothing of it is unpacked."""
    path = tmp_path / "farm.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", bytes(cells.MOST_UNPACKED_BYTES + 1))
    assert [finding.code for finding in faults(path)] == ["IN702"]


def test_a_file_that_is_too_large(tmp_path: Path) -> None:
    """More than a farm's file has."""
    path = tmp_path / "farm.xlsx"
    path.write_bytes(bytes(cells.MOST_BYTES + 1))
    assert [finding.code for finding in faults(path)] == ["IN702"]


def test_a_sheet_of_ones_own_is_told_of_and_left_alone(tmp_path: Path) -> None:
    """Notes of one's own do no harm, and nobody thinks that they were read."""
    farm = read_farm(filled(tmp_path, lambda book: book.create_sheet("Vet")))
    assert [(notice.code, notice.where) for notice in farm.notices] == [("WA202", "farm.xlsx Vet")]


def test_without_the_library_the_line_that_installs_it_is_given(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """For reading and for writing."""
    path = filled(tmp_path)
    monkeypatch.setitem(__import__("sys").modules, "openpyxl", None)
    (finding,) = faults(path)
    assert (finding.code, finding.remedy) == ("IN711", "install it with pip install '.[report]'")
