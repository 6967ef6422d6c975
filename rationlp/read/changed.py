"""A farm with something changed: the tables of farm.toml are changed and read again, so that every
change is checked as if typed.

A change is `path=value`, `path+=value` or `path-=value`. A path is a table and its key
(`winter.turnout`, `margins.me`), or the id of a store, a bought feed, a group or an outlet and its
key (`soya_meal_48.price_per_t_fresh`, `cows.head`, `first_cut.me_mj_per_kg_dm`,
`cows.feed_limits.barley.max_kg_fresh`, `cows.after.milk_kg_per_day`, and a change by its day:
`ewes.changes.2027-01-25.head`). Two keys are not in farm.toml: `edible_t_dm` of a store (what can
be eaten of it, whatever its sizes say) and `barred` of a store or bought feed (true: no group gets
it). A value added may be a share of what is there (`+=5%`); added to a date it counts days. `=+5`
and `=-5` are refused, because they can be read in two ways; a figure below nothing is stated in
brackets, `path=(-100)`.
"""

from __future__ import annotations

import copy
import dataclasses
import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import field, replace
from datetime import date, timedelta
from math import isfinite
from pathlib import Path
from typing import Any

from rationlp.errors import Faults, InputError, refused
from rationlp.farm.farm import Farm
from rationlp.farm.store import Spread, StoreStock
from rationlp.farm.values import as_number
from rationlp.read.changed_paths import AFTER, BARRED, Place, Target, find
from rationlp.read.farm import farm_of
from rationlp.read.folder import Overrides, Source, by_standard, open_source
from rationlp.read.plain_words import in_plain_words
from rationlp.records import dataclass
from rationlp.stock.dry_matter import farm_stocks

_SETTING = re.compile(r"^\s*([^=\s]+?)\s*(\+=|-=|=)\s*(.*?)\s*$", re.S)
_SHARE = re.compile(r"^([+-]?\d+(?:\.\d+)?)\s*%$")
MOST_DAYS = 3660


@dataclass(frozen=True)
class Change:
    """One change: path, sign (`=`, `+=` or `-=`) and value as typed."""

    path: str
    sign: str
    text: str

    def __str__(self) -> str:
        return f"{self.path}{self.sign}{self.text}"


@dataclass(frozen=True)
class Begun:
    """A farm to be changed: its source, the farm read from it and what it has in store."""

    source: Source
    farm: Farm
    stocks: Mapping[str, StoreStock]


@dataclass(frozen=True)
class ChangedFarm:
    """A farm after changes, and what it has in store by store id."""

    farm: Farm
    stocks: Mapping[str, StoreStock]


@dataclasses.dataclass
class Draft:
    """Raw tables while changes are made, and what is laid over the files beside farm.toml."""

    raw: dict[str, Any]
    figures: dict[str, dict[str, float]] = field(default_factory=dict)
    bought: dict[str, set[str]] = field(default_factory=dict)
    edible: dict[str, float] = field(default_factory=dict)


def parse_change(text: str) -> Change:
    """A change as typed. Raises InputError (IN532, IN742) where it is none."""
    parts = _SETTING.match(text)
    if parts is None or not parts[3]:
        remedy = "write path=value, path+=value or path-=value, such as winter.turnout+=21"
        raise refused("IN532", "--set", f'"{text}" is no change', remedy)
    change = Change(*parts.groups())
    if change.sign == "=" and change.text[0] in "+-":
        raise _ambiguous(change)
    return change


def _ambiguous(change: Change) -> InputError:
    """`price=+20` may be meant as 20, or as 20 more."""
    direction, amount = change.text[0], change.text[1:].strip()
    more, alone = "more", amount
    if direction == "-":
        more, alone = "less", f"({change.text})"
    added = f"{change.path}{direction}={amount} for {amount} {more} than now"
    remedy = f"write {added}"
    if not amount.endswith("%"):
        remedy = (
            f"write {change.path}={alone} for {change.text.removeprefix('+')} itself, or {added}"
        )
    return refused("IN742", change.path, f'"={change.text}" can be read in two ways', remedy)


def stated_text(change: Change) -> str:
    """The value as typed, without the brackets around a figure below nothing: `path=(-100)`."""
    text = change.text
    if change.sign == "=" and text.startswith("(") and text.endswith(")"):
        return text[1:-1].strip()
    return text


def begin(folder: Path, standard: str | None = None) -> Begun:
    """The farm as it stands, or by a standard whatever it says. Raises InputError."""
    source = open_source(folder)
    if standard is not None:
        source = by_standard(source, standard)
    farm = farm_of(source)
    return Begun(source, farm, farm_stocks(farm))


def changed(begun: Begun, changes: Iterable[Change]) -> ChangedFarm:
    """The farm with changes made in order, read and checked again. Raises InputError."""
    draft = drafted(begun, changes)
    over = Overrides(draft.figures, {name: frozenset(keys) for name, keys in draft.bought.items()})
    raw, _ = in_plain_words(draft.raw, begun.farm.feeds)
    farm = farm_of(begun.source, raw, over)
    stocks = farm_stocks(farm)
    for name, t_dm in draft.edible.items():
        stocks[name] = held(stocks[name], t_dm)
    return ChangedFarm(farm, stocks)


def drafted(begun: Begun, changes: Iterable[Change]) -> Draft:
    """The tables of a farm with changes made one after the other, before they are judged. Raises
    InputError for paths that lead nowhere and values that cannot be added.
    """
    draft = Draft(copy.deepcopy(dict(begun.source.raw)))
    faults = Faults()
    seen: set[str] = set()
    for change in changes:
        place = faults.of(change.path)
        if change.path in seen:
            place.add("IN536", "it is changed twice", "keep one of the changes")
            continue
        seen.add(change.path)
        with place.taking():
            _make(begun, draft, find(begun.farm, change.path), change)
    faults.refuse()
    return draft


