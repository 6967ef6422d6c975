"""Places that cannot be written or read: devices, pipes, links, full disks, closed streams: said,
and nothing lost.
"""

from __future__ import annotations

import io
import json
import os
import signal
import socket
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import pytest
from typer.testing import CliRunner

from rationlp.cli.app import app
from rationlp.folders import examples_folder
from rationlp.report.files import csv_text, write_whole
from rationlp.report.tables.table import Column, Table

ROOT = Path(__file__).resolve().parents[2]
FARM = examples_folder() / "few"
COMMAND = f'"{sys.executable}" -m rationlp'


def shell(line: str) -> tuple[int, str, str]:
    """A command as a shell runs it: exit code, stdout, stderr."""
    done = subprocess.run(
        ["bash", "-c", line], cwd=ROOT, capture_output=True, text=True, check=False, timeout=120
    )
    assert "Traceback" not in done.stderr
    return done.returncode, done.stdout, done.stderr


def refused(*words: str) -> str:
    """A command in this process that must refuse: what it says."""
    result = CliRunner().invoke(app, list(words))
    assert (result.exit_code, result.stdout) == (2, ""), result.output
    assert " — " in result.stderr
    return result.stderr


@pytest.mark.parametrize("words", ["--help", "check --help", f'check "{FARM}"'])
def test_a_reader_who_went_away_ends_it_quietly(words: str) -> None:
    """As other commands of a shell end: 141, not a word."""
    code, _, err = shell(f"set -o pipefail; {COMMAND} {words} | true")
    assert (code, err) == (141, "")


@pytest.mark.parametrize("where", [">/dev/full", ">&-"])
@pytest.mark.parametrize("words", ["--help", f'check "{FARM}"'])
def test_a_stdout_that_cannot_be_written_is_told_of(words: str, where: str) -> None:
    """Full or closed: IN741 once, exit 2."""
    code, _, err = shell(f"{COMMAND} {words} {where}")
    assert code == 2
    assert err.count("IN741 stdout") == 1


@pytest.mark.parametrize("where", ["2>/dev/full", "2>&-"])
def test_a_stderr_that_cannot_be_written_leaves_the_exit_code(where: str) -> None:
    """Of a refusal and of a mistyped command; an answer is still an answer."""
    assert shell(f"{COMMAND} check nowhere {where}")[0] == 2
    assert shell(f"{COMMAND} chekc {where}")[0] == 2
    code, out, _ = shell(f'{COMMAND} check "{FARM}" --format json {where}')
    assert code == 0
    assert json.loads(out)["kind"] == "check"


def test_with_every_stream_closed_a_file_is_still_written_whole(tmp_path: Path) -> None:
    """No file opened later gets the number of a closed stream."""
    output = tmp_path / "answer.json"
    code, _, _ = shell(f'{COMMAND} check "{FARM}" --format json --output "{output}" <&- >&- 2>&-')
    assert code == 0
    assert json.loads(output.read_text(encoding="utf-8"))["kind"] == "check"


def odd_places(folder: Path) -> dict[str, Path]:
    """What is no plain file, by what it is."""
    places = {name: folder / name for name in ("pipe", "loop", "socket", "to_device", "to_pipe")}
    os.mkfifo(places["pipe"])
    places["loop"].symlink_to(places["loop"])
    with socket.socket(socket.AF_UNIX) as bound:
        bound.bind(str(places["socket"]))
    places["to_device"].symlink_to("/dev/null")
    places["to_pipe"].symlink_to(places["pipe"])
    return {**places, "device": Path("/dev/full")}


ODD = ["pipe", "loop", "socket", "to_device", "to_pipe"]


@pytest.mark.parametrize("kind", [*ODD, "device"])
def test_what_is_no_plain_file_is_never_replaced(tmp_path: Path, kind: str) -> None:
    """IN740, and it stands as it stood."""
    place = odd_places(tmp_path)[kind]
    before = place.lstat()
    assert refused("check", str(FARM), "--output", str(place)).startswith("IN740")
    after = place.lstat()
    assert (after.st_mode, after.st_ino) == (before.st_mode, before.st_ino)


@pytest.mark.parametrize("kind", ODD)
def test_a_workbook_replaces_none_of_them_either(tmp_path: Path, kind: str) -> None:
    """As a table's workbook; a new one is written over nothing at all."""
    place = tmp_path / "odd.xlsx"
    if kind == "loop":
        place.symlink_to(place)
    else:
        odd_places(tmp_path)[kind].rename(place)
    before = place.lstat()
    assert refused("check", str(FARM), "--output", str(place)).startswith("IN740")
    assert refused("new", "--workbook", str(place)).startswith(("IN740", "IN161"))
    after = place.lstat()
    assert (after.st_mode, after.st_ino) == (before.st_mode, before.st_ino)


