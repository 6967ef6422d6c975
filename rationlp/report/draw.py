"""Drawings as SVG: any chart, the swatch of a legend, the bars of the stores.

A drawing takes the width that it is given: places along it are per cent of the width, heights are
pixels, so that text keeps its size on a phone and on paper. Fills and lines are classes of
page/common.css. The same figures give the same bytes.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from html import escape
from itertools import pairwise
from math import ceil, floor, log10

from rationlp.records import dataclass
from rationlp.report.chart import (
    Band,
    Chart,
    Columns,
    Curve,
    Layer,
    Marks,
    Place,
    layer_class,
    places,
    values,
)
from rationlp.report.glance import StoreBar, StoreBars

HIGH = 230
"""Height of a chart [px]."""
_TOP, _BOTTOM, _TITLE = 26, 24, 18
_TICKS = 5
_UNITS = 1000
_STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)
_LEAST_DAYS = 10
"""A month of which fewer days are seen has no name below the chart."""
_RIGHT = 98.0


@dataclass(frozen=True)
class Frame:
    """Where things stand in a chart. low, high: ends of the value axis; first, last: ends along
    it; left: where the plot begins [% of the width]; days: whether places are days."""

    first: float
    last: float
    low: float
    high: float
    left: float
    days: bool

    def x(self, place: Place) -> float:
        """How far along [% of the width]."""
        return self.left + (_RIGHT - self.left) * self._share(place)

    def y(self, value: float) -> float:
        """How far down [px]."""
        share = (value - self.low) / (self.high - self.low)
        return HIGH - _BOTTOM - (HIGH - _BOTTOM - _TOP) * share

    def within(self, place: Place) -> float:
        """How far along within the plot [thousandths of it]."""
        return _UNITS * self._share(place)

    def _share(self, place: Place) -> float:
        return (_number(place) - self.first) / (self.last - self.first)


def draw(chart: Chart, key: str) -> str:
    """A chart as SVG. key: unique in the page, of letters, digits and hyphens."""
    frame = frame_of(chart)
    parts = [*_upright_axis(chart, frame), *_axis_below(chart, frame)]
    for layer in chart.layers:
        parts += _layer(layer, frame)
    high = HIGH
    if chart.across.title:
        high += _TITLE
    return (
        f'<svg class="chart" role="img" height="{high}"'
        f' aria-labelledby="{key}-title {key}-says"><title id="{key}-title">'
        f'{escape(chart.title)}</title><desc id="{key}-says">{escape(chart.says)}</desc>'
        f"{''.join(parts)}</svg>"
    )


def draw_swatch(looks: str) -> str:
    """A sample for a legend; it says nothing that the words beside it do not. looks: classes."""
    if looks.startswith("mark"):
        shape = f'<circle class="{looks}" cx="15" cy="8" r="4.5"/>'
    elif looks.startswith(("curve", "level")):
        shape = f'<path class="{looks}" d="M1 8H29"/>'
    else:
        shape = f'<rect class="{looks}" x="0.5" y="0.5" width="29" height="15"/>'
    return f'<svg class="swatch" aria-hidden="true">{shape}</svg>'


def frame_of(chart: Chart) -> Frame:
    """The frame of a chart: its axes rounded outwards to whole steps."""
    along = list(places(chart))
    first, last = min(map(_number, along)), max(map(_number, along))
    if chart.across.low is not None:
        first = chart.across.low
    if chart.across.high is not None:
        last = chart.across.high
    low = min(chart.up.low or 0.0, *values(chart))
    high = chart.up.high
    if high is None:
        high = max(*values(chart), low + 0.001)
    step = _step(high - low)
    low, high = floor(low / step + 1e-9) * step, ceil(high / step - 1e-9) * step
    widest = max(len(_tick_words(tick, step)) for tick in _ticks(low, high, step))
    days = isinstance(along[0], date)
    return Frame(first, max(last, first + 1e-9), low, high, 3.0 + 1.6 * widest, days)


def _number(place: Place) -> float:
    if isinstance(place, date):
        return float(place.toordinal())
    return place


def _step(room: float) -> float:
    """The round step that makes about five ticks of a range."""
    size = 10.0 ** floor(log10(room / _TICKS))
    return next(size * step for step in _STEPS if room / (size * step) <= _TICKS + 1e-9)


def _ticks(low: float, high: float, step: float) -> list[float]:
    return [low + step * number for number in range(round((high - low) / step) + 1)]


def _tick_words(tick: float, step: float) -> str:
    decimals = max(0, -floor(log10(step) + 1e-9))
    if abs(step * 10.0**decimals % 1.0 - 0.5) < 1e-6:
        decimals += 1
    return f"{tick:,.{decimals}f}"


def _upright_axis(chart: Chart, frame: Frame) -> Iterator[str]:
    step = _step(frame.high - frame.low)
    yield f'<text x="0" y="13">{escape(chart.up.title)}</text>'
    for tick in _ticks(frame.low, frame.high, step):
        y = _figure(frame.y(tick))
        yield (
            f'<line class="gridl" x1="{_figure(frame.left)}%" x2="{_RIGHT}%" y1="{y}" y2="{y}"/>'
            f'<text class="tick" x="{_figure(frame.left - 1.0)}%" y="{_figure(frame.y(tick) + 4)}">'
            f"{_tick_words(tick, step)}</text>"
        )


def _axis_below(chart: Chart, frame: Frame) -> Iterator[str]:
    if frame.days:
        yield from _months(frame)
        return
    step = _step(frame.last - frame.first)
    start = ceil(frame.first / step - 1e-9) * step
    end = floor(frame.last / step + 1e-9) * step
    for tick in _ticks(start, end, step):
        yield _below(frame.x(tick), _tick_words(tick, step))
    if chart.across.title:
        title = escape(chart.across.title)
        yield f'<text class="across" x="{_RIGHT}%" y="{HIGH + _TITLE - 4}">{title}</text>'


def _months(frame: Frame) -> Iterator[str]:
    """A line at the first of each month, its name in the middle of what is seen of it."""
    first, last = date.fromordinal(int(frame.first)), date.fromordinal(int(frame.last))
    starts = [day for day in _month_starts(first, last) if day > first]
    for start in starts:
        x = _figure(frame.x(start))
        yield f'<line class="gridl" x1="{x}%" x2="{x}%" y1="{_TOP}" y2="{HIGH - _BOTTOM}"/>'
    for start, end in pairwise([first, *starts, last]):
        if (end - start).days >= _LEAST_DAYS:
            yield _below((frame.x(start) + frame.x(end)) / 2.0, f"{start:%b}")


def _month_starts(first: date, last: date) -> Iterator[date]:
    day = first.replace(day=1)
    while day < last:
        yield day
        day = (day + timedelta(days=32)).replace(day=1)


def _below(x: float, text: str) -> str:
    return f'<text class="below" x="{_figure(x)}%" y="{HIGH - 6}">{text}</text>'


def _layer(layer: Layer, frame: Frame) -> Iterator[str]:
    if isinstance(layer, Columns):
        yield from _columns(layer, frame)
    elif isinstance(layer, Marks):
        yield from _marks(layer, frame)
    else:
        yield _stretched(f'<path class="{layer_class(layer)}" d="{_points(layer, frame)}"/>', frame)


def _stretched(path: str, frame: Frame) -> str:
    """A path that is as wide as the plot, whatever the width; its lines keep their weight."""
    return (
        f'<svg class="plot" x="{_figure(frame.left)}%" y="0"'
        f' width="{_figure(_RIGHT - frame.left)}%" height="{HIGH}"'
        f' viewBox="0 0 {_UNITS} {HIGH}" preserveAspectRatio="none">{path}</svg>'
    )


def _points(layer: Curve | Band, frame: Frame) -> str:
    if isinstance(layer, Curve):
        return "M" + "L".join(_point(frame, place, value) for place, value in layer.points)
    above = [_point(frame, place, high) for place, _, high in layer.points]
    below = [_point(frame, place, low) for place, low, _ in reversed(layer.points)]
    return "M" + "L".join([*above, *below]) + "z"


def _point(frame: Frame, place: Place, value: float) -> str:
    return f"{_figure(frame.within(place))} {_figure(frame.y(value))}"


def _columns(layer: Columns, frame: Frame) -> Iterator[str]:
    for column in layer.columns:
        bottom, x = 0.0, frame.x(column.first)
        for height, fill in column.parts:
            top = frame.y(bottom + height)
            yield (
                f'<rect class="seg {fill}" x="{_figure(x)}%" y="{_figure(top)}"'
                f' width="{_figure(frame.x(column.last) - x)}%"'
                f' height="{_figure(frame.y(bottom) - top)}"/>'
            )
            bottom += height


def _marks(layer: Marks, frame: Frame) -> Iterator[str]:
    for mark in layer.marks:
        x, y = frame.x(mark.at), frame.y(mark.value)
        looks = layer_class(layer)
        yield f'<circle class="{looks}" cx="{_figure(x)}%" cy="{_figure(y)}" r="4.5"/>'
        if mark.words:
            yield (
                f'<text x="{_figure(x)}%" y="{_figure(y - 9)}" text-anchor="{_anchor(x)}">'
                f"{escape(mark.words)}</text>"
            )


def _anchor(x: float) -> str:
    """Where the words of a mark begin, so that they stay inside the drawing [x in %]."""
    if x > 75.0:
        return "end"
    if x < 25.0:
        return "start"
    return "middle"


def _figure(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


BEYOND_TURNOUT = 1.16
"""How far the bars of the stores go on after turnout, as a multiple of the winter [-]."""
_BAR_TOP, _BAR_THICK, _BAR_END = 30, 40, 70
"""Where a bar stands in its row [% of the height]."""


@dataclass(frozen=True)
class _Ruler:
    """The one axis of days of all bars of stores."""

    begins: date
    days: float

    def at(self, day: date | None) -> float:
        """How far along [% of the width]; a day that is not known, or later, stands at the end."""
        if day is None:
            return 100.0
        share = (day - self.begins).days / self.days
        return 100.0 * min(max(share, 0.0), 1.0)


def _ruler(bars: StoreBars) -> _Ruler:
    return _Ruler(bars.begins, BEYOND_TURNOUT * (bars.turnout - bars.begins).days)


def draw_winter_axis(bars: StoreBars) -> str:
    """The months above the bars of the stores."""
    ruler = _ruler(bars)
    end = bars.begins + timedelta(days=int(ruler.days))
    starts = [day for day in _month_starts(bars.begins, end) if day > bars.begins]
    parts = []
    for start, after in pairwise([bars.begins, *starts, end]):
        if (after - start).days >= _LEAST_DAYS:
            x = _figure(ruler.at(start))
            parts.append(f'<text x="{x}%" dx="3" y="14">{start:%b}</text>')
    parts += (
        f'<line class="dayl" x1="{x}%" x2="{x}%" y1="4" y2="18"/>'
        for x in (_figure(ruler.at(start)) for start in starts)
    )
    return f'<svg class="axis" aria-hidden="true">{"".join(parts)}</svg>'


def draw_store_bar(bars: StoreBars, bar: StoreBar) -> str:
    """One store through the winter: solid while it is fed, fading from the low to the high stock,
    dots for what is left after turnout, hatched where it lacks, a pin at turnout.
    """
    ruler = _ruler(bars)
    need, opened = ruler.at(bars.turnout), ruler.at(bar.opened)
    low, empty = ruler.at(bar.low), ruler.at(bar.empty)
    # Where the high stock would never be used up, the soft edge is as wide above as below.
    high = min(ruler.at(bar.high), 2.0 * empty - low)
    end = bars.begins + timedelta(days=int(ruler.days))
    parts = [
        f'<line class="gridl" x1="{x}%" x2="{x}%" y1="0" y2="100%"/>'
        for x in (
            _figure(ruler.at(day)) for day in _month_starts(bars.begins, end) if day > bars.begins
        )
    ]
    if bar.short:
        parts += _bar_part("lack", empty, need)
    if bar.opened is not None:
        parts += _bar_part("solid", opened, min(low, need))
        parts += _bar_part("fade", max(opened, min(low, need)), min(high, need))
        parts += _bar_part("left", max(need, opened), empty)
        parts += _edge(empty)
    parts += (
        f'<line class="needl" x1="{_figure(need)}%" x2="{_figure(need)}%" y1="18%" y2="82%"/>',
        f'<circle class="needc" cx="{_figure(need)}%" cy="16%" r="3"/>',
    )
    return f'<svg class="bar" aria-hidden="true">{"".join(parts)}</svg>'


def _bar_part(looks: str, begins: float, ends: float) -> Iterator[str]:
    if ends - begins > 0.05:
        yield (
            f'<rect class="{looks}" x="{_figure(begins)}%" y="{_BAR_TOP}%"'
            f' width="{_figure(ends - begins)}%" height="{_BAR_THICK}%"/>'
        )


def _edge(empty: float) -> Iterator[str]:
    """Where a store ends, or a sign that it goes on."""
    if empty >= 100.0:
        yield '<text x="100%" dx="4" y="60%">›</text>'
    else:
        x = _figure(empty)
        yield f'<line class="endl" x1="{x}%" x2="{x}%" y1="{_BAR_TOP}%" y2="{_BAR_END}%"/>'
