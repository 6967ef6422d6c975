"""Edits at the table: checked, undone, kept, saved; two pages; files that change on disk."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import pytest
from asgi import Browser

from rationlp.errors import Finding, InputError
from rationlp.live import folder as folders
from rationlp.live.app import Live
from rationlp.live.solving import Job
from rationlp.live.table import Table
from rationlp.read.farm import read_farm


def edit(path: str, value: Any, serial: int, trying: bool = False, page: str = "a") -> Any:
    """An edit as the page sends it."""
    edits = [{"path": path, "value": value}]
    return {"page": page, "serial": serial, "edits": edits, "try": trying}


def table_of(browser: Browser) -> Table:
    """The table of a browser's farm."""
    assert browser.live.table is not None
    return browser.live.table


def next_time(browser: Browser) -> Browser:
    """The farm once more, after an end."""
    folder = table_of(browser).folder
    table_of(browser).end()
    return Browser(Live(folder, folder.parent))


def test_an_edit_is_checked_shown_and_undone(browser: Browser, jobs: list[Job]) -> None:
    """The state has it at once; undo and redo go back and forward; each time it is solved."""
    assert browser.post("/api/edits", edit("cows.head", 12, 1)).status == 200
    state = browser.get("/api/state").json()
    assert [one["path"] for one in state["edits"]] == ["cows.head"]
    assert (state["unsaved"], state["can_undo"], state["can_redo"]) == (True, True, False)
    assert [str(change) for change in jobs[-1].changes] == ["cows.head=12"]
    browser.post("/api/undo", {})
    assert browser.get("/api/state").json()["edits"] == []
    browser.post("/api/redo", {})
    assert [one["path"] for one in browser.get("/api/state").json()["edits"]] == ["cows.head"]


def test_what_is_wrong_is_said_and_nothing_is_changed(browser: Browser) -> None:
    """Each fault with code, place and remedy; the farm stays as it was."""
    for value in (-4, 10**30, "many", True, "'; rm -rf", None, [1], {"a": 1}, float(10**9)):
        answer = browser.post("/api/edits", edit("cows.head", value, 5))
        assert answer.status == 422
        fault = answer.json()["faults"][0]
        assert all(fault[key] for key in ("code", "found", "remedy"))
    state = browser.get("/api/state").json()
    assert state["edits"] == []
    assert not state["unsaved"]


@pytest.mark.parametrize(
    "sent",
    [None, 3, [], {}, {"edits": []}, {"page": "a", "serial": True, "edits": [1]},
     {"page": 1, "serial": 1, "edits": [{}]}, {"page": "a", "serial": 1, "edits": ["x"]}],
)  # fmt: skip
def test_what_is_no_edit_is_refused(browser: Browser, sent: Any) -> None:
    """Never an error of the server."""
    assert browser.post("/api/edits", sent).status == 422


def test_a_stale_edit_is_refused(browser: Browser) -> None:
    """A page's numbers grow; another page has numbers of its own, and sees the first one's edit."""
    assert browser.post("/api/edits", edit("cows.head", 12, 7)).status == 200
    stale = browser.post("/api/edits", edit("cows.head", 9, 6))
    assert stale.status == 409
    assert stale.json()["faults"][0]["code"] == "IN903"
    assert (
        browser.post("/api/edits", edit("barley.price_per_t_fresh", 199, 1, page="b")).status == 200
    )
    paths = {one["path"] for one in browser.get("/api/state").json()["edits"]}
    assert paths == {"cows.head", "barley.price_per_t_fresh"}


def test_what_is_tried_is_kept_or_forgotten(browser: Browser, folder: Path) -> None:
    """A trial is no edit of the farm until it is kept, and can be named."""
    browser.post("/api/edits", edit("cows.head", 15, 1, trying=True))
    state = browser.get("/api/state").json()
    assert state["edits"] == []
    assert [one["path"] for one in state["tried"]] == ["cows.head"]
    browser.post("/api/sets", {"name": "more cows"})
    browser.post("/api/forget", {})
    assert browser.get("/api/state").json()["tried"] == []
    browser.post("/api/sets", {"name": "more cows", "use": True})
    browser.post("/api/keep", {})
    assert browser.post("/api/save", {}).json() == {"written": ["farm.toml"]}
    assert next(group.head for group in read_farm(folder).groups if group.id == "cows") == 15