def held(stock: StoreStock, edible_t_dm: float) -> StoreStock:
    """A stock with so many tonnes of DM that can be eaten; fresh, dry, low and high go with it."""
    typical = stock.edible_t_dm.typical
    factor = 0.0
    if typical > 0.0:
        factor = edible_t_dm / typical
    fresh, dry, edible = (
        Spread(spread.low * factor, spread.typical * factor, spread.high * factor)
        for spread in (stock.t_fresh, stock.t_dm, stock.edible_t_dm)
    )
    return replace(stock, t_fresh=fresh, t_dm=dry, edible_t_dm=edible)


def _make(begun: Begun, draft: Draft, place: Place, change: Change) -> None:
    if place.leads_to is Target.EDIBLE:
        before = draft.edible.get(place.id, begun.stocks[place.id].edible_t_dm.typical)
        tonnes = _number(change, before)
        if not 0.0 <= tonnes <= 100_000.0:
            remedy = "give 0 to 100000 tonnes of dry matter"
            raise refused("IN113", change.path, f"{tonnes:g} t DM", remedy)
        draft.edible[place.id] = tonnes
    elif place.leads_to is Target.FIGURE:
        offer = next(offer for offer in begun.farm.offers if offer.id == place.id)
        figures = draft.figures.setdefault(place.id, {})
        figures[place.key] = _number(change, figures.get(place.key, offer.feed.value(place.key)))
    elif place.leads_to is Target.BARRED:
        _bar(draft, place.id, change)
    else:
        table = place.table(draft.raw)
        stated = _present(begun.farm, place)
        # What prices.csv says of a bought feed replaces farm.toml.
        if place.list != "bought" or stated is None:
            stated = table.get(place.key, stated)
        table[place.key] = _value(change, stated)
        if place.list == "bought":
            draft.bought.setdefault(place.id, set()).add(place.key)


def _bar(draft: Draft, name: str, change: Change) -> None:
    """Every group has a feed barred, or has it no longer."""
    value = _typed(change.text)
    if change.sign != "=" or not isinstance(value, bool):
        remedy = f"write {name}.{BARRED}=true or =false"
        raise refused("IN532", change.path, f'"{change.text}"', remedy)
    groups = draft.raw.get("groups", [])
    for group in groups if isinstance(groups, list) else []:
        others = [feed for feed in group.get("barred", []) if feed != name]
        if value:
            group["barred"] = [*others, name]
        else:
            group["barred"] = others


def _typed(text: str) -> Any:
    """A value as farm.toml would hold it: number, date, true or false, list; else text."""
    try:
        return tomllib.loads(f"value = {text}")["value"]
    except (ValueError, RecursionError):
        return text


def _number(change: Change, present: float | None) -> float:
    number = as_number(_value(change, present))
    if number is None:
        problem = f'"{change.text}" is not a number'
        raise refused("IN112", change.path, problem, "give a plain number")
    return number


def _value(change: Change, present: Any) -> Any:
    """The value at a path after a change. Raises InputError where nothing can be added to it."""
    share = _SHARE.match(change.text)
    value = None
    if not share:
        value = _typed(stated_text(change))
    if change.sign == "=":
        if share:
            remedy = f"write {change.path}+={change.text} for a share more, or an amount"
            raise refused("IN532", change.path, f'"{change.text}" of what', remedy)
        return value
    towards = 1.0 if change.sign == "+=" else -1.0
    if share:
        moved = _present_number(change, present) * (1.0 + towards * float(share[1]) / 100.0)
        if isinstance(present, int) and isfinite(moved):
            return round(moved)
        return moved
    number = as_number(value)
    if number is None:
        remedy = "add a number, or a share such as 5%"
        raise refused("IN532", change.path, f'"{change.text}" cannot be added', remedy)
    if isinstance(present, date) and abs(number) <= MOST_DAYS:
        return present + timedelta(days=round(towards * number))
    moved = _present_number(change, present) + towards * number
    if isinstance(present, int) and isinstance(value, int) and isfinite(moved):
        return round(moved)
    return moved


def _present_number(change: Change, present: Any) -> float:
    if isinstance(present, bool) or not isinstance(present, (int, float)):
        problem = f"{present} is no number"
        if present is None:
            problem = "there is no number that could be added to"
        raise refused("IN535", change.path, problem, f"state it: {change.path}=…")
    return float(present)


def _present(farm: Farm, place: Place) -> Any:
    """What farm.toml does not state but the farm has: a price of prices.csv, a default, a fact."""
    if place.list == "bought":
        offer = next((offer for offer in farm.offers if offer.id == place.id), None)
        if offer is None:
            return None
        return getattr(offer, place.key, None)
    if place.list == "stores":
        store = next(store for store in farm.stores if store.id == place.id)
        return store.size.get(place.key, getattr(store, place.key, None))
    if place.list == "groups":
        return _present_of_group(farm, place)
    if place.list == "margins":
        return getattr(farm.margins, place.key)
    stated = {
        "over_energy_per_mj": farm.over_energy_price_per_mj,
        "mineral_shortage_per_g": farm.mineral_shortage_price_per_g,
    }
    if place.list == "prices":
        return stated.get(place.key)
    return None


def _present_of_group(farm: Farm, place: Place) -> Any:
    group = next(group for group in farm.groups if group.id == place.id)
    if not place.within:
        return group.facts.get(place.key, getattr(group, place.key, None))
    if place.within == (AFTER,) and group.calendar is not None:
        return group.calendar.after.get(place.key)
    return None
