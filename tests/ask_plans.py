"""Farms of the examples in a folder of their own, with the winter's plan made once a session."""

from __future__ import annotations

import shutil
from functools import cache
from pathlib import Path

from rationlp.folders import examples_folder
from rationlp.planned import WinterPlan
from rationlp.read.farm import read_farm
from rationlp.report.keeping import keep_plan
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

FED = ("few", "dairy", "beef", "hill", "calving", "short")
"""The examples."""


@cache
def plan_of_example(name: str) -> WinterPlan:
    """The winter's plan of an example."""
    return solve_winter(read_farm(examples_folder() / name), WinterOptions(ceilings=True))


def copied(name: str, folder: Path, keep: bool = True) -> Path:
    """A copy of an example in a folder, its plan in force where that is wanted."""
    farm = folder / name
    shutil.copytree(examples_folder() / name, farm)
    if keep:
        keep_plan(plan_of_example(name), farm)
    return farm
