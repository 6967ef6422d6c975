"""A chart as data: two axes and the layers between them, drawn by every form of an answer that can.

A curve over days is one `Curve`; a run-down with its spread a `Band` below a `Curve`; a fan two
bands, the wider first, with `Marks`; a frontier a `Curve` with `Marks`; rations by period
`Columns`. `rationlp.report.draw.draw` makes SVG of any of them:

    chart = Chart(
        "What is left of First cut",
        "From 70 (63 to 77) t DM on 15 October to 0 (0 to 6) t DM on 10 April.",
        Axis(),
        Axis("t DM"),
        (
            Band("low to high stock", ((day, low, high), ...)),
            Curve("typical stock", ((day, t_dm), ...)),
            Marks("what has to be done", (Mark(day, t_dm, "buy by 4 January"), ...)),
        ),
    )
    svg = draw(chart, "left-of-first-cut")

Names of layers are for the legend (`legend(chart)`, swatches by `draw_swatch`), which stands as
text beside the drawing; a mark's words are drawn. No figure may stand in a drawing only: `says`
tells it.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from rationlp.records import dataclass

Place = float | date
"""Where along the chart: a number, or a day."""

PLAIN, SECOND, THIRD, BELOW, LEVEL = "plain", "second", "third", "below", "level"
"""Looks of a curve: solid; long dashes in ochre; dots; thin dashes (a bound); a level line."""
OUTER, INNER = "outer", "inner"
"""Looks of a band: the wider, paler; the narrower, darker."""


@dataclass(frozen=True)
class Axis:
    """One axis. title: with its unit; empty for days. low, high: its ends, None to take them from
    the data; the upright one begins at 0 unless `low` says otherwise."""

    title: str = ""
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Curve:
    """A line through points (place, value). look: PLAIN, SECOND, THIRD, BELOW or LEVEL."""

    name: str
    points: tuple[tuple[Place, float], ...]
    look: str = PLAIN


@dataclass(frozen=True)
class Band:
    """The room between a low and a high value: points (place, low, high). look: OUTER or INNER."""

    name: str
    points: tuple[tuple[Place, float, float], ...]
    look: str = OUTER


@dataclass(frozen=True)
class Column:
    """A stacked column from a place to another: heights from the bottom up, each with the name of
    its fill (`rationlp.report.winter_charts`)."""

    first: Place
    last: Place
    parts: tuple[tuple[float, str], ...]


@dataclass(frozen=True)
class Columns:
    """Stacked columns. names: what each fill stands for, for the legend."""

    columns: tuple[Column, ...]
    names: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Mark:
    """A circle at a place and value; its words, if any, stand above it."""

    at: Place
    value: float
    words: str = ""


@dataclass(frozen=True)
class Marks:
    """Circles on a chart. full: filled, else hollow."""

    name: str
    marks: tuple[Mark, ...]
    full: bool = False


Layer = Curve | Band | Columns | Marks


@dataclass(frozen=True)
class Chart:
    """A chart. title: what it shows; says: its figures in words, for those who do not see it;
    across, up: its axes; layers: drawn in this order, the first at the back."""

    title: str
    says: str
    across: Axis
    up: Axis
    layers: tuple[Layer, ...]

    @property
    def curves(self) -> tuple[Curve, ...]:
        """Its lines, without bands and marks."""
        return tuple(layer for layer in self.layers if isinstance(layer, Curve))


def legend(chart: Chart) -> Iterator[tuple[str, str]]:
    """What each layer means: (class of its swatch, name), in the order in which they are drawn."""
    for layer in chart.layers:
        if isinstance(layer, Columns):
            yield from layer.names
        elif layer.name:
            yield layer_class(layer), layer.name


def layer_class(layer: Curve | Band | Marks) -> str:
    """The class of a layer in the style sheet that all drawings share."""
    if isinstance(layer, Band):
        return f"band {layer.look}"
    if isinstance(layer, Marks):
        if layer.full:
            return "mark full"
        return "mark"
    if layer.look == LEVEL:
        return "level"
    return f"curve {layer.look}"


def places(chart: Chart) -> Iterator[Place]:
    """Every place along the chart that a layer names."""
    for layer in chart.layers:
        if isinstance(layer, Columns):
            for column in layer.columns:
                yield column.first
                yield column.last
        elif isinstance(layer, Marks):
            yield from (mark.at for mark in layer.marks)
        else:
            yield from (point[0] for point in layer.points)


def values(chart: Chart) -> Iterator[float]:
    """Every value that a layer reaches up or down to."""
    for layer in chart.layers:
        if isinstance(layer, Columns):
            yield from (sum(height for height, _ in column.parts) for column in layer.columns)
        elif isinstance(layer, Marks):
            yield from (mark.value for mark in layer.marks)
        elif isinstance(layer, Band):
            for _, low, high in layer.points:
                yield low
                yield high
        else:
            yield from (value for _, value in layer.points)
