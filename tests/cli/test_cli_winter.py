"""`winter` and `last` as a person types them, on example farms and with a plan put in the solver's
place.
"""

from __future__ import annotations

import csv
import io
import json
import shutil
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result
from winter_plans import made_plan, without_plan

from rationlp.after.stock import Spring, spring_of
from rationlp.ask.enough import SingleChange
from rationlp.cli.app import app
from rationlp.farm.farm import Farm
from rationlp.folders import examples_folder
from rationlp.planned import WinterPlan
from rationlp.read.farm import read_farm
from rationlp.stock.dry_matter import farm_stocks
from rationlp.wintering.yard import WinterOptions

FEW = str(examples_folder() / "few")
SOLVER = "rationlp.cli.last.solve_winter"


def run(*words: str) -> Result:
    """A command at a fixed width."""
    return CliRunner().invoke(app, [*words], env={"COLUMNS": "100"})


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    """The plan of the smallest example as JSON."""
    done = run("winter", FEW, "--format", "json")
    assert done.exit_code == 0, done.output
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def test_the_winter_of_an_example_is_answered_and_proved() -> None:
    """Cost in the first line, then who eats what, what to buy, how long stores last, balance and
    money, then the proof.
    """
    done = run("winter", FEW, "--full")
    assert done.exit_code == 0
    text = done.stdout
    assert "GBP" in text.split("\n")[0]
    places = [
        text.index(words)
        for words in (
            "what to feed, kg fresh",
            "What to buy, by month",
            "How long each store lasts",
            "What is left of each store",
            "Where the dry matter of each store goes",
            "Money over the days planned",
            "proved cheapest",
        )
    ]
    assert places == sorted(places)
    assert text.rstrip().endswith("local rules come first.")


def test_every_store_of_the_plan_balances(document: dict[str, Any]) -> None:
    """To the gram: what was held is all that left and what is left."""
    for store in document["stores"]:
        ways = [store[f"{way}_t_dm"] for way in ("eaten", "wasted", "spoiled", "sold", "bedded")]
        gone = sum(sum(way) for way in ways)
        held = store["held_t_dm"]["typical"]
        assert held == pytest.approx(gone + store["left_t_dm"], abs=1e-6)


def test_what_is_eaten_is_what_leaves_the_stores(document: dict[str, Any]) -> None:
    """Head times days times kg DM of the rations, added up here again, are the eaten tonnes of each
    store.
    """
    days = [period["days"] for period in document["periods"]]
    for store in document["stores"]:
        eaten = sum(
            ration["head"] * days[ration["period"]] * amount["kg_dm"] / 1000.0
            for ration in document["rations"]
            for amount in ration["amounts"]
            if amount["offer"] == store["store"]
        )
        assert sum(store["eaten_t_dm"]) == pytest.approx(eaten, abs=1e-6)


def test_periods_of_the_persons_choice() -> None:
    """Months instead of fortnights: six of them from November to April."""
    done = run("winter", FEW, "--periods", "month", "--format", "json")
    firsts = [period["first"] for period in json.loads(done.stdout)["periods"]]
    assert firsts == [
        "2026-11-01",
        "2026-12-01",
        "2027-01-01",
        "2027-02-01",
        "2027-03-01",
        "2027-04-01",
    ]


def test_the_rest_of_the_winter() -> None:
    """From a day on, to turnout; the first period begins on that day."""
    done = run("winter", FEW, "--from", "2027-02-01", "--format", "csv")
    assert done.exit_code == 0
    rows = list(csv.DictReader(io.StringIO(done.stdout)))
    assert rows[0]["from"] == "2027-02-01"
    assert rows[-1]["until"] == "2027-04-20"


@pytest.mark.parametrize("day", ["2026-10-31", "2027-04-20", "February"])
def test_a_day_that_is_none_of_the_winter_is_refused(day: str) -> None:
    """Before the start, turnout itself, and a word."""
    done = run("winter", FEW, "--from", day)
    assert done.exit_code == 2
    assert "IN504 --from" in done.output
    assert done.stdout == ""


