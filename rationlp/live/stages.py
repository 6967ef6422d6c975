"""Where the animals of each group stand on each day of the winter, in a few words."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from rationlp.farm.farm import Farm
from rationlp.farm.group import Group
from rationlp.needs.calendar import farm_on
from rationlp.report.tables.table import shown

Stage = tuple[int | None, str]
_BIRTHS = (("days_to_calving", "to calving"), ("days_to_lambing", "to lambing"))


Stages = dict[str, list[list[Any]]]


class KnownStages:
    """The stages of the farm that was told of last: they go by its groups and days alone."""

    def __init__(self) -> None:
        self._key: Any = None
        self._stages: Stages = {}

    def of(self, farm: Farm) -> Stages:
        """The stages of a farm."""
        key = (farm.groups, farm.start, farm.turnout)
        if self._key != key:
            self._key, self._stages = key, stages(farm)
        return self._stages


def stages(farm: Farm) -> Stages:
    """By group, or part of one: the first day of each run of days, the days to a birth on it (None
    without one), which run down day by day, and words.
    """
    runs: dict[str, list[list[Any]]] = {}
    before: dict[str, tuple[int, Stage]] = {}
    for number in range((farm.turnout - farm.start).days + 1):
        day = farm.start + timedelta(days=number)
        for group in farm_on(farm, day).groups:
            now = stage(group)
            if not _runs_on(before.get(group.id), number, now):
                runs.setdefault(group.id, []).append([day.isoformat(), *now])
            before[group.id] = (number, now)
    return runs


def _runs_on(before: tuple[int, Stage] | None, number: int, now: Stage) -> bool:
    """Whether a day goes on as the last one that the group was there."""
    if before is None:
        return False
    last, (days, words) = before
    if days is None or now[0] is None:
        return now == (days, words)
    return (days - now[0], words) == (number - last, now[1])


def stage(group: Group) -> Stage:
    """Whole days to a birth, None without one, and words; empty where there is nothing to say."""
    for key, words in _BIRTHS:
        days = group.optional(key)
        if days is not None and days > 0.0:
            return int(days), words
    milk = group.optional("milk_kg_per_day")
    if milk is not None:
        return None, f"{shown(milk, 0)} kg milk a day"
    gain = group.optional("gain_kg_per_day")
    if gain is None:
        return None, ""
    return None, f"gains {shown(gain, 2)} kg a day"
