"""Energy from the back of fresh cows beside a ration already fed, within their ceiling."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from rationlp.farm.group import Group
from rationlp.halving import halve
from rationlp.model.reserves import RESERVE_STEP_MJ, ceiling_of
from rationlp.needs.reserves import kg_lost

SHORT_MJ = 0.01
"""Less than this is rounding, nothing to milk off her back for [MJ a head a day]."""
Short = Callable[[Group], float]


def milking_off_her_back(group: Group, short_mj: Short) -> Group:
    """The group with the least energy from the back, to 1 MJ, at which its ration is enough; with
    all that is allowed where not even that is; as it stands where it is fed enough or is no fresh
    cow's.

    short_mj: ME that the ration lacks of the need of a group [MJ a head a day], 0 or less where it
    is enough. The same ceiling holds as for a ration that is found (needs/reserves.py).
    """
    ceiling = ceiling_of(group)
    if ceiling < RESERVE_STEP_MJ or short_mj(group) <= SHORT_MJ:
        return group

    def is_short(reserve_mj: float) -> bool:
        return short_mj(replace(group, reserve_mj=reserve_mj)) > 0.0

    enough = ceiling
    if not is_short(ceiling):
        _, enough = halve(is_short, 0.0, ceiling, RESERVE_STEP_MJ)
    return replace(group, reserve_mj=enough)


def reserve_remark(group: Group, still_short: bool) -> str:
    """What is counted on from her back, in a sentence."""
    most = "within what is allowed"
    if still_short:
        most = "all that is allowed in this week and condition, and it is not enough"
    return (
        f"Fresh cows fed this lose weight: {group.reserve_mj:.0f} MJ a day from the back is counted"
        f" towards the need, about {kg_lost(group.reserve_mj):.1f} kg a day ({most}). Score them at"
        " calving and in week 6: more than half a score is too much."
    )
