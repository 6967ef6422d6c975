"""The places of the page: each the story of a command, as plain data, drawn without inline
style.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any
from xml.etree import ElementTree

import pytest

from rationlp.ask.held import appetite
from rationlp.folders import examples_folder
from rationlp.live.answer import of_plan
from rationlp.live.phases import PROVED
from rationlp.live.place_asked import PLACES, Asked
from rationlp.live.places import EDITED, place
from rationlp.live.solving import first_day, proved_plan
from rationlp.planned import PlanShortfall
from rationlp.read.changed import begin, changed, parse_change
from rationlp.result import Shortfall

KINDS = {"words", "table", "chart", "cautions", "rule"}


@pytest.fixture(scope="module")
def asked() -> Asked:
    """A farm with its proved plan, on a day of the winter."""
    begun = begin(examples_folder() / "few")
    farm = changed(begun, ())
    return Asked(begun, (), farm, farm.farm.start, proved_plan(farm, ()))


def checked(name: str, told: dict[str, Any]) -> None:
    """Plain data that a browser can show under the page's policy."""
    assert told["title"] == PLACES[name]
    assert json.loads(json.dumps(told)) == json.loads(json.dumps(told, allow_nan=False))
    assert told["parts"]
    assert {part["type"] for part in told["parts"]} <= KINDS
    for part in told["parts"]:
        if part["type"] == "table":
            assert all(len(row) == len(part["columns"]) for row in part["rows"])
        if part["type"] == "chart":
            assert ElementTree.fromstring(part["svg"]).tag == "svg"
            assert not re.search(r"style=|<script|on\w+=", part["svg"])
            assert len(part["legend"]) == len(part["swatches"])


@pytest.mark.parametrize("name", PLACES)
def test_a_place_is_plain_data(asked: Asked, name: str) -> None:
    """Words, tables and charts."""
    checked(name, place(name, asked))


@pytest.mark.parametrize("name", ["stores", "buying", "switch", "money", "why", "sure", "sheets"])
def test_a_place_asks_for_no_typing_and_writes_days_as_people_do(asked: Asked, name: str) -> None:
    """Commands are for the terminal; a day is 24 March, not 2027-03-24."""
    told = " ".join(shown(place(name, asked)["parts"]))
    assert "`rationlp" not in told
    assert not re.search(r"\b20\d\d-\d\d", told)


def shown(parts: list[dict[str, Any]]) -> Iterator[str]:
    """Every text of a place that the page shows."""
    for part in parts:
        yield part.get("title", "")
        for name in ("lines", "notes"):
            yield from part.get(name, ())
        for name in ("first", "grave", "others", "daily"):
            for line in part.get(name, ()):
                yield from (line["title"], line["action"], line["about"])
        for row in part.get("rows", ()):
            yield from row
        yield from (column["title"] for column in part.get("columns", ()))


def test_what_can_kill_every_day_stands_with_what_can_kill_now(asked: Asked) -> None:
    """The page lists all that can kill or maim unfolded: bales that can fall are among them, and
    among what holds every day.
    """
    assert asked.plan is not None
    farm = asked.farm.farm
    eaten = appetite(farm)
    told = of_plan(farm, eaten, asked.plan, PROVED)["cautions"]
    names = {kind: {line["name"] for line in told[kind]} for kind in ("first", "daily", "grave")}
    assert "big_bales_stacked" in names["first"] & names["daily"]
    assert names["grave"] <= names["first"]


def test_that_a_plan_feeds_all_is_told_of_a_plan_alone(asked: Asked) -> None:
    """Rations of a day are no plan; nor is a plan that feeds all that leaves somebody short."""
    assert asked.plan is not None
    farm = asked.farm.farm
    lacking = PlanShortfall("cows", 0, Shortfall("energy", 1.0, 5.0, "MJ", ""), 1.0)
    told = [
        of_plan(farm, appetite(farm), plan, PROVED)
        for plan in (asked.plan, replace(asked.plan, shortfalls=(lacking,)))
    ]
    assert [one["feeds_all"] for one in (*told, first_day(farm))] == [True, False, False]
    assert not told[0]["told"]["unfed"]
    assert told[1]["told"]["unfed"].startswith("No plan")


def test_next_year_says_what_it_needs(asked: Asked) -> None:
    """A farm that says nothing of what can be grown: what to write and where, in words."""
    assert not asked.farm.farm.growing
    (part,) = place("grow", asked)["parts"]
    assert part["type"] == "words"
    assert all(key in " ".join(part["lines"]) for key in ("[[growing]]", "yield_t_dm_per_ha"))


def test_stores_and_groups_are_drawn(asked: Asked) -> None:
    """What is left of each store, what each group eats, where there is a plan."""
    stores = [part["title"] for part in place("stores", asked)["parts"] if part["type"] == "chart"]
    assert len(stores) == len(asked.farm.farm.stores)
    groups = [part["title"] for part in place("why", asked)["parts"] if part["type"] == "chart"]
    assert any("what they eat" in title for title in groups)


def test_sheets_are_of_the_plan_shown(asked: Asked) -> None:
    """With edits too: the kilograms of the plan of the page, never silently the cheapest of the
    day, and the sheet says what it is made from.
    """
    change = parse_change("cows.head=12")
    farm = changed(asked.begun, [change])
    edited = Asked(asked.begun, (change,), farm, asked.day, proved_plan(farm, (change,)))
    told = json.dumps(place("sheets", edited))
    assert EDITED in told
    assert "12 head" in told
    assert EDITED not in json.dumps(place("sheets", asked))
