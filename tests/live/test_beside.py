"""What is tried beside what is not: like with like, and the farm's own answer never forgotten."""

from __future__ import annotations

from typing import Any

from asgi import Browser

from rationlp.live.phases import NONE, PROVED, SETTLED
from rationlp.live.remembered import MOST, Known, Remembered
from rationlp.live.solving import Job, Told


def known(phase: str, mark: int) -> Known:
    """An answer told from others by its mark."""
    return Known({"mark": mark}, phase, None)


def test_like_is_set_beside_like() -> None:
    """A settled answer beside the settled one of the farm, a proved one beside the proved one."""
    answers = Remembered()
    assert answers.beside("farm", SETTLED) is None
    answers.keep("farm", known(SETTLED, 1), "farm")
    assert answers.beside("farm", PROVED) == {"mark": 1}
    answers.keep("farm", known(PROVED, 2), "farm")
    assert answers.beside("farm", SETTLED) == {"mark": 1}
    assert answers.beside("farm", PROVED) == answers.beside("farm", NONE) == {"mark": 2}


def test_the_farms_own_answer_is_never_forgotten() -> None:
    """However many are tried after it; of those the oldest go."""
    answers = Remembered()
    answers.keep("farm", known(PROVED, 0), "farm")
    for number in range(1, 100):
        answers.keep(number, known(PROVED, number), "farm")
    assert answers.final("farm") is not None
    assert answers.final(99) is not None
    assert answers.final(1) is None
    assert sum(answers.final(number) is not None for number in range(1, 100)) <= MOST


def answer_of(cost: float, phase: str) -> dict[str, Any]:
    """As little of an answer as the state is made of."""
    return {
        "phase": phase, "cost": cost, "enough": {"stores": [], "crops": [], "answer": ""},
        "groups": [], "changes": [],
    }  # fmt: skip


def test_the_difference_is_told_of_settled_plans_and_of_proved_ones(
    browser: Browser, jobs: list[Job]
) -> None:
    """At once between two settled plans, then between two proved ones, never between the two."""
    table = browser.live.table
    assert table is not None
    table.start()
    table._told(Told(table.version, SETTLED, answer_of(1000.0, SETTLED)))
    table._told(Told(table.version, PROVED, answer_of(1010.0, PROVED)))
    edits = [{"path": "barley.price_per_t_fresh", "value": 251}]
    browser.post("/api/edits", {"page": "a", "serial": 1, "edits": edits, "try": True})
    assert browser.get("/api/state").json()["difference"] == ""
    table._told(Told(table.version, SETTLED, answer_of(1240.0, SETTLED)))
    assert browser.get("/api/state").json()["difference"] == "GBP 240 dearer; proof follows"
    table._told(Told(table.version, PROVED, answer_of(1240.0, PROVED)))
    assert browser.get("/api/state").json()["difference"] == "GBP 230 dearer"
    table._told(Told(table.version - 1, SETTLED, answer_of(1.0, SETTLED)))
    table._told(Told(table.version, SETTLED, answer_of(1.0, SETTLED)))
    state = browser.get("/api/state").json()
    assert (state["phase"], state["answer"]["cost"]) == (PROVED, 1240.0)
    assert [job.changes for job in jobs if job.number == table.version]
