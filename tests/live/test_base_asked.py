"""A trial that begins before the farm itself is proved."""

from __future__ import annotations

from pathlib import Path

from rationlp.live.solving import Job, Told
from rationlp.live.table import Table


def test_the_farm_without_what_is_tried_is_asked_when_it_was_not(
    folder: Path, jobs: list[Job]
) -> None:
    """A trial that begins before the farm itself is proved: its answer comes first, then that of
    the farm, which stands behind it.
    """
    table = Table(folder, lambda event, content: None)
    table.start()
    table.take("page", 1, [{"path": "cows.head", "value": 12}], True)
    jobs.clear()
    answer = {"cost": 1240.0, "phase": "proved", "groups": [], "changes": []}
    answer["enough"] = {"stores": []}
    table._told(Told(table.version, "proved", answer))
    assert [(job.number, job.changes) for job in jobs] == [(-table.version, ())]
    assert table.state()["before"] is None
    table._told(Told(-table.version, "proved", {**answer, "cost": 1000.0}))
    state = table.state()
    assert state["answer"]["cost"] == 1240.0
    assert state["before"]["cost"] == 1000.0
    assert "240 dearer" in state["difference"]
    table._told(Told(-table.version + 1, "proved", {**answer, "cost": 1.0}))
    assert table.state()["before"]["cost"] == 1000.0
    table.end()


def test_what_cannot_be_settled_is_proved_though_the_day_came_first(
    folder: Path, jobs: list[Job]
) -> None:
    """A winter in which not every need can be met has no settled plan: the proof tells, whether the
    rations of the first day were there before or not.
    """
    table = Table(folder, lambda event, content: None)
    table.take("page", 1, [{"path": "cows.head", "value": 90}], False)
    day = {"cost": None, "phase": "day", "groups": [], "changes": [], "enough": {"stores": []}}
    table._told(Told(table.version, "day", day))
    jobs.clear()
    table._told(Told(table.version, "working"))
    assert [job.number for job in jobs] == [table.version]
    assert table.phase == "day"
    table.end()
