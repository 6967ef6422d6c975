"""Charts of block signs: the right height on the right day, and only where a terminal can show
them.
"""

from __future__ import annotations

import io
import os
import pty
import subprocess
import sys
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

import pytest
from told import told
from winter_plans import made_plan

from rationlp.after.stock import StoreLife, each_lasting, plan_uses, spring_of
from rationlp.after.winter_facts import winter_facts
from rationlp.farm.store import Spread
from rationlp.folders import examples_folder
from rationlp.report.blocks import chart_text, may_draw
from rationlp.report.stories.stores import last_story
from rationlp.report.stories.winter import winter_story
from rationlp.report.winter_charts import run_down_chart

BLOCKS = set("▁▂▃▄▅▆▇█")
FEW = str(examples_folder() / "few")
ROOT = Path(__file__).resolve().parents[2]


class Screen(io.TextIOWrapper):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        """It says so."""
        return True


def screen(encoding: str) -> Screen:
    """A terminal of an encoding."""
    return Screen(io.BytesIO(), encoding=encoding)


def clamp(*left: float) -> StoreLife:
    """The clamp of the plan made by hand: what is left on the first day, after 30 days and at
    turnout, 60 days on [t DM].
    """
    [one] = each_lasting(plan_uses(made_plan()))
    days = tuple(replace(at, t_dm=Spread(t, t, t)) for at, t in zip(one.left, left, strict=True))
    return replace(one, left=days)


def signs(one: StoreLife, width: int = 100) -> str:
    """What is drawn between the two figures of the one line."""
    line = chart_text(run_down_chart([one]), width).split("\n")[1]
    first, last = (f"{left.t_dm.typical:,.1f}" for left in (one.left[0], one.left[-1]))
    start = f"The clamp {first} "
    assert line.startswith(start)
    assert line.endswith(f" {last}")
    return line[len(start) : -len(last) - 1]


