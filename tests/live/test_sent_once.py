"""What the page has is not sent again: answers by their marks, news that it knows of; and a
slider's answer is of the day that the page shows.
"""

from __future__ import annotations

import subprocess
import sys
from typing import Any

from asgi import Browser

from rationlp.live.phases import DAY, PROVED, SETTLED
from rationlp.live.solving import Job, Told
from rationlp.live.table import Table


def answer_of(cost: float, phase: str) -> dict[str, Any]:
    """As little of an answer as the state is made of."""
    return {
        "phase": phase, "cost": cost, "enough": {"stores": [], "crops": [], "answer": ""},
        "groups": [], "changes": [],
    }  # fmt: skip


def table_of(browser: Browser) -> Table:
    """The table of a browser's farm, with an answer."""
    table = browser.live.table
    assert table is not None
    table._solve()
    table._told(Told(table.version, SETTLED, answer_of(1000.0, SETTLED)))
    return table


def price(serial: int, value: float, **more: Any) -> dict[str, Any]:
    """A price tried, as the page sends it."""
    edits = [{"path": "barley.price_per_t_fresh", "value": value}]
    return {"page": "a", "serial": serial, "edits": edits, "try": True, **more}


def test_an_answer_that_the_page_has_is_not_sent_again(browser: Browser, jobs: list[Job]) -> None:
    """Its mark alone is; another answer has another mark and is sent whole."""
    table = table_of(browser)
    first = browser.get("/api/state").json()["answer"]
    assert first["cost"] == 1000.0
    asked = f"/api/state?answer={first['mark']}&before="
    assert browser.get(asked).json()["answer"] == {"mark": first["mark"], "same": True}
    table._told(Told(table.version, PROVED, answer_of(1001.0, PROVED)))
    second = browser.get(asked).json()["answer"]
    assert second["cost"] == 1001.0
    assert second["mark"] != first["mark"]
    for marks in ("answer=x&before=-1", f"answer={'9' * 400}&before=%00", "answer=&before="):
        assert browser.get(f"/api/state?{marks}").json()["answer"]["cost"] == 1001.0


def test_a_sliders_answer_brings_the_state(browser: Browser, jobs: list[Job]) -> None:
    """What the page has is left out; the answer before is stale, and still there."""
    table_of(browser)
    mark = browser.get("/api/state").json()["answer"]["mark"]
    had = {"answer": mark, "before": ""}
    state = browser.post("/api/edits", price(1, 260.0, has=had)).json()["state"]
    assert state["answer"] == {"mark": mark, "same": True}
    assert state["stale"]
    assert state["before"]["mark"] == mark
    assert [one["value"] for one in state["tried"]] == ["260.0"]
    plain = browser.post("/api/edits", price(2, 261.0)).json()
    assert "state" not in plain


def test_news_are_counted(browser: Browser, jobs: list[Job]) -> None:
    """A page that has a state as new as the news does not ask for it."""
    told: list[dict[str, Any]] = []
    table = table_of(browser)
    table._tell = lambda _, news: told.append(news)
    browser.post("/api/edits", price(1, 260.0))
    assert told[-1]["said"] == browser.get("/api/state").json()["said"]
    table._told(Told(table.version, DAY, answer_of(900.0, DAY)))
    assert told[-1]["said"] == told[-2]["said"] + 1 == browser.get("/api/state").json()["said"]


def test_quick_rations_are_of_the_day_that_is_shown(browser: Browser, jobs: list[Job]) -> None:
    """Of a day in the winter; its first or last one for a day outside."""
    farm = table_of(browser).now.farm
    days = {"2027-01-15": "2027-01-15", "2000-01-01": farm.start.isoformat()}
    for serial, (day, wanted) in enumerate(days.items()):
        quick = browser.post("/api/edits", price(serial, 260.0 + serial, day=day)).json()["quick"]
        assert quick["day"] == wanted
        assert [group["id"] for group in quick["groups"]]
    late = browser.post("/api/edits", price(9, 270.0, day="9999-12-31")).json()["quick"]
    assert late["day"] < farm.turnout.isoformat()
    assert browser.post("/api/edits", price(10, 271.0, day="soon")).status == 422


def test_the_first_answer_loads_no_stories_and_no_papers() -> None:
    """They take a tenth of a second, and are loaded when a place or a paper is asked for."""
    code = (
        "import sys, rationlp.live.serve; print([name for name in sys.modules if"
        " name in ('tomlkit', 'rationlp.live.places', 'rationlp.live.papers')])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
