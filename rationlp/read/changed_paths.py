"""Where a path of a change leads: to a table of farm.toml, an entry of a list, or a figure."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from typing import Any

from pydantic import BaseModel

from rationlp.errors import Faults, InputError, nearest, refused
from rationlp.farm.animals import CLASSES
from rationlp.farm.farm import Farm
from rationlp.farm.group import Group
from rationlp.quantities import feed_columns
from rationlp.read.calendar import IN_MILK
from rationlp.read.folder import entry_name
from rationlp.read.schema import GROUP_KEYS, INNER, LISTS, TABLES
from rationlp.read.stores import KINDS
from rationlp.records import dataclass

EDIBLE, BARRED, ANALYSIS = "edible_t_dm", "barred", "analysis"
_LISTED = ("stores", "bought", "groups", "outlets")
NAMED_BY = {"feed_limits": "feed", "quantity_limits": "quantity", "family_limits": "family"}
AFTER, CHANGES, GRAZING = "after", "changes", "grazing"
_FIXED = frozenset({"id", "name", *NAMED_BY, CHANGES, GRAZING, AFTER, ANALYSIS})


class Target(Enum):
    """What a path leads to."""

    KEY = "key"
    FIGURE = "figure"
    EDIBLE = "edible"
    BARRED = "barred"


@dataclass(frozen=True)
class Place:
    """Where a path leads. list: table or list of farm.toml; id: of the entry, empty for a table;
    within: a table inside the entry, or a list and what its entry is named by; key: the last step.
    """

    leads_to: Target
    list: str
    id: str
    within: tuple[str, ...]
    key: str

    def table(self, raw: dict[str, Any]) -> dict[str, Any]:
        """The table that holds the key, made where there is none yet."""
        if not self.id:
            table: dict[str, Any] = raw.setdefault(self.list, {})
            return table
        entries = raw.setdefault(self.list, [])
        entry = next((entry for entry in entries if entry_name(entry) == self.id), None)
        if entry is None:
            # A feed that only prices.csv buys is stated here by its key alone.
            entry = {"feed": self.id}
            entries.append(entry)
        if self.within:
            return _inner(entry, *self.within)
        return entry


def _inner(entry: dict[str, Any], name: str, of: str | None = None) -> dict[str, Any]:
    """The table inside an entry, or the entry of an inner list named by `of`; made if missing."""
    if of is None:
        table: dict[str, Any] = entry.setdefault(name, {})
        return table
    inner: dict[str, Any] | None = inside(entry, name, of)
    if inner is None:
        inner = {NAMED_BY[name]: of}
        entry.setdefault(name, []).append(inner)
    return inner


def inside(entry: Mapping[str, Any], name: str, of: str | None = None) -> Any:
    """What stands inside an entry: a table, or a list's entry named by `of`; None without one."""
    if of is None:
        return entry.get(name)
    named_by = NAMED_BY.get(name, "from")
    return next((one for one in entry.get(name, ()) if str(one.get(named_by)) == of), None)


def find(farm: Farm, path: str) -> Place:
    """Where a path leads. Raises InputError (IN530, IN531) with the path or things meant."""
    first, *rest = path.split(".")
    if first in TABLES:
        return _of_table(first, rest, path)
    named = _named(farm)
    if len(rest) > 1 and first in _LISTED and rest[0] in named.get(first, ()):
        return _of_entry(farm, first, rest[0], rest[1:], path)
    lists = [name for name, ids in named.items() if first in ids]
    if len(lists) == 1:
        return _of_entry(farm, lists[0], first, rest, path)
    faults = Faults(path)
    tables = [f"{table}.{path}" for table, model in TABLES.items() if path in model.model_fields]
    if lists:
        remedy = " or ".join(f"{name}.{path}" for name in lists)
        faults.add("IN531", f'"{first}" is the id of more than one thing', f"write {remedy}")
    elif tables:
        faults.add("IN530", f'"{path}" is a key of a table', f"write {' or '.join(tables)}")
    else:
        known = [*TABLES, *(name for ids in named.values() for name in ids)]
        problem = f'nothing of this farm is called "{first}"'
        faults.unknown("IN530", problem, first, known, f"there are: {', '.join(known)}")
    raise InputError(faults.findings)


def _named(farm: Farm) -> dict[str, tuple[str, ...]]:
    return {
        "stores": tuple(store.id for store in farm.stores),
        "bought": tuple(offer.id for offer in farm.offers if offer.bought),
        "groups": tuple(group.id for group in farm.groups),
        "outlets": tuple(outlet.id for outlet in farm.outlets),
    }


def _unknown(path: str, problem: str, word: str, known: list[str], before: str = "") -> InputError:
    """A step that leads nowhere. before: the path up to it, its dot included."""
    near = nearest(word, known)
    remedy = f'nearest: "{before}{near}"' if near else f"there are: {', '.join(known)}"
    return _refused(path, problem, remedy)


