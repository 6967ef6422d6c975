"""How every command runs: read, tell what was noticed, solve, deliver, end with an exit code. The
one door through which the heavy modules come in.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from importlib import import_module
from pathlib import Path
from threading import Event, Thread
from typing import TYPE_CHECKING, Any

import typer

from rationlp.cli.options import CHANGED_FARM, FARM, Command, Format, Given

if TYPE_CHECKING:
    from rationlp.errors import Finding
    from rationlp.farm.farm import Farm
    from rationlp.report.story import Story

FILE_WIDTH = 100
"""Columns of a table written to a file, whatever the terminal."""
LONG_S = 2.0
"""From here on somebody who watches is told that work goes on [s]."""


def function_of(command: Command) -> Callable[..., None]:
    """A command as the function that the parser calls."""

    def called(**typed: Any) -> None:
        run(command, Given(**typed))

    called.__name__ = command.module
    called.__doc__ = command.help
    called.__signature__ = command.signature()  # type: ignore[attr-defined]
    return called


def run(command: Command, given: Given) -> None:
    """Run a command. Its module has `solve` (of the farm and what was typed) and `story` (of what
    was solved), or `say` where it prints by itself; where it needs them `faults` (of what was
    typed), `notices` and `finish`, which comes last.
    """
    work: Any = import_module(f"rationlp.cli.{command.module}")
    if hasattr(work, "say"):
        work.say(given)
        return
    with waiting(not command.counts):
        if hasattr(work, "faults"):
            work.faults(given)
        read = _read(command.reads, given)
        solved = work.solve(read, given)
        story: Story | None = work.story(solved, given)
        if story is None:
            return
        write = _written(story, given, inputs_of(command, given))
        notices = getattr(work, "notices", _notices)(read, solved)
    tell_notices(notices)
    write()
    if hasattr(work, "finish"):
        work.finish(solved, given, inputs_of(command, given))
    if story.exit_code:
        raise typer.Exit(story.exit_code)


def _notices(read: Any, solved: Any) -> tuple[Finding, ...]:
    """What was noticed of what was read."""
    notices: tuple[Finding, ...] = getattr(getattr(read, "farm", read), "notices", ())
    return notices


def _read(what: str, given: Given) -> Any:
    if what == FARM:
        from rationlp.read.farm import read_farm

        farm = read_farm(given.farm)
        return farm if given.standard is None else by_standard(farm, given.standard.value)
    if what == CHANGED_FARM:
        from rationlp.read.changed import begin

        return begin(given.farm)
    return None


def by_standard(farm: Farm, standard: str) -> Farm:
    """The farm with the needs of every group by one standard, where it holds for the class."""
    return replace(farm, groups=tuple(replace(group, standard=standard) for group in farm.groups))


def inputs_of(command: Command, given: Given) -> tuple[Path, ...]:
    """The files that no answer may replace: those of the farm, and those named by an option."""
    named = [getattr(given, option.name) for option in command.options if option.reads]
    own = () if given.farm is None else farm_inputs(given.farm)
    return (*own, *(path for path in named if path is not None))


def farm_inputs(folder: Path) -> tuple[Path, ...]:
    """The files that no answer may replace: farm.toml and every CSV beside it, read by this command
    or another; a workbook; the log and every plan that was kept.
    """
    from rationlp.after.kept import plan_files
    from rationlp.read.logbook import log_file

    own = (log_file(folder), *plan_files(folder))
    if not folder.is_dir():
        return (folder, *own)
    return (folder / "farm.toml", *sorted(folder.glob("*.csv")), *own)


def _written(story: Story, given: Given, inputs: tuple[Path, ...]) -> Callable[[], None]:
    """How a story leaves the program: to stdout, or whole to a file. Made here, written when it is
    called.

    Raises InputError where the file cannot or must not be written.
    """
    from rationlp.report.files import write_whole
    from rationlp.report.terminal import show, tell

    page = None
    if given.html is not None and story.page is not None:
        page = story.page()
    screen = page is None or given.output is not None
    text = _in_form(story, given) if screen and not given.in_workbook else ""

    def write() -> None:
        if page is not None:
            write_whole(given.html, page, inputs)
            tell(f"Written: {given.html}")
        if not screen:
            return
        if given.in_workbook:
            _write_workbook(story, given, inputs)
        elif given.output is None:
            show(text.removesuffix("\n"))
            return
        else:
            write_whole(given.output, f"{text.removesuffix(chr(10))}\n", inputs)
        tell(f"Written: {given.output}")

    return write


def _write_workbook(story: Story, given: Given, inputs: Iterable[Path]) -> None:
    from rationlp.errors import Finding, InputError
    from rationlp.read.folder import is_workbook
    from rationlp.report.workbook import write_story

    if given.form is not Format.table:
        remedy = f"leave out --format, or let the name end in .{given.form.value}"
        found = f"a workbook, and --format {given.form.value}"
        raise InputError([Finding("IN713", str(given.output), found, remedy)])
    begin = None
    if given.farm is not None and is_workbook(given.farm):
        from rationlp.report.farm_sheets import farm_sheets

        begin = partial(farm_sheets, given.farm)
    write_story(given.output, story, inputs, begin)


def _in_form(story: Story, given: Given) -> str:
    if given.form is Format.json:
        from rationlp.report.json_answer import json_text

        return json_text(story.document())
    if given.form is Format.csv:
        from rationlp.report.files import csv_text

        return csv_text(story.table())
    from rationlp.report.blocks import may_draw
    from rationlp.report.terminal import story_text, terminal_width

    if given.output is not None:
        return story_text(story, FILE_WIDTH, bool(given.full))
    drawn = may_draw(sys.stdout, os.environ)
    return story_text(story, terminal_width(), bool(given.full), drawn)


def tell_notices(notices: Iterable[Finding]) -> None:
    """Warnings about the input on stderr, a line each; none of them forbids anything."""
    from rationlp.report.terminal import tell

    for notice in notices:
        tell(f"Note: {notice}")


@contextmanager
def waiting(wanted: bool) -> Iterator[None]:
    """Tell somebody who watches stderr for how long the work has gone on, from two seconds on."""
    if not wanted or not sys.stderr.isatty():
        yield
        return
    done = Event()
    counter = Thread(target=_count, args=(done,), daemon=True)
    counter.start()
    try:
        yield
    finally:
        done.set()
        counter.join()


def _count(done: Event) -> None:
    if done.wait(LONG_S):
        return
    seconds = int(LONG_S)
    while True:
        sys.stderr.write(f"\rWorking, {seconds} s")
        sys.stderr.flush()
        if done.wait(1.0):
            break
        seconds += 1
    sys.stderr.write(f"\r{' ' * 20}\r")
    sys.stderr.flush()


def progress(done: int, count: int) -> None:
    """How far a batch has come, on stderr and on one line, where somebody watches."""
    if sys.stderr.isatty():
        end = "\n" if done == count else ""
        sys.stderr.write(f"\r{done} of {count} solved{end}")
        sys.stderr.flush()
