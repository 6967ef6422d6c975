"""How every command runs: read, notices, solve, deliver; heavy modules come in here."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from functools import partial
from importlib import import_module
from pathlib import Path
from threading import Event, Thread
from typing import TYPE_CHECKING, Any

import typer

from rationlp.cli.options import CHANGED_FARM, FARM, Command, Format, Options

if TYPE_CHECKING:
    from rationlp.errors import Finding
    from rationlp.report.story import Story

FILE_WIDTH = 100
"""Columns of a table written to a file, whatever the terminal."""
LONG_S = 2.0
"""From here on somebody who watches is told that work goes on [s]."""


def function_of(command: Command) -> Callable[..., None]:
    """A command as the function that the parser calls."""

    def called(**typed: Any) -> None:
        run(command, Options(**typed))

    called.__name__ = command.module
    called.__doc__ = command.help
    called.__signature__ = command.signature()  # type: ignore[attr-defined]
    return called


def run(command: Command, options: Options) -> None:
    """Run a command. Its module has `solve` (of the farm and what was typed) and `story` (of what
    was solved), or `say` where it prints by itself; where it needs them `faults` (of what was
    typed), `notices` and `finish`, which comes last.
    """
    work: Any = import_module(f"rationlp.cli.{command.module}")
    _refuse_apart(command, options)
    if hasattr(work, "say"):
        work.say(options)
        return
    with waiting(not command.counts):
        if hasattr(work, "faults"):
            work.faults(options)
        read = _read(command.reads, options)
        solved = work.solve(read, options)
        story: Story | None = work.story(solved, options)
        if story is None:
            return
        story = _by_standards(story, read, options)
        write = _written(story, options, inputs_of(command, options))
        notices = getattr(work, "notices", _notices)(read, solved)
    tell_notices(notices)
    write()
    if hasattr(work, "finish"):
        work.finish(solved, options, inputs_of(command, options))
    if story.exit_code:
        raise typer.Exit(story.exit_code)


def _refuse_apart(command: Command, options: Options) -> None:
    """Refuse options that do not go together, by what commands.toml says of them."""
    flags = {option.name: option.flags[0] for option in command.options}
    for option in command.options:
        if not options.typed(option.name):
            continue
        if option.goes_with and not options.typed(option.goes_with):
            name, _, word = option.goes_with.partition("=")
            fault = f"it goes with {flags[name]} {word}".rstrip()
            raise typer.BadParameter(fault, param_hint=flags[option.name])
        for other in filter(options.typed, option.not_with):
            fault = f"it does not go with {flags[other]}"
            raise typer.BadParameter(fault, param_hint=flags[option.name])


def _by_standards(story: Story, read: Any, options: Options) -> Story:
    """The story with the standards of needs named, where they are not AFRC (1993) for all."""
    farm = getattr(read, "farm", read)
    if not hasattr(farm, "groups") or options.compare_standards:
        return story
    from rationlp.after.standards_used import standards_used
    from rationlp.report.by_standard import with_standards

    return with_standards(story, standards_used(farm, options.group))


def _notices(read: Any, solved: Any) -> tuple[Finding, ...]:
    """What was noticed of what was read."""
    notices: tuple[Finding, ...] = getattr(getattr(read, "farm", read), "notices", ())
    return notices


def _read(what: str, options: Options) -> Any:
    if what == FARM:
        from rationlp.read.farm import read_farm

        return read_farm(options.farm, options.standard)
    if what == CHANGED_FARM:
        from rationlp.read.changed import begin

        return begin(options.farm, options.standard)
    return None


def inputs_of(command: Command, options: Options) -> tuple[Path, ...]:
    """The files that no answer may replace: those of the farm, and those named by an option."""
    named = [getattr(options, option.name) for option in command.options if option.reads]
    files = tuple(path for path in named if path is not None)
    if options.farm is None:
        return files
    return (*farm_inputs(options.farm), *files)


def farm_inputs(folder: Path) -> tuple[Path, ...]:
    """The files that no answer may replace: farm.toml and every CSV beside it, read by this command
    or another; a workbook; the log and every plan that was kept.
    """
    from rationlp.after.kept import plan_files
    from rationlp.read.logbook import log_file

    files = (log_file(folder), *plan_files(folder))
    if not folder.is_dir():
        return (folder, *files)
    return (folder / "farm.toml", *sorted(folder.glob("*.csv")), *files)


def _written(story: Story, options: Options, inputs: tuple[Path, ...]) -> Callable[[], None]:
    """How a story leaves the program: to stdout, or whole to a file. Made here, written when it is
    called.

    Raises InputError where the file cannot or must not be written.
    """
    from rationlp.report.files import write_whole
    from rationlp.report.terminal import show, tell

    page = None
    if options.html is not None and story.page is not None:
        page = story.page()
    screen = page is None or options.output is not None
    text = ""
    if screen and not options.in_workbook:
        text = _in_form(story, options)

    def write() -> None:
        if page is not None:
            write_whole(options.html, page, inputs)
            tell(f"Written: {options.html}")
        if not screen:
            return
        if options.in_workbook:
            _write_workbook(story, options, inputs)
        elif options.output is None:
            show(text.removesuffix("\n"))
            return
        else:
            write_whole(options.output, f"{text.removesuffix(chr(10))}\n", inputs)
        tell(f"Written: {options.output}")

    return write


def _write_workbook(story: Story, options: Options, inputs: Iterable[Path]) -> None:
    from rationlp.errors import refused
    from rationlp.read.folder import is_workbook
    from rationlp.report.workbook import write_story

    if options.form is not Format.table:
        remedy = f"leave out --format, or let the name end in .{options.form.value}"
        trouble = f"a workbook, and --format {options.form.value}"
        raise refused("IN713", str(options.output), trouble, remedy)
    begin = None
    if options.farm is not None and is_workbook(options.farm):
        from rationlp.report.workbook_first import farm_sheets

        begin = partial(farm_sheets, options.farm)
    write_story(options.output, story, inputs, begin)


def _in_form(story: Story, options: Options) -> str:
    if options.form is Format.json:
        from rationlp.report.json_answer import story_json

        return story_json(story)
    if options.form is Format.csv:
        from rationlp.report.files import csv_text

        return csv_text(story.table())
    from rationlp.report.blocks import may_draw
    from rationlp.report.terminal import story_text, terminal_width

    if options.output is not None:
        return story_text(story, FILE_WIDTH, bool(options.full))
    drawn = may_draw(sys.stdout, os.environ)
    return story_text(story, terminal_width(), bool(options.full), drawn)


def tell_notices(notices: Iterable[Finding]) -> None:
    """Warnings about the input on stderr, a line each; none of them forbids anything."""
    from rationlp.report.terminal import tell

    for notice in notices:
        tell(f"Note: {notice}")


@contextmanager
def waiting(watched: bool) -> Iterator[None]:
    """Tell somebody who watches stderr for how long the work has gone on, from two seconds on."""
    if not watched or not sys.stderr.isatty():
        yield
        return
    end = Event()
    counter = Thread(target=_count, args=(end,), daemon=True)
    counter.start()
    try:
        yield
    finally:
        end.set()
        counter.join()


def _count(end: Event) -> None:
    if end.wait(LONG_S):
        return
    seconds = int(LONG_S)
    while True:
        sys.stderr.write(f"\rWorking, {seconds} s")
        sys.stderr.flush()
        if end.wait(1.0):
            break
        seconds += 1
    sys.stderr.write(f"\r{' ' * 20}\r")
    sys.stderr.flush()


def progress(solved: int, count: int) -> None:
    """How far a batch has come, on stderr and on one line, where somebody watches."""
    if sys.stderr.isatty():
        sys.stderr.write(f"\r{solved} of {count} solved" + "\n" * (solved == count))
        sys.stderr.flush()
