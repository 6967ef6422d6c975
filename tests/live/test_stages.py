"""Where the animals stand on each day of the winter, in runs of days."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from rationlp.folders import examples_folder
from rationlp.live.stages import stage, stages
from rationlp.needs.calendar import farm_on
from rationlp.read.farm import read_farm


def on(runs: list[list[object]], day: date) -> tuple[int | None, str]:
    """A stage as the page reads it from its run."""
    first, days, words = [run for run in runs if str(run[0]) <= day.isoformat()][-1]
    if days is None:
        return None, str(words)
    assert isinstance(days, int)
    return days - (day - date.fromisoformat(str(first))).days, str(words)


@pytest.mark.parametrize("name", ["hill", "calving", "dairy"])
def test_a_run_gives_the_stage_of_each_day(name: str) -> None:
    """On every day on which a group, or a part of it, is there."""
    farm = read_farm(examples_folder() / name)
    told = stages(farm)
    for number in range((farm.turnout - farm.start).days + 1):
        day = farm.start + timedelta(days=number)
        for group in farm_on(farm, day).groups:
            assert on(told[group.id], day) == stage(group)
