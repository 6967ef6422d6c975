"""A farm's tables with the words of people in place of ours: `Clamp`, `dairy cow`, `barley straw`
become `clamp`, `dairy_cow_milking`, `straw_barley` before anything is judged.

Capitals and blanks are passed over in silence; a trade word that is taken for one of ours is told
(PA150). What may mean several things is left as it is, to be refused with what it may mean.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel

from rationlp.errors import Finding, Spelling
from rationlp.farm.animals import CLASSES
from rationlp.farm.feed_names import feeds_meant
from rationlp.farm.feed_table import packaged_feeds
from rationlp.farm.values import shown
from rationlp.named import meant, plain, same
from rationlp.read.schema import LISTS, TABLES
from rationlp.read.stores import KINDS

_WITH_FEED = ("stores", "bought", "growing")
_OF_IDS = {"barred": "feeds", "kept_for": "groups", "top_up": "feeds"}


def in_plain_words(
    raw: Mapping[str, Any], own_feeds: Iterable[str] = (), spelling: Spelling | None = None
) -> tuple[Mapping[str, Any], tuple[Finding, ...]]:
    """The raw tables in the words of the program, and a notice of each trade word that was taken
    for one of ours. own_feeds: keys of the farm's own feed table, which are never touched;
    spelling: how places are shown.
    """
    words = _Words(raw, frozenset(own_feeds), spelling or Spelling())
    for name, model in TABLES.items():
        if isinstance(words.raw.get(name), dict):
            words.choices(model, words.raw[name])
    for name, model in LISTS.items():
        entries = words.raw.get(name)
        for number, entry in enumerate(entries if isinstance(entries, list) else []):
            if isinstance(entry, dict):
                words.choices(model, entry)
                words.entry(name, number, entry)
    return words.raw, tuple(words.notices())


class _Words:
    """The tables while they are gone through."""

    def __init__(
        self, raw: Mapping[str, Any], own_feeds: frozenset[str], spelling: Spelling
    ) -> None:
        self.spelling = spelling
        self.raw: dict[str, Any] = copy.deepcopy(dict(raw))
        self.own_feeds = own_feeds
        self.places: dict[tuple[str, str], list[str]] = {}

    def notices(self) -> Iterator[Finding]:
        """Each trade word that was taken for one of ours, once, however often it is written."""
        for (written, word), (first, *more) in self.places.items():
            found = written
            if more:
                found += f" (and in {len(more)} more places)" if more[1:] else " (and once more)"
            remedy = f"taken as {word}; write that if it is right, or the word that is meant"
            yield Finding("PA150", first, found, remedy)

    def choices(self, model: type[BaseModel], entry: dict[str, Any]) -> None:
        """Words that a key chooses from, whatever their capitals."""
        for key, words in _choices(model).items():
            if key in entry:
                entry[key] = _among(entry[key], words)

    def entry(self, name: str, number: int, entry: dict[str, Any]) -> None:
        """The trade words of one store, bought feed, group …"""
        path = (name, number)
        if name in _WITH_FEED:
            self._feed(entry, path)
        if name == "stores":
            self._word(entry, "kind", tuple(KINDS), path)
            for size in KINDS.get(str(entry.get("kind")), ()):
                if size.choices and size.key in entry:
                    entry[size.key] = _among(entry[size.key], size.choices)
        if name == "groups":
            self._group(entry, path)
        for key, of in _OF_IDS.items():
            if isinstance(entry.get(key), list):
                entry[key] = [self._id(word, of) for word in entry[key]]

    def _group(self, entry: dict[str, Any], path: tuple[str | int, ...]) -> None:
        self._class(entry, path)
        if isinstance(entry.get("after"), dict):
            self._class(entry["after"], (*path, "after"))
        if "parlour_feed" in entry:
            entry["parlour_feed"] = self._id(entry["parlour_feed"], "feeds")
        for key in ("grazing", "feed_limits"):
            inner = entry.get(key)
            for number, line in enumerate(inner if isinstance(inner, list) else []):
                if isinstance(line, dict) and key == "grazing":
                    self._feed(line, (*path, key, number))
                elif isinstance(line, dict) and "feed" in line:
                    line["feed"] = self._id(line["feed"], "feeds")

    def _class(self, entry: dict[str, Any], path: tuple[str | int, ...]) -> None:
        self._word(entry, "class", tuple(CLASSES), path)
        for fact in CLASSES.get(str(entry.get("class")), ()):
            if fact.choices and fact.key in entry:
                entry[fact.key] = _among(entry[fact.key], fact.choices)

    def _word(
        self, entry: dict[str, Any], key: str, known: Sequence[str], path: tuple[str | int, ...]
    ) -> None:
        """The word of a kind or class; a trade word for a single one is taken."""
        if key not in entry:
            return
        word = _among(entry[key], known)
        if isinstance(word, str) and word not in known:
            trade = meant(key, word)
            if len(trade) == 1:
                self._told(entry, key, trade[0], path)
                return
        entry[key] = word

    def _feed(self, entry: dict[str, Any], path: tuple[str | int, ...]) -> None:
        word = entry.get("feed")
        if not isinstance(word, str) or word in packaged_feeds() or word in self.own_feeds:
            return
        key = feeds_meant(word, packaged_feeds()).key
        if key is not None:
            self._told(entry, "feed", key, path)

    def _told(
        self, entry: dict[str, Any], key: str, word: str, path: tuple[str | int, ...]
    ) -> None:
        where = self.spelling.place((*path, key))
        if plain(str(entry[key])) != plain(word):
            self.places.setdefault((shown(entry[key]), word), []).append(where)
        entry[key] = word

    def _id(self, word: Any, of: str) -> Any:
        """A word for a store, bought feed or group of the farm as its id, where only one fits."""
        if not isinstance(word, str):
            return word
        names = ("groups",) if of == "groups" else ("stores", "bought")
        ids: dict[str, set[str]] = {}
        for name in names:
            entries = self.raw.get(name)
            for entry in entries if isinstance(entries, list) else []:
                if isinstance(entry, dict):
                    own = str(entry.get("id") or entry.get("feed") or "")
                    for text in (own, str(entry.get("name") or own)):
                        ids.setdefault(plain(text), set()).add(own)
        fits = ids.get(plain(word), set())
        if len(fits) != 1 or any(word in known for known in ids.values()):
            return word
        return next(iter(fits))


def _among(word: Any, known: Sequence[str]) -> Any:
    """The known word that differs from this one in capitals and blanks alone; else the word."""
    if not isinstance(word, str) or word in known:
        return word
    alike = same(word, known)
    return alike[0] if len(alike) == 1 else word


@lru_cache(maxsize=64)
def _choices(model: type[BaseModel]) -> dict[str, tuple[str, ...]]:
    """The words that each key of a table chooses from, by key."""
    found = {}
    for name, field in model.model_fields.items():
        words = _literals(field.annotation)
        if words:
            found[field.alias or name] = words
    return found


def _literals(annotation: Any) -> tuple[str, ...]:
    if get_origin(annotation) is Literal:
        return tuple(str(word) for word in get_args(annotation))
    if get_origin(annotation) is list:
        return ()
    return tuple(word for inner in get_args(annotation) for word in _literals(inner))
