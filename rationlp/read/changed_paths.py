"""Where a path of a change leads: to a table of farm.toml, to an entry of one of its lists, or to a
figure laid over all files.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from typing import Any

from pydantic import BaseModel

from rationlp.errors import Finding
from rationlp.farm.animals import CLASSES
from rationlp.farm.farm import Farm
from rationlp.named import nearest
from rationlp.quantities import quantities
from rationlp.read.schema import GROUP_KEYS, INNER, LISTS, TABLES
from rationlp.read.stores import KINDS
from rationlp.records import dataclass

EDIBLE, BARRED, ANALYSIS = "edible_t_dm", "barred", "analysis"
_LISTED = ("stores", "bought", "groups", "outlets")
_NAMED_BY = {"feed_limits": "feed", "quantity_limits": "quantity", "family_limits": "family"}
_FIXED = frozenset({"id", "name", *_NAMED_BY, "changes", "grazing", "after", ANALYSIS})


class Found(Enum):
    """What a path leads to."""

    KEY = "key"
    FIGURE = "figure"
    EDIBLE = "edible"
    BARRED = "barred"


@dataclass(frozen=True)
class Place:
    """Where a path leads. list: table or list of farm.toml; id: of the entry, empty for a table;
    within: a list inside the entry and what its entry is named by; key: the last step.
    """

    found: Found
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
        entry = next((one for one in entries if _name(one) == self.id), None)
        if entry is None:
            # A feed that only prices.csv buys is stated here by its key alone.
            entry = {"feed": self.id}
            entries.append(entry)
        return _inner(entry, *self.within) if self.within else entry


def _inner(entry: dict[str, Any], name: str, of: str) -> dict[str, Any]:
    entries = entry.setdefault(name, [])
    for one in entries:
        if one.get(_NAMED_BY[name]) == of:
            found: dict[str, Any] = one
            return found
    made = {_NAMED_BY[name]: of}
    entries.append(made)
    return made


def _name(entry: Any) -> str:
    return str(entry.get("id") or entry.get("feed") or "") if isinstance(entry, Mapping) else ""


def find(farm: Farm, raw: Mapping[str, Any], path: str) -> Place | Finding:
    """Where a path leads, or why it leads nowhere: the nearest path there is, or which of two
    things of one name is meant.
    """
    steps = path.split(".")
    if steps[0] in TABLES:
        return _of_table(steps, path)
    named = _named(farm)
    if len(steps) > 2 and steps[0] in _LISTED and steps[1] in named.get(steps[0], ()):
        return _of_entry(farm, raw, (steps[0], steps[1]), steps[2:], path)
    lists = [name for name, ids in named.items() if steps[0] in ids]
    if len(lists) > 1:
        remedy = " or ".join(f"{name}.{path}" for name in lists)
        return Finding(
            "IN531", path, f'"{steps[0]}" is the id of more than one thing', f"write {remedy}"
        )
    if not lists:
        tables = [
            f"{table}.{path}" for table, model in TABLES.items() if path in model.model_fields
        ]
        if tables:
            return Finding(
                "IN530", path, f'"{path}" is a key of a table', f"write {' or '.join(tables)}"
            )
        known = [*TABLES, *(name for ids in named.values() for name in ids)]
        return _unknown(path, f'nothing of this farm is called "{steps[0]}"', steps[0], known)
    return _of_entry(farm, raw, (lists[0], steps[0]), steps[1:], path)


def _named(farm: Farm) -> dict[str, tuple[str, ...]]:
    return {
        "stores": tuple(store.id for store in farm.stores),
        "bought": tuple(offer.id for offer in farm.offers if offer.bought),
        "groups": tuple(group.id for group in farm.groups),
        "outlets": tuple(outlet.id for outlet in farm.outlets),
    }


def _unknown(path: str, found: str, word: str, known: list[str], before: str = "") -> Finding:
    near = [name for name in known if len(word) > 2 and name.startswith(word)] or nearest(
        word, known, 1, 0.4
    )
    remedy = f'nearest: "{before}{near[0]}"' if near else f"there are: {', '.join(known)}"
    return Finding("IN530", path, found, remedy)


def _of_table(steps: list[str], path: str) -> Place | Finding:
    known = list(TABLES[steps[0]].model_fields)
    if len(steps) != 2 or steps[1] not in known:
        return _unknown(path, f"[{steps[0]}] has no such key", steps[-1], known, f"{steps[0]}.")
    return Place(Found.KEY, steps[0], "", (), steps[1])


def _figures(farm: Farm) -> list[str]:
    return [
        *(name for name, one in quantities().items() if one.basis in ("fresh", "dm", "feed")),
        *farm.own_quantities,
    ]


def _of_entry(
    farm: Farm, raw: Mapping[str, Any], named: tuple[str, str], rest: list[str], path: str
) -> Place | Finding:
    listed, name = named
    before = path.removesuffix(".".join(rest))
    before = before if before.endswith(".") else f"{before}."
    if len(rest) == 3 and listed == "groups" and rest[0] in _NAMED_BY:
        return _of_limit(name, rest, path)
    own = [key for key in _keys(farm, raw, listed, name) if key not in _FIXED]
    fed = listed in ("stores", "bought")
    known = [*own, *([EDIBLE] if listed == "stores" else []), *([BARRED] if fed else [])]
    figures = _figures(farm) if fed else []
    key = rest[-1] if rest else ""
    if len(rest) == 2 and fed and rest[0] == ANALYSIS and key in figures:
        return Place(Found.FIGURE, listed, name, (), key)
    if len(rest) != 1 or key not in (*known, *figures):
        what = "what is to be changed is not said" if not rest else "there is no such key"
        return _unknown(path, what, key, [*known, *figures] if key else known, before)
    if key in own:
        return Place(Found.KEY, listed, name, (), key)
    special = {EDIBLE: Found.EDIBLE, BARRED: Found.BARRED}
    return Place(special.get(key, Found.FIGURE), listed, name, (), key)


def _keys(farm: Farm, raw: Mapping[str, Any], listed: str, name: str) -> list[str]:
    """The keys that an entry may have."""
    if listed == "groups":
        group = next(group for group in farm.groups if group.id == name)
        return [*GROUP_KEYS, *(fact.key for fact in CLASSES[group.animal_class])]
    fields = list(LISTS[listed].model_fields)
    if listed == "stores":
        store = next(store for store in farm.stores if store.id == name)
        return [*fields, *(size.key for size in KINDS[store.kind])]
    return fields


def _of_limit(name: str, rest: list[str], path: str) -> Place | Finding:
    model: type[BaseModel] = INNER[rest[0]]
    known = [key for key in model.model_fields if key != _NAMED_BY[rest[0]]]
    if rest[2] not in known:
        return _unknown(
            path, "there is no such limit", rest[2], known, f"{name}.{rest[0]}.{rest[1]}."
        )
    return Place(Found.KEY, "groups", name, (rest[0], rest[1]), rest[2])
