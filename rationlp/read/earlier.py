"""A plan made earlier in the winter, as `rationlp winter --format json` wrote it: what each store held and what was to go."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from rationlp.errors import Finding, InputError
from rationlp.records import dataclass


@dataclass(frozen=True)
class EarlierStore:
    """One store of an earlier plan [t DM]: held on its first day, used by period; its face and the length left, if it has any."""

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
    """Read an earlier plan. Raises InputError (IN521) for a file that is none, with what was found instead."""
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as trouble:
        raise _no_plan(path, f"it cannot be read as JSON ({trouble.__class__.__name__})") from trouble
    if not isinstance(document, Mapping) or document.get("kind") != "winter":
        kind = document.get("kind") if isinstance(document, Mapping) else None
        raise _no_plan(path, f"it holds an answer of kind {kind!r}" if kind else "it holds no answer of rationlp")
    try:
        return _plan(document)
    except (KeyError, TypeError, ValueError, StopIteration) as trouble:
        raise _no_plan(path, f"a plan without all of its parts ({trouble})") from trouble


def _no_plan(path: Path, found: str) -> InputError:
    remedy = "give the file that `rationlp winter FARM --format json --output FILE` wrote earlier this winter"
    return InputError([Finding("IN521", path.name, found, remedy)])


def _plan(document: Mapping[str, Any]) -> EarlierPlan:
    periods = tuple((date.fromisoformat(one["first"]), date.fromisoformat(one["last"])) for one in document["periods"])
    stocks = {one["store"]: one for one in document["stocks"]}
    stores = []
    for one in document["stores"]:
        stock = stocks[one["store"]]
        face, t_dm = stock["face"], float(stock["t_dm"]["typical"])
        stores.append(
            EarlierStore(
                store=one["store"],
                name=one["name"],
                held_t_dm=float(one["held_t_dm"]["typical"]),
                used_t_dm=tuple(float(t) for t in one["used_t_dm"]),
                area_m2=None if face is None else float(face["area_m2"]),
                length_m=None if face is None else float(face["length_m"]),
                edible_share=float(stock["edible_t_dm"]["typical"]) / t_dm if t_dm > 0.0 else 1.0,
            )
        )
    return EarlierPlan(periods, tuple(stores))
