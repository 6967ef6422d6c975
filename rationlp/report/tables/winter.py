"""Tables of the winter: the needs of every group step by step, as its calendar goes."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from rationlp.report.tables.needs import most_dm, net_note
from rationlp.report.tables.table import Column, Table, quantity_column, table_of

if TYPE_CHECKING:
    from rationlp.needs.winter import WinterStep

_STAGE = (
    ("days_to_calving", "d to calving"),
    ("days_to_lambing", "d to lambing"),
    ("week_of_lactation", "wk in milk"),
)


def stage_words(facts: dict[str, float | str]) -> str:
    """Where an animal stands: days to its young, or weeks in milk; empty for others."""
    return ", ".join(f"{float(facts[key]):.0f} {words}" for key, words in _STAGE if key in facts)


def _fact(key: str) -> Callable[[WinterStep], object]:
    return lambda step: step.group.facts.get(key)


def winter_needs_table(steps: Iterable[WinterStep]) -> Table:
    """Needs a head a day, one row a group, part and step. Dates are the first day of each step."""
    columns = (
        Column("group", "Group", of="group.id"),
        Column("from", "From", of=lambda step: step.first.isoformat()),
        Column("class", "Class", full=True, of="needs.animal_class"),
        Column("head", "Head", "", 0, of="group.head"),
        Column("live_weight_kg", "Weight", "kg", 0, True, _fact("live_weight_kg")),
        Column("stage", "Stage", of=lambda step: stage_words(step.group.facts)),
        Column("milk_kg_per_day", "Milk", "kg", 1, of=_fact("milk_kg_per_day")),
        quantity_column("me_mj", "ME needed"),
        quantity_column("me_mj_per_kg_dm", "at", full=True, of="density"),
        quantity_column("mp_g", "MP needed", of="needs.mp_required_g"),
        quantity_column("dm_kg", "Most DM", of=lambda step: most_dm(step.needs)),
    )
    every = tuple(steps)
    notes = (
        (
            "Margins included. ME is what is needed on a ration of the energy density beside it; it"
            " falls as the ration gets richer. Animals still to give birth are taken at the end of"
            " each step."
        ),
        *net_note(step.needs for step in every),
    )
    return table_of(
        "needs_over_winter", "Needs over the winter, a head a day", every, columns, notes
    )
