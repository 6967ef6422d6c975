"""Somebody who does anything at all to a page, and what must be so after each thing done."""

from __future__ import annotations

import random
from typing import Any

from asgi import Answer, Browser

from rationlp.records import dataclass

HOSTILE: tuple[Any, ...] = (
    -7, 0, 10**400, 1e308, "x", "nan", "", "'\"\\", "[[1]]", "{a=1}", "é" * 50, None, True,
    "\0", [], ["a"], {}, "2027-13-45", "9999-12-31", [[1]],
)  # fmt: skip
REFUSED = (404, 409, 422)
Texts = dict[str, str]


@dataclass(frozen=True)
class Shown:
    """The edits that a page shows: of the farm, tried, and those of an earlier time, by path; names
    of sets.
    """

    kept: Texts
    tried: Texts
    offered: Texts
    sets: frozenset[str]

    @property
    def all(self) -> Texts:
        """Every edit that is not saved, wherever it waits."""
        return {**self.offered, **self.kept, **self.tried}


def shown_by(page: Browser) -> Shown:
    """What a page shows."""
    state = page.get("/api/state").json()
    lists = (state["edits"], state["tried"], state["offered"])
    texts = [{one["path"]: one["value"] for one in edits} for edits in lists]
    return Shown(*texts, frozenset(one["name"] for one in state["sets"]))


