"""What the command line does when something goes wrong: messages on stderr, exit codes, never a
traceback.
"""

from __future__ import annotations

import re

import pytest
import typer
from typer.testing import CliRunner

from rationlp.cli.app import Commands, app, feeds_app
from rationlp.errors import Finding, InputError, ProofFailed, SolverMissing

TWO = InputError(
    [
        Finding("IN101", "farm.toml", "no name", "give one"),
        Finding("IN102", "lab.csv", "empty", "fill it"),
    ]
)


def _raising(error: BaseException) -> typer.Typer:
    """A command line of ours whose only command fails with `error`."""
    failing = typer.Typer(cls=Commands, rich_markup_mode=None, pretty_exceptions_enable=False)

    @failing.callback()
    def root() -> None:
        """Root."""

    @failing.command()
    def fail() -> None:
        raise error

    return failing


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (TWO, 2),
        (SolverMissing("no solver"), 4),
        (ProofFailed("rows violated"), 4),
        (KeyboardInterrupt(), 130),
    ],
)
def test_every_error_has_its_exit_code(error: BaseException, code: int) -> None:
    """2 for input, 4 for the solver, 130 for a stop by the person."""
    assert CliRunner().invoke(_raising(error), ["fail"]).exit_code == code


def test_all_findings_are_named_a_line_each_on_stderr() -> None:
    """Place, what was found, what to do; stdout stays empty."""
    result = CliRunner().invoke(_raising(TWO), ["fail"])
    assert result.stdout == ""
    assert result.stderr.splitlines()[:2] == [
        "IN101 farm.toml — no name — give one",
        "IN102 lab.csv — empty — fill it",
    ]


def test_solver_trouble_gives_no_answer() -> None:
    """The message says so and stdout stays empty."""
    result = CliRunner().invoke(_raising(ProofFailed("rows violated")), ["fail"])
    assert (result.stdout, result.stderr) == ("", "No answer: rows violated\n")


@pytest.mark.parametrize(
    ("typed", "near"), [("ratoin", "ration"), ("chek", "check"), ("need", "needs")]
)
def test_a_mistyped_command_names_the_nearest(typed: str, near: str) -> None:
    """Exit code 2 and a suggestion."""
    result = CliRunner().invoke(app, [typed])
    assert result.exit_code == 2
    assert f'Did you mean "{near}"?' in result.stderr


def test_a_mistyped_command_under_feeds_names_the_nearest() -> None:
    """The commands below a command are treated alike."""
    result = CliRunner().invoke(feeds_app, ["lst"])
    assert result.exit_code == 2
    assert 'Did you mean "list"?' in result.stderr


def test_a_command_like_no_other_lists_all() -> None:
    """Where nothing is near, all commands are named."""
    said = CliRunner().invoke(app, ["xyzzy"]).stderr
    assert (
        "There are: new, open, set, take, check, needs, clamp, ration, sheet, supply, winter, log,"
        " last, report, switch, worth, promise, manure, whatif, sure, grow, guide, meaning, feeds."
        in said
    )


@pytest.mark.parametrize(
    "arguments", [["ration"], ["ration", "--nonsense"], ["ration", "farm", "--format", "xml"]]
)
def test_misuse_ends_with_two(arguments: list[str]) -> None:
    """A missing argument, an unknown option, an unknown format."""
    result = CliRunner().invoke(app, arguments)
    assert (result.exit_code, result.stdout) == (2, "")


@pytest.mark.parametrize(
    "arguments",
    [
        ["new"],
        ["check"],
        ["needs"],
        ["clamp"],
        ["ration"],
        ["supply"],
        ["meaning"],
        ["report"],
        *(["feeds", n] for n in ("list", "show", "compare", "validate")),
    ],
    ids=" ".join,
)
def test_help_of_each_command_has_an_example(arguments: list[str]) -> None:
    """The example begins with the command itself."""
    result = CliRunner().invoke(app, [*arguments, "--help"])
    assert result.exit_code == 0
    assert f"Example: rationlp {' '.join(arguments)}" in result.stdout


@pytest.mark.parametrize("name", ["needs", "ration", "supply", "check", "clamp"])
def test_commands_that_print_tables_share_their_options(name: str) -> None:
    """--format and --output mean the same everywhere."""
    text = CliRunner().invoke(app, [name, "--help"]).stdout
    # Brackets of either kind, by the version of the parser.
    assert re.search(r"--format [<\[]table\|csv\|json[>\]]", text)
    assert "--output FILE" in text


def test_meaning_of_an_unknown_code_names_the_nearest() -> None:
    """The code is refused as bad input."""
    result = CliRunner().invoke(app, ["meaning", "WA21Z"])
    assert result.exit_code == 2
    assert 'nearest: "WA2' in result.stderr


def test_meaning_explains_a_code_in_either_case() -> None:
    """Title, meaning and remedy."""
    result = CliRunner().invoke(app, ["meaning", "in404"])
    assert result.exit_code == 0
    assert result.stdout.startswith("IN404: ")
    assert "What to do: " in result.stdout


def test_meaning_without_a_code_lists_all() -> None:
    """A line a code."""
    result = CliRunner().invoke(app, ["meaning", "--full"])
    assert any(line.startswith("IN404  ") for line in result.stdout.splitlines())