def test_saving_keeps_comments_and_order(browser: Browser, folder: Path) -> None:
    """One line of farm.toml is another one, and no other."""
    before = (folder / "farm.toml").read_text(encoding="utf-8").splitlines()
    browser.post("/api/edits", edit("cows.head", 12, 1))
    assert browser.post("/api/save", {}).status == 200
    after = (folder / "farm.toml").read_text(encoding="utf-8").splitlines()
    changed = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
    assert len(changed) == 1
    assert changed[0][1].startswith("head = 12")
    assert not (folder / folders.UNSAVED).exists()


def test_a_file_changed_on_disk_is_never_overwritten(browser: Browser, folder: Path) -> None:
    """Both versions are told; after reading again the edit stands on the new file."""
    browser.post("/api/edits", edit("cows.head", 12, 1))
    path = folder / "farm.toml"
    path.write_text(f"# by hand\n{path.read_text(encoding='utf-8')}", encoding="utf-8")
    assert browser.get("/api/state").json()["file_changed"] == ["farm.toml"]
    refused = browser.post("/api/save", {})
    assert refused.status == 409
    assert refused.json()["disk"].startswith("# by hand")
    assert path.read_text(encoding="utf-8").startswith("# by hand")
    browser.post("/api/reload", {})
    assert browser.post("/api/save", {}).status == 200
    text = path.read_text(encoding="utf-8")
    assert text.startswith("# by hand")
    assert "head = 12" in text


