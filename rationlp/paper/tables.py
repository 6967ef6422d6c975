"""Tables made inside an entry of farm.toml, such as [groups.after], where none stands yet: after
what the entry holds, before the blank lines and remarks that lead on to the next.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import tomlkit
from tomlkit.items import AoT, Array, Table, Whitespace

from rationlp.read.changed_paths import NAMED_BY

BLANK_LINE = "\n"
"""Stands before each new table."""


@dataclass
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
