"""The command line as a process of its own: what it imports, what it writes where, what it ends
with.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

import rationlp
from rationlp.folders import examples_folder

ROOT = Path(rationlp.__file__).resolve().parents[1]
HEAVY = {
    "pydantic",
    "numpy",
    "pandas",
    "tabulate",
    "pulp",
    "highspy",
    "rich",
    "starlette",
    "uvicorn",
}


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    """Run the command line in a fresh interpreter, at 100 columns."""
    settings = {**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "100", "PYTHONUTF8": "1"}
    command = [sys.executable, "-m", "rationlp", *arguments]
    return subprocess.run(
        command, capture_output=True, text=True, check=False, env=settings, encoding="utf-8"
    )


def imported(*arguments: str) -> set[str]:
    """Top names of the modules that a command imports."""
    code = (
        "import sys\nfrom rationlp.cli import main\n"
        f"sys.argv = ['rationlp', *{list(arguments)!r}]\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "sys.stderr.write('MODULES ' + ' '.join({m.split('.')[0] for m in sys.modules}))\n"
    )
    settings = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, env=settings
    )
    return set(done.stderr.rpartition("MODULES ")[2].split())


@pytest.mark.parametrize("argument", ["--help", "--version"])
def test_help_imports_nothing_heavy(argument: str) -> None:
    """Help answers at once."""
    assert imported(argument) & HEAVY == set()


@pytest.mark.parametrize("command", ["ration", "feeds", "new", "open"])
def test_help_of_a_command_imports_nothing_heavy_of_ours(command: str) -> None:
    """Some versions of the parser load pydantic to read a command's own options; nothing else heavy
    comes in.
    """
    assert (imported(command, "--help") & HEAVY) - {"pydantic"} == set()


def test_only_open_brings_in_a_server() -> None:
    """Every other command starts as fast as it did."""
    farm = str(examples_folder() / "few")
    assert imported("check", farm) & {"starlette", "uvicorn", "anyio"} == set()


def test_version_is_the_packages_own() -> None:
    """One line on stdout."""
    done = run("--version")
    assert (done.returncode, done.stdout, done.stderr) == (
        0,
        f"rationlp {rationlp.__version__}\n",
        "",
    )


def test_a_mistyped_command_leaves_stdout_empty() -> None:
    """The suggestion is talk, not an answer."""
    done = run("ratoin")
    assert (done.returncode, done.stdout) == (2, "")


@pytest.mark.parametrize("command", ["check", "needs", "ration"])
def test_a_folder_that_does_not_exist_is_bad_input(tmp_path: Path, command: str) -> None:
    """Exit 2, a finding with a code, no traceback, nothing on stdout."""
    done = run(command, str(tmp_path / "nowhere"))
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("IN")
    assert "Traceback" not in done.stderr


def test_a_console_that_cannot_show_a_sign_gets_a_plain_one() -> None:
    """Once the command line has begun, a dash beyond ASCII no longer fails on a console that knows
    ASCII only.
    """
    code = (
        "import sys\nfrom rationlp.cli import main\nsys.argv = ['rationlp', '--version']\n"
        "try:\n    main()\nexcept SystemExit:\n    sys.stdout.write(chr(0x2014))\n"
    )
    settings = {
        **os.environ,
        "PYTHONPATH": str(ROOT),
        "PYTHONUTF8": "0",
        "PYTHONIOENCODING": "ascii",
    }
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False, env=settings
    )
    assert (done.returncode, done.stdout.splitlines()[1]) == (0, "-")
