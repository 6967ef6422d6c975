"""Ten thousand random requests of every kind, valid and not: no error of the server, no edit lost;
each hundredth time the page has the figures of its folder, saved, read and solved from nothing.

RATIONLP_FULL=1 makes all of them; else a few hundred.
"""

from __future__ import annotations

import os
import shutil
import time
from pathlib import Path
from typing import Any

from asgi import Browser
from driving import Driver
from test_solving import fed_rations, shown_rations

from rationlp.errors import RationError
from rationlp.folders import examples_folder
from rationlp.live.app import Live
from rationlp.live.phases import NONE, PROVED, REFUSED
from rationlp.planned import WinterPlan
from rationlp.read.farm import read_farm
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

FULL = os.environ.get("RATIONLP_FULL") == "1"
REQUESTS, COMPARED = (10_000, 100) if FULL else (200, 100)
"""Random requests, and so many of them between two comparisons."""
SHORT = "turnout = 2026-12-20"
"""Turnout of a winter that is soon solved."""


def settled_state(page: Browser) -> dict[str, Any]:
    """What the page shows once the winter is answered for good."""
    for _ in range(3000):
        state: dict[str, Any] = page.get("/api/state").json()
        if state["phase"] in (PROVED, NONE, REFUSED):
            return state
        time.sleep(0.1)
    raise AssertionError(state["phase"])


def compare(page: Browser, folder: Path) -> str:
    """The page's figures beside those of its folder, saved and read from nothing; how far the
    answer came.
    """
    if page.post("/api/keep", {}).status != 200:
        assert page.post("/api/forget", {}).status == 200
    assert page.post("/api/save", {}).status == 200
    state = settled_state(page)
    phase: str = state["phase"]
    farm = read_farm(folder)
    assert state["farm"]["turnout"] == farm.turnout.isoformat()
    try:
        plan: WinterPlan = solve_winter(farm, WinterOptions(ceilings=True))
    except RationError:
        assert phase in (NONE, REFUSED)
        return phase
    assert phase == (PROVED if plan.feeds_all else NONE), state["faults"]
    assert state["answer"]["cost"] == plan.cost
    assert shown_rations(state["answer"], plan) == fed_rations(plan)
    return phase


def test_whatever_is_asked_is_answered_and_nothing_is_lost(tmp_path: Path) -> None:
    """Refused with a code where it is wrong; what the page shows is what its folder gives."""
    folder = Path(shutil.copytree(examples_folder() / "few", tmp_path / "farm"))
    path = folder / "farm.toml"
    text = path.read_text(encoding="utf-8").replace("turnout = 2027-04-20", SHORT)
    path.write_text(text, encoding="utf-8")
    live = Live(folder, tmp_path)
    assert live.table is not None
    page = Browser(live)
    driver, phases = Driver(page, 11), list[str]()
    live.table.start()
    try:
        for number in range(1, REQUESTS + 1):
            driver.anything()
            if number % COMPARED == 0:
                phases.append(compare(page, folder))
                driver.begin_anew()
    finally:
        live.table.end()
    assert len(phases) == REQUESTS // COMPARED
    assert PROVED in phases
    assert driver.accepted > 0
    assert driver.refused > 0
