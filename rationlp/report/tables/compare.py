"""The table of second opinions: other published standards beside our requirement."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from rationlp.needs.objects import GroupNeeds
from rationlp.report.tables.needs import NEEDS_OF
from rationlp.report.tables.table import Column, Table, reached, table_of
from rationlp.report.wording import from_to

if TYPE_CHECKING:
    from rationlp.needs.compare import Opinion

_COLUMNS = (
    Column("quantity", "What is compared"),
    Column("method", "Standard"),
    Column("value_mj_per_day", "Theirs", "MJ/d", 1, of="value"),
    Column("ours_mj_per_day", "Ours", "MJ/d", 1, of="ours"),
    Column("difference_percent", "Theirs less ours", "%", 1, of="difference_share", share=True),
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
    columns = (*NEEDS_OF, *reached(_COLUMNS, lambda pair: pair[1]))
    title = "Other standards beside ours, a head a day"
    if len(needs) == 1:
        columns, title = columns[2:], f"{needs[0].group}: other standards beside ours"
    pairs = ((group, opinion) for group in needs for opinion in opinions[group.group])
    return table_of("second_opinions", title, pairs, columns, _NOTES)


def spread(opinions: tuple[Opinion, ...]) -> str:
    """How far other standards lie from ours, and what another maintenance factor would ask for."""
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
            parts.append(f"{part} by {from_to(low, high)}")
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


def _signed(figure: float) -> str:
    text = f"{figure:+.1f} %".replace("-", "−")
    if text in ("+0.0 %", "−0.0 %"):
        return "0.0 %"
    return text
