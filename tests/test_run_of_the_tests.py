"""What a run of the tests rests on: a shared plan is that of an equal farm alone, and the list of
long tests names files that are there.
"""

from __future__ import annotations

import pickle
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
import shared_plans
from shared_plans import key_of

from rationlp.folders import examples_folder
from rationlp.read.farm import read_farm
from rationlp.stock.dry_matter import farm_stocks
from rationlp.wintering.yard import WinterOptions

TESTS = Path(__file__).parent


def test_a_plan_is_shared_by_equal_farms_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same wherever the farm came from; another for another farm, day, stock or program."""
    farm = read_farm(examples_folder() / "few")
    copy = replace(pickle.loads(pickle.dumps(farm)), place="elsewhere")
    key = key_of(farm, None, None)
    assert key_of(copy, WinterOptions(), farm_stocks(copy)) == key
    later = replace(farm, turnout=farm.turnout + timedelta(days=1))
    fewer = {name: replace(one, trough_loss=0.5) for name, one in farm_stocks(farm).items()}
    monkeypatch.setattr(shared_plans, "program", lambda: "changed")
    others = {
        key,
        key_of(later, None, None),
        key_of(farm, WinterOptions(start=date(2027, 1, 1)), None),
        key_of(farm, None, fewer),
        key_of(farm, None, None),
    }
    assert len(others) == 5


def test_every_long_test_stands_in_a_file_that_is_there() -> None:
    """One that was renamed would come back into the plain run."""
    lines = (TESTS / "long-tests.txt").read_text(encoding="utf-8").splitlines()
    files = {line.partition("::")[0] for line in lines if line}
    assert {file for file in files if not (TESTS.parent / file).is_file()} == set()
