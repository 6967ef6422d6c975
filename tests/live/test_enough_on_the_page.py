"""What would be enough, as edits: what a button tries is the farm that was planned before the
change was said.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from rationlp.ask.enough import SingleChange
from rationlp.ask.held import appetite
from rationlp.live.bars import enough
from rationlp.live.edits import change_of
from rationlp.live.enough import NOT_WORKED_OUT, Enough, change_json, told_of
from rationlp.live.phases import NONE
from rationlp.live.shown import edit_json
from rationlp.live.solving import Job, Process, Told
from rationlp.read.changed import Begun, begin, changed


@pytest.fixture
def begun(folder: Path) -> Iterator[Begun]:
    """A farm that buys some of its barley up to a limit."""
    path = folder / "farm.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace('feed = "barley"', 'feed = "barley"\nmost_t = 2'), encoding="utf-8"
    )
    return begin(folder)


def single(kind: str, subject: str, amount: float) -> SingleChange:
    """A change that would be enough."""
    return SingleChange(kind, subject, amount, "", 900.0, "Some words.")


def edits_of(begun: Begun, change: SingleChange) -> list[dict[str, object]]:
    """The edits that try a change of a farm planned from its own stores."""
    told = change_json(change, begun.farm, begun.stocks, begun.stocks)
    assert (told["words"], told["cost"]) == ("Some words.", 900.0)
    edits: list[dict[str, object]] = told["edits"]
    return edits


def test_each_kind_is_an_edit_of_the_farm(begun: Begun) -> None:
    """Fewer head, an earlier turnout, more of a bought feed, more in a store."""
    changes = {
        "head": single("head", "cows", 3), "turnout": single("turnout", "", 9),
        "buy": single("buy", "barley", 4.5), "store": single("store", "bales", 2.0),
    }  # fmt: skip
    farms = {}
    for kind, change in changes.items():
        (one,) = edits_of(begun, change)
        farms[kind] = changed(begun, [change_of(one["path"], one["value"])])
    assert next(group.head for group in farms["head"].farm.groups) == 8
    assert farms["turnout"].farm.turnout.isoformat() == "2027-04-11"
    assert farms["buy"].farm.offer("barley").most_t == 4.5
    dm = begun.farm.offer("bales").feed.dm_g_per_kg / 1000.0
    more = (
        farms["store"].stocks["bales"].edible_t_dm.typical
        - begun.stocks["bales"].edible_t_dm.typical
    )
    assert more == pytest.approx(2.0 * dm)


def test_what_has_no_edit_has_no_button(begun: Begun) -> None:
    """A feed that is not bought so far; more in a store of which a log says what is left."""
    assert edits_of(begun, single("buy", "hay_average", 4.5)) == []
    stock = begun.stocks["bales"]
    edible = replace(stock.edible_t_dm, typical=stock.edible_t_dm.typical - 1.0)
    logged = {**begun.stocks, "bales": replace(stock, edible_t_dm=edible)}
    change = single("store", "bales", 2.0)
    assert change_json(change, begun.farm, begun.stocks, logged)["edits"] == []


def test_it_is_told_whether_they_are_still_looked_for() -> None:
    """None came yet, none there are, some there are."""
    looked, none, some = told_of(None), told_of([]), told_of([{"words": "Some words."}])
    assert looked["changes"] is None
    assert none["words"].startswith("No single change")
    assert some["words"] == looked["words"] != none["words"]


def test_more_in_a_store_is_held_against_what_they_would_eat(begun: Begun) -> None:
    """The bars and the verdict are of the store as it is tried, not as its sizes say; and it is
    told in words.
    """
    (one,) = edits_of(begun, single("store", "bales", 20.0))
    change = change_of(one["path"], one["value"])
    farm = changed(begun, [change])
    held = enough(farm.farm, appetite(farm.farm, farm.stocks), None)
    (bar,) = [bar for bar in held["stores"] if bar["id"] == "bales"]
    fresh = begun.stocks["bales"].t_fresh.typical
    assert bar["held"]["typical"] == pytest.approx(fresh + 20.0, abs=0.05 * fresh)
    assert edit_json(change)["words"].startswith("bales: 15.")
    assert edit_json(change)["words"].endswith("t DM to feed")


def test_the_answer_stands_in_its_parts(begun: Begun) -> None:
    """The answer without a full stop, what it goes by as a sentence, each crop that is short; a bar
    has the words that count and the rest. Nothing has to be taken apart on the page.
    """
    farm = changed(begun, [change_of("bales.count", 1), change_of("wide_clamp.length_m", 1)])
    told = enough(farm.farm, appetite(farm.farm, farm.stocks), None)
    verdict = told["verdict"]
    assert verdict["question"] == "Have I enough?"
    assert verdict["answer"].startswith("No: ")
    assert verdict["answer"].endswith("t DM short in all")
    assert verdict["stock"].endswith(".")
    assert len(verdict["short"]) == sum(crop["short"] > 0.0 for crop in told["crops"]) > 0
    bars = (*told["stores"], *told["crops"])
    short = [bar for bar in bars if bar["short"] > 0.0]
    assert all(bar["words"].startswith("to ") and "short" in bar["more"] for bar in short)
    lasting = [bar for bar in bars if not bar["short"]]
    assert all(bar["words"] == "lasts" and bar["more"].endswith("left") for bar in lasting)


def test_trouble_is_not_taken_for_no_change(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the process that looks ends by itself, nothing is said of what would be enough, and it
    is asked again.
    """
    asked: list[Job] = []
    monkeypatch.setattr(Process, "ask", lambda self, job: asked.append(job))
    enough, job = Enough(lambda: None), Job(3, None, (), None)  # type: ignore[arg-type]
    enough.ask("farm", job)
    enough._told(Told(3, NONE, trouble="the process that solves has ended by itself"))
    assert enough.of("farm") == {"words": NOT_WORKED_OUT, "changes": []}
    enough.ask("farm", job)
    assert len(asked) == 2
    assert enough.of("farm") == told_of(None)
    enough._told(Told(3, NONE, {"changes": []}))
    assert enough.of("farm") == told_of([])