def _of_table(table: str, rest: list[str], path: str) -> Place:
    known = list(TABLES[table].model_fields)
    if len(rest) != 1 or rest[0] not in known:
        word = rest[-1] if rest else table
        raise _unknown(path, f"[{table}] has no such key", word, known, f"{table}.")
    return Place(Target.KEY, table, "", (), rest[0])


def _of_entry(farm: Farm, listed: str, name: str, rest: list[str], path: str) -> Place:
    if len(rest) == 3 and listed == "groups" and rest[0] in NAMED_BY:
        return _of_limit(name, rest, path)
    if listed == "groups" and rest and rest[0] in (AFTER, CHANGES):
        follows = _of_after if rest[0] == AFTER else _of_change
        return follows(_group(farm, name), rest[1:], path, f"{name}.{rest[0]}.")
    if listed == "groups" and rest[:1] == [GRAZING]:
        remedy = "change [[groups.grazing]] in farm.toml"
        raise _refused(path, "days at grass are set by no path", remedy)
    is_offer = listed in ("stores", "bought")
    own = [key for key in _keys(farm, listed, name) if key not in _FIXED]
    figures = []
    if is_offer:
        figures = [*feed_columns(), *farm.own_quantities]
    special = {BARRED: Target.BARRED} if is_offer else {}
    if listed == "stores":
        special = {EDIBLE: Target.EDIBLE, **special}
    if len(rest) == 2 and is_offer and rest[0] == ANALYSIS and rest[1] in figures:
        return Place(Target.FIGURE, listed, name, (), rest[1])
    known = [*own, *special, *figures]
    key = rest[-1] if rest else ""
    if len(rest) != 1 or key not in known:
        before = f"{path.removesuffix('.'.join(rest)).removesuffix('.')}."
        if not rest:
            raise _unknown(path, "what is to be changed is not said", "", [*own, *special], before)
        raise _unknown(path, "there is no such key", key, known, before)
    if key in own:
        return Place(Target.KEY, listed, name, (), key)
    return Place(special.get(key, Target.FIGURE), listed, name, (), key)


def _keys(farm: Farm, listed: str, name: str) -> list[str]:
    """The keys that an entry may have."""
    if listed == "groups":
        group = _group(farm, name)
        return [*GROUP_KEYS, *(fact.key for fact in CLASSES[group.animal_class])]
    fields = list(LISTS[listed].model_fields)
    if listed == "stores":
        store = next(store for store in farm.stores if store.id == name)
        return [*fields, *(size.key for size in KINDS[store.kind])]
    return fields


def _of_limit(name: str, rest: list[str], path: str) -> Place:
    listed, of, side = rest
    model: type[BaseModel] = INNER[listed]
    known = [key for key in model.model_fields if key != NAMED_BY[listed]]
    if side not in known:
        raise _unknown(path, "there is no such limit", side, known, f"{name}.{listed}.{of}.")
    return Place(Target.KEY, "groups", name, (listed, of), side)


def _group(farm: Farm, name: str) -> Group:
    return next(group for group in farm.groups if group.id == name)


def _of_after(group: Group, steps: list[str], path: str, before: str) -> Place:
    """A fact of what the animals of a group are afterwards."""
    in_milk = [facts for facts in CLASSES.values() if any(fact.key == IN_MILK for fact in facts)]
    known = ["class", *dict.fromkeys(fact.key for facts in in_milk for fact in facts)]
    known.remove(IN_MILK)
    if len(steps) != 1:
        remedy = f"write {before}KEY=…, such as {before}milk_kg_per_day=…"
        raise _refused(path, "one key of what they are afterwards is wanted", remedy)
    if steps[0] not in known:
        raise _unknown(path, "there is no such key", steps[0], known, before)
    return Place(Target.KEY, "groups", group.id, (AFTER,), steps[0])


def _of_change(group: Group, steps: list[str], path: str, before: str) -> Place:
    """A head or fact of one of a group's changes, which its day names."""
    changes = () if group.calendar is None else group.calendar.changes
    days = [change.start.isoformat() for change in changes]
    if not days:
        remedy = "add [[groups.changes]] with its day as from to this group in farm.toml"
        raise _refused(path, "this group has no changes yet", remedy)
    if len(steps) != 2 or steps[0] not in days:
        remedy = f"write {before}DAY.KEY=…, such as {before}{days[0]}.head=…; days: "
        raise _refused(path, "a change is named by its day", remedy + ", ".join(days))
    day, key = steps
    if key == "from":
        raise _refused(path, "the day names the change", "change from in farm.toml")
    known = ["head", *(fact.key for fact in CLASSES[group.animal_class])]
    if key not in known:
        raise _unknown(path, "there is no such key", key, known, f"{before}{day}.")
    return Place(Target.KEY, "groups", group.id, (CHANGES, day), key)


def _refused(path: str, problem: str, remedy: str) -> InputError:
    return refused("IN530", path, problem, remedy)