def test_a_full_disk_leaves_the_folder_as_it_was(
    browser: Browser, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The edit is still there, and the file whole."""
    browser.post("/api/edits", edit("cows.head", 12, 1))
    before = (folder / "farm.toml").read_bytes()

    def full(*_: object) -> None:
        raise InputError([Finding("IN604", "farm.toml", "no space left", "make room")])

    monkeypatch.setattr(folders, "write_whole", full)
    assert browser.post("/api/save", {}).json()["faults"][0]["code"] == "IN604"
    assert (folder / "farm.toml").read_bytes() == before
    monkeypatch.undo()
    assert [one["path"] for one in browser.get("/api/state").json()["edits"]] == ["cows.head"]


def test_unsaved_edits_are_offered_next_time(browser: Browser, folder: Path) -> None:
    """After an end without saving, and taken up only where that is wanted."""
    browser.post("/api/edits", edit("cows.head", 12, 1))
    again = next_time(browser)
    assert [one["path"] for one in again.get("/api/state").json()["offered"]] == ["cows.head"]
    again.post("/api/offered", {"take": True})
    state = again.get("/api/state").json()
    assert state["offered"] == []
    assert [one["path"] for one in state["edits"]] == ["cows.head"]


def test_what_is_tried_waits_too_and_later_edits_win(browser: Browser, folder: Path) -> None:
    """Edits made before those of last time were taken up are not lost, whichever way it goes."""
    browser.post("/api/edits", edit("cows.head", 12, 1))
    browser.post("/api/edits", edit("barley.price_per_t_fresh", 251, 2, trying=True))
    again = next_time(browser)
    assert len(again.get("/api/state").json()["offered"]) == 2
    again.post("/api/edits", edit("cows.head", 9, 1))
    third = next_time(again)
    offered = {one["path"]: one["value"] for one in third.get("/api/state").json()["offered"]}
    assert offered == {"cows.head": "9", "barley.price_per_t_fresh": "251"}
    again.post("/api/offered", {"take": True})
    state = again.get("/api/state").json()
    assert [(one["path"], one["value"]) for one in state["edits"]] == [("cows.head", "9")]
    assert [one["path"] for one in state["tried"]] == ["barley.price_per_t_fresh"]


def test_left_edits_are_gone(browser: Browser, folder: Path) -> None:
    """Not wanted: neither taken up nor offered again."""
    browser.post("/api/edits", edit("cows.head", 12, 1))
    again = next_time(browser)
    again.post("/api/offered", {"take": False})
    assert again.get("/api/state").json()["edits"] == []
    assert not (folder / folders.UNSAVED).exists()


def test_edits_that_no_longer_hold_are_offered_not_dropped(browser: Browser, folder: Path) -> None:
    """A group that is gone from the folder: the edit of it waits, and says why it is refused."""
    browser.post("/api/edits", edit("cows.head", 12, 1))
    path = folder / "farm.toml"
    path.write_text(path.read_text(encoding="utf-8").replace('"cows"', '"herd"'), encoding="utf-8")
    assert browser.post("/api/reload", {}).status == 200
    state = browser.get("/api/state").json()
    assert state["edits"] == []
    assert [one["path"] for one in state["offered"]] == ["cows.head"]
    refused = browser.post("/api/offered", {"take": True})
    assert refused.status == 422
    assert browser.get("/api/state").json()["edits"] == []


def test_a_folder_that_cannot_be_written_can_still_be_looked_at(
    browser: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The edit is made and shown; that it is kept nowhere is said."""

    def full(*_: object) -> None:
        raise InputError([Finding("IN604", "unsaved", "no space left", "make room")])

    monkeypatch.setattr(folders, "write_whole", full)
    assert browser.post("/api/edits", edit("cows.head", 12, 1)).status == 200
    state = browser.get("/api/state").json()
    assert [one["path"] for one in state["edits"]] == ["cows.head"]
    assert any("no space left" in notice for notice in state["notices"])


def test_a_link_in_place_of_the_unsaved_edits_is_not_followed(
    browser: Browser, folder: Path, tmp_path: Path
) -> None:
    """Nothing outside the farm's folder is written."""
    outside = tmp_path / "outside.txt"
    outside.write_text("mine", encoding="utf-8")
    (folder / folders.UNSAVED).symlink_to(outside)
    browser.post("/api/edits", edit("cows.head", 12, 1))
    assert outside.read_text(encoding="utf-8") == "mine"
    assert not (folder / folders.UNSAVED).is_symlink()


def test_two_files_are_written_or_none(
    browser: Browser, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """farm.toml is put back where prices.csv cannot be written."""
    (folder / "prices.csv").write_text("feed,price_per_t_fresh\nbarley,200\n", encoding="utf-8")
    browser.post("/api/reload", {})
    browser.post("/api/edits", edit("cows.head", 12, 1))
    browser.post("/api/edits", edit("barley.price_per_t_fresh", 251, 2))
    before = {path.name: path.read_bytes() for path in folder.glob("*.*") if path.is_file()}
    write = folders.write_whole

    def full(path: Path, text: str, inputs: Any) -> None:
        if path.name == "prices.csv":
            raise InputError([Finding("IN604", "prices.csv", "no space left", "make room")])
        write(path, text, inputs)

    monkeypatch.setattr(folders, "write_whole", full)
    assert browser.post("/api/save", {}).status == 422
    assert {path.name: path.read_bytes() for path in folder.glob("*.*")} == before
    monkeypatch.undo()
    assert sorted(browser.post("/api/save", {}).json()["written"]) == ["farm.toml", "prices.csv"]
    farm = read_farm(folder)
    assert next(one for one in farm.offers if one.id == "barley").price_per_t_fresh == 251


def test_a_way_of_a_slider_is_one_step_back(browser: Browser) -> None:
    """Two handles moved thirty places each: undone in two steps."""
    serial = 0
    for path, first in (("barley.price_per_t_fresh", 150), ("cows.head", 5)):
        for number in range(30):
            serial += 1
            browser.post("/api/edits", edit(path, first + number, serial, trying=True))
    browser.post("/api/undo", {})
    assert [one["value"] for one in browser.get("/api/state").json()["tried"]] == ["179"]
    browser.post("/api/undo", {})
    assert browser.get("/api/state").json()["tried"] == []


@pytest.mark.parametrize(
    "path",
    ["../farm.toml", "/etc/passwd", "cows.head/../../x", "..", "cows.__class__", "\0", "a" * 5000,
     "farm.name.x", "winter", "stores", "cows.feed_limits.../x.max_kg_fresh"],
)  # fmt: skip
def test_no_path_but_of_the_farm_is_an_edit(browser: Browser, folder: Path, path: str) -> None:
    """Refused with a remedy, and no file made or changed."""
    before = {one: one.read_bytes() for one in folder.rglob("*") if one.is_file()}
    answer = browser.post("/api/edits", edit(path, 3, 1))
    assert answer.status == 422
    assert answer.json()["faults"][0]["remedy"]
    assert {one: one.read_bytes() for one in folder.rglob("*") if one.is_file()} == before


@pytest.mark.parametrize("text", ["", "{", "[]", '{"kept": 3}', '{"kept": {"a.b": 4}}', "\0"])
def test_a_damaged_file_of_unsaved_edits_is_let_be(
    folder: Path, jobs: list[Job], text: str
) -> None:
    """Nothing is offered, nothing fails."""
    (folder / folders.UNSAVED).write_text(text, encoding="utf-8")
    assert Browser(Live(folder, folder.parent)).get("/api/state").json()["offered"] == []


def test_hostile_names_are_text(folder: Path, jobs: list[Job]) -> None:
    """A farm's name goes out as it is, in JSON alone, under a policy without inline scripts."""
    path, name = folder / "farm.toml", "<script>alert(1)</script>"
    lines = path.read_text(encoding="utf-8").splitlines()
    number = next(n for n, line in enumerate(lines) if line.startswith("name = "))
    lines[number] = f'name = "{name}"'
    path.write_text("\n".join(lines), encoding="utf-8")
    answer = Browser(Live(folder, folder.parent)).get("/api/state")
    assert answer.json()["farm"]["name"] == name
    assert answer.headers["content-type"].startswith("application/json")


def test_a_paper_is_understood_and_written(browser: Browser, folder: Path) -> None:
    """Pasted text goes through the reader of `take`; the farm is read again with it."""
    sent = {"text": "Rolled barley 231.50 GBP per tonne", "answers": {}, "write": False}
    shown = browser.post("/api/papers", sent).json()
    assert shown["kind"] == "prices"
    assert not (folder / "prices.csv").exists()
    stated = {one["key"]: one["choices"][0][0] for one in shown["questions"] if one["choices"]}
    path = folder / "farm.toml"
    path.write_text(path.read_text(encoding="utf-8") + "\n# by hand\n", encoding="utf-8")
    assert browser.post("/api/papers", {**sent, "answers": stated, "write": True}).status == 409
    assert not (folder / "prices.csv").exists()
    browser.post("/api/reload", {})
    written = browser.post("/api/papers", {**sent, "answers": stated, "write": True}).json()
    assert written["written"], written
    assert "231.5" in (folder / "prices.csv").read_text(encoding="utf-8")


def test_a_new_farm_is_made_of_answers(tmp_path: Path, jobs: list[Job]) -> None:
    """Only inside the folder where the program was started, whatever name is sent."""
    page = Browser(Live(None, tmp_path))
    assert page.get("/api/state").json()["new"]
    for name in ("../out", "a/b", "", ".", "x" * 90):
        sent = {"folder_name": name, "like": "few", "answers": {}}
        assert page.post("/api/new", sent).json()["faults"][0]["code"] == "IN907"
    sent = {"folder_name": "ours", "like": "few", "answers": {"cows.head": "14"}}
    assert page.post("/api/new", sent).status == 200
    assert next(group.head for group in read_farm(tmp_path / "ours").groups) == 14


def test_random_edits_lose_nothing(browser: Browser, folder: Path) -> None:
    """Edits good and bad, undone and done again: what is saved is what the page said."""
    dice = random.Random(7)
    expected: list[dict[str, int]] = [{}]
    for serial in range(1, 121):
        if dice.random() < 0.2 and len(expected) > 1:
            browser.post("/api/undo", {})
            expected.pop()
            continue
        path = dice.choice(["cows.head", "nobody.head"])
        value = dice.choice([-1, 5, 8, 13, 40])
        answer = browser.post("/api/edits", edit(path, value, serial))
        assert answer.status in (200, 422)
        if answer.status == 200:
            expected.append({path: value})
    state = browser.get("/api/state").json()
    assert {one["path"]: int(one["value"]) for one in state["edits"]} == expected[-1]
    browser.post("/api/save", {})
    head = next(group.head for group in read_farm(folder).groups if group.id == "cows")
    assert head == expected[-1].get("cows.head", head)
