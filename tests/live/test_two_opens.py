"""Two runs of the program on one farm: each keeps its own edits, neither loses anything of the
other, whichever is saved or ended first, and however.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from asgi import Browser
from test_serve import asked, opened

from rationlp.errors import InputError
from rationlp.live import desk as desks
from rationlp.live.app import Live
from rationlp.live.desk import BESIDE, SAVING, Desk, Lock
from rationlp.live.solving import Job
from rationlp.read.farm import read_farm


@pytest.fixture
def run(folder: Path, jobs: list[Job]) -> Iterator[Callable[[], Browser]]:
    """Begins one more run of the program on the farm."""
    runs: list[Live] = []

    def begin() -> Browser:
        runs.append(Live(folder, folder.parent))
        return Browser(runs[-1])

    yield begin
    for live in runs:
        assert live.table is not None
        live.table.end()


def edit(page: Browser, path: str, value: object, serial: int = 1) -> None:
    """An edit of the farm."""
    edits = [{"path": path, "value": value}]
    answer = page.post("/api/edits", {"page": "a", "serial": serial, "edits": edits, "try": False})
    assert answer.status == 200


def shown(page: Browser, which: str) -> dict[str, str]:
    """Edits that a page shows, by path."""
    return {one["path"]: one["value"] for one in page.get("/api/state").json()[which]}


def crash(page: Browser) -> None:
    """What the system does when a program is killed: nothing is written, the place is free."""
    assert page.live.table is not None
    page.live.table.desk.leave()


def test_edits_of_both_are_there_after_both_crash(run: Callable[[], Browser]) -> None:
    """Neither file of unsaved edits is written over by the other run."""
    one, other = run(), run()
    edit(one, "cows.head", 12)
    edit(other, "barley.price_per_t_fresh", 251)
    edit(one, "bales.count", 33, 2)
    crash(one)
    crash(other)
    third = run()
    everything = {"cows.head": "12", "bales.count": "33", "barley.price_per_t_fresh": "251"}
    assert shown(third, "offered") == everything
    crash(third)
    assert shown(run(), "offered") == everything


def test_edits_of_one_that_runs_are_not_offered_to_another(run: Callable[[], Browser]) -> None:
    """They are its own until it ends; each is told of the other."""
    one = run()
    edit(one, "cows.head", 12)
    assert BESIDE not in one.get("/api/state").json()["notices"]
    other = run()
    assert shown(other, "offered") == {}
    for page in (one, other):
        assert BESIDE in page.get("/api/state").json()["notices"]
    assert one.live.table is not None
    one.live.table.end()
    assert BESIDE not in other.get("/api/state").json()["notices"]
    assert shown(run(), "offered") == {"cows.head": "12"}


def test_what_one_saves_is_never_written_over_by_the_other(
    run: Callable[[], Browser], folder: Path
) -> None:
    """The second save is refused, its edit stays, and after reading again both are saved."""
    one, other = run(), run()
    edit(one, "cows.head", 12)
    edit(other, "bales.count", 33)
    assert one.post("/api/save", {}).status == 200
    assert other.post("/api/save", {}).status == 409
    assert shown(other, "edits") == {"bales.count": "33"}
    assert other.post("/api/reload", {}).status == 200
    assert other.post("/api/save", {}).status == 200
    assert next(group.head for group in read_farm(folder).groups) == 12
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    assert "count = 33" in text
    assert not list(folder.glob(".rationlp-unsaved*"))


def test_two_do_not_save_at_once(
    run: Callable[[], Browser], folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While one saves the other waits; where that takes too long it says so, and loses nothing."""
    page, lock = run(), Lock(folder / SAVING)
    edit(page, "cows.head", 12)
    assert lock.take()
    monkeypatch.setattr(desks, "WAIT_S", 0.05)
    refused = page.post("/api/save", {})
    assert refused.status == 422
    assert refused.json()["faults"][0]["code"] == "IN604"
    assert shown(page, "edits") == {"cows.head": "12"}
    lock.leave()
    assert page.post("/api/save", {}).status == 200


def test_what_cannot_be_written_can_be_looked_at(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A folder that is read only: a place all the same, and nothing raised."""

    def refuse(self: Lock) -> bool:
        raise PermissionError(13, "no")

    monkeypatch.setattr(Lock, "take", refuse)
    desk = Desk(folder)
    assert desk.left_before() is None
    assert not desk.others()
    with desk.saving():
        pass
    with pytest.raises(InputError), desk.saving():
        raise InputError([])
    desk.leave()


def test_two_processes_killed_lose_nothing(folder: Path) -> None:
    """Two runs of the command, both killed: the third is offered the edits of both."""
    with ExitStack() as both:
        for path, value in (("cows.head", 12), ("bales.count", 33)):
            process, place, cookie = both.enter_context(opened(folder))
            edits = [{"path": path, "value": value}]
            sent = {"page": "a", "serial": 1, "edits": edits, "try": False}
            assert asked(place, cookie, "/api/edits", sent)[0] == 200
        assert process.poll() is None
    with opened(folder) as (_, place, cookie):
        state = json.loads(asked(place, cookie, "/api/state")[1])
    assert {one["path"] for one in state["offered"]} == {"cows.head", "bales.count"}
