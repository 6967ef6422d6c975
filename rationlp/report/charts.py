"""Charts of the page as SVG: lines and stacked bars over the days of a winter, a curve, and samples
for the legends.

No text of the farm is drawn into a chart: names stand in the page beside it, where they are escaped
and wrapped like all text. A chart holds numbers, months and our own words only. What tells things
apart is fill and hatching, or line and dashes, so that it holds without colour vision and in grey
print. The same figures give the same bytes.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date, timedelta
from html import escape
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from rationlp.errors import Finding, InputError
from rationlp.records import dataclass
from rationlp.report.html import INSTALL

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

INK = "#222222"
_FILLS = ("#f4d58d", "#8cc3ea", "#fdfbe4", "#e8956a", "#a5d6b7", "#cfa3c9", "#c9c9c9", "#6f9fc8")
_HATCHES = ("", "////", "\\\\\\\\", "|||", "---", "xxx", "+++")
_SETTINGS: dict[Any, Any] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "rationlp",
    "font.family": "sans-serif",
    "font.size": 9.0,
    "text.parse_math": False,
    "hatch.linewidth": 0.6,
    "hatch.color": INK,
    "axes.linewidth": 0.7,
    "axes.edgecolor": INK,
    "axes.labelcolor": INK,
    "text.color": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "path.simplify": False,
}
_WIDE, _HIGH = 4.7, 2.3
_NO_METADATA = {"Creator": None, "Date": None, "Format": None, "Type": None}
_SAMPLE = 0.3


@dataclass(frozen=True)
class Alt:
    """What a chart says in words, for those who do not see it. key: unique in the page, of letters,
    digits and hyphens.
    """

    key: str
    title: str
    said: str


@dataclass(frozen=True)
class Style:
    """How one feed is drawn: fill and hatching."""

    fill: str
    hatch: str


@dataclass(frozen=True)
class Bar:
    """A stacked bar from a day to another: heights from the bottom up, each with its style."""

    first: date
    last: date
    parts: tuple[tuple[float, Style], ...]


@dataclass(frozen=True)
class RunDown:
    """What is left of a store by day [t DM]: low, typical, high; what must be left in the end."""

    days: tuple[date, ...]
    low: tuple[float, ...]
    typical: tuple[float, ...]
    high: tuple[float, ...]
    reserve: float


def styles(number: int) -> tuple[Style, ...]:
    """So many styles; no two of the first 56 are alike in both fill and hatching."""
    return tuple(Style(_FILLS[n % len(_FILLS)], _HATCHES[n % len(_HATCHES)]) for n in range(number))


def run_down_svg(run: RunDown, alt: Alt) -> str:
    """A store through the winter: a band from the low to the high stock, the typical one as a line,
    the reserve dashed.
    """
    with _chart() as (figure, axes):
        days = [day.toordinal() for day in run.days]
        axes.fill_between(
            days, run.low, run.high, facecolor="#d4dde6", edgecolor="#8a97a5", linewidth=0.6
        )
        axes.plot(days, run.typical, color="#0b3d66", linewidth=2.0)
        if run.reserve > 0.0:
            axes.axhline(run.reserve, color=INK, linewidth=1.2, linestyle=(0, (5, 3)))
        _days_below(axes, run.days[0], run.days[-1])
        axes.set_ylim(0.0, 1.05 * max(*run.high, run.reserve, 1e-3))
        axes.set_ylabel("t DM left")
        return _svg(figure, alt)


def bars_svg(bars: Sequence[Bar], span: tuple[date, date], alt: Alt) -> str:
    """Rations over the periods, stacked: kg DM a head a day. span: first and last day of the
    axis.
    """
    with _chart() as (figure, axes):
        most = 1e-3
        for bar in bars:
            bottom, days = 0.0, (bar.last - bar.first).days
            for height, style in bar.parts:
                axes.bar(
                    bar.first.toordinal(),
                    height,
                    width=days,
                    bottom=bottom,
                    align="edge",
                    facecolor=style.fill,
                    hatch=style.hatch,
                    edgecolor=INK,
                    linewidth=0.6,
                )
                bottom += height
            most = max(most, bottom)
        _days_below(axes, *span)
        axes.set_ylim(0.0, 1.05 * most)
        axes.set_ylabel("kg DM a head a day")
        return _svg(figure, alt)


def sample_svg(style: Style) -> str:
    """A sample of a style for a legend; it says nothing that the words beside it do not. Its ids
    begin with `sample-`.
    """
    with _settings():
        from matplotlib.figure import Figure
        from matplotlib.patches import Rectangle

        figure = Figure(figsize=(1.6 * _SAMPLE, _SAMPLE), dpi=72)
        patch = Rectangle((0.02, 0.03), 0.96, 0.94, transform=figure.transFigure, linewidth=0.6)
        patch.set(facecolor=style.fill, edgecolor=INK, hatch=style.hatch)
        figure.add_artist(patch)
        found = f"sample-{style.fill[1:]}-{_HATCHES.index(style.hatch)}"
        return _inner(figure, found).replace("<svg ", '<svg class="sample" aria-hidden="true" ', 1)


@contextmanager
def _settings() -> Iterator[None]:
    """Matplotlib as we want it, whatever its own files say. Raises InputError (IN610) where it is
    not installed.
    """
    try:
        from matplotlib import rc_context, rcdefaults, rcParams
    except ImportError as missing:
        raise InputError(
            [Finding("IN610", "page", "matplotlib is not installed", INSTALL)]
        ) from missing
    with rc_context():
        rcdefaults()
        rcParams.update(_SETTINGS)
        yield


@contextmanager
def _chart() -> Iterator[tuple[Figure, Axes]]:
    with _settings():
        from matplotlib.figure import Figure

        figure = Figure(figsize=(_WIDE, _HIGH), dpi=72)
        axes = figure.add_axes((0.125, 0.12, 0.86, 0.84))
        axes.spines[["top", "right"]].set_visible(False)
        axes.grid(axis="y", color="#cccccc", linewidth=0.5)
        axes.set_axisbelow(True)
        yield figure, axes


def _days_below(axes: Axes, first: date, last: date) -> None:
    """Months below a chart: a mark at the first of each, its name in the middle of what is seen of
    it.
    """
    starts = list(_months(first, last))
    marks = [day.toordinal() for day in starts if day > first]
    axes.set_xticks(marks, [""] * len(marks))
    edges = [first, *(day for day in starts if day > first), last]
    middles = [(a.toordinal() + b.toordinal()) / 2.0 for a, b in pairwise(edges)]
    names = [day.strftime("%b") if (b - day).days >= 10 else "" for day, b in pairwise(edges)]
    axes.set_xticks(middles, names, minor=True)
    axes.tick_params(axis="x", which="minor", length=0)
    axes.set_xlim(first.toordinal(), last.toordinal())


def _months(first: date, last: date) -> Iterator[date]:
    day = first.replace(day=1)
    while day < last:
        yield day
        day = (day + timedelta(days=32)).replace(day=1)


def _svg(figure: Figure, alt: Alt) -> str:
    words = (
        f'<title id="{alt.key}-title">{escape(alt.title)}</title><desc'
        f' id="{alt.key}-desc">{escape(alt.said)}</desc>'
    )
    said = f'<svg class="chart" role="img" aria-labelledby="{alt.key}-title {alt.key}-desc" '
    head, _, rest = _inner(figure, alt.key).partition(">")
    return f"{head.replace('<svg ', said, 1)}>{words}{rest}"


_SIZES = re.compile(r' (?:width|height|version)="[^"]*"')
_IDS = re.compile(r' id="([^"]*)"')
_USES = re.compile(r'(url\(#|xlink:href="#)([^")]*)')
_LEFT_OUT = re.compile(r"<!--.*?-->\s*|<defs>\s*<style.*?</style>\s*</defs>\s*", re.S)


def _inner(figure: Figure, key: str) -> str:
    """The SVG of a figure without what only a file needs. Ids that are used begin with the chart's
    key, so that none meets another's; the others go.
    """
    buffer = io.StringIO()
    figure.savefig(buffer, format="svg", metadata=_NO_METADATA)
    text = buffer.getvalue()
    text = _LEFT_OUT.sub("", text[text.index("<svg") :].strip())
    used = {found.group(2) for found in _USES.finditer(text)}
    text = _IDS.sub(
        lambda found: f' id="{key}-{found.group(1)}"' if found.group(1) in used else "", text
    )
    head, _, rest = _USES.sub(
        lambda found: f"{found.group(1)}{key}-{found.group(2)}", text
    ).partition(">")
    return f"{_SIZES.sub('', head)}>{rest}"


def spread_words(values: Iterable[float], decimals: int = 1) -> str:
    """Least to most of some figures, as one when they print alike."""
    shown = [f"{value:.{decimals}f}" for value in values]
    low, high = min(shown, key=float), max(shown, key=float)
    return low if low == high else f"{low} to {high}"


@dataclass(frozen=True)
class CurvePoint:
    """A point of a curve: place, value, what is proved to lie below it, whether the curve turns
    there.
    """

    at: float
    value: float
    lower: float
    turn: bool


def curve_svg(
    points: Sequence[CurvePoint], labels: tuple[str, str], alt: Alt
) -> tuple[str, tuple[tuple[float, float], ...]]:
    """A curve with what is proved to lie below it, dashed, and a mark at each place where it turns.

    labels: of the two axes, in our own words. Also gives where each point stands in the chart's own
    coordinates, for a script.
    """
    with _chart() as (figure, axes):
        axes.set_position((0.125, 0.2, 0.84, 0.76))
        at = [point.at for point in points]
        axes.plot(at, [point.value for point in points], color="#0b3d66", linewidth=1.8)
        axes.plot(
            at, [point.lower for point in points], color=INK, linewidth=0.9, linestyle=(0, (4, 3))
        )
        turns = [point for point in points if point.turn]
        marks = [point.value for point in turns]
        axes.plot(
            [point.at for point in turns],
            marks,
            "o",
            color="#ffffff",
            markeredgecolor=INK,
            markersize=4.0,
        )
        axes.set_xlim(0.0, 100.0)
        axes.set_xlabel(labels[0])
        axes.set_ylabel(labels[1])
        high = figure.get_figheight() * 72.0
        drawn = axes.transData.transform([(point.at, point.value) for point in points])
        places = tuple((float(x), high - float(y)) for x, y in drawn)
        return _svg(figure, alt), places
