"""How feed is weighed, loaded and put out: figures from feeds/loading.csv, and what a farm says in
its [feeding] tables.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import lru_cache
from typing import Any

from rationlp.csvfile import read_rows
from rationlp.errors import Finding
from rationlp.farm.group import Feeding, Group
from rationlp.folders import feeds_folder
from rationlp.read.schema import FeedingTable, GroupTable, place
from rationlp.records import dataclass


@dataclass(frozen=True)
class LoadingFigure:
    """A figure of weighing and loading with its unit, status (a, b or c) and source in words."""

    value: float
    unit: str
    status: str
    source: str


@lru_cache(maxsize=1)
def loading_figures() -> dict[str, LoadingFigure]:
    """Every figure of feeds/loading.csv by name. Not to be changed by the caller."""
    return {
        row.cells["figure"]: LoadingFigure(
            float(row.cells["value"]), row.cells["unit"], row.cells["status"], row.cells["source"]
        )
        for row in read_rows(feeds_folder() / "loading.csv").rows
    }


def loading_figure(figure: str) -> float:
    """The value of a figure of feeds/loading.csv, in the unit that stands there."""
    return loading_figures()[figure].value


def read_feeding(
    table: FeedingTable | None,
    groups: tuple[Group, ...],
    tables: Iterable[tuple[int, GroupTable | None]],
    raw: Mapping[str, Any],
) -> tuple[Feeding, tuple[Group, ...], list[Finding]]:
    """The farm's way of feeding, the groups with their own where they have one, and what is wrong
    with any of them.

    A group's `feeding` changes single keys of the farm's.
    """
    whole = _over(Feeding(), table)
    findings = _faults(whole, table, place(("feeding",), raw))
    own: dict[str, Feeding] = {}
    for number, group in tables:
        if group is not None and group.feeding is not None:
            own[group.id] = _over(whole, group.feeding)
            where = f"{place(('groups', number), raw)}.feeding"
            findings += _faults(own[group.id], group.feeding, where)
    return whole, tuple(replace(group, feeding=own.get(group.id)) for group in groups), findings


def _over(feeding: Feeding, table: FeedingTable | None) -> Feeding:
    """A way of feeding with the keys that a table states laid over it."""
    return feeding if table is None else replace(feeding, **table.model_dump(exclude_unset=True))


def _faults(feeding: Feeding, table: FeedingTable | None, where: str) -> list[Finding]:
    """What of one table does not go together with the rest."""
    if table is None:
        return []
    stated = table.model_fields_set
    findings = []
    if feeding.wagon == "none":
        mixing = sorted(stated & {"tub_m3", "scale_division_kg", "loads_per_day", "mix_kg_per_m3"})
        if mixing:
            found = f"{', '.join(mixing)}, and no wagon"
            findings.append(
                Finding(
                    "IN134",
                    where,
                    found,
                    'give wagon = "vertical" or "horizontal", or leave them out',
                )
            )
    elif feeding.tub_m3 is None:
        remedy = "give the size of the tub in m3; the maker's plate has it"
        findings.append(
            Finding("IN111", f"{where}.tub_m3", "a wagon without the size of its tub", remedy)
        )
    return findings
