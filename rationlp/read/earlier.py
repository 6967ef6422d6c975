"""A plan made earlier in the winter, from its JSON: what each store held and what was to go."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from math import isfinite
from pathlib import Path
from typing import Any

from rationlp.csvfile import read_text
from rationlp.errors import InputError, refused
from rationlp.farm.values import as_number, shown
from rationlp.records import dataclass

MOST_SIGNS = 120
READABLE = ("1", "2")
"""Versions of the schema in which the parts that are read here are the same."""


@dataclass(frozen=True)
class EarlierStore:
    """One store of an earlier plan [t DM]: held on its first day, used by period; its face."""

    store: str
    name: str
    held_t_dm: float
    used_t_dm: tuple[float, ...]
    area_m2: float | None
    length_m: float | None
    edible_share: float


@dataclass(frozen=True)
class EarlierPlan:
    """An earlier plan: first and last day (left out) of each period, and its stores."""

    periods: tuple[tuple[date, date], ...]
    stores: tuple[EarlierStore, ...]


def read_earlier(path: Path) -> EarlierPlan:
    """Read an earlier plan. Raises InputError for an unreadable file, (IN521) for no plan."""
    text, _ = read_text(path)
    try:
        document = json.loads(text, parse_constant=_no_number)
    except RecursionError as trouble:
        raise _no_plan(path, "lists or objects nested too deeply") from trouble
    except ValueError as trouble:
        raise _no_plan(path, f"it cannot be read as JSON ({trouble})") from trouble
    kind = document.get("kind") if isinstance(document, Mapping) else None
    if kind != "winter":
        held = "no answer of rationlp"
        if kind:
            held = f"an answer of kind {_kind(kind)}"
        raise _no_plan(path, f"it holds {held}")
    version = str(document.get("schema_version", READABLE[-1]))
    if version.partition(".")[0] not in READABLE:
        raise _no_plan(path, f"a plan in form {shown(version)}, which this version cannot read")
    try:
        return _plan(document)
    except KeyError as trouble:
        part = shown(trouble.args[0])
        problem = f"a plan without all of its parts: there is no {part}"
        raise _no_plan(path, problem) from trouble
    except (TypeError, ValueError, AttributeError, OverflowError) as trouble:
        raise _no_plan(path, f"a plan without all of its parts ({trouble})") from trouble


def _kind(kind: object) -> str:
    return shown(kind).replace('"', "'")


def _no_number(word: str) -> float:
    raise ValueError(f"{word} is no number")


def _figure(value: object) -> float:
    """A finite figure of 0 or more. Raises ValueError for anything else."""
    number = as_number(value)
    if number is None or not isfinite(number) or number < 0.0:
        raise ValueError(f"{shown(value)} where a figure of 0 or more is expected")
    return number


def _word(value: object) -> str:
    """A text that can be shown. Raises ValueError for anything else."""
    if not isinstance(value, str) or not 0 < len(value) <= MOST_SIGNS or not value.isprintable():
        raise ValueError(f"{shown(value)} where an id or a name is expected")
    return value


def _no_plan(path: Path, problem: str) -> InputError:
    remedy = (
        "give the file that `rationlp winter FARM --format json --output FILE` wrote earlier this"
        " winter"
    )
    return refused("IN521", path.name, problem, remedy)


def _plan(document: Mapping[str, Any]) -> EarlierPlan:
    periods = tuple(
        (date.fromisoformat(period["first"]), date.fromisoformat(period["last"]))
        for period in document["periods"]
    )
    stocks = {entry["store"]: entry for entry in document["stocks"]}
    stores = []
    for store in document["stores"]:
        stock = stocks[store["store"]]
        face, t_dm = stock["face"], _figure(stock["t_dm"]["typical"])
        stores.append(
            EarlierStore(
                store=_word(store["store"]),
                name=_word(store["name"]),
                held_t_dm=_figure(store["held_t_dm"]["typical"]),
                used_t_dm=tuple(_figure(t) for t in store["used_t_dm"]),
                area_m2=None if face is None else _figure(face["area_m2"]),
                length_m=None if face is None else _figure(face["length_m"]),
                edible_share=_figure(stock["edible_t_dm"]["typical"]) / t_dm if t_dm > 0.0 else 1.0,
            )
        )
    return EarlierPlan(periods, tuple(stores))
