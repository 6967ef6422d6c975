"""The table of questions and commands: a change that it shows is one that the program takes."""

from __future__ import annotations

from typing import Any

import pytest

from rationlp.cli.guide import questions
from rationlp.folders import examples_folder
from rationlp.read.changed import begin, changed, parse_change

SHOWN = [
    words.split()[0]
    for question in questions()
    for words in question["command"].split("--set ")[1:]
]
IDS = {"price_per_t_fresh": "soya_meal_48", "max_kg_fresh": "barley"}


@pytest.fixture(scope="module")
def begun() -> Any:
    return begin(examples_folder() / "dairy")


@pytest.mark.parametrize("shown", SHOWN)
def test_a_change_of_the_table_is_taken(begun: Any, shown: str) -> None:
    """With the ids and a day of a farm in place of ID, GROUP and DATE, and no dots left out."""
    assert "…" not in shown
    last = shown.split("=")[0].rstrip("+-").split(".")[-1]
    path = shown.replace("GROUP", "late").replace("DATE", "2026-11-02")
    path = path.replace("ID", IDS.get(last, "first_cut"))
    after = changed(begun, (parse_change(path),))
    assert (after.farm, after.stocks) != (begun.farm, begun.stocks)


def test_the_table_shows_changes() -> None:
    assert len(SHOWN) >= 6