def test_a_link_to_a_folder_is_no_output(tmp_path: Path) -> None:
    """IN603; the link stands."""
    (tmp_path / "folder").mkdir()
    link = tmp_path / "link"
    link.symlink_to("folder")
    assert refused("check", str(FARM), "--output", str(link)).startswith("IN603")
    assert link.is_symlink()


def test_a_link_to_a_file_stays_a_link(tmp_path: Path) -> None:
    """What it leads to is written, with the rights that it had."""
    file, link = tmp_path / "file.txt", tmp_path / "link.txt"
    file.write_text("old")
    file.chmod(0o640)
    link.symlink_to(file)
    write_whole(link, "new", ())
    assert link.is_symlink()
    assert (file.read_text(), file.stat().st_mode & 0o777) == ("new", 0o640)


@pytest.mark.parametrize("fault", ["open", "write", "replace"])
def test_a_disk_that_refuses_leaves_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: str
) -> None:
    """Read-only or full: IN604, nothing beside the old file, no second error while tidying up."""
    target = tmp_path / "answer.txt"
    target.write_text("old")

    def fail(*_: object, **__: object) -> None:
        raise OSError(30, "Read-only file system")

    names = {"open": (Path, "open"), "write": (os, "fsync"), "replace": (os, "replace")}
    monkeypatch.setattr(*names[fault], fail)
    said = (
        refused("check", str(FARM), "--output", str(target))
        if fault != "open"
        else _written_error(target)
    )
    monkeypatch.undo()
    assert "IN604" in said
    assert "Read-only file system" in said
    assert target.read_text() == "old"
    assert os.listdir(tmp_path) == ["answer.txt"]


def _written_error(target: Path) -> str:
    from rationlp.errors import InputError

    with pytest.raises(InputError) as trouble:
        write_whole(target, "new", ())
    return str(trouble.value)


