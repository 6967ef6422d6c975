"""How feed is weighed, loaded and put out: feeds/loading.csv, and a farm's [feeding] tables."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from rationlp.errors import Faults
from rationlp.farm.group import Feeding, Group
from rationlp.folders import SourcedFigure, as_record, packaged_rows
from rationlp.read.draft import Draft
from rationlp.read.schema import FeedingTable


@lru_cache(maxsize=1)
def loading_figures() -> dict[str, SourcedFigure]:
    """Every figure of feeds/loading.csv by name. Not to be changed by the caller."""
    return {row["figure"]: as_record(SourcedFigure, row) for row in packaged_rows("loading.csv")}


def loading_figure(figure: str) -> float:
    """The value of a figure of feeds/loading.csv, in the unit that stands there."""
    return loading_figures()[figure].value


def read_feeding(draft: Draft, groups: tuple[Group, ...]) -> tuple[Feeding, tuple[Group, ...]]:
    """The farm's way of feeding, and the groups with their own, which changes single keys."""
    table = draft.tables["feeding"]
    whole = _over(Feeding(), table)
    _check(whole, table, draft.faults.at("feeding"))
    own: dict[str, Feeding] = {}
    for faults, group in draft.entries("groups"):
        if group.feeding is not None:
            own[group.id] = _over(whole, group.feeding)
            _check(own[group.id], group.feeding, faults.at("feeding"))
    return whole, tuple(replace(group, feeding=own.get(group.id)) for group in groups)


def _over(feeding: Feeding, table: FeedingTable | None) -> Feeding:
    """A way of feeding with the keys that a table states laid over it."""
    if table is None:
        return feeding
    return replace(feeding, **table.model_dump(exclude_unset=True))


def _check(feeding: Feeding, table: FeedingTable | None, faults: Faults) -> None:
    """What of one table does not go together with the rest."""
    if table is None:
        return
    if feeding.wagon == "none":
        of_a_wagon = {"tub_m3", "scale_division_kg", "loads_per_day", "mix_kg_per_m3"}
        mixing = sorted(table.model_fields_set & of_a_wagon)
        if mixing:
            remedy = 'give wagon = "vertical" or "horizontal", or leave them out'
            faults.add("IN134", f"{', '.join(mixing)}, and no wagon", remedy)
    elif feeding.tub_m3 is None:
        remedy = "give the size of the tub in m3; the maker's plate has it"
        faults.at("tub_m3").add("IN111", "a wagon without the size of its tub", remedy)
