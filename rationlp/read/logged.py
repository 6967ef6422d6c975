"""A farm as its log has it on a day: the lines up to that day are laid over the farm file, and
all is read and checked again."""

from __future__ import annotations

import copy
from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

from rationlp.farm.farm import Farm
from rationlp.farm.store import Store, StoreStock
from rationlp.read.changed import held
from rationlp.read.farm import farm_of
from rationlp.read.folder import Overrides, open_source
from rationlp.read.logbook import MEASURES, LogLine
from rationlp.records import dataclass
from rationlp.stock.dry_matter import farm_stocks


@dataclass(frozen=True)
class LoggedFarm:
    """A farm as its log has it on a day. stocks: by store id, as on the day each was last
    measured. measured: that day, by store id, for stores that the log measures. bought_t:
    delivered so far, by bought feed [t fresh]. lines: those that count."""

    farm: Farm
    stocks: dict[str, StoreStock]
    measured: dict[str, date]
    bought_t: dict[str, float]
    lines: tuple[LogLine, ...]


def logged_farm(farm: Farm, lines: Iterable[LogLine], day: date) -> LoggedFarm:
    """The farm with all lines up to a day. Raises InputError where one contradicts the farm."""
    counted = tuple(line for line in lines if line.day <= day)
    if not counted:
        return LoggedFarm(farm, farm_stocks(farm), {}, {}, ())
    source = open_source(Path(farm.place))
    raw: dict[str, Any] = copy.deepcopy(dict(source.raw))
    figures: dict[str, dict[str, float]] = {}
    last: dict[str, LogLine] = {}
    for line in counted:
        if line.what == "dry_matter":
            figures[line.of] = {"dm_g_per_kg": 10.0 * line.figure}
        elif line.what == "head":
            _move(raw, line)
        elif line.what in MEASURES:
            last[line.of] = line
    stores = {store.id: store for store in farm.stores}
    for line in last.values():
        _measure(raw, stores[line.of], line)
    logged = farm_of(source, raw, Overrides(figures, {}))
    stocks = farm_stocks(logged)
    for line in last.values():
        stocks[line.of] = _left(stocks[line.of], stores[line.of], line, logged)
    measured = {line.of: line.day for line in last.values()}
    return LoggedFarm(logged, stocks, measured, _delivered(farm, counted), counted)


def _entry(raw: Mapping[str, Any], name: str, of: str) -> dict[str, Any]:
    entry: dict[str, Any] = next(named for named in raw[name] if named.get("id") == of)
    return entry


def _move(raw: dict[str, Any], line: LogLine) -> None:
    """The heads of a group from a day on: a steady group has them all winter, another changes."""
    group, head = _entry(raw, "groups", line.of), int(line.figure)
    if group.get("steady"):
        group["head"] = head
        return
    changes = group.setdefault("changes", [])
    same = next((change for change in changes if change.get("from") == line.day), None)
    if same is not None:
        same["head"] = head
        return
    changes.append({"from": line.day, "head": head})
    changes.sort(key=lambda change: str(change.get("from")))


def _measure(raw: dict[str, Any], store: Store, line: LogLine) -> None:
    """A measure that a key of the store takes: metres fed of a clamp, left of a bag, bales left."""
    entry = _entry(raw, "stores", store.id)
    if line.unit == "m" and store.kind == "clamp":
        entry["fed_length_m"] = line.figure
    elif line.unit == "m" and _is_bag_still(store, line):
        entry["length_m"] = float(store.size["length_m"]) - line.figure
    elif line.unit == "bales" and line.figure > 0.0:
        entry["count"] = int(line.figure)


def _is_bag_still(store: Store, line: LogLine) -> bool:
    """Whether what is left of a bag is longer than its two ends, so that it counts as a bag."""
    return float(store.size["length_m"]) - line.figure > 2.0 * float(store.size["diameter_m"])


def _left(stock: StoreStock, store: Store, line: LogLine, farm: Farm) -> StoreStock:
    """The stock of a store whose measure no key takes: tonnes left, the end of a bag, no bale."""
    edible, dry = stock.edible_t_dm.typical, stock.t_dm.typical
    if line.unit == "t DM":
        return held(stock, line.figure)
    if line.unit == "t":
        dm = next(offer.feed.dm_g_per_kg for offer in farm.offers if offer.id == store.id)
        return held(stock, line.figure * dm / 1000.0 * (edible / dry if dry > 0.0 else 1.0))
    if line.unit == "m" and store.kind == "bag" and not _is_bag_still(store, line):
        length = float(store.size["length_m"])
        return held(stock, edible * (length - line.figure) / length)
    if line.unit == "bales" and line.figure == 0.0:
        return held(stock, 0.0)
    return stock


def _delivered(farm: Farm, lines: Iterable[LogLine]) -> dict[str, float]:
    """Bought feed delivered so far [t fresh]."""
    load = {offer.id: offer.load_t or 0.0 for offer in farm.offers}
    total: dict[str, float] = {}
    for line in lines:
        if line.what == "bought":
            tonnes = line.figure * load[line.of] if line.unit == "loads" else line.figure
            total[line.of] = total.get(line.of, 0.0) + tonnes
    return total
