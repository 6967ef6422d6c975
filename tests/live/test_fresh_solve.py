"""What the page shows after random edits is what a fresh solve of the saved folder gives."""

from __future__ import annotations

import os
import random
import shutil
import time
from pathlib import Path
from typing import Any

import pytest
from asgi import Browser
from test_solving import fed_rations, shown_rations

from rationlp.folders import examples_folder
from rationlp.live.app import Live
from rationlp.live.phases import NONE, PROVED
from rationlp.planned import WinterPlan
from rationlp.read.farm import read_farm
from rationlp.wintering.plan import WinterOptions, solve_winter

FULL = os.environ.get("RATIONLP_FULL") == "1"
EDITS, COMPARED = (10_000, 100) if FULL else (60, 20)
"""Random edits, and so many of them between two comparisons."""


def random_edit(dice: random.Random) -> dict[str, Any]:
    """An edit of that farm, good or bad."""
    good = {
        "cows.head": dice.randint(5, 16),
        "barley.price_per_t_fresh": dice.choice([150, 188.5, 240, 310]),
        "winter.turnout": f"2027-04-{dice.randint(1, 28):02d}",
        "bales.count": dice.randint(20, 60),
        "cows.live_weight_kg": dice.randint(620, 720),
    }
    bad = {
        "cows.head": -3,
        "winter.turnout": "2026-02-30",
        "nobody.head": 4,
        "barley.price_per_t_fresh": "dear",
    }
    path, value = dice.choice(list((good if dice.random() < 0.8 else bad).items()))
    return {"path": path, "value": value}


def settled_state(page: Browser) -> dict[str, Any]:
    """What the page shows once the winter is proved."""
    for _ in range(600):
        state: dict[str, Any] = page.get("/api/state").json()
        if state["phase"] in (PROVED, NONE):
            return state
        time.sleep(0.2)
    raise AssertionError(state["phase"])


@pytest.mark.parametrize("seed", [3])
def test_figures_equal_a_fresh_solve_after_random_edits(tmp_path: Path, seed: int) -> None:
    """Edits kept, tried, undone and refused; each time the folder is saved elsewhere and solved as
    `rationlp winter` does: the same cost, the same kilograms in every group and period.
    """
    dice = random.Random(seed)
    folder = Path(shutil.copytree(examples_folder() / "few", tmp_path / "farm"))
    live = Live(folder, tmp_path)
    assert live.table is not None
    page, compared = Browser(live), 0
    live.table.start()
    try:
        for serial in range(1, EDITS + 1):
            step = dice.random()
            if step < 0.15:
                page.post(f"/api/{dice.choice(['undo', 'redo', 'keep', 'forget'])}", {})
            else:
                sent = {"page": "a", "serial": serial, "edits": [random_edit(dice)]}
                answer = page.post("/api/edits", {**sent, "try": step < 0.4})
                assert answer.status in (200, 422), answer.body
            if serial % COMPARED == 0:
                page.post("/api/keep", {})
                compare(page, folder, tmp_path / f"fresh{serial}")
                compared += 1
    finally:
        live.table.end()
    assert compared == EDITS // COMPARED


def compare(page: Browser, folder: Path, fresh: Path) -> None:
    """The page's figures beside those of its folder, saved and read from nothing."""
    state = settled_state(page)
    assert page.post("/api/save", {}).status == 200
    shutil.copytree(folder, fresh)
    farm = read_farm(fresh)
    plan: WinterPlan = solve_winter(farm, WinterOptions(ceilings=True))
    assert state["phase"] == (PROVED if plan.feeds_all else NONE)
    assert state["answer"]["cost"] == plan.cost
    assert shown_rations(state["answer"], plan) == fed_rations(plan)
    assert state["farm"]["turnout"] == farm.turnout.isoformat()
