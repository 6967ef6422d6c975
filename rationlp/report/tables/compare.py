"""The table of second opinions: other published standards beside our requirement, one table a group
or one for all.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from rationlp.needs.objects import GroupNeeds
from rationlp.report.tables.table import Column, Table

if TYPE_CHECKING:
    from rationlp.needs.compare import Opinion

_COLUMNS = (
    Column("quantity", "What is compared"),
    Column("method", "Standard"),
    Column("value_mj_per_day", "Theirs", "MJ/d", 1, "right"),
    Column("ours_mj_per_day", "Ours", "MJ/d", 1, "right"),
    Column("difference_percent", "Theirs less ours", "%", 1, "right"),
    Column("equation", "How"),
    Column("valid", "Holds for"),
    Column("source", "Source"),
    Column("status", "Status"),
)
_NOTES = (
    (
        "Ours: AFRC (1993) with the group's own maintenance factor, ME on a ration of the energy"
        " density usual for the class. Feeding tables and allowances stand beside our need with"
        " margin, measurements beside our need without. Parts of ME stand without the correction"
        " for the level of feeding, the whole with it."
    ),
    (
        "Standards draw the line between maintenance, growth and waste differently: parts that"
        " differ may still add up to the same whole. None of them is measured on these animals."
    ),
    (
        "Status: a = checked in a cited text, b = from memory of a named publication, c = common"
        " practice, no source."
    ),
)


def compare_table(
    opinions: Mapping[str, tuple[Opinion, ...]], needs: tuple[GroupNeeds, ...]
) -> Table:
    """Other standards beside ours, for one group, or for several in one long table with their ids
    and classes.

    opinions: by group id. needs: the groups, in the order wanted.
    """
    one = len(needs) == 1
    rows: list[tuple[object, ...]] = []
    for group in needs:
        first = () if one else (group.group, group.animal_class)
        rows += [(*first, *_row(opinion)) for opinion in opinions[group.group]]
    if one:
        return Table(
            "second_opinions",
            f"{needs[0].group}: other standards beside ours",
            _COLUMNS,
            tuple(rows),
            _NOTES,
        )
    columns = (Column("group", "Group"), Column("class", "Class"), *_COLUMNS)
    return Table(
        "second_opinions", "Other standards beside ours, a head a day", columns, tuple(rows), _NOTES
    )


def spread(opinions: tuple[Opinion, ...]) -> str:
    """How far other standards lie from ours, in a sentence or two, and what another maintenance
    factor would ask for.
    """
    from rationlp.needs.compare import MAINTENANCE, OURS_AGAIN, WHOLE

    parts = []
    for part, quantities in (("the whole need", WHOLE), ("maintenance", MAINTENANCE)):
        shares = [
            100.0 * opinion.difference_share
            for opinion in opinions
            if opinion.quantity in quantities
            and opinion.method != OURS_AGAIN
            and opinion.difference_share is not None
        ]
        if shares:
            low, high = _signed(min(shares)), _signed(max(shares))
            parts.append(f"{part} by {low}" if low == high else f"{part} by {low} to {high}")
    sentence = ""
    if parts:
        sentence = f"Other standards differ from ours: {', '.join(parts)}."
    again = [
        f" On ours, {opinion.equation.split(';')[0]} gives {opinion.value:.1f} instead of"
        f" {opinion.ours:.1f} MJ ME a day."
        for opinion in opinions
        if opinion.method == OURS_AGAIN and opinion.value is not None and opinion.ours is not None
    ]
    return f"{sentence}{''.join(again)}".strip()


def _signed(percent: float) -> str:
    text = f"{percent:+.1f}".replace("-", "−")
    return f"{'0.0' if text in ('+0.0', '−0.0') else text} %"


def _row(opinion: Opinion) -> tuple[object, ...]:
    share = opinion.difference_share
    return (
        opinion.quantity,
        opinion.method,
        opinion.value,
        opinion.ours,
        None if share is None else 100.0 * share,
        opinion.equation,
        opinion.valid,
        opinion.source,
        opinion.status,
    )
