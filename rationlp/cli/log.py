"""`rationlp log`: what was measured, tested, moved or delivered through the winter, a line each."""

from __future__ import annotations

from rationlp.cli.options import Options
from rationlp.errors import refused
from rationlp.farm.farm import Farm
from rationlp.read.logbook import LogLine, log_file, log_text, new_line, read_log
from rationlp.read.logged import logged_farm
from rationlp.records import dataclass
from rationlp.report.answers.farm import LogAnswer
from rationlp.report.files import write_whole
from rationlp.report.stories.farm import line_words, log_story
from rationlp.report.story import Story
from rationlp.report.terminal import tell


@dataclass(frozen=True)
class Solved:
    """A farm and its log. added: the line that was written down just now."""

    farm: Farm
    lines: tuple[LogLine, ...]
    added: LogLine | None = None


def solve(read: Farm, options: Options) -> Solved:
    """The log, with a line more where one was typed."""
    lines = read_log(read)
    if options.what is None:
        if options.on or options.unit or options.note:
            remedy = "give WHAT, ID and FIGURE with it, or leave it out to see the log"
            raise refused("IN802", "log", "an option of a line, and no line", remedy)
        return Solved(read, lines)
    needed = {"ID": options.of, "FIGURE": options.figure, "--on": options.on}
    missing = ", ".join(name for name, value in needed.items() if value is None)
    if missing:
        remedy = "write it like: rationlp log FARM face first_cut 12.5 --on 2027-01-15"
        raise refused("IN802", "log", f"no {missing}", remedy)
    cells = {
        "date": options.on,
        "what": options.what,
        "of": options.of,
        "figure": options.figure,
        "unit": options.unit or "",
        "note": options.note or "",
    }
    line = new_line(read, cells, lines)
    every = tuple(sorted((*lines, line), key=lambda one: one.day))
    # Read once more with the line in it, so that nothing is written down that the farm file
    # contradicts.
    logged_farm(read, every, every[-1].day)
    return Solved(read, every, line)


def story(solved: Solved, options: Options) -> Story | None:
    """The log as a story; a line more is written down, and that is all that is said of it."""
    if solved.added is None:
        answer = LogAnswer(solved.farm, tuple(solved.lines))
        return log_story(solved.farm, solved.lines).of(lambda: answer)
    path = log_file(options.farm)
    write_whole(path, log_text(solved.lines), ())
    tell(f"{line_words(solved.added, solved.farm)} Written: {path}")
    return None
