"""By which standard of needs each group of a farm is worked out."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from rationlp.farm.farm import Farm
from rationlp.farm.group import AFRC
from rationlp.needs import standard_of
from rationlp.records import dataclass


@dataclass(frozen=True)
class StandardsUsed:
    """groups: names of groups by the standard of their needs. not_held: standards that were asked
    for where they do not hold.
    """

    groups: Mapping[str, tuple[str, ...]]
    not_held: tuple[str, ...]


def standards_used(farm: Farm, only: Collection[str] | None = None) -> StandardsUsed | None:
    """Of a farm's groups, or those in `only`; None where AFRC (1993) was asked for of all."""
    groups = [group for group in farm.groups if not only or group.id in only]
    if all(group.standard == AFRC for group in groups):
        return None
    by: dict[str, tuple[str, ...]] = {}
    for group in groups:
        used = standard_of(group)
        by[used] = (*by.get(used, ()), group.name)
    elsewhere = {group.standard for group in groups if standard_of(group) != group.standard}
    return StandardsUsed(by, tuple(sorted(elsewhere)))
