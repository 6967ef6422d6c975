"""A second opinion on a need: other published standards, and a higher maintenance, beside ours."""

from __future__ import annotations

from dataclasses import replace

from rationlp.farm.farm import Margins
from rationlp.farm.group import AFRC, Group
from rationlp.farm.traits import traits
from rationlp.needs import group_needs
from rationlp.needs.dairy_margins import margins_for
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.needs.limits import typical_density
from rationlp.needs.objects import GroupNeeds
from rationlp.needs.second import cattle, sheep
from rationlp.needs.second.opinion import (
    MAINTENANCE,
    ME_WHOLE,
    QUANTITIES,
    WHOLE,
    Case,
    Method,
    Opinion,
)

__all__ = ["MAINTENANCE", "OURS_AGAIN", "WHOLE", "Opinion", "second_opinions"]

OURS_AGAIN = "AFRC (1993), other maintenance"
"""The method name of our own requirement with another maintenance factor: no second standard."""

HIGHER_CATTLE, HIGHER_SHEEP = 1.10, 1.15
"""The other maintenance factor where the group has none of its own [-]; our choice, common practice
(c). Cattle: maintenance measured on growing cattle lies 8 % above AFRC (review, Animals 2021), that
of cows more. Sheep: the low end of 1.15–1.40; calorimetry of 2013–17 lies 40–53 % above several
systems.
"""

_FACTOR = Method(
    OURS_AGAIN,
    "AFRC (1993); maintenance of today's stock has been measured higher; the factor is common"
    " practice, no source",
    "c",
)


def second_opinions(group: Group, needs: GroupNeeds, margins: Margins) -> tuple[Opinion, ...]:
    """Other published figures for this group, each beside the same quantity of ours; then ours with
    another maintenance factor.

    Ours is AFRC (1993) whatever standard the group asks for. needs: this group's, with the same
    margins. ME [MJ/d] is worked out at the middle of the energy density usual for the class.
    Feeding tables and allowances stand beside our need with margin, measurements and regressions
    beside our need without; net energy beside net energy. A standard whose range the animal lies
    outside of gives a value of None. Empty for a group without an energy requirement (class
    `stated`). Raises InputError where `group_needs` does.
    """
    if needs.energy is None:
        return ()
    if group.standard != AFRC:
        group = replace(group, standard=AFRC)
        needs = group_needs(group, margins)
    assert needs.energy is not None
    q = typical_density(needs.limits) / GE_MJ_PER_KG_DM
    case = Case(group, needs, needs.energy, margins_for(group, margins), q)
    tellers = {**cattle.OF_CLASS, **sheep.OF_CLASS}[group.animal_class]
    opinions = [opinion for tell in tellers for opinion in tell(case)]
    opinions.append(_other_maintenance(case))
    return tuple(sorted(opinions, key=lambda opinion: QUANTITIES.index(opinion.quantity)))


def _other_maintenance(case: Case) -> Opinion:
    """ME by another maintenance: × 1.00 if the group has its own, else 1.10 cattle, 1.15 sheep."""
    own = case.group.maint_factor
    higher = HIGHER_SHEEP if traits(case.group.animal_class).sheep else HIGHER_CATTLE
    other = higher if own == 1.0 else 1.0
    energy = group_needs(replace(case.group, maint_factor=other), case.margins).energy
    assert energy is not None
    value = energy.required_mj(case.q)
    equation = (
        f"maintenance × {other:.2f}; ours × {own:.2f}, both on a ration of"
        f" {case.q * GE_MJ_PER_KG_DM:g} MJ/kg DM"
    )
    return _FACTOR.says(ME_WHOLE, value if value < float("inf") else None, case.whole_me, equation)
