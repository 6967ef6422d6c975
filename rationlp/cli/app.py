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

from rationlp import __version__
from rationlp.cli import (
    check,
    clamp,
    feeds,
    grow,
    guide,
    last,
    log,
    meaning,
    needs,
    new,
    ration,
    report,
    sheet,
    supply,
    sure,
    switch,
    take,
    whatif,
    winter,
    worth,
)
from rationlp.cli import set as set_command
from rationlp.cli.nearest import NearestGroup
from rationlp.errors import EXIT_BAD_INPUT, InputError, RationError

EXIT_STOPPED = 130
EXIT_PIPE = 141


class Commands(NearestGroup):
    """The group of all commands: turns our own errors into messages and exit codes."""

    def make_context(self, *args: Any, **settings: Any) -> Any:
        """Read the first words of the command line, among them `--help`, which is answered here."""
        with _told():
            return super().make_context(*args, **settings)

    def invoke(self, ctx: Any) -> Any:
        """Run the command; every error of ours ends as lines on stderr and an exit code, never as a
        traceback.
        """
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
    """A line on stderr, without the signs that steer a terminal; where it cannot be written the
    exit code says it all.
    """
    with suppress(OSError):
        typer.echo(
            "".join(sign if sign.isprintable() or sign == "\n" else " " for sign in text), err=True
        )


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


def _version(wanted: bool) -> None:
    if wanted:
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


app.command(
    "new",
    short_help="Write a commented farm folder that runs at once.",
    epilog="Example: rationlp new myfarm",
)(new.new)
app.command(
    "set",
    short_help="Change sizes, heads and other keys of farm.toml.",
    epilog="Example: rationlp set myfarm first_cut.length_m=32 milkers.head=110",
)(set_command.set_keys)
app.command(
    "take",
    short_help="Take in a lab sheet or price list as it comes.",
    epilog="Example: rationlp take sheet.pdf myfarm --for first_cut --write",
)(take.take)
app.command(
    "check",
    short_help="Say whether the forage in store is enough, before any plan.",
    epilog="Example: rationlp check myfarm --full",
)(check.check)
app.command(
    "needs",
    short_help="What each group requires, and why.",
    epilog="Example: rationlp needs myfarm --group milkers",
)(needs.needs)
app.command(
    "clamp",
    short_help="What is in store, and how fast each face moves.",
    epilog="Example: rationlp clamp myfarm --store maize --head 60 --kg-fresh 25",
)(clamp.clamp)
app.command(
    "ration",
    short_help="The least-cost ration of each group, with proof.",
    epilog="Example: rationlp ration myfarm --format json --output ration.json",
)(ration.ration)
app.command(
    "sheet",
    short_help="What to weigh, load and carry: a page a group.",
    epilog="Example: rationlp sheet myfarm --dm first_cut=26 --head high=118 --html sheets.html",
)(sheet.sheet)
app.command(
    "supply",
    short_help="What a ration already fed gives against need.",
    epilog="Example: rationlp supply myfarm fed.csv",
)(supply.supply)
app.command(
    "winter",
    short_help="One least-cost plan for all groups until turnout.",
    epilog="Example: rationlp winter myfarm --periods month",
)(winter.winter)
app.command(
    "log",
    short_help="Write down what was measured, tested, moved or delivered.",
    epilog="Example: rationlp log myfarm face first_cut 12.5 --on 2027-01-15",
)(log.log)
app.command(
    "last",
    short_help="How long each store lasts.",
    epilog="Example: rationlp last myfarm --fed fed.csv",
)(last.last)
app.command(
    "report",
    short_help="The winter on one page, for screen, phone and A4.",
    epilog="Example: rationlp report myfarm --output winter.html",
)(report.report)
app.command(
    "switch",
    short_help="What going from one forage to another costs.",
    epilog="Example: rationlp switch myfarm --from first_cut --to maize --group high",
)(switch.switch)
app.command(
    "worth",
    short_help="At what price each feed comes in or goes out.",
    epilog="Example: rationlp worth myfarm --group high",
)(worth.worth)
app.command(
    "whatif",
    short_help="Change something, solve again, compare.",
    epilog=(
        "Example: rationlp whatif myfarm --set winter.turnout+=21 --set"
        " soya_meal_48.price_per_t_fresh=300:500:50"
    ),
)(whatif.whatif)
app.command(
    "sure",
    short_help="How sure a winter or a ration is when figures are out.",
    epilog=(
        "Example: rationlp sure myfarm --draws 200 --hold-plan, or rationlp sure myfarm --group"
        " milkers --chance 0.9"
    ),
)(sure.sure)
app.command(
    "grow",
    short_help="How much of each forage to grow next year.",
    epilog="Example: rationlp grow myfarm --reserve 0.1",
)(grow.grow)
app.add_typer(feeds.app, name="feeds")
app.command(
    "guide", short_help="The guide: a page a topic.", epilog="Example: rationlp guide winter"
)(guide.guide)
app.command(
    "meaning",
    short_help="What an error code, a caution or a word means.",
    epilog="Example: rationlp meaning IN101",
)(meaning.meaning)


def main() -> None:
    """The whole command line. Always ends with SystemExit."""
    _open_streams()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A console that cannot show a sign gets its code instead of a traceback.
            stream.reconfigure(errors="backslashreplace")
    try:
        app(prog_name="rationlp", terminal_width=_help_width())
    except OSError as trouble:
        # The line that says what was mistyped could not be written.
        raise SystemExit(EXIT_BAD_INPUT) from trouble


def _help_width() -> int | None:
    """Columns of the help on a narrow terminal, which the parser never goes below fifty for; None
    where it is not narrow.
    """
    columns = get_terminal_size((80, 24)).columns
    return max(columns, 40) if columns < 52 else None


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
