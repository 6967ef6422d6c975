"""Many farms on a distributed engine: the same answers as one at a time, and the guide's own
lines.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from functools import partial
from pathlib import Path
from typing import Any

import pytest

import rationlp
from rationlp.folders import examples_folder

pytestmark = pytest.mark.engine

ROOT = Path(__file__).resolve().parents[2]
NAMES = ("calving", "dairy", "few")
LATE_SPRING = partial(rationlp.what_if, changes=["winter.turnout+=21"])


@pytest.fixture(scope="module")
def farms() -> list[Path]:
    """The folders of three examples that are soon planned."""
    return [examples_folder() / name for name in NAMES]


@pytest.fixture(scope="module")
def one_at_a_time(farms: list[Path]) -> list[Any]:
    """Their answers without an engine."""
    return [LATE_SPRING(farm) for farm in farms]


def test_all_farms_have_the_answers_of_one_at_a_time(
    client: Any, farms: list[Path], one_at_a_time: list[Any]
) -> None:
    """Everything in them is the same, to the last digit, in the order in which they were asked
    for.
    """
    assert client.gather(client.map(LATE_SPRING, farms)) == one_at_a_time


def test_both_workers_are_processes_apart_from_this_one(client: Any) -> None:
    """And from each other."""
    found = client.run(os.getpid)
    assert len({*found.values(), os.getpid()}) == 3


@pytest.mark.parametrize("engine", ["concurrent.futures", "dask"])
def test_the_lines_of_the_readme_run_as_they_stand(
    engine: str, tmp_path: Path, one_at_a_time: list[Any]
) -> None:
    """The block that names the engine, beside those examples: a line a farm, with both costs."""
    readme = (ROOT / "rationlp" / "guide" / "python.md").read_text(encoding="utf-8")
    [block] = [
        text
        for text in re.findall(r"```python\n(.*?)```", readme, re.DOTALL)
        if f"from {engine}" in text
    ]
    (tmp_path / "many.py").write_text(block, encoding="utf-8")
    for name in NAMES:
        shutil.copytree(examples_folder() / name, tmp_path / "examples" / name)
    words = [sys.executable, "many.py"]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        words, capture_output=True, text=True, check=True, cwd=tmp_path, env=environment
    )
    assert done.stdout.splitlines() == [
        f"{answer.farm.name} {answer.now[0].cost} {answer.outcomes[0].cost}"
        for answer in one_at_a_time
    ]