def test_a_kill_inside_a_write_loses_nothing(tmp_path: Path) -> None:
    """Killed between writing and putting into place: the old file is whole, the new one stands
    under another name.
    """
    target = tmp_path / "answer.txt"
    target.write_text("old")
    code = (
        "import os, pathlib, sys, time\nfrom rationlp.report import files\n"
        "files.os.fsync = lambda _: (print('writing', flush=True), time.sleep(60))\n"
        f"files.write_whole(pathlib.Path({str(target)!r}), 'new' * 100000, ())\n"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", code], cwd=ROOT, stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "writing\n"
    process.send_signal(signal.SIGKILL)
    process.communicate()
    assert target.read_text() == "old"
    write_whole(target, "newer", ())
    assert target.read_text() == "newer"


@pytest.mark.parametrize(
    "words",
    [
        ["check", "{}.xlsx"],
        ["supply", str(FARM), "{}"],
        ["winter", str(FARM), "--since", "{}"],
        ["whatif", str(FARM), "--scenarios", "{}"],
        ["feeds", "validate", "{}"],
        ["new", "--workbook", "made.xlsx", "--from", "{}"],
    ],
    ids=" ".join,
)
def test_an_input_that_is_a_pipe_is_refused_unread(tmp_path: Path, words: list[str]) -> None:
    """Nobody writes to it: reading would wait without end."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    os.mkfifo(tmp_path / "pipe.xlsx")
    begun = time.monotonic()
    said = refused(
        *(word.replace("{}", str(pipe)).replace("made", str(tmp_path / "made")) for word in words)
    )
    assert said.startswith(("IN202", "IN102"))
    assert time.monotonic() - begun < 20.0


def test_a_feed_table_that_is_a_device_is_refused_unread(tmp_path: Path) -> None:
    """prices.csv as a link to an endless device."""
    for file in FARM.iterdir():
        (tmp_path / file.name).write_bytes(file.read_bytes())
    (tmp_path / "prices.csv").unlink(missing_ok=True)
    (tmp_path / "prices.csv").symlink_to("/dev/zero")
    assert "IN202 prices.csv" in refused("check", str(tmp_path))


def test_a_control_character_in_prices_is_refused(tmp_path: Path) -> None:
    """IN141 with the row; the character itself is not shown."""
    for file in FARM.iterdir():
        (tmp_path / file.name).write_bytes(file.read_bytes())
    (tmp_path / "prices.csv").write_text("feed,price_per_t_fresh,name\nwheat,200,\x1b[31mred\n")
    said = refused("check", str(tmp_path))
    assert said.startswith("IN141 prices.csv row 2")
    assert "\x1b" not in said


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[" * 100_000, "nested too deeply"),
        ('{"kind": "winter", "periods": [NaN]}', "NaN is no number"),
        ('{"kind": "winter", "periods": [Infinity]}', "Infinity is no number"),
        ('{"kind": "winter", "periods": [], "stocks": {}}', "without all of its parts"),
    ],
    ids=["deep", "nan", "infinity", "parts"],
)
def test_an_earlier_plan_that_cannot_be_one(tmp_path: Path, text: str, words: str) -> None:
    """IN521 and what was found."""
    plan = tmp_path / "plan.json"
    plan.write_text(text)
    said = refused("winter", str(FARM), "--since", str(plan))
    assert said.startswith("IN521")
    assert words in said


def test_a_figure_of_an_earlier_plan_beyond_all_numbers_is_refused(tmp_path: Path) -> None:
    """1e999 is read as infinite by every reader of JSON."""
    store = {"store": "pit", "name": "Pit", "held_t_dm": {"typical": 1}, "used_t_dm": ["@"]}
    stock = {"store": "pit", "face": None, "t_dm": {"typical": 1}, "edible_t_dm": {"typical": 1}}
    text = json.dumps({"kind": "winter", "periods": [], "stocks": [stock], "stores": [store]})
    plan = tmp_path / "plan.json"
    plan.write_text(text.replace('"@"', "1e999"))
    assert "inf where a figure" in refused("winter", str(FARM), "--since", str(plan))


def _workbook(path: Path, sheet: str, compression: int = zipfile.ZIP_DEFLATED) -> Path:
    """A workbook as `rationlp new` writes it, its first sheet replaced."""
    if not path.exists():
        assert CliRunner().invoke(app, ["new", "--workbook", str(path)]).exit_code == 0
    packed = io.BytesIO()
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(packed, "w", compression) as new:
        for part in old.infolist():
            text = old.read(part)
            new.writestr(
                part.filename,
                sheet if sheet and part.filename == "xl/worksheets/sheet1.xml" else text,
            )
    path.write_bytes(packed.getvalue())
    return path


SHEET = (
    "<worksheet"
    ' xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>{}</sheetData>{}</worksheet>'
)
BOMBS = {
    "merge": SHEET.format("", '<mergeCells><mergeCell ref="A1:XFD1048576"/></mergeCells>'),
    "merges": SHEET.format(
        "", "<mergeCells>" + '<mergeCell ref="A1:ZZ1000"/>' * 50 + "</mergeCells>"
    ),
    "link": SHEET.format("", '<hyperlinks><hyperlink ref="A1:XFD1048576"/></hyperlinks>'),
    "cells": SHEET.format(f"<row>{'<c/>' * 1_100_000}</row>", ""),
}


@pytest.mark.parametrize("bomb", BOMBS)
def test_a_small_workbook_that_would_fill_the_memory_is_refused(tmp_path: Path, bomb: str) -> None:
    """IN702 before the library that reads workbooks sees it; a file of some ten kB each."""
    path = _workbook(tmp_path / "farm.xlsx", BOMBS[bomb])
    assert path.stat().st_size < 200_000
    assert refused("check", str(path)).startswith("IN702 farm.xlsx")


def test_a_workbook_packed_in_another_way_or_kept_by_a_password(tmp_path: Path) -> None:
    """LZMA is read; a part marked as kept by a password, or packed in a way nobody knows, is
    IN701.
    """
    path = _workbook(tmp_path / "farm.xlsx", "", zipfile.ZIP_LZMA)
    assert CliRunner().invoke(app, ["check", str(path)]).exit_code == 0
    whole = _workbook(tmp_path / "other.xlsx", "").read_bytes()
    for offset, value in ((8, 1), (10, 99)):
        spoilt = bytearray(whole)
        for mark, at in ((b"PK\x01\x02", offset), (b"PK\x03\x04", offset - 2)):
            place = spoilt.find(mark)
            while place >= 0:
                spoilt[place + at] = value
                place = spoilt.find(mark, place + 4)
        path.write_bytes(bytes(spoilt))
        assert refused("check", str(path)).startswith("IN701")


@pytest.mark.parametrize("text", [" =1+1", "\t@A1", "\n-1", "\u00a0+1"])
def test_a_formula_behind_blanks_is_text_in_csv_too(text: str) -> None:
    """Not every spreadsheet stops at a blank."""
    table = Table("t", "T", (Column("name", "Name"),), ((text,),))
    assert f"'{text}" in csv_text(table)


def test_long_names_are_cut_in_messages(tmp_path: Path) -> None:
    """An id of 100 kB: every line that is said of it can be read."""
    text = (
        (FARM / "farm.toml")
        .read_text(encoding="utf-8")
        .replace('id = "', 'id = "' + "x" * 100_000, 1)
    )
    (tmp_path / "farm.toml").write_text(text, encoding="utf-8")
    assert max(map(len, refused("check", str(tmp_path)).splitlines())) < 4000
