"""What the page of a winter is made of, as plain data: cards, stores, groups, cautions, switches,
reasons.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import Any

from rationlp.farm.store import StoreStock
from rationlp.records import dataclass
from rationlp.report.tables.table import Table


@dataclass(frozen=True)
class Card:
    """A part of the answer: its title, a figure in large letters or "", sentences."""

    title: str
    large: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class SaidCaution:
    """A caution on the page: title, whom and what it is about with what was found, when it warns,
    what it says, source.

    action: the one thing to do, or empty. grave: it can kill or maim.
    """

    title: str
    about: tuple[str, ...]
    when: str
    says: str
    source: str
    action: str = ""
    grave: bool = False


@dataclass(frozen=True)
class StorePart:
    """A store on the page: name, how long it lasts in a sentence, its chart (SVG)."""

    name: str
    said: str
    chart: str


@dataclass(frozen=True)
class Legend:
    """One feed of a chart: its sample (SVG), its name, how much of it is eaten."""

    sample: str
    name: str
    amount: str


@dataclass(frozen=True)
class GroupPart:
    """A group, or part of one, on the page: its chart (SVG), what the fillings mean, what to feed,
    supply against need.
    """

    name: str
    head: str
    chart: str
    legend: tuple[Legend, ...]
    feeding: Table
    supply: Table


@dataclass(frozen=True)
class SwitchPart:
    """A switch in one group: name, headline, sentences, chart (SVG), table, what the slider is
    called, its points and where it begins. points: a dictionary a point, as the page's script reads
    it.
    """

    name: str
    headline: str
    words: tuple[str, ...]
    chart: str
    table: Table
    label: str
    points: tuple[dict[str, Any], ...]
    at: int


@dataclass(frozen=True)
class WhyPart:
    """The reasons of one group: name, sentences, how far each feed could move."""

    name: str
    lines: tuple[str, ...]
    ranges: Table


@dataclass(frozen=True)
class Besides:
    """What a page shows besides the plan, where it is at hand.

    stocks: what is in each store, for how it was worked out. switches: from one forage to another,
    a group a part. reasons: of each group by itself on the day `reasons_on`.
    """

    stocks: Mapping[str, StoreStock] = field(default_factory=dict)
    switches: tuple[SwitchPart, ...] = ()
    reasons: tuple[WhyPart, ...] = ()
    reasons_on: str = ""
