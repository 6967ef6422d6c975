"""Edits of a farm: kept, tried, undone and done again, each checked by the reader that checks all
input.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from rationlp.errors import Finding, InputError
from rationlp.read.changed import Begun, Change, ChangedFarm, changed
from rationlp.read.changed_paths import Target, find

MOST_EDITS = 20_000
"""More steps back than this are not kept."""
MOST_TEXT = 2000
"""A longer path or value is no key of a farm [signs]."""
_DAY = re.compile(r"^\d{4}-\d{2}-\d{2}$")


def change_of(path: object, value: object) -> Change:
    """An edit as the browser sends it, as a change. Raises InputError (IN902) where it is none."""
    if not isinstance(path, str) or not path or len(path) > MOST_TEXT:
        raise _refused("", "an edit without a path")
    text = _text(value)
    if text is None or len(text) > MOST_TEXT:
        raise _refused(path, "a value that no key of a farm can have")
    return Change(path, "=", text)


def sent_changes(sent: Iterable[object]) -> list[Change]:
    """Edits as the browser sends them, as changes. Raises InputError (IN902) for what is none."""
    return [
        change_of(one.get("path"), one.get("value")) if isinstance(one, dict) else change_of("", "")
        for one in sent
    ]


def _text(value: object) -> str | None:
    """A value as farm.toml would hold it; None for what it cannot hold."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return f"({value!r})" if value < 0 else repr(value)
    if isinstance(value, str):
        if _DAY.match(value):
            return value
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, list) and all(isinstance(one, str) for one in value):
        return json.dumps(value, ensure_ascii=False)
    return None


def _refused(path: str, found: str) -> InputError:
    remedy = "send a path such as cows.head and a number, a day, a word or true or false"
    return InputError([Finding("IN902", path[:80] or "edit", found, remedy)])


@dataclass
class Edits:
    """The edits of one farm. kept: those of the farm, not saved yet; tried: what if, not kept;
    before, after: states to go back and forward to. sets: what was tried, by name. moving: paths
    tried last, which one more trial of goes on with: a slider's way is one step.
    """

    kept: dict[str, str] = field(default_factory=dict)
    tried: dict[str, str] = field(default_factory=dict)
    before: list[tuple[dict[str, str], dict[str, str]]] = field(default_factory=list)
    after: list[tuple[dict[str, str], dict[str, str]]] = field(default_factory=list)
    sets: dict[str, dict[str, str]] = field(default_factory=dict)
    moving: frozenset[str] = frozenset()

    def taken(self, changes: Iterable[Change], trying: bool) -> tuple[dict[str, str], ...]:
        """What would be kept and what tried after more edits."""
        more = {change.path: change.text for change in changes}
        into = self.tried if trying else self.kept
        into = {path: text for path, text in into.items() if path not in more} | more
        if trying:
            return self.kept, into
        return into, {path: text for path, text in self.tried.items() if path not in more}

    def take(self, changes: Iterable[Change], trying: bool) -> None:
        """Add edits, to what is tried or to the farm."""
        moves = list(changes)
        paths = frozenset(change.path for change in moves)
        if not trying or paths != self.moving:
            self._step()
        self.moving = paths if trying else frozenset()
        self.kept, self.tried = self.taken(moves, trying)

    def copied(self) -> Edits:
        """The same edits and steps, which stay as they are when these go on."""
        before, after = list(self.before), list(self.after)
        return replace(self, before=before, after=after, sets=dict(self.sets))

    def keep(self) -> None:
        """What is tried becomes part of the farm."""
        self._step()
        self.kept, self.tried = {**self.kept, **self.tried}, {}

    def forget(self) -> None:
        """What is tried is put back."""
        self._step()
        self.tried = {}

    def use(self, tried: Mapping[str, str]) -> None:
        """Try a named set."""
        self._step()
        self.tried = dict(tried)

    def add(self, edits: Edits) -> None:
        """Add the edits of an earlier time, below those that there are."""
        self._step()
        both = edits.with_later(self)
        self.kept, self.tried, self.sets = both.kept, both.tried, both.sets

    def with_later(self, later: Edits) -> Edits:
        """These edits and later ones, which win."""
        return Edits(
            {**self.kept, **later.kept},
            {**self.tried, **later.tried},
            sets={**self.sets, **later.sets},
        )

    def undo(self) -> bool:
        """One step back; False where there is none."""
        return self._go(self.before, self.after)

    def redo(self) -> bool:
        """One step forward again; False where there is none."""
        return self._go(self.after, self.before)

    def saved(self) -> None:
        """The farm's folder has what was kept; steps before it would write it out again."""
        self.kept, self.moving = {}, frozenset()
        self.before.clear()
        self.after.clear()

    def _step(self) -> None:
        self.moving = frozenset()
        self.before.append((self.kept, self.tried))
        del self.before[:-MOST_EDITS]
        self.after.clear()

    def _go(
        self,
        source: list[tuple[dict[str, str], dict[str, str]]],
        target: list[tuple[dict[str, str], dict[str, str]]],
    ) -> bool:
        self.moving = frozenset()
        if not source:
            return False
        target.append((self.kept, self.tried))
        self.kept, self.tried = source.pop()
        return True

    def changes(self, trying: bool = True) -> tuple[Change, ...]:
        """The edits as changes, one a path. trying: with what is tried."""
        return changes_of(self.kept, self.tried if trying else {})


def changes_of(kept: Mapping[str, str], tried: Mapping[str, str]) -> tuple[Change, ...]:
    """Edits as changes, one a path; what is tried goes before what is kept."""
    return tuple(Change(path, "=", text) for path, text in {**kept, **tried}.items())


def checked(begun: Begun, changes: Iterable[Change]) -> ChangedFarm:
    """The farm with changes. Raises InputError with everything that is wrong."""
    return changed(begun, changes)


def savable(begun: Begun, changes: Iterable[Change]) -> None:
    """Raises InputError (IN904) for changes that can be tried but have no place in the folder."""
    findings = []
    for change in changes:
        if find(begun.farm, change.path).leads_to not in (Target.KEY, Target.FIGURE):
            remedy = "forget it, and change the sizes, the tonnes or the limits of groups instead"
            found = "this can be tried, and has no place in the farm's files"
            findings.append(Finding("IN904", change.path, found, remedy))
    if findings:
        raise InputError(findings)


def fault_of(finding: Finding, paths: Iterable[str] = ()) -> dict[str, Any]:
    """A finding as the browser gets it, with the path of the field that it belongs to where one of
    these is named in its place.
    """
    path = next((path for path in paths if _names(finding.where, path)), "")
    return {
        "code": finding.code,
        "place": finding.where[:400],
        "path": path,
        "found": finding.found[:400],
        "remedy": finding.remedy[:400],
    }


def _names(where: str, path: str) -> bool:
    """Whether a place as a person is shown it is that of a path."""
    name, _, key = path.partition(".")
    return where == path or (where.endswith(key.rpartition(".")[2]) and name in where)


def stale(serial: int) -> InputError:
    """The error of an edit that is older than another one of its page (IN903)."""
    remedy = "send edits with numbers that grow"
    return InputError([Finding("IN903", "serial", f"{serial} is no newer edit", remedy)])
