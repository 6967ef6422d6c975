"""farm.toml with single keys changed or entries taken out, its comments kept.

A change is written as for `whatif` (`wide_clamp.length_m=18`); `ID=none` takes a store, bought feed
or group out, and with it what names it elsewhere.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.items import AoT, Array, Table, Whitespace

from rationlp.csvfile import read_rows, read_text
from rationlp.errors import Finding, InputError, refused
from rationlp.farm.farm import Farm
from rationlp.paper.writing import farm_with
from rationlp.read.changed import Begun, Change, begin, drafted, parse_change
from rationlp.read.changed_paths import NAMED_BY, Place, Target, find, inside
from rationlp.read.folder import is_workbook
from rationlp.records import dataclass

NO_ENTRY = "none"
_LISTS = ("stores", "bought", "groups")
_NAMING_LISTS = ("barred", "kept_for", "stores", "top_up", "groups")


@dataclass(frozen=True)
class Edit:
    """One change made: path, what stood there (None where nothing did) and what stands now."""

    path: str
    before: Any
    after: Any


@dataclass(frozen=True)
class EditedFarm:
    """The new text of farm.toml, the farm as read from it, and the changes made."""

    text: str
    farm: Farm
    edits: tuple[Edit, ...]


def edited(folder: Path, settings: Sequence[str], alone: bool = False) -> EditedFarm:
    """farm.toml with changes made and checked. alone: the files beside it are left out. Raises
    InputError with everything that is wrong; a workbook is never written over (PA130).
    """
    if is_workbook(folder):
        remedy = "type the figure into the workbook"
        trouble = "a workbook, which is never written over"
        raise refused("PA130", str(folder), trouble, remedy)
    begun = begin(folder)
    document: Any = tomlkit.parse(read_text(folder / "farm.toml")[0])
    gone = [text.rpartition("=")[0].strip() for text in settings if _takes_out(text)]
    changes = [parse_change(text) for text in settings if not _takes_out(text)]
    names = [change for change in changes if _renames(begun.farm, change)]
    changes = [change for change in changes if change not in names]
    edits = [_rename(begun, document, change) for change in names]
    edits += _change(begun, document, changes, folder, alone)
    for name in gone:
        _take_out(begun.farm, document, name)
        edits.append(Edit(name, name, None))
    text = tomlkit.dumps(document)
    return EditedFarm(text, farm_with(folder, "farm.toml", text, alone), tuple(edits))


def _takes_out(text: str) -> bool:
    path, mark, word = text.rpartition("=")
    return bool(mark) and "." not in path and word.strip().casefold() == NO_ENTRY


def _renames(farm: Farm, change: Change) -> bool:
    """Whether a change gives a store, bought feed or group another name."""
    name, _, key = change.path.partition(".")
    ids = {*(offer.id for offer in farm.offers), *(group.id for group in farm.groups)}
    return key == "name" and change.sign == "=" and name in ids


def _rename(begun: Begun, document: Any, change: Change) -> Edit:
    name = change.path.partition(".")[0]
    for listed in _LISTS:
        number = _number(begun.source.raw.get(listed, []), name)
        if number is not None:
            entry = document[listed][number]
            before, entry["name"] = entry.get("name"), change.text.strip("\"'")
            return Edit(change.path, before, str(entry["name"]))
    raise refused("PA140", name, "farm.toml has no entry for it", "add it there")


def _change(
    begun: Begun, document: Any, changes: Iterable[Change], folder: Path, alone: bool
) -> list[Edit]:
    changes = list(changes)
    draft = drafted(begun, changes)
    edits, new_tables = [], NewTables()
    findings: list[Finding] = []
    for change in changes:
        place = find(begun.farm, change.path)
        if place.leads_to not in (Target.KEY, Target.FIGURE):
            trouble = "it is no key of farm.toml"
            remedy = "ask it with `rationlp whatif`; give sizes, tonnes or an analysis here"
            findings.append(Finding("PA140", change.path, trouble, remedy))
            continue
        if not alone and place.list == "bought" and _in_prices(folder, place):
            remedy = "change it there, or take in a price list: `rationlp take FILE FARM`"
            findings.append(Finding("PA140", change.path, "prices.csv states it", remedy))
            continue
        table = _table(document, begun, place, new_tables)
        if place.leads_to is Target.FIGURE:
            table = table.setdefault("analysis", tomlkit.table())
            after: Any = draft.figures[place.id][place.key]
        else:
            after = place.table(draft.raw)[place.key]
        before = table.get(place.key)
        table[place.key] = after
        edits.append(Edit(change.path, before, after))
        if place.key == "width_m" and table.get("face_width_m") == before:
            # A face as wide as the clamp stays so.
            table["face_width_m"] = after
            edits.append(Edit(f"{place.id}.face_width_m", before, after))
    if findings:
        raise InputError(findings)
    new_tables.close()
    return edits


def _in_prices(folder: Path, place: Place) -> bool:
    path = folder / "prices.csv"
    if not path.exists():
        return False
    return any(
        row.cells.get("feed") == place.id and row.cells.get(place.key)
        for row in read_rows(path).rows
    )


def _table(document: Any, begun: Begun, place: Place, new_tables: NewTables) -> Any:
    """The table of the document that a place is in; made where there is none yet."""
    if not place.id:
        return document.setdefault(place.list, tomlkit.table())
    entries = begun.source.raw.get(place.list, [])
    number = _number(entries, place.id)
    if number is None:
        raise refused("PA140", place.id, "farm.toml has no entry for it", "add it there")
    entry = document[place.list][number]
    if place.within:
        inner = inside(entry, *place.within)
        if inner is None:
            inner = new_tables.inside(entry, *place.within)
        return inner
    return entry


def _number(entries: Sequence[Mapping[str, Any]], name: str) -> int | None:
    for number, entry in enumerate(entries):
        if (entry.get("id") or entry.get("feed")) == name:
            return number
    return None


def _take_out(farm: Farm, document: Any, name: str) -> None:
    """Take out an entry and what names it. Raises InputError (PA140) where there is none."""
    for listed in _LISTS:
        number = _number(document.get(listed, []), name)
        if number is not None:
            del document[listed][number]
            break
    else:
        ids = ", ".join([*(o.id for o in farm.offers), *(group.id for group in farm.groups)])
        remedy = f"there are: {ids}"
        raise refused("PA140", name, "nothing of this farm is called so", remedy)
    for listed in ("stores", "groups", "outlets", "mixes", "bedding"):
        _forget(document, listed, name)


def _forget(document: Any, listed: str, name: str) -> None:
    entries = document.get(listed, [])
    for number in reversed(range(len(entries))):
        entry = entries[number]
        if listed == "bedding" and name in (entry.get("store"), entry.get("group")):
            del entries[number]
            continue
        for key in _NAMING_LISTS:
            if isinstance(entry.get(key), list) and name in entry[key]:
                entry[key] = [word for word in entry[key] if word != name]
        limits = entry.get("feed_limits", [])
        for limit in reversed(range(len(limits))):
            if limits[limit].get("feed") == name:
                del limits[limit]


BLANK_LINE = "\n"
"""Stands before each new table."""


@dataclasses.dataclass
class _Opened:
    """A table made inside an entry. lead: blank lines and remarks that stood at the entry's end and
    follow the table once its keys are written.
    """

    table: Any
    lead: tuple[Any, ...]


class NewTables:
    """The tables made inside entries of one farm.toml."""

    def __init__(self) -> None:
        self._opened: list[_Opened] = []

    def inside(self, entry: Any, name: str, of: str | None = None) -> Any:
        """A table `name` made inside an entry, or one more of the list `name`, named by `of`: in an
        inline list an inline table.
        """
        listed = entry.get(name)
        if of is not None and isinstance(listed, Array):
            inline = tomlkit.inline_table()
            inline.update({NAMED_BY[name]: of})
            listed.append(inline)
            return listed[-1]
        lead = self._lead(entry if listed is None else listed)
        table = tomlkit.table()
        table.trivia.indent = BLANK_LINE
        if of is None:
            entry.append(name, table)
        else:
            table.update({NAMED_BY[name]: of})
            if listed is None:
                entry.append(name, tomlkit.aot())
            entry[name].append(table)
            table = entry[name][-1]
        self._opened.append(_Opened(table, lead))
        return table

    def _lead(self, holder: Any) -> tuple[Any, ...]:
        """What stands at the end of an entry or list, taken off, to follow a new last table."""
        last = _last_table(holder)
        lead = _taken_from_end(last)
        for opened in self._opened:
            if opened.table is last:
                lead, opened.lead = (*lead, *opened.lead), ()
        return lead

    def close(self) -> None:
        """Put what stood at the end of each entry after the keys of the new tables."""
        for opened in self._opened:
            for item in opened.lead:
                opened.table.add(item)


def _last_table(item: Any) -> Any:
    """The table that an entry or list of tables ends with, itself where it holds none."""
    while True:
        if isinstance(item, AoT):
            item = item[-1]
            continue
        values = [value for key, value in item.value.body if key is not None]
        if not values or not isinstance(values[-1], (Table, AoT)):
            return item
        item = values[-1]


def _taken_from_end(table: Any) -> tuple[Any, ...]:
    """What stands at the end of a table from a blank line on, taken off."""
    body, taken = table.value.body, list[Any]()
    while body and body[-1][0] is None:
        taken.insert(0, body.pop()[1])
    while taken and not isinstance(taken[0], Whitespace):
        table.add(taken.pop(0))
    return tuple(taken)