class Driver:
    """Random requests, valid and not, each looked at: nothing but what was asked for is changed."""

    def __init__(self, page: Browser, seed: int) -> None:
        self.page, self.dice, self.serial = page, random.Random(seed), 0
        self.accepted = self.refused = 0
        things = page.get("/api/things").json()["things"]
        self.fields = {field["path"]: field for thing in things for field in thing["fields"]}
        self.now = shown_by(page)
        self.past: list[Shown] = []
        self.future: list[Shown] = []
        self.moving = ""

    def anything(self) -> None:
        """One request of any kind, and a look at what came of it."""
        step, dice = self.dice.random(), self.dice
        if step < 0.7:
            self.edit()
        elif step < 0.85:
            getattr(self, dice.choice(["undo", "redo", "keep", "forget"]))()
        elif step < 0.89:
            self.name_a_set()
        elif step < 0.92:
            self.take_offered(dice.choice([True, False, None]))
        elif step < 0.94:
            self.save()
        elif step < 0.95:
            self.reload(self.page.post("/api/reload", {}))
        elif step < 0.97:
            text = dice.choice(["Barley 200 GBP/t", "ME 11.2\nDM 28%", "", "\0", 3])
            self.reload(self.page.post("/api/papers", {"text": text, "answers": {}, "write": True}))
        else:
            self.look(self.page.get(f"/api/{dice.choice(['state', 'things', 'places/none'])}"))

    def near(self, path: str) -> Any:
        """Another value of a field, likely one that it may have."""
        field = self.fields[path]
        value = field["value"]
        if isinstance(value, bool) or value is None:
            return True
        if isinstance(value, (int, float)):
            return type(value)(value * self.dice.choice([0.9, 1.05, 1.2]))
        return self.dice.choice(field["choices"] or [value])

    def edit(self) -> None:
        """One edit: what is accepted is shown from then on beside all that was there."""
        path = self.dice.choice(list(self.fields))
        value = self.near(path) if self.dice.random() < 0.6 else self.dice.choice(HOSTILE)
        if self.dice.random() < 0.1:
            path = self.dice.choice(
                [f"{path}.x", path[:-2], "", "a", "stores[0].id", "../farm.toml"]
            )
        trying, self.serial = self.dice.random() < 0.4, self.serial + 1
        sent = {"page": "a", "serial": self.serial, "edits": [{"path": path, "value": value}]}
        answer = self.page.post("/api/edits", {**sent, "try": trying})
        before, after = self.now, self.after(answer)
        if answer.status != 200:
            return
        where = after.tried if trying else after.kept
        assert path in where
        kept, tried = dict(before.kept), {**before.tried, path: ""}
        if not trying:
            kept, tried = {**kept, path: ""}, {k: v for k, v in before.tried.items() if k != path}
        assert _but(after.kept, path) == _but(kept, path)
        assert _but(after.tried, path) == _but(tried, path)
        if not (trying and path == self.moving):
            self._step(before)
        self.moving = path if trying else ""

    def undo(self) -> None:
        """One step back is what stood there before."""
        self._go("undo", self.past, self.future)

    def redo(self) -> None:
        """One step forward is what was undone."""
        self._go("redo", self.future, self.past)

    def _go(self, which: str, source: list[Shown], target: list[Shown]) -> None:
        before, answer = self.now, self.page.post(f"/api/{which}", {})
        after = self.after(answer)
        if answer.status != 200:
            return
        self.moving = ""
        if not source:
            assert after == before
            return
        wanted = source.pop()
        target.append(before)
        assert (after.kept, after.tried) == (wanted.kept, wanted.tried)

    def keep(self) -> None:
        """What was tried is the farm's; what was kept before stays."""
        before, answer = self.now, self.page.post("/api/keep", {})
        after = self.after(answer)
        if answer.status == 200:
            assert (after.kept, after.tried) == ({**before.kept, **before.tried}, {})
            self._step(before)

    def forget(self) -> None:
        """What was tried is gone, and nothing else."""
        before, answer = self.now, self.page.post("/api/forget", {})
        after = self.after(answer)
        if answer.status == 200:
            assert (after.kept, after.tried) == (before.kept, {})
            self._step(before)

    def name_a_set(self) -> None:
        """A set named, tried or thrown away: the farm's own edits stay."""
        name, dice = self.dice.choice(["dear barley", "p", *HOSTILE]), self.dice
        use, gone = dice.random() < 0.5, dice.random() < 0.2
        before = self.now
        answer = self.page.post("/api/sets", {"name": name, "use": use, "gone": gone})
        after = self.after(answer)
        assert after.kept == before.kept
        tried = use and not gone and isinstance(name, str) and name.strip() in before.sets
        if answer.status != 200 or not tried:
            assert after.tried == before.tried
        else:
            self._step(before)

    def take_offered(self, take: bool | None) -> None:
        """Edits of an earlier time taken up are all there, and later ones win."""
        before, answer = self.now, self.page.post("/api/offered", {"take": take})
        after = self.after(answer)
        if answer.status != 200:
            return
        assert after.offered == {}
        if not take:
            assert (after.kept, after.tried) == (before.kept, before.tried)
        elif before.offered:
            assert before.all.items() <= {**after.kept, **after.tried}.items()
            self._step(before)

    def save(self) -> None:
        """What was kept is in the folder; what is tried stays."""
        before, answer = self.now, self.page.post("/api/save", {})
        after = self.after(answer)
        if answer.status == 200:
            assert (after.kept, after.tried, after.offered) == ({}, before.tried, before.offered)
            self.begin_anew()

    def reload(self, answer: Answer) -> None:
        """No edit is lost where the folder is read again; those that no longer hold wait."""
        before, after = self.now, self.after(answer)
        if answer.status == 200:
            assert before.all.items() <= after.all.items()
            if (after.kept, after.tried) != (before.kept, before.tried):
                self.begin_anew()

    def look(self, answer: Answer) -> None:
        """Looking changes nothing."""
        before, after = self.now, self.after(answer)
        assert after == before

    def after(self, answer: Answer) -> Shown:
        """What a page shows after an answer: what was refused says why, and changes nothing."""
        assert answer.status in (200, *REFUSED), (answer.status, answer.body)
        before, self.now = self.now, shown_by(self.page)
        if answer.status == 200:
            self.accepted += 1
            return self.now
        self.refused += 1
        assert self.now == before
        if answer.status != 404:
            assert all(fault["code"] and fault["remedy"] for fault in answer.json()["faults"])
        return self.now

    def begin_anew(self) -> None:
        """No step back from here is known."""
        self.now = shown_by(self.page)
        self.past, self.future, self.moving = [], [], ""

    def _step(self, before: Shown) -> None:
        self.past.append(before)
        self.future, self.moving = [], ""


def _but(texts: Texts, path: str) -> Texts:
    return {key: text for key, text in texts.items() if key != path}
