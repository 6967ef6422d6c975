"""The needs of every group through the winter, a step at a time, as the calendar makes them."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from rationlp.errors import InputError
from rationlp.farm.farm import Farm
from rationlp.farm.group import Group
from rationlp.farm.group_names import group_ids, no_such_groups
from rationlp.needs import group_needs
from rationlp.needs.calendar import parts_on, steps_of_winter
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.needs.limits import typical_density
from rationlp.needs.objects import GroupNeeds
from rationlp.records import dataclass


@dataclass(frozen=True)
class WinterStep:
    """One part of a group in one step of the winter.

    first, last: the step, last day left out. group: the part, its facts those that the need is
    taken at. needs: a head a day. me_mj: ME needed [MJ/d], margin included, on a ration of
    `density` MJ/kg DM, usual for the class; by NRC (2001) net energy; None without an energy need.
    """

    first: date
    last: date
    group: Group
    needs: GroupNeeds
    density: float
    me_mj: float | None


def needs_over_winter(
    farm: Farm, only: Collection[str] | None = None, every_days: int = 14
) -> tuple[WinterStep, ...]:
    """Every group, part and step of the winter, group by group. Raises one InputError with
    everything that is wrong.

    only: ids or names of groups, or None for all.
    """
    ids = group_ids(farm.groups, only or ())
    findings = no_such_groups(farm.groups, ids)
    steps = []
    for group in farm.groups:
        if only is not None and group.id not in ids:
            continue
        for first, last in steps_of_winter(farm, every_days):
            for part in parts_on(group, first, last):
                try:
                    steps.append(_step(farm, part, first, last))
                except InputError as trouble:
                    findings.extend(trouble.findings)
    if findings:
        raise InputError(dict.fromkeys(findings))
    return tuple(steps)


def _step(farm: Farm, part: Group, first: date, last: date) -> WinterStep:
    needs = group_needs(part, farm.margins)
    density = typical_density(needs.limits)
    me = None
    if needs.energy is not None:
        me = needs.energy.required_mj(density / GE_MJ_PER_KG_DM)
    return WinterStep(first, last, part, needs, density, None if me == float("inf") else me)
