"""Every caution that fires in `ration` fires wherever the same ration is shown: one test over all
media, and who hears what.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest
from page_plans import plan_of, winter_page
from told import told
from typer.testing import CliRunner

import rationlp
from rationlp.after.cautions import farm_cautions, ration_cautions
from rationlp.after.plan_cautions import plan_cautions
from rationlp.after.winter_facts import winter_facts
from rationlp.cli.app import app
from rationlp.model.ration import solve_rations
from rationlp.needs.calendar import farm_on
from rationlp.planned import PlanRation, WinterPlan
from rationlp.read.farm import read_farm
from rationlp.report.answers.day import (
    RationAnswer,
    rations_of_groups,
    sheet_answer,
    supply_answer,
)
from rationlp.report.answers.winter import WinterAnswer
from rationlp.report.json_answer import document
from rationlp.report.sheet import sheets_html
from rationlp.report.stories.ration import fed_story, ration_story
from rationlp.report.stories.sheet import sheet_story
from rationlp.report.stories.winter import winter_story
from rationlp.report.story import story_tables
from rationlp.report.tables.table import Table
from rationlp.result import Rations
from rationlp.yard.day_facts import fed_facts, ration_facts, sheet_facts
from rationlp.yard.sheets import yard_sheets

EXAMPLES = Path(rationlp.__file__).resolve().parents[1] / "examples"
NAMES = ("dairy", "beef")


@lru_cache
def rations_of(name: str) -> Rations:
    """The rations of an example on its first day."""
    farm = read_farm(EXAMPLES / name)
    return solve_rations(farm_on(farm, farm.start))


@lru_cache
def planned(name: str) -> WinterPlan:
    """The plan of an example with the day's rations in its first period."""
    plan = plan_of(name)
    of_day = {one.group: one for one in rations_of(name).groups if one.amounts}

    def as_of_day(ration: PlanRation) -> PlanRation:
        day = of_day.get(ration.group)
        if day is None or ration.period:
            return ration
        assert day.dm_kg is not None
        return replace(
            ration, amounts=day.amounts, supply=day.supply, dm_kg=day.dm_kg, needs=day.needs
        )

    return replace(plan, rations=tuple(as_of_day(ration) for ration in plan.rations))


def expected(name: str) -> set[str]:
    """Ids of the cautions that `ration` prints."""
    rations = rations_of(name)
    called = [
        *(c for group in rations.groups for c in ration_cautions(rations.farm, group)),
        *farm_cautions(rations.farm),
    ]
    return {caution.id for caution in called}


def text_of(tables: Iterable[Table]) -> str:
    """All cells of the tables of a workbook."""
    return "\n".join(" ".join(row) for table in tables for row in table.cells())


def named_in(text: str, ids: set[str]) -> set[str]:
    """Those of the cautions that a text names."""
    return {one for one in ids if f"[{one}]" in text}


def in_json(document: dict[str, object]) -> set[str]:
    """Ids of the cautions of a document: its own and those of its groups."""
    groups = [document, *document.get("groups", [])]  # type: ignore[list-item]
    return {caution["id"] for part in groups for caution in part.get("cautions", [])}  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", NAMES)
def test_every_caution_of_a_ration_is_on_every_medium(name: str, tmp_path: Path) -> None:
    """ration, supply, sheet (text, HTML), winter, page and workbooks: text, JSON and tables of
    each.
    """
    rations, ids, plan = rations_of(name), expected(name), planned(name)
    assert ids
    table = tmp_path / "fed.csv"
    with table.open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(["group", "feed", "kg_dm"])
        rows.writerows(
            (group.group, one.offer, one.kg_dm) for group in rations.groups for one in group.amounts
        )
    fed = rationlp.supply(rations.farm, table)
    facts, given = ration_facts(rations), fed_facts(rations.farm, fed)
    yard = sheet_facts(yard_sheets(rations))
    for text in (
        told(ration_story(facts), 100),
        told(fed_story(rations.farm, given), 100),
        told(sheet_story(yard), 100),
        sheets_html(yard),
        told(winter_story(winter_facts(plan)), 100),
        text_of(story_tables(ration_story(facts))),
        text_of(story_tables(fed_story(rations.farm, given))),
        text_of(story_tables(winter_story(winter_facts(plan)))),
    ):
        assert ids - named_in(" ".join(text.split()), ids) == set()
    page = winter_page(plan)
    assert [one for one in ids if f"[{one}]" not in page] == []
    for answer in (
        document(
            "ration",
            RationAnswer(rations.farm, facts.called_for, rations_of_groups(facts)),
        ),
        document("supply", supply_answer(rations.farm, given)),
        document("sheet", sheet_answer(yard)),
        document("winter", WinterAnswer(winter_facts(plan))),
    ):
        assert ids - in_json(answer) == set()


@pytest.mark.parametrize("name", NAMES)
def test_a_caution_that_does_not_fire_is_nowhere(name: str) -> None:
    """No ragwort, no urea for sheep, no bulls where there are none."""
    silent = {"ragwort", "urea_sheep", "nitrate_refused"} | (
        {"bulls_handled"} if name == "dairy" else set()
    )
    text = told(winter_story(winter_facts(plan_of(name))), 100) + told(
        sheet_story(sheet_facts(yard_sheets(rations_of(name)))), 100
    )
    assert named_in(text, silent) == set()


def test_a_change_of_ration_is_a_caution_of_its_weeks() -> None:
    """In the first period, after grass, and where starch rises in the plan; not from then on."""
    plan = plan_of("dairy")
    changes = [one for one in plan_cautions(plan) if one.id == "change_over"]
    first = (plan.periods[0].first.isoformat(), plan.periods[0].last.isoformat())
    assert {one.about: one.weeks for one in changes}["high"] == (first,)
    assert "High yielders 15 October to 29 October, starch" in " ".join(
        told(winter_story(winter_facts(plan)), 100).split()
    )


def test_a_group_that_the_plan_does_not_feed_has_its_cautions() -> None:
    """A plan whose bulls have no ration still says how to go near bulls."""
    plan = plan_of("beef")
    bulls = {group.id for group in plan.farm.groups if group.animal_class == "breeding_bull"}
    without = replace(plan, rations=tuple(one for one in plan.rations if one.group not in bulls))
    about = {one.about for one in plan_cautions(without) if one.id == "bulls_handled"}
    assert bulls
    assert bulls <= about
    assert {
        one.about
        for one in plan_cautions(replace(plan, rations=(), proof=None))
        if one.id == "bulls_handled"
    } >= bulls


@pytest.mark.parametrize(
    "command",
    [["last"], ["clamp"], ["sheet", "--record"], ["check"], ["sheet"]],
    ids=lambda one: " ".join(one),
)
def test_nobody_is_sent_to_a_face_without_its_cautions(command: list[str]) -> None:
    """Face and gas, gravest first, each with its one action; the page to record on tells of the
    long probe.
    """
    result = CliRunner(env={"COLUMNS": "80"}).invoke(
        app, [command[0], str(EXAMPLES / "dairy"), *command[1:]]
    )
    assert result.exit_code == 0, result.output
    text = " ".join(result.stdout.split())
    assert "[silage_gas]" in text
    assert "[face_collapse]" in text
    assert text.index("[silage_gas]") < text.index("[clamp_top]")
    assert max(map(len, result.stdout.splitlines())) <= 80
    if command[-1] == "--record":
        assert "a long probe from beside" in text
