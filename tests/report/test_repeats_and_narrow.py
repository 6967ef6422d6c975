"""The same answer gives the same bytes, and a narrow terminal gets no line that is wider than
itself.
"""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from base64 import b64encode
from hashlib import sha256
from pathlib import Path

import pytest
from typer.testing import CliRunner

from rationlp.cli.app import app
from rationlp.folders import examples_folder
from rationlp.report import workbook
from rationlp.report.html import filled
from rationlp.report.terminal import plain_signs

EXAMPLES = examples_folder()
FEW, DAIRY, BEEF = (str(EXAMPLES / name) for name in ("few", "dairy", "beef"))


@pytest.mark.parametrize(
    "words",
    [
        ["check", FEW, "--figures"], ["check", BEEF], ["needs", FEW], ["clamp", DAIRY],
        ["ration", FEW],
        ["ration", DAIRY, "--group", "high"], ["sheet", FEW], ["feeds", "list"], ["worth", FEW],
        ["meaning"], ["meaning", "IN101"], ["meaning", "ndf_g_per_kg_dm"],
    ],
    ids=lambda words: " ".join(Path(word).name for word in words),
)  # fmt: skip
def test_no_line_is_wider_than_a_narrow_terminal(words: list[str]) -> None:
    """Forty columns, the least there are."""
    result = CliRunner(env={"COLUMNS": "40"}).invoke(app, words)
    assert result.exit_code == 0
    assert [line for line in result.stdout.splitlines() if len(line) > 40] == []


def test_help_fits_a_narrow_terminal_too() -> None:
    """As a process of its own, where the width is handed on."""
    done = subprocess.run(
        [sys.executable, "-m", "rationlp", "--help"], capture_output=True, text=True, check=True,
        env={**os.environ, "COLUMNS": "40"}, cwd=EXAMPLES.parent,
    )  # fmt: skip
    assert max(map(len, done.stdout.splitlines())) <= 40


def test_workbooks_of_two_days_are_the_same_bytes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No part bears the day on which it was written."""
    first, second = tmp_path / "first.xlsx", tmp_path / "second.xlsx"
    assert CliRunner().invoke(app, ["clamp", FEW, "--output", str(first)]).exit_code == 0
    monkeypatch.setattr("time.time", lambda: 2_000_000_000.0)
    assert CliRunner().invoke(app, ["clamp", FEW, "--output", str(second)]).exit_code == 0
    assert first.read_bytes() == second.read_bytes()
    with zipfile.ZipFile(first) as packed:
        assert {part.date_time for part in packed.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert packed.read("docProps/core.xml").count(workbook._NO_DAY) == 2


def test_a_page_says_what_a_browser_may_do_for_it() -> None:
    """Its own script by its sum, its own styles, nothing from outside; a page without a script
    allows none.
    """
    page = filled(
        "sheet.html",
        {"farm": "F", "day": "D", "pages": [], "without": [], "cautions": [], "closing": "C"},
        "here",
    )
    assert "default-src 'none'" in page
    assert "script-src 'none'" in page


def test_the_script_of_the_winter_page_is_allowed_by_its_sum(tmp_path: Path) -> None:
    """What stands between its marks, to the letter."""
    path = tmp_path / "winter.html"
    assert CliRunner().invoke(app, ["report", FEW, "--output", str(path)]).exit_code == 0
    page = path.read_text(encoding="utf-8")
    script = page.partition("<script>")[2].partition("</script>")[0]
    assert script
    assert f"script-src 'sha256-{b64encode(sha256(script.encode()).digest()).decode()}'" in page


@pytest.mark.parametrize("package", ["jinja2"])
def test_a_missing_package_is_told_of_before_the_work(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, package: str
) -> None:
    """The winter is not solved for nothing."""
    monkeypatch.setitem(sys.modules, package, None)
    monkeypatch.setattr(
        "rationlp.cli.report.planned", lambda *_: pytest.fail("the winter was solved")
    )
    result = CliRunner().invoke(app, ["report", FEW, "--output", str(tmp_path / "winter.html")])
    assert result.exit_code == 2
    assert result.stderr.startswith(f"IN610 page — {package} is not installed")


def test_signs_that_steer_a_terminal_are_blanks() -> None:
    """Escape, bell, carriage return, turned direction; line ends, accents and dashes stay."""
    assert plain_signs("a\x1b[31m\x07\r\u202eb\x9b\né–") == "a [31m   b \né–"
