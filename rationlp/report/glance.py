"""What a first page shows at a glance, as data: headline, stores, signposts, cards, warnings."""

from __future__ import annotations

from datetime import date

from rationlp.records import dataclass
from rationlp.report.chart import Chart


@dataclass(frozen=True)
class Glance:
    """What only a page shows: it is drawn, or laid out in boxes."""


@dataclass(frozen=True)
class Headline(Glance):
    """The answer: whose it is and of which days, what was asked, the answer in a sentence, more."""

    farm: str
    days: str
    question: str
    answer: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class StoreBar:
    """One store, or one crop, through the winter.

    rank: `sum` of several stores, `part` of a sum, or empty. opened: first day on which it is used;
    empty: the day on which it runs out, low and high for the low and the high stock; None for not
    within a year. short: whether it runs out before it should. verdict, rest: the answer in words,
    the first few of them bold; low_words: what the low stock changes.
    """

    name: str
    rank: str
    opened: date | None
    empty: date | None
    low: date | None
    high: date | None
    short: bool
    verdict: str
    rest: str
    low_words: str


@dataclass(frozen=True)
class StoreBars(Glance):
    """Bars of the stores on one axis of days. begins, turnout: of the winter."""

    begins: date
    turnout: date
    bars: tuple[StoreBar, ...]


@dataclass(frozen=True)
class Signpost:
    """What comes next: a title and sentences."""

    title: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Signposts(Glance):
    """Signposts side by side."""

    posts: tuple[Signpost, ...]


@dataclass(frozen=True)
class MixPart:
    """One feed of a ration: its name, its amount in words, its share of the fresh weight [-], its
    fill."""

    name: str
    amount: str
    share: float
    fill: str


@dataclass(frozen=True)
class GroupCard:
    """What one group gets: parts, most first; sums: titles and figures below; sentence: what is
    short, or changes; warns: whether the sentence is a warning."""

    name: str
    stage: str
    parts: tuple[MixPart, ...]
    sums: tuple[tuple[str, str], ...]
    sentence: str
    warns: bool


@dataclass(frozen=True)
class Cards(Glance):
    """A card a group. on: the days that they hold for, in words."""

    title: str
    on: str
    cards: tuple[GroupCard, ...]


@dataclass(frozen=True)
class GraveLine:
    """A caution at a glance: its title, the one action, whether it is new."""

    title: str
    action: str
    new: bool


@dataclass(frozen=True)
class Warnings(Glance):
    """Cautions at a glance. grave: that can kill or maim, each with its action; others: titles of
    those that are new; defer: the line below."""

    grave: tuple[GraveLine, ...]
    others: tuple[str, ...]
    defer: str


@dataclass(frozen=True)
class Step:
    """A place of a slider: its figure in words, names and figures, what is remarked there, and
    where it stands along the chart."""

    at: float
    value: float
    words: str
    rows: tuple[tuple[str, str], ...]
    remark: str


@dataclass(frozen=True)
class Slider(Glance):
    """A chart along which a slider moves. label: of the slider; begins: number of the step that it
    shows first."""

    chart: Chart
    label: str
    steps: tuple[Step, ...]
    begins: int
