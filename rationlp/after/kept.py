"""The plan in force: a winter's plan kept in the farm folder, exact to the last bit, and found
again for a day.

`plan.json` is the newest. What it takes the place of stays beside it as `plan-2026-10-15.json`,
by the first day it plans; a day before the newest plan begins is answered by the plan that was
in force then.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Callable, Iterator, Sequence
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any

from rationlp.after.exact import as_plain, from_plain
from rationlp.errors import refused
from rationlp.farm.farm import Farm
from rationlp.planned import Period, WayOn, WinterPlan
from rationlp.read.folder import beside
from rationlp.records import dataclass

KIND, FORM = "plan_in_force", "1.0"
NAME = "plan.json"
_AGAIN = "plan again with `rationlp winter FARM --keep`, the old file moved elsewhere"


@dataclass(frozen=True)
class KeptPlan:
    """A plan that was kept, and the name of its file. ways: how it goes on by what stores show."""

    name: str
    plan: WinterPlan
    ways: tuple[WayOn, ...] = ()

    @property
    def first(self) -> date:
        """First day planned."""
        return self.plan.periods[0].first

    @property
    def last(self) -> date:
        """The day on which the plan ends."""
        return self.plan.periods[-1].last


def plan_text(plan: WinterPlan, ways: Sequence[WayOn] = ()) -> str:
    """A plan as the text of its file: what it is, the digest of the figures it was made from,
    how it goes on where there are several ways, and the plan itself."""
    head = {
        "schema_version": FORM,
        "kind": KIND,
        "first": plan.periods[0].first.isoformat(),
        "last": plan.periods[-1].last.isoformat(),
        "digest": digest(plan.farm),
    }
    lines = [f"  {json.dumps(key)}: {json.dumps(value)}," for key, value in head.items()]
    if ways:
        lines.append(f'  "ways": {_packed([_replanned(way, _lean) for way in ways])},')
    return "\n".join(["{", *lines, f'  "plan": {_packed(_lean(plan))}', "}", ""])


def _packed(value: Any) -> str:
    return json.dumps(as_plain(value), ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def _lean(plan: WinterPlan) -> WinterPlan:
    """Of the feed tables a plan needs only what is on the farm, and its offers carry that."""
    return dataclasses.replace(plan, farm=dataclasses.replace(plan.farm, feeds={}, place=""))


def _replanned(way: WayOn, changed: Callable[[WinterPlan], WinterPlan]) -> WayOn:
    """A way on with its plan changed, where it has one."""
    if way.plan is None:
        return way
    return dataclasses.replace(way, plan=changed(way.plan))


def plan_file(farm: Path) -> Path:
    """The file of the newest plan kept for a farm folder or workbook."""
    return beside(farm, NAME)


def plan_files(farm: Path) -> tuple[Path, ...]:
    """Every plan kept for a farm, the newest first, then by the first day planned, the latest
    first."""
    newest = plan_file(farm)
    older = newest.parent.glob(f"{newest.stem}-*{newest.suffix}")
    dated = sorted(
        ((key, path) for path in older if (key := _dated(newest, path)) is not None), reverse=True
    )
    files = [path for path in (newest,) if path.is_file()]
    return (*files, *(path for _, path in dated))


def free_name(farm: Path, first: date) -> Path:
    """A name, not yet taken, under which a plan that is no longer the newest stays."""
    newest = plan_file(farm)
    number, path = 1, newest.with_name(f"{newest.stem}-{first}{newest.suffix}")
    while path.exists():
        number += 1
        path = newest.with_name(f"{newest.stem}-{first}-{number}{newest.suffix}")
    return path


def _dated(newest: Path, path: Path) -> tuple[date, int] | None:
    """First day and number in the name of an older plan; None for a file of another name."""
    ending = path.stem.removeprefix(f"{newest.stem}-")
    day, number = ending[:10], ending[10:].removeprefix("-")
    try:
        return date.fromisoformat(day), int(number or 1)
    except ValueError:
        return None


def plan_in_force(farm: Farm, day: date | None = None) -> KeptPlan | None:
    """The plan in force on a day, or the newest where no day is given; None where none was kept
    that begins by then.

    Raises InputError (IN790, IN791) for a file that holds no plan, or one that was changed by
    hand.
    """
    for path in plan_files(Path(farm.place)):
        newest = read_kept(path, farm)
        if day is None or newest.first <= day:
            return newest
    return None


def plans_by_day(farm: Farm) -> Iterator[KeptPlan]:
    """Every plan kept for a farm, the newest first."""
    for path in plan_files(Path(farm.place)):
        yield read_kept(path, farm)


def read_kept(path: Path, farm: Farm) -> KeptPlan:
    """A kept plan. Raises InputError (IN790, IN791) for a file that holds none, or one that was
    changed by hand."""
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
        if not isinstance(document, dict) or document.get("kind") != KIND:
            raise ValueError("it is no plan that was kept")
        if document.get("schema_version") != FORM:
            raise ValueError(
                f"it is of form {document.get('schema_version')}, this version reads {FORM}"
            )
        plan: WinterPlan = from_plain(WinterPlan, document.get("plan"))
        ways: tuple[WayOn, ...] = from_plain(tuple[WayOn, ...], document.get("ways", []))
        if not plan.periods:
            raise ValueError("a plan without a day")
    except (OSError, ValueError, RecursionError) as trouble:
        if isinstance(trouble, ValueError):
            reason = str(trouble)[:120]
        else:
            reason = trouble.__class__.__name__
        raise refused(
            "IN790", path.name, f"not readable as a kept plan: {reason}", _AGAIN
        ) from trouble
    if document.get("digest") != digest(plan.farm):
        fault = "its figures are not those that it was kept with"
        raise refused("IN791", path.name, fault, _AGAIN)
    # A way on has the farm of its plan: prices later in the winter were only planned by.
    whole = dataclasses.replace(plan.farm, feeds=farm.feeds, place=farm.place)
    of_farm = partial(dataclasses.replace, farm=whole)
    return KeptPlan(path.name, of_farm(plan), tuple(_replanned(way, of_farm) for way in ways))


def period_of(plan: WinterPlan, day: date) -> Period | None:
    """The period that a day falls into; turnout counts to the last. None for a day that is not
    planned."""
    for period in plan.periods:
        if period.first <= day < period.last:
            return period
    if day == plan.periods[-1].last:
        return plan.periods[-1]
    return None


def digest(farm: Farm) -> str:
    """A digest of every figure that a plan is made from (SHA-256)."""
    packed = json.dumps(farm_figures(farm), ensure_ascii=False, sort_keys=True)
    return hashlib.sha256(packed.encode("utf-8")).hexdigest()


def farm_figures(farm: Farm) -> dict[str, Any]:
    """Every figure of a farm that a winter's plan is made from, by path, written as `rationlp
    whatif` writes paths where it has one.

    Left out: names, sources, where the farm is, next year's crops, the steps in which the winter
    is planned and how it is loaded.
    """
    figures: dict[str, Any] = {
        "farm.currency": farm.currency,
        "winter.start": farm.start.isoformat(),
        "winter.turnout": farm.turnout.isoformat(),
        "margins.me": farm.margins.me,
        "margins.mp": farm.margins.mp,
        "home_grown.price": farm.home_grown_price,
        "prices.over_energy_per_mj": farm.over_energy_price_per_mj,
        "prices.mineral_shortage_per_g": farm.mineral_shortage_price_per_g,
    }
    for offer in farm.offers:
        figures |= dict(
            _flat(f"{offer.id}", {**as_plain(offer), "name": None, "feed": offer.feed.key})
        )
        figures |= {
            f"{offer.id}.{name}": figure.value for name, figure in offer.feed.figures.items()
        }
    for store in farm.stores:
        # What a tonne of it counts for is said by its offer.
        left_out = dict.fromkeys(
            ("name", "size", "feed_key", "cost_per_t_fresh", "would_fetch_per_t_fresh")
        )
        figures |= dict(_flat(store.id, {**as_plain(store), **store.size, **left_out}))
    for group in farm.groups:
        figures |= dict(
            _flat(
                group.id,
                {**as_plain(group), **group.facts, "name": None, "facts": None, "feeding": None},
            )
        )
    for name, things in (
        ("outlets", farm.outlets),
        ("bedding", farm.beddings),
        ("mixes", farm.mixes),
    ):
        for number, thing in enumerate(things, 1):
            figures |= dict(_flat(f"{name}[{number}]", as_plain(thing)))
    return figures


def _flat(path: str, value: Any) -> Iterator[tuple[str, Any]]:
    """Every figure inside a plain value, by path; what is not given is left out."""
    if isinstance(value, dict):
        for key, item in value.items():
            if key not in ("id", "origin", "bought"):
                yield from _flat(f"{path}.{key}", item)
    elif isinstance(value, list):
        for number, item in enumerate(value, 1):
            yield from _flat(f"{path}[{number}]", item)
    elif value is not None and value != "":
        yield path, value
