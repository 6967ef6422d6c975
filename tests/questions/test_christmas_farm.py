"""A farm unlike the examples, invented: cows that calve around Christmas, ewes on poor hay. What
its commands say must agree.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from rationlp import ration, read_farm, winter
from rationlp.cli.app import app
from rationlp.planned import WinterPlan
from rationlp.report.ration_words import minerals_line

FARM = """\
[farm]
name = "Holly Bank, an invented farm"
currency = "GBP"

[winter]
start = 2026-11-01
turnout = 2027-04-15

[home_grown]
price = "cost"

[[stores]]
id = "pit"
name = "The pit"
feed = "grass_silage_1st_typical"
kind = "clamp"
length_m = 30
width_m = 8
height_m = 2.2
face_width_m = 8
cost_per_t_fresh = 32

[[stores]]
id = "poor_hay"
name = "Poor hay"
feed = "hay_poor"
kind = "bales"
count = 140
weight_kg = 240
shape = "round"
cost_per_t_fresh = 70

[[bought]]
feed = "barley"
price_per_t_fresh = 198

[[bought]]
feed = "soya_meal_48"
price_per_t_fresh = 395

[[bought]]
feed = "minerals_cattle_general"
price_per_t_fresh = 560

[[bought]]
feed = "minerals_sheep_no_copper"
price_per_t_fresh = 620

[[groups]]
id = "cows"
name = "Christmas calvers"
class = "dairy_cow_dry"
head = 40
live_weight_kg = 620
calving = 2026-12-20
spread_weeks = 6

[groups.after]
class = "dairy_cow_milking"
milk_kg_per_day = 30
milk_fat_g_per_kg = 41
milk_protein_g_per_kg = 33

[[groups]]
id = "ewes"
name = "Ewes on poor hay"
class = "ewe_pregnant"
head = 150
live_weight_kg = 70
lambs_carried = 2
lambing = 2027-03-25
spread_weeks = 3
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The farm in a folder of its own."""
    made = tmp_path_factory.mktemp("farm")
    (made / "farm.toml").write_text(FARM, encoding="utf-8")
    return made


@pytest.fixture(scope="module")
def plan(folder: Path) -> WinterPlan:
    """Its winter; the farm is read by its name as text, as a person types it."""
    return winter(read_farm(str(folder)))


def told(folder: Path, command: str, *options: str) -> str:
    """What a command prints, on one line."""
    result = CliRunner(env={"COLUMNS": "100"}).invoke(app, [command, str(folder), *options])
    assert result.exit_code == 0, result.output
    return " ".join(result.stdout.split())


def test_a_plan_that_feeds_everybody_has_sheets_that_say_so(folder: Path, plan: WinterPlan) -> None:
    """In January the ewes are short of protein for wool alone: that is advice, and no shortage."""
    assert plan.feeds_all
    assert "NOT ENOUGH" not in told(folder, "sheet", "--on", "2027-01-20")
    supplied = told(folder, "supply", "--on", "2027-01-20")
    assert "Ewes on poor hay: GBP" in supplied
    assert "Below advice: MP" in supplied


def test_sheet_and_plan_name_the_same_kilograms(folder: Path, plan: WinterPlan) -> None:
    """The pit of 20 January, to the five kilograms that a yard weighs."""
    sheet = told(folder, "sheet", "--on", "2027-01-20")
    number = next(
        period.number for period in plan.periods if period.last.isoformat() > "2027-01-20"
    )
    for one in plan.rations:
        if one.period == number:
            pit = next(amount.kg_fresh for amount in one.amounts if amount.offer == "pit")
            part = sheet.partition(f"{one.name} ({one.head} head)")[2]
            weighed = float(part.partition(" The pit")[0].rpartition(" ")[2].replace(",", ""))
            assert weighed == pytest.approx(one.head * pit, abs=5.0)


def test_minerals_are_no_feed_and_their_want_is_told(folder: Path, plan: WinterPlan) -> None:
    """Nothing but minerals is bought on the first day; cows in milk want what no mineral brings."""
    first = told(folder, "ration")
    assert "no feed is bought but minerals" in first
    assert "Short of minerals: Christmas calvers (magnesium)" in first
    line = minerals_line(plan.rations)
    assert line == "Short of minerals: Christmas calvers; Christmas calvers, calved (`--full`)."
    enough = [one for one in ration(read_farm(folder)).groups if one.group == "ewes"]
    assert minerals_line(enough) == ""


def test_days_and_groups_to_come_are_told(folder: Path) -> None:
    """More changes than are listed are counted as days, never told as days later."""
    text = told(folder, "winter")
    assert re.search(r"\d+ \w+ and on \d+ more days\.", text)
    assert "Fed later in the winter: Christmas calvers, calved; Ewes on poor hay, lambed." in text
