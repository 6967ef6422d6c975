"""Random requests of every kind, valid and not: no error of the server, no edit lost, the folder
always a farm that can be read.
"""

from __future__ import annotations

import os
import random
from pathlib import Path
from typing import Any

from asgi import Answer, Browser

from rationlp.read.farm import read_farm

FULL = os.environ.get("RATIONLP_FULL") == "1"
REQUESTS = 10_000 if FULL else 150
HOSTILE: tuple[Any, ...] = (
    -7, 0, 10**400, 1e308, "x", "nan", "", "'\"\\", "[[1]]", "{a=1}", "é" * 50, None, True,
    "\0", [], ["a"], {}, "2027-13-45", "9999-12-31", [[1]],
)  # fmt: skip


class Driver:
    """Somebody who does anything at all to a page."""

    def __init__(self, page: Browser, seed: int) -> None:
        self.page, self.dice, self.serial = page, random.Random(seed), 0
        things = page.get("/api/things").json()["things"]
        self.fields = {field["path"]: field for thing in things for field in thing["fields"]}

    def near(self, path: str) -> Any:
        """Another value of a field, likely one that it may have."""
        field = self.fields[path]
        value = field["value"]
        if isinstance(value, bool) or value is None:
            return True
        if isinstance(value, (int, float)):
            return type(value)(value * self.dice.choice([0.9, 1.05, 1.2]))
        return self.dice.choice(field["choices"] or [value])

    def edit(self) -> Answer:
        """One edit; what was accepted is what the page shows from then on."""
        path = self.dice.choice(list(self.fields))
        value = self.near(path) if self.dice.random() < 0.6 else self.dice.choice(HOSTILE)
        if self.dice.random() < 0.1:
            path = self.dice.choice(
                [f"{path}.x", path[:-2], "", "a", "stores[0].id", "../farm.toml"]
            )
        trying, self.serial = self.dice.random() < 0.4, self.serial + 1
        sent = {"page": "a", "serial": self.serial, "edits": [{"path": path, "value": value}]}
        answer = self.page.post("/api/edits", {**sent, "try": trying})
        shown = self.page.get("/api/state").json()["tried" if trying else "edits"]
        if answer.status == 200:
            assert path in [one["path"] for one in shown]
        return answer

    def anything(self) -> Answer:
        """One request of any kind."""
        step, dice = self.dice.random(), self.dice
        if step < 0.6:
            return self.edit()
        if step < 0.8:
            return self.page.post(
                f"/api/{dice.choice(['undo', 'redo', 'keep', 'forget', 'reload', 'save'])}", {}
            )
        if step < 0.86:
            name = dice.choice(["dear barley", "p", *HOSTILE])
            sent = {"name": name, "use": dice.random() < 0.5, "gone": dice.random() < 0.2}
            return self.page.post("/api/sets", sent)
        if step < 0.9:
            return self.page.post("/api/offered", {"take": dice.choice([True, False, None])})
        if step < 0.95:
            text = dice.choice(["Barley 200 GBP/t", "ME 11.2\nDM 28%", "", "\0", 3])
            return self.page.post("/api/papers", {"text": text, "answers": {}, "write": True})
        return self.page.get(f"/api/{dice.choice(['state', 'things', 'places/none'])}")


def test_whatever_is_asked_is_answered(browser: Browser, folder: Path) -> None:
    """Refused with a code where it is wrong, and the folder stays a farm."""
    driver, refused = Driver(browser, 11), 0
    for number in range(REQUESTS):
        answer = driver.anything()
        assert answer.status in (200, 404, 409, 422), answer.body
        if answer.status in (409, 422):
            refused += 1
            assert all(fault["code"] and fault["remedy"] for fault in answer.json()["faults"])
        if number % 25 == 0:
            read_farm(folder)
    assert 0 < refused < REQUESTS
    heads = {group.id: group.head for group in read_farm(folder).groups}
    state = browser.get("/api/state").json()
    if not state["unsaved"]:
        shown = {one["path"]: one["base"] for one in state["handles"]}
        assert all(shown[f"{name}.head"] == head for name, head in heads.items())
