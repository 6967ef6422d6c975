"""Stores and groups of the other examples, for a first farm that has more than its own."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

import tomlkit

from rationlp.farm.feed_table import packaged_feeds
from rationlp.farm.traits import traits
from rationlp.folders import examples_folder
from rationlp.paper.first_farm import FirstQuestion, group_questions, store_questions
from rationlp.read.folder import entry_name, raw_tables
from rationlp.read.template import LIKE
from rationlp.records import dataclass
from rationlp.rules.species import MADE_UP_KINDS, made_for

Entry = dict[str, Any]
_BIRTHS = ("calving", "lambing")
_OWN = ("feed_limits", "barred", "tupping")
"""Keys of a group that hold in its own example only."""


@dataclass(frozen=True)
class MoreEntry:
    """An entry of another example. listed: `stores` or `groups`; bought: what the example buys."""

    listed: str
    entry: Mapping[str, Any]
    bought: tuple[Mapping[str, Any], ...]

    def questions(self) -> tuple[FirstQuestion, ...]:
        """Its sizes; or its head, its weight and the first day of births."""
        if self.listed == "stores":
            return tuple(store_questions(self.entry))
        births = [key for key in _BIRTHS if key in self.entry]
        return (*group_questions(self.entry), *(self._birth(key) for key in births))

    def answered(self, stated: Mapping[str, str]) -> MoreEntry:
        """The entry with the answers to its questions, by path; without what is not answered."""
        entry = dict(self.entry)
        for question in self.questions():
            key, answer = question.path.partition(".")[2], stated.get(question.path, "")
            del entry[key]
            if answer.casefold() not in ("", "none"):
                entry[key] = _value(answer)
        return replace(self, entry=entry)

    def _birth(self, key: str) -> FirstQuestion:
        name, day = self.entry.get("name", self.entry["id"]), self.entry[key]
        return FirstQuestion(f"{self.entry['id']}.{key}", f"first day of {key}", day, name)


def _value(answer: str) -> Any:
    """A number or a day as farm.toml holds it; what is neither is left to the reader to refuse."""
    try:
        return tomllib.loads(f"value = {answer.replace(',', '.')}")["value"]
    except tomllib.TOMLDecodeError:
        return answer


def more_entries(example: str) -> tuple[MoreEntry, ...]:
    """What the other examples have and this one has not: stores, feeds, groups; each once."""
    raw, _ = raw_tables(examples_folder() / example)
    known = {_sort(entry) for listed in ("stores", "groups") for entry in raw[listed]}
    names = {
        entry_name(entry) for listed in ("stores", "bought", "groups") for entry in raw[listed]
    }
    found = []
    for other in dict.fromkeys(LIKE.values()):
        there, _ = raw_tables(examples_folder() / other)
        for listed in ("stores", "groups"):
            for entry in there[listed]:
                if _sort(entry) in known or entry_name(entry) in names:
                    continue
                known.add(_sort(entry))
                names.add(entry_name(entry))
                found.append(MoreEntry(listed, entry, tuple(there["bought"])))
    return tuple(found)


def _sort(entry: Mapping[str, Any]) -> tuple[str, str]:
    """What makes two entries the same for a first farm."""
    if "class" in entry:
        return "group", entry["class"]
    return entry["kind"], entry["feed"]


def with_entries(text: str, wanted: Iterable[MoreEntry]) -> str:
    """A farm.toml with entries of other examples at the end of each list. A group brings what it
    may be given in its example and is not bought here; minerals and compounds among it are barred
    from the groups that were there without them.
    """
    document: Any = tomlkit.parse(text)
    entries = tuple(wanted)
    for one in entries:
        if one.listed == "stores":
            _append(document, "stores", {k: v for k, v in one.entry.items() if k != "kept_for"})
    for one in entries:
        if one.listed == "groups":
            _add_group(document, one)
    return tomlkit.dumps(document)


def _add_group(document: Any, one: MoreEntry) -> None:
    group: Entry = copy.deepcopy({k: v for k, v in one.entry.items() if k not in _OWN})
    brought = list(_brought(document, one))
    others = [entry for entry in document["groups"] if _species(entry) == _species(group)]
    for offer in brought:
        _append(document, "bought", offer)
        if packaged_feeds()[offer["feed"]].kind in MADE_UP_KINDS:
            for other in others:
                other["barred"] = [*other.get("barred", []), entry_name(offer)]
    own = {offer["feed"] for offer in brought}
    there = {entry_name(entry) for listed in ("stores", "bought") for entry in document[listed]}
    known = there - {entry_name(entry) for entry in others}
    limits = [limit for limit in one.entry.get("feed_limits", []) if limit["feed"] in known]
    barred = [name for name in one.entry.get("barred", []) if name in known]
    barred += _strange(document, _species(group), own)
    if barred:
        group["barred"] = list(dict.fromkeys(barred))
    if limits:
        group["feed_limits"] = limits
    _append(document, "groups", group)


def _brought(document: Any, one: MoreEntry) -> Iterator[Entry]:
    """What a group may be given in its example and is not bought here, by a name that is free."""
    bought = {entry["feed"] for entry in document["bought"]}
    names = {entry_name(entry) for listed in ("stores", "bought") for entry in document[listed]}
    for offer in one.bought:
        feed = packaged_feeds()[offer["feed"]]
        if feed.key in bought or entry_name(offer) in one.entry.get("barred", []):
            continue
        if made_for(feed) not in ("", _species(one.entry)):
            continue
        bare = {key: value for key, value in offer.items() if key != "top_up"}
        if entry_name(offer) in names:
            bare["id"] = feed.key
        yield bare


def _strange(document: Any, species: str, own: Iterable[str]) -> Iterator[str]:
    """Minerals and compounds for the same animals that others of the farm had before."""
    for offer in document["bought"]:
        feed = packaged_feeds()[offer["feed"]]
        own_kind = feed.kind in MADE_UP_KINDS and made_for(feed) == species
        if own_kind and feed.key not in own:
            yield entry_name(offer)


def _species(group: Mapping[str, Any]) -> str:
    if traits(group["class"]).sheep:
        return "sheep"
    return "cattle"


def _append(document: Any, listed: str, entry: Mapping[str, Any]) -> None:
    """One entry more at the end of a list."""
    table = tomlkit.table()
    inner = {}
    for key, value in entry.items():
        if isinstance(value, (dict, list)) and _holds_tables(value):
            inner[key] = value
        else:
            table[key] = value
    for key, value in inner.items():
        table[key] = tomlkit.item(value)
    table.add(tomlkit.nl())
    document[listed].append(table)


def _holds_tables(value: Any) -> bool:
    return isinstance(value, dict) or any(isinstance(one, dict) for one in value)
