"""Charts of block signs for a terminal: a line that runs down from its first day. No colour."""

from __future__ import annotations

import codecs
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from datetime import date
from typing import TextIO

from rationlp.records import dataclass
from rationlp.report.chart import Chart, Curve
from rationlp.report.tables.table import shown
from rationlp.report.wording import day_words

_SIGNS = " ▁▂▃▄▅▆▇█"
_MOST_SIGNS = 60
_LEAST_SIGNS = 8
_LEAST_NAME = 10


@dataclass(frozen=True)
class _Line:
    """A curve over days, its days and values apart."""

    name: str
    days: tuple[date, ...]
    values: tuple[float, ...]


def _over_days(curve: Curve) -> _Line:
    days = tuple(place for place, _ in curve.points if isinstance(place, date))
    return _Line(curve.name, days, tuple(value for _, value in curve.points))


def may_draw(stream: TextIO, environment: Mapping[str, str]) -> bool:
    """Whether block signs may be written: only to a terminal of UTF-8 that is no dumb one."""
    if not stream.isatty() or environment.get("TERM", "").lower() == "dumb":
        return False
    try:
        return codecs.lookup(stream.encoding or "ascii").name == "utf-8"
    except LookupError:
        return False


def chart_text(chart: Chart, width: int) -> str:
    """A heading and a line for each curve over days of at most `width` columns: name, the first
    value, the way down, the last value.

    Each is scaled to its own first value, in eighths; the lowest sign stands for as little as is
    left. Empty without lines.
    """
    if not chart.curves:
        return ""
    drawn = [_over_days(curve) for curve in chart.curves]
    firsts = [shown(line.values[0], 1) for line in drawn]
    lasts = [shown(line.values[-1], 1) for line in drawn]
    wide = (max(map(len, firsts)), max(map(len, lasts)))
    room = width - sum(wide) - 3
    longest = max(len(line.name) for line in drawn)
    name = min(longest, max(_LEAST_NAME, room - _MOST_SIGNS, room // 2))
    begin, end = drawn[0].days[0], drawn[0].days[-1]
    signs = max(_LEAST_SIGNS, min(room - name, _MOST_SIGNS, (end - begin).days + 1))
    lines = [f"{chart.title}, {day_words(begin)} to {day_words(end)}"]
    for line, first, last in zip(drawn, firsts, lasts, strict=True):
        start = f"{_cut(line.name, name):<{name}} {first:>{wide[0]}}"
        lines.append(f"{start} {_signs(line, signs)} {last:>{wide[1]}}")
    return "\n".join(lines)


def _cut(name: str, width: int) -> str:
    if len(name) <= width:
        return name
    return f"{name[: width - 1]}…"


def _signs(line: _Line, number: int) -> str:
    """The way down in so many signs: the values on days evenly apart, first and last among them."""
    days = [day.toordinal() for day in line.days]
    whole = line.values[0]
    if whole <= 0.0:
        return " " * number
    apart = (days[-1] - days[0]) / (number - 1)
    return "".join(_sign(_value_on(line, days, days[0] + n * apart) / whole) for n in range(number))


def _value_on(line: _Line, days: Sequence[int], day: float) -> float:
    """The value on a day, in a straight line between the days known."""
    after = min(max(bisect_right(days, day), 1), len(days) - 1)
    share = (day - days[after - 1]) / (days[after] - days[after - 1])
    before, then = line.values[after - 1], line.values[after]
    return before + min(max(share, 0.0), 1.0) * (then - before)


def _sign(share: float) -> str:
    """The sign for a share of the first value: a full block from 15/16 on, blank for nothing."""
    if share > 0.0:
        return _SIGNS[max(round(8.0 * share), 1)]
    return _SIGNS[0]
