"""Tables of the winter: the needs of every group step by step, as its calendar goes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from rationlp.report.tables.needs import net_note
from rationlp.report.tables.table import Column, Table, quantity_column

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


def winter_needs_table(steps: Iterable[WinterStep]) -> Table:
    """Needs a head a day, one row a group, part and step. Dates are the first day of each step."""
    columns = (
        Column("group", "Group"),
        Column("from", "From"),
        Column("class", "Class", full=True),
        Column("head", "Head", "", 0, "right"),
        Column("live_weight_kg", "Weight", "kg", 0, "right", full=True),
        Column("stage", "Stage"),
        Column("milk_kg_per_day", "Milk", "kg", 1, "right"),
        quantity_column("me_mj", "ME needed"),
        quantity_column("me_mj_per_kg_dm", "at", full=True),
        quantity_column("mp_g", "MP needed"),
        quantity_column("dm_kg", "Most DM"),
    )
    every = tuple(steps)
    rows = tuple(
        (
            step.group.id,
            step.first.isoformat(),
            step.needs.animal_class,
            step.group.head,
            step.group.facts.get("live_weight_kg"),
            stage_words(step.group.facts),
            step.group.facts.get("milk_kg_per_day"),
            step.me_mj,
            step.density,
            step.needs.mp_required_g,
            None if step.needs.intake is None else step.needs.intake.cap_kg_dm,
        )
        for step in every
    )
    notes = (
        (
            "Margins included. ME is what is needed on a ration of the energy density beside it; it"
            " falls as the ration gets richer. Animals still to give birth are taken at the end of"
            " each step."
        ),
        *net_note(step.needs for step in every),
    )
    return Table("needs_over_winter", "Needs over the winter, a head a day", columns, rows, notes)
