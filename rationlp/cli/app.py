"""The command line put together: its commands, its exit codes, and what happens when something goes
wrong.

stdout carries the answer and nothing else; warnings, talk and errors go to stderr. Exit codes: 0 an
answer, 2 bad input or a mistyped command, 3 at least one group has no ration, 4 the solver failed,
130 stopped by the person, 141 the reader of a pipe went away.
"""

from __future__ import annotations

import gc
import io
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from shutil import get_terminal_size
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from rationlp import __version__
from rationlp.cli import console_signs
from rationlp.cli.commands import commands
from rationlp.cli.run import function_of
from rationlp.errors import EXIT_BAD_INPUT, InputError, RationError, nearest, printable


class NearestGroup(TyperGroup):
    """Commands that can be mistyped."""

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """Find the command; an unknown one gets the nearest there is, or all of them."""
        if args and not args[0].startswith("-") and args[0] not in self.commands:
            near = nearest(args[0], self.commands)
            hint = f"There are: {', '.join(self.commands)}."
            if near:
                hint = f'Did you mean "{near}"?'
            ctx.fail(f'No such command "{args[0]}". {hint}')
        return super().resolve_command(ctx, args)


EXIT_STOPPED = 130
EXIT_PIPE = 141


class Commands(NearestGroup):
    """The group of all commands: turns our own errors into messages and exit codes."""

    def make_context(self, *args: Any, **settings: Any) -> Any:
        """Read the first words of the command line, among them `--help`, which is answered here."""
        with _told():
            return super().make_context(*args, **settings)

    def invoke(self, ctx: Any) -> Any:
        """Run the command; our errors end as lines on stderr and an exit code."""
        with _told():
            return super().invoke(ctx)


@contextmanager
def _told() -> Iterator[None]:
    """Whatever goes wrong in here is said on stderr and ends in an exit code."""
    try:
        yield
    except InputError as trouble:
        for finding in trouble.findings:
            _say(str(finding))
        _say('Nothing was written. "rationlp meaning CODE" says more about a code.')
        raise typer.Exit(EXIT_BAD_INPUT) from trouble
    except RationError as trouble:
        _say(f"No answer: {trouble}")
        raise typer.Exit(trouble.exit_code) from trouble
    except KeyboardInterrupt as stop:
        _say("Stopped; nothing was written.")
        raise typer.Exit(EXIT_STOPPED) from stop
    except BrokenPipeError as gone:
        from rationlp.report.terminal import stdout_to_nowhere

        stdout_to_nowhere()
        raise typer.Exit(EXIT_PIPE) from gone
    except OSError as trouble:
        _cannot_write(trouble)
        raise typer.Exit(EXIT_BAD_INPUT) from trouble


def _say(text: str) -> None:
    """A line on stderr, without terminal signs; if it fails the exit code says it all."""
    lines = [printable(line) for line in text.split("\n")]
    with suppress(OSError):
        typer.echo("\n".join(lines), err=True)


def _cannot_write(trouble: OSError) -> None:
    """Files are read and written with care elsewhere: what the system refuses here is stdout."""
    from rationlp.report.terminal import no_stdout

    for finding in no_stdout(trouble).findings:
        _say(str(finding))


app = typer.Typer(
    name="rationlp",
    cls=Commands,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    epilog="Begin with: rationlp new myfarm, then rationlp ration myfarm",
)


def _version(asked_for: bool) -> None:
    if asked_for:
        typer.echo(f"rationlp {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool,
        typer.Option(
            "--version", help="Print the version and stop.", callback=_version, is_eager=True
        ),
    ] = False,
) -> None:
    """Least-cost winter rations for cattle and sheep from home-grown forage and bought feed."""


feeds_app = typer.Typer(
    name="feeds",
    cls=NearestGroup,
    no_args_is_help=True,
    rich_markup_mode=None,
    help="List, show, compare and validate feed tables.",
)
for command in commands():
    *above, name = command.name.split()
    group = {(): app, ("feeds",): feeds_app}[tuple(above)]
    group.command(
        name,
        help=command.help,
        short_help=command.short or None,
        epilog=f"Example: {command.example}",
    )(function_of(command))
app.add_typer(feeds_app, name="feeds")


def main() -> None:
    """The whole command line. Always ends with SystemExit."""
    _open_streams()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A console that cannot show a sign gets a plain one instead of a traceback.
            stream.reconfigure(errors=console_signs.NAME)
    try:
        app(prog_name="rationlp", terminal_width=_help_width())
    except OSError as trouble:
        # The line that says what was mistyped could not be written.
        raise SystemExit(EXIT_BAD_INPUT) from trouble


def _help_width() -> int | None:
    """Columns of the help on a narrow terminal (the parser never goes below 50), else None."""
    columns = get_terminal_size((80, 24)).columns
    if columns >= 52:
        return None
    return max(columns, 40)


def _open_streams() -> None:
    """A stream that was closed before we began is a file again: nothing that is opened later may
    get its number.

    What is said on stderr goes nowhere then; stdout refuses what is written to it, because an
    answer must not get lost.
    """
    if sys.stdout is None:
        refusing = io.FileIO(os.open(os.devnull, os.O_RDONLY), "w")
        sys.stdout = io.TextIOWrapper(io.BufferedWriter(refusing), encoding="utf-8")
    if sys.stderr is None:
        sys.stderr = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115 - open until the end


def console() -> None:
    """What the console script and `python -m rationlp` call: `main`, then an end without tearing
    the interpreter down.

    Taking the numerical libraries apart again takes longer than a ration; once both streams are
    flushed nothing is left to be done.
    """
    # What one command makes is needed to its end: looking for rubbish in between only takes time.
    gc.disable()
    # Nor is anything plugged into the checks of a farm: looking through all that is installed takes
    # longer than they do.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    try:
        main()
    except SystemExit as end:
        if end.code is not None and not isinstance(end.code, int):
            raise
        code = end.code or 0
        try:
            sys.stdout.flush()
        except OSError as trouble:
            code = code or EXIT_BAD_INPUT
            _cannot_write(trouble)
        with suppress(OSError):
            sys.stderr.flush()
        os._exit(code)
