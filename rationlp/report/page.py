"""A story as a page: one HTML file that needs nothing else, for screen, phone and A4. What has no
place stands on its first page, the rest in folds; it knows no farm, only the kinds of contents.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from rationlp import __version__
from rationlp.records import dataclass
from rationlp.report.chart import Chart, legend
from rationlp.report.draw import draw, draw_store_bar, draw_swatch, draw_winter_axis, frame_of
from rationlp.report.glance import Cards, Headline, Signposts, Slider, StoreBars, Warnings
from rationlp.report.html import filled
from rationlp.report.story import PAGE, Cautions, Content, Rule, Story, Words
from rationlp.report.tables.table import Table
from rationlp.report.terminal import CLOSING_LINE
from rationlp.report.wording import Winter, unbroken, with_day_words

SHARED = Path(__file__).parents[1] / "page"
_KINDS: dict[type, str] = {
    Table: "table",
    Words: "words",
    Chart: "chart",
    Cautions: "cautions",
    Rule: "rule",
    Headline: "headline",
    StoreBars: "stores",
    Signposts: "signposts",
    Cards: "cards",
    Warnings: "warnings",
    Slider: "slider",
}
WIDE, VAST = 4, 7
"""From so many columns on a phone, or a small window, shows a table a card a row."""
MOST_ACROSS = 4
"""Cards side by side."""


@dataclass(frozen=True)
class Block:
    """One content as the template takes it. kind: which block of it; key: unique in the page."""

    kind: str
    key: str
    content: Any


@dataclass(frozen=True)
class Fold:
    """A folded part of the page: its heading, a key unique in the page, its contents."""

    title: str
    key: str
    blocks: tuple[Block, ...]


def story_page(story: Story) -> str:
    """A story as an HTML page. Raises InputError (IN610) where jinja2 is missing."""
    blocks: dict[str, list[Block]] = {"": []}
    for number, part in enumerate(story.parts):
        if PAGE in part.media and part.shown != "brief":
            block = Block(_kind(part.content), f"part-{number}", part.content)
            blocks.setdefault(part.place, []).append(block)
    first = tuple(blocks.pop(""))
    headlines = [block.content for block in first if block.kind == "headline"]
    title = story.kind
    if headlines:
        title = f"{headlines[0].farm}, {headlines[0].days}"
    facts = {
        "title": title,
        "version": __version__,
        "first": first,
        "folds": tuple(
            Fold(place, f"fold-{number}", tuple(inside))
            for number, (place, inside) in enumerate(blocks.items())
        ),
        "closing": CLOSING_LINE,
        "shared_css": (SHARED / "common.css").read_text(encoding="utf-8"),
        "fills": (SHARED / "fills.svg").read_text(encoding="utf-8"),
        "wide": WIDE,
        "vast": VAST,
        "columns": _columns,
        **_drawings(story.days),
    }
    return filled("page.html.j2", facts, "page")


def _kind(content: Content) -> str:
    return _KINDS[type(content)]


def _drawings(winter: Winter | None) -> dict[str, Any]:
    """What the template calls to draw and to write days as people do; drawings are markup already,
    and every text in them is escaped."""
    return {
        "draw": draw,
        "swatch": draw_swatch,
        "legend": lambda chart: tuple(legend(chart)),
        "store_bar": draw_store_bar,
        "winter_axis": draw_winter_axis,
        "steps": lambda slider: list(slider_steps(slider)),
        "words": lambda text: unbroken(with_day_words(text, winter)),
        "mixes": _mixes,
    }


def _columns(cards: int) -> int:
    """How many cards stand side by side, so that the last row is filled as well as it can be."""
    rows = -(-cards // MOST_ACROSS)
    return max(2, -(-cards // max(rows, 1)))


def _mixes(cards: Cards, high: int = 28) -> Iterator[tuple[Any, tuple[tuple[float, ...], ...]]]:
    """Each card with where the parts of its mix stand: for each its top, its height, its middle and
    the middle of its line of text, in a drawing `high` a line."""
    for card in cards.cards:
        yield card, tuple(_segments([part.share for part in card.parts], high))


def _segments(shares: list[float], high: int) -> Iterator[tuple[float, ...]]:
    if not shares:
        return
    room = len(shares) * high - 4.0
    heights = [max(4.0, share * room) for share in shares]
    scale = room / sum(heights)
    top = 2.0
    for number, height in enumerate(heights):
        tall = height * scale
        yield round(top, 1), round(tall, 1), round(top + tall / 2, 1), number * high + high / 2
        top += tall


def slider_steps(slider: Slider) -> Iterator[dict[str, Any]]:
    """The places of a slider as the page's script reads them: x in per cent, y in pixels."""
    frame = frame_of(slider.chart)
    for step in slider.steps:
        yield {
            "x": round(frame.x(step.at), 2),
            "y": round(frame.y(step.value), 2),
            "words": step.words,
            "rows": step.rows,
            "remark": step.remark,
        }
