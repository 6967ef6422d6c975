"""Reasons on the page: each group's ration of one day by itself, why it is what it is, and how far
its feeds could move.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from rationlp.report.page_parts import WhyPart
from rationlp.report.why import leaves_line, ranges_table, why_line

if TYPE_CHECKING:
    from rationlp.ask.why import Reasons


def why_parts(
    reasons: Mapping[str, Reasons], names: Mapping[str, str], currency: str
) -> tuple[WhyPart, ...]:
    """The reasons of the groups in words. names: of the groups, by id."""
    return tuple(
        WhyPart(
            name=names.get(group, group),
            lines=tuple(
                line for line in (why_line(why, currency), leaves_line(why.leaves)) if line
            ),
            ranges=ranges_table(why, names.get(group, group)),
        )
        for group, why in reasons.items()
    )