@pytest.mark.parametrize("enough", [True, False])
def test_a_winter_that_cannot_be_fed_ends_with_three(
    enough: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`winter` and `last` both say who is short, in all forms; `winter` also what would be
    enough.
    """
    monkeypatch.setattr(SOLVER, lambda *_: without_plan())
    monkeypatch.setattr("rationlp.ask.carried.solve_winter", lambda *_: without_plan())
    change = SingleChange(
        "buy", "hay", 12.0, "t fresh", 1234.4, "12 t of Hay, instead of at most 5."
    )
    monkeypatch.setattr(
        "rationlp.cli.winter.enough_changes", lambda *_: (change,) if enough else ()
    )
    for command in ("winter", "last"):
        done = run(command, FEW)
        assert done.exit_code == 3
        assert "Milkers, 1 November to 31 December: up to 12.00 MJ" in " ".join(done.stdout.split())
        assert run(command, FEW, "--format", "csv").stdout.startswith("group,from,until,need,short")
        assert json.loads(run(command, FEW, "--format", "json").stdout)["status"] == "none_exists"
    told = " ".join(run("winter", FEW).stdout.split())
    words = (
        "12 t of Hay, instead of at most 5. The winter then costs GBP 1,234 in all."
        if enough
        else "No single change"
    )
    assert words in told
    given = json.loads(run("winter", FEW, "--format", "json").stdout)["enough"]
    assert [one["amount"] for one in given] == ([12.0] if enough else [])


def _in_turn(asked: list[date]) -> Callable[..., list[Spring]]:
    """In place of other processes: the same plan for each other turnout, which is noted."""

    def answers(_: object, turnouts: Sequence[Any], worth_it: int) -> list[Spring]:
        asked.extend(turnout.farm.turnout for turnout in turnouts)
        return [spring_of(made_plan()) for _ in turnouts]

    return answers


def test_how_long_stores_last_under_the_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    """One plan, the farm's own; with --full one more for each other turnout."""
    asked: list[date] = []

    def solve(farm: Farm, _: WinterOptions) -> WinterPlan:
        asked.append(farm.turnout)
        return made_plan()

    monkeypatch.setattr(SOLVER, solve)
    monkeypatch.setattr("rationlp.cli.last.answer_all", _in_turn(asked))
    alone = json.loads(run("last", FEW, "--format", "json").stdout)
    assert [spring["days"] for spring in alone["springs"]] == [0]
    assert asked == [date(2027, 4, 20)]
    asked.clear()
    found = json.loads(run("last", FEW, "--full", "--format", "json").stdout)
    assert found["under"] == "plan"
    assert found["springs"][1] == alone["springs"][0]
    assert [spring["days"] for spring in found["springs"]] == [-21, 0, 21]
    assert sorted(asked) == [date(2027, 3, 30), date(2027, 4, 20), date(2027, 5, 11)]


def test_how_long_a_forage_lasts_under_a_stated_ration(tmp_path: Path) -> None:
    """The cows on 12 kg fresh of bales, a day each: the day is what is in the store over what is
    put out a day.
    """
    farm = read_farm(Path(FEW))
    offer = next(one for one in farm.offers if one.id == "bales")
    stock = farm_stocks(farm)["bales"]
    path = tmp_path / "fed.csv"
    path.write_text(f"group,feed,kg_fresh\n{farm.groups[0].id},bales,12\n", encoding="utf-8")
    done = run("last", FEW, "--fed", str(path), "--format", "json")
    assert done.exit_code == 0
    now = next(spring for spring in json.loads(done.stdout)["springs"] if spring["days"] == 0)
    bales = next(one for one in now["stores"] if one["store"] == "bales")
    a_day = farm.groups[0].head * 12.0 * offer.feed.dm_g_per_kg / 1e6 / (1.0 - stock.trough_loss)
    days = (date.fromisoformat(bales["runs_out"]["typical"]) - farm.start).days
    assert days == int(stock.edible_t_dm.typical / a_day)


def test_groups_that_the_ration_leaves_out_are_named(tmp_path: Path) -> None:
    """Nothing is counted for them, and that is said; parts to come, such as cows calved, may be
    named.
    """
    folder = tmp_path / "farm"
    shutil.copytree(examples_folder() / "hill", folder)
    farm = read_farm(folder)
    lambing = next(group for group in farm.groups if group.calendar and group.calendar.first_birth)
    path = tmp_path / "fed.csv"
    path.write_text(f"group,feed,kg_fresh\n{lambing.id}_lambed,late_hay,1\n", encoding="utf-8")
    done = run("last", str(folder), "--fed", str(path))
    assert done.exit_code == 0, done.output
    said = done.stdout.split("How long each store lasts")[0]
    assert "Not in fed.csv" in said
    assert lambing.name in said


def test_a_wrong_file_of_what_is_fed_is_refused(tmp_path: Path) -> None:
    """A group that the farm does not have."""
    path = tmp_path / "fed.csv"
    path.write_text("group,feed,kg_fresh\nhorses,bales,12\n", encoding="utf-8")
    done = run("last", FEW, "--fed", str(path))
    assert done.exit_code == 2
    assert "IN153" in done.output


def test_the_answer_never_replaces_an_input(tmp_path: Path) -> None:
    """Neither the farm file nor the file of what is fed."""
    folder = tmp_path / "farm"
    shutil.copytree(FEW, folder)
    path = tmp_path / "fed.csv"
    path.write_text(
        f"group,feed,kg_fresh\n{read_farm(folder).groups[0].id},bales,12\n", encoding="utf-8"
    )
    for output in (path, folder / "farm.toml"):
        done = run("last", str(folder), "--fed", str(path), "--output", str(output))
        assert done.exit_code == 2
        assert "IN602" in done.output


def test_by_default_last_plans_the_winter_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Turnout earlier and later are planned where they are asked for: with --full."""
    asked: list[date] = []

    def solve(farm: Farm, _: WinterOptions) -> WinterPlan:
        asked.append(farm.turnout)
        return made_plan()

    monkeypatch.setattr(SOLVER, solve)
    monkeypatch.setattr("rationlp.cli.last.answer_all", _in_turn(asked))
    assert run("last", FEW).exit_code == 0
    assert asked == [date(2027, 4, 20)]
    assert run("last", FEW, "--full").exit_code == 0
    assert len(asked) == 4


def test_a_page_to_write_on_asks_for_no_price_ceilings(monkeypatch: pytest.MonkeyPatch) -> None:
    """It plans the winter once, and shows no price."""
    options: list[bool] = []

    def plan_from(farm: Farm, how: WinterOptions, *more: object) -> WinterPlan:
        options.append(how.ceilings)
        return made_plan()

    monkeypatch.setattr("rationlp.cli.winter.plan_carried", plan_from)
    monkeypatch.setattr("rationlp.cli.record.kept_for", lambda *_: None)
    assert run("sheet", FEW, "--record").exit_code == 0
    assert options == [False]