def test_a_line_goes_down_to_nought_by_eighths() -> None:
    """25 t to none in a straight line: full at first, half in the middle, blank at the end only,
    never up again.
    """
    drawn = signs(clamp(25.0, 12.5, 0.0))
    heights = [" ▁▂▃▄▅▆▇█".index(sign) for sign in drawn]
    assert (drawn[0], drawn[len(drawn) // 2], drawn[-2:]) == ("█", "▄", "▁ ")
    assert heights == sorted(heights, reverse=True)
    assert set(heights) == set(range(9))


def test_each_line_is_scaled_to_its_own_first_day() -> None:
    """A small store draws the same as a large one."""
    assert signs(clamp(4.0, 3.0, 1.0)) == signs(clamp(400.0, 300.0, 100.0))


def test_a_store_that_is_hardly_used_stays_full() -> None:
    """More than fifteen sixteenths are a full block."""
    assert set(signs(clamp(20.0, 19.5, 19.0))) == {"█"}


def test_a_drop_in_the_second_half_is_drawn_there() -> None:
    """Days lie evenly along the line, whatever the periods."""
    drawn = signs(clamp(10.0, 10.0, 0.0))
    middle = len(drawn) // 2
    assert set(drawn[:middle]) == {"█"}
    assert set(drawn[middle + 4 :]) == set(" ▁▂▃▄▅▆▇")


def test_an_empty_store_is_blank() -> None:
    """Nothing to scale to."""
    assert not signs(clamp(0.0, 0.0, 0.0)).strip()


@pytest.mark.parametrize("width", [40, 60, 140])
def test_lines_fit_the_terminal(width: int) -> None:
    """A long name is cut, and said to be; the figures never are."""
    long = replace(
        clamp(25.0, 12.5, 5.75),
        name="The clamp behind the old sheds at the far end of the lower yard by the beck",
    )
    text = chart_text(run_down_chart([long, clamp(1234.5, 12.5, 0.0)]), width)
    lines = text.split("\n")[1:]
    assert all(len(line) <= width for line in lines)
    assert "…" in lines[0]
    assert [lines[0].endswith(" 5.8"), lines[1].endswith(" 0.0"), " 1,234.5 " in lines[1]] == [
        True
    ] * 3


def test_without_stores_nothing_is_drawn() -> None:
    """No heading either."""
    assert chart_text(run_down_chart([]), 100) == ""


def test_signs_are_for_terminals_of_utf8_that_are_not_dumb() -> None:
    """Every spelling of the encoding counts; a stream that is no terminal, or of another encoding,
    does not.
    """
    assert may_draw(screen("utf-8"), {"TERM": "xterm"})
    assert may_draw(screen("UTF8"), {})
    assert not may_draw(screen("utf-8"), {"TERM": "dumb"})
    assert not may_draw(screen("latin-1"), {"TERM": "xterm"})
    assert not may_draw(io.TextIOWrapper(io.BytesIO(), encoding="utf-8"), {"TERM": "xterm"})
    assert not may_draw(io.StringIO(), {"TERM": "xterm"})


def test_answers_are_drawn_only_when_asked_to() -> None:
    """Of `winter` and of `last`: the chart stands before the tables, all else is the same."""
    plan = made_plan()
    spring = [spring_of(plan)]
    for plain, drawn in (
        (
            told(winter_story(winter_facts(plan)), 100),
            told(winter_story(winter_facts(plan)), 100, drawn=True),
        ),
        (
            told(last_story(plan.farm, spring, (), ()), 100),
            told(last_story(plan.farm, spring, (), ()), 100, drawn=True),
        ),
    ):
        chart = chart_text(run_down_chart(each_lasting(plan_uses(plan))), 100)
        assert not BLOCKS & set(plain)
        assert drawn.replace(f"{chart}\n\n", "") == plain != drawn


def on_terminal(words: list[str], **environment: str) -> str:
    """What a command writes to a terminal of its own."""
    main, other = pty.openpty()
    settings = {
        "PATH": os.environ["PATH"],
        "PYTHONPATH": str(ROOT),
        "PYTHONUTF8": "1",
        "COLUMNS": "100",
        **environment,
    }
    running = subprocess.Popen(
        [sys.executable, "-m", "rationlp", *words], stdout=other, stderr=other, env=settings
    )
    os.close(other)
    found = b""
    with suppress(OSError):  # so a terminal ends once nobody writes to it any more
        while part := os.read(main, 65_536):
            found += part
    os.close(main)
    assert running.wait() == 0
    return found.decode("utf-8")


@pytest.mark.parametrize(("command", "environment"), [("winter", {}), ("last", {"NO_COLOR": "1"})])
def test_a_terminal_gets_a_line_a_store(command: str, environment: dict[str, str]) -> None:
    """In plain signs without colour, whether or not NO_COLOR is set."""
    text = on_terminal([command, FEW], TERM="xterm-256color", **environment)
    assert "Left of each store [t DM]" in text
    assert BLOCKS & set(text)
    assert "\x1b" not in text


def test_a_dumb_terminal_gets_none() -> None:
    """Nor a pipe, nor a file, nor CSV on a terminal."""
    assert not BLOCKS & set(on_terminal(["last", FEW], TERM="dumb"))
    assert not BLOCKS & set(on_terminal(["last", FEW, "--format", "csv"], TERM="xterm"))


def test_a_pipe_and_a_file_get_none(tmp_path: Path) -> None:
    """Even where the command itself runs on a terminal."""
    path = tmp_path / "last.txt"
    on_terminal(["last", FEW, "--output", str(path)], TERM="xterm")
    words = [sys.executable, "-m", "rationlp", "last", FEW]
    settings = {
        "PATH": os.environ["PATH"],
        "PYTHONPATH": str(ROOT),
        "PYTHONUTF8": "1",
        "TERM": "xterm",
    }
    piped = subprocess.run(words, capture_output=True, check=True, env=settings).stdout.decode(
        "utf-8"
    )
    assert "How long each store lasts" in piped
    assert not BLOCKS & set(piped + path.read_text(encoding="utf-8"))
