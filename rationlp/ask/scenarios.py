"""Scenarios: typed, in a scenario file, or ready made, as lists of changes with names."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Sequence
from decimal import Decimal
from itertools import product
from math import prod
from pathlib import Path
from typing import Any

from rationlp.csvfile import read_text
from rationlp.errors import Finding, InputError, nearest_or, refused
from rationlp.farm.feed import Feed
from rationlp.farm.feed_table import is_silage
from rationlp.read.changed import Begun, Change, parse_change, stated_text
from rationlp.records import dataclass

MOST_SCENARIOS = 40
"""More than this are only solved when they are asked for by `--many`; our own choice."""
MOST_AT_ALL = 100_000
_RANGE = re.compile(r"^([^:]*):([^:]*):([^:]*)$")
_NUMBER = re.compile(r"^[+-]?\d+(?:\.\d+)?(%?)$")


@dataclass(frozen=True)
class Scenario:
    """A name and its changes. ready: made here, so one that this farm cannot hold is a row."""

    name: str
    changes: tuple[Change, ...]
    ready: bool = False


@dataclass(frozen=True)
class _Span:
    """A range: from, to and step as typed, and the sign after each figure (% or nothing)."""

    first: Decimal
    last: Decimal
    step: Decimal
    mark: str

    @property
    def count(self) -> int:
        return int((self.last - self.first) / self.step) + 1

    def texts(self) -> list[str]:
        return [f"{self.first + self.step * number:f}{self.mark}" for number in range(self.count)]


def typed_scenarios(texts: Sequence[str], many: bool = False) -> tuple[Scenario, ...]:
    """One scenario of all changes typed, or one for every combination where some of them are ranges
    (`path=from:to:step`).

    Raises InputError for what is no change, for empty ranges (IN533) and for more scenarios than
    `MOST_SCENARIOS` without `many` (IN534), with how many they would be.
    """
    if not texts:
        return ()
    changes, findings = _parsed(texts)
    spans: list[_Span | None] = []
    for change in changes:
        try:
            spans.append(_span(change))
        except InputError as trouble:
            findings += trouble.findings
    if findings:
        raise InputError(findings)
    allowed(prod(span.count for span in spans if span is not None), many)
    ways = []
    for change, span in zip(changes, spans, strict=True):
        texts = [change.text]
        if span is not None:
            texts = span.texts()
        ways.append([Change(change.path, change.sign, text) for text in texts])
    moving = {change.path for change, span in zip(changes, spans, strict=True) if span is not None}
    return tuple(_typed(combination, moving) for combination in product(*ways))


def _typed(changes: tuple[Change, ...], moving: set[str]) -> Scenario:
    """Named by what differs between the scenarios, or by everything where there is only one."""
    naming = [change for change in changes if change.path in moving] or changes
    return Scenario(", ".join(map(str, naming)), changes)


def _parsed(texts: Iterable[str]) -> tuple[list[Change], list[Finding]]:
    changes: list[Change] = []
    findings: list[Finding] = []
    for text in texts:
        try:
            changes.append(parse_change(text))
        except InputError as trouble:
            findings += trouble.findings
    return changes, findings


def allowed(count: int, many: bool) -> None:
    """Raises InputError (IN534) for more scenarios than are solved without asking twice."""
    if count > MOST_AT_ALL:
        raise refused(
            "IN534",
            "--set",
            f"{count} scenarios",
            f"at most {MOST_AT_ALL} at a time: take wider steps",
        )
    if count > MOST_SCENARIOS and not many:
        remedy = f"add --many to solve more than {MOST_SCENARIOS}, or take wider steps"
        raise refused("IN534", "--set", f"{count} scenarios", remedy)


def _span(change: Change) -> _Span | None:
    """The range that a value states; None for no value. Raises InputError (IN533) for a bad one."""
    text = stated_text(change)
    if ":" not in text:
        return None
    parts = text.split(":")
    if not any(_NUMBER.match(part.strip()) for part in parts):
        return None
    parts_match = _RANGE.match(text)
    numbers = []
    if parts_match:
        marks = [_NUMBER.match(part.strip()) for part in parts_match.groups()]
        numbers = [mark for mark in marks if mark is not None]
    if len(numbers) != 3 or len({mark[1] for mark in numbers}) != 1:
        remedy = (
            "write from:to:step, such as 300:500:20, all three as numbers or all three as shares"
            " with %"
        )
        raise refused("IN533", change.path, f'"{change.text}" is no range', remedy)
    mark = numbers[0][1]
    first, last, step = (Decimal(number[0].removesuffix("%")) for number in numbers)
    if step == 0 or (last - first) * step < 0:
        remedy = "the step must lead from the first figure to the last"
        raise refused("IN533", change.path, f'the range "{change.text}" is empty', remedy)
    return _Span(first, last, step, mark)


def file_scenarios(path: Path, many: bool = False) -> tuple[Scenario, ...]:
    """The scenarios of a TOML file: `[[scenarios]]` with a name and `set`, a list of changes as on
    the command line.

    A range in it makes a scenario of every step. Raises InputError (IN537) with everything that is
    wrong.
    """
    text, _ = read_text(path)
    try:
        raw = tomllib.loads(text)
    except (ValueError, RecursionError) as trouble:
        raise refused("IN537", path.name, f"not readable as TOML: {trouble}", _FORM) from trouble
    findings: list[Finding] = []
    scenarios: list[Scenario] = []
    listed = raw.get("scenarios")
    for key in raw:
        if key != "scenarios":
            findings.append(Finding("IN537", path.name, f'unknown table "{key}"', _FORM))
    if not isinstance(listed, list) or not listed:
        raise InputError([*findings, Finding("IN537", path.name, "no scenario in it", _FORM)])
    for number, entry in enumerate(listed, 1):
        try:
            scenarios += _of_entry(f"{path.name} scenarios[{number}]", entry, many)
        except InputError as trouble:
            findings += trouble.findings
    names = [scenario.name for scenario in scenarios]
    for name in dict.fromkeys(name for name in names if names.count(name) > 1):
        findings.append(
            Finding("IN537", path.name, f'two scenarios named "{name}"', "give each its own name")
        )
    if findings:
        raise InputError(findings)
    allowed(len(scenarios), many)
    return tuple(scenarios)


_FORM = 'write each as [[scenarios]] with name = "…" and set = ["path=value", …]'


def _of_entry(where: str, entry: Any, many: bool) -> list[Scenario]:
    if not isinstance(entry, dict):
        raise refused("IN537", where, "not a table", _FORM)
    findings = []
    for key in entry:
        if key not in ("name", "set"):
            remedy = nearest_or(key, ("name", "set"), _FORM)
            findings.append(Finding("IN537", f"{where}.{key}", "unknown key", remedy))
    name, texts = entry.get("name"), entry.get("set")
    if not isinstance(name, str) or not name:
        findings.append(Finding("IN537", where, "no name", _FORM))
    if not isinstance(texts, list) or not texts or not all(isinstance(text, str) for text in texts):
        findings.append(Finding("IN537", where, "no list of changes", _FORM))
    if findings:
        raise InputError(findings)
    assert isinstance(texts, list)
    steps = typed_scenarios(texts, many)
    if len(steps) == 1:
        return [Scenario(str(name), steps[0].changes)]
    return [Scenario(f"{name}: {step.name}", step.changes) for step in steps]


def stress_scenarios(begun: Begun) -> tuple[Scenario, ...]:
    """The ready-made table: turnout 21 days, density of clamps and bags 12 %, silage DM 3 points,
    head 5 %, soya and barley 20 % each way, and 0.5 MJ less ME in each silage. Sizes of the changes
    are common practice, no source (c).
    """
    farm = begun.farm
    feeds = {offer.id: offer.feed for offer in farm.offers}
    dense = [store.id for store in farm.stores if store.kind in ("clamp", "bag")]
    silages = [store.id for store in farm.stores if is_silage(feeds[store.id])]
    ways = [
        ("turnout", "21 days", ("later", "earlier"), ["winter.turnout"], "21"),
        (
            "density of clamps and bags",
            "12 %",
            _WAYS,
            [f"stores.{name}.edible_t_dm" for name in dense],
            "12%",
        ),
        (
            "dry matter of silages",
            "3 points",
            _WAYS,
            [f"stores.{name}.dm_g_per_kg" for name in silages],
            "30",
        ),
        (
            "head of every group",
            "5 %",
            _WAYS,
            [f"groups.{group.id}.head" for group in farm.groups],
            "5%",
        ),
        ("price of soya", "20 %", _WAYS, _prices(begun, "soya"), "20%"),
        ("price of barley", "20 %", _WAYS, _prices(begun, "barley"), "20%"),
    ]
    scenarios = []
    for what, how_much, directions, paths, text in ways:
        for word, sign in zip(directions, ("+=", "-="), strict=True):
            if paths:
                changes = tuple(Change(path, sign, text) for path in paths)
                scenarios.append(Scenario(f"{what} {how_much} {word}", changes, True))
    names = {store.id: store.name for store in farm.stores}
    for name in silages:
        less = Change(f"stores.{name}.me_mj_per_kg_dm", "-=", "0.5")
        scenarios.append(Scenario(f"ME of {names[name]} 0.5 less", (less,), True))
    return tuple(scenarios)


_WAYS = ("more", "less")


def _prices(begun: Begun, family: str) -> list[str]:
    """Price paths of the bought feeds of a family, by their feed keys."""
    return [
        f"bought.{offer.id}.price_per_t_fresh"
        for offer in begun.farm.offers
        if offer.bought and _of_family(offer.feed, family)
    ]


def _of_family(feed: Feed, family: str) -> bool:
    # Hulls are a fibre feed whose price follows that of cereals.
    return feed.key.startswith(family) and "hulls" not in feed.key
