"""Groups on another day of the winter: what ages, what is stated anew, and births that are spread
over weeks.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from rationlp.errors import InputError
from rationlp.farm.farm import Margins
from rationlp.farm.group import Calendar, Change, Group
from rationlp.farm.lactation import COWS
from rationlp.needs import group_needs
from rationlp.needs.calendar import aged, expanded, farm_on, parts_on, split_heads, steps_of_winter
from rationlp.needs.winter import needs_over_winter
from rationlp.read.farm import read_farm

START = date(2026, 11, 1)
EWES = Group(
    "twins",
    "Twins",
    "ewe_pregnant",
    102,
    "to_appetite",
    {"live_weight_kg": 70.0, "lambs_carried": 2.0, "days_to_lambing": 0.0, "kept": "housed"},
    calendar=Calendar(
        START,
        first_birth=date(2027, 3, 1),
        spread_weeks=4.0,
        after_class="ewe_milking",
        after={
            "live_weight_kg": 68.0,
            "lambs_suckled": 2.0,
            "flock": "lowland",
            "week_of_lactation": 1.0,
        },
    ),
)

HAY_FROM = """
[farm]
name = "F"
currency = "GBP"
[winter]
start = {start}
turnout = 2027-04-20
[[stores]]
id = "hay"
feed = "hay_good"
kind = "plain"
amount_t_fresh = 50
cost_per_t_fresh = 90
"""
MILKING_EWES = f"""{HAY_FROM.format(start="2026-12-01")}[[groups]]
id = "g"
head = 10
class = "ewe_milking"
live_weight_kg = 70
lambs_suckled = 2
week_of_lactation = 6
"""


def test_days_run_down_and_weeks_run_up() -> None:
    """Thirty days later: 30 days nearer to calving, no nearer than the day itself, four weeks and
    two days further in milk.
    """
    assert aged("suckler_cow_dry", {"days_to_calving": 75.0}, 30.0)["days_to_calving"] == 45.0
    assert aged("suckler_cow_dry", {"days_to_calving": 20.0}, 30.0)["days_to_calving"] == 0.0
    milking = aged("dairy_cow_milking", {"week_of_lactation": 10.0, "days_pregnant": 100.0}, 30.0)
    assert milking == {
        "week_of_lactation": pytest.approx(10.0 + 30.0 / 7.0),
        "days_pregnant": 130.0,
    }
    assert aged("dairy_cow_milking", {"days_pregnant": 0.0}, 30.0)["days_pregnant"] == 0.0


def test_a_gain_and_a_change_of_weight_add_up_within_the_range_of_the_class() -> None:
    """0.7 kg a day for 100 days is 70 kg; a lamb grows no heavier than lambs are."""
    assert (
        aged("growing_cattle", {"live_weight_kg": 300.0, "gain_kg_per_day": 0.7}, 100.0)[
            "live_weight_kg"
        ]
        == 370.0
    )
    losing = {"live_weight_kg": 680.0, "live_weight_change_kg_per_day": -0.2}
    assert aged("suckler_cow_dry", losing, 50.0)["live_weight_kg"] == pytest.approx(670.0)
    assert (
        aged("lamb", {"live_weight_kg": 60.0, "gain_kg_per_day": 0.2}, 100.0)["live_weight_kg"]
        == 70.0
    )


def test_heads_are_shared_out_whole() -> None:
    """102 ewes in four quarters: 26, 26, 25, 25."""
    assert split_heads(102) == (26, 26, 25, 25)


def test_before_the_first_quarter_all_wait_for_it() -> None:
    """Four weeks from 1 March: the middle of the first quarter is half a week later; ten days
    before, 13.5 days to go.
    """
    (part,) = parts_on(EWES, date(2027, 2, 19))
    assert (part.id, part.animal_class, part.head) == ("twins", "ewe_pregnant", 102)
    assert part.facts["days_to_lambing"] == pytest.approx(13.5)


def test_heads_move_class_across_the_spread() -> None:
    """On 12 March two quarters have lambed: 50 wait for the third, 52 are in milk, on average a
    week and less from lambing.
    """
    waiting, lambed = parts_on(EWES, date(2027, 3, 12))
    assert (waiting.head, lambed.head) == (50, 52)
    assert waiting.facts["days_to_lambing"] == pytest.approx(17.5 - 11.0)
    assert (lambed.id, lambed.origin, lambed.animal_class) == (
        "twins_lambed",
        "twins",
        "ewe_milking",
    )
    assert lambed.facts["week_of_lactation"] == 1.0
    (all_lambed,) = parts_on(EWES, date(2027, 4, 11))
    assert all_lambed.head == 102
    assert float(all_lambed.facts["week_of_lactation"]) == pytest.approx(
        (41.0 - 13.9) / 7.0, abs=0.1
    )


def test_a_quarter_that_lambs_in_the_first_half_of_a_step_is_in_milk_for_all_of_it() -> None:
    """From 1 to 15 March the first two quarters are due on days 3.5 and 10.5: one is in milk."""
    waiting, lambed = parts_on(EWES, date(2027, 3, 1), date(2027, 3, 15))
    assert (waiting.head, lambed.head) == (76, 26)


def test_ewes_are_dry_once_their_lambs_are_weaned() -> None:
    """Weaned on 10 April: in milk the day before, dry from then on, a step by its middle."""
    assert EWES.calendar is not None
    weaned = replace(EWES, calendar=replace(EWES.calendar, weaning=date(2027, 4, 10)))
    (before,) = parts_on(weaned, date(2027, 4, 9))
    assert before.animal_class == "ewe_milking"
    (after,) = parts_on(weaned, date(2027, 4, 10))
    assert (after.id, after.animal_class, after.head) == ("twins_weaned", "ewe_dry", 102)
    assert "week_of_lactation" not in after.facts
    (step,) = parts_on(weaned, date(2027, 4, 4), date(2027, 4, 18))
    assert step.id == "twins_weaned"


def test_ewes_weaned_in_the_first_half_of_a_step_are_dry_for_all_of_it() -> None:
    """Weaned on the tenth day: in milk for a step of two weeks, dry for a step of four."""
    weaning = START + timedelta(10)
    calendar = Calendar(START, after_class="ewe_dry", weaning=weaning)
    facts = {**EWES.calendar.after, "week_of_lactation": 6.0}  # type: ignore[union-attr]
    milking = replace(EWES, animal_class="ewe_milking", facts=facts, calendar=calendar)
    (two_weeks,) = parts_on(milking, START, START + timedelta(14))
    (four_weeks,) = parts_on(milking, START, START + timedelta(28))
    assert (two_weeks.animal_class, four_weeks.animal_class) == ("ewe_milking", "ewe_dry")


def test_ewes_in_milk_on_the_first_day_are_weaned_too(tmp_path: Path) -> None:
    """Week 6 on 1 December: weaned eight weeks later, 14 weeks after lambing; the farm's own day
    goes before; a weaning before lambing is refused.
    """
    farm = tmp_path / "farm.toml"
    farm.write_text(MILKING_EWES, encoding="utf-8")
    read = read_farm(tmp_path)
    assert [notice.code for notice in read.notices] == ["WA236"]
    (ewes,) = read.groups
    assert ewes.calendar is not None
    assert ewes.calendar.weaning == date(2027, 1, 26)
    farm.write_text(f"{MILKING_EWES}weaning = 2026-12-20\n", encoding="utf-8")
    (ewes,) = read_farm(tmp_path).groups
    assert parts_on(ewes, date(2026, 12, 20))[0].animal_class == "ewe_dry"
    farm.write_text(f"{MILKING_EWES}weaning = 2026-08-20\n", encoding="utf-8")
    with pytest.raises(InputError) as refused:
        read_farm(tmp_path)
    assert [finding.code for finding in refused.value.findings] == ["IN136"]


def test_ewes_known_by_days_to_lambing_lamb_on_their_day(tmp_path: Path) -> None:
    """20 days to lambing on 1 December: in milk on 22 December, with the lambs they carried."""
    text = MILKING_EWES.replace("ewe_milking", "ewe_pregnant").replace(
        "lambs_suckled = 2\nweek_of_lactation = 6", "lambs_carried = 2\ndays_to_lambing = 20"
    )
    (tmp_path / "farm.toml").write_text(text, encoding="utf-8")
    (ewes,) = read_farm(tmp_path).groups
    assert parts_on(ewes, date(2026, 12, 20))[0].animal_class == "ewe_pregnant"
    (lambed,) = parts_on(ewes, date(2026, 12, 22))
    assert (lambed.animal_class, lambed.facts["lambs_suckled"]) == ("ewe_milking", 2.0)


def test_dairy_cows_in_late_milk_are_dry_and_calve_again() -> None:
    """190 days in calf on 1 November: dry from day 221, calve on day 281, 31 January; milk then
    rises to the peak of the lactation before, 15 kg over the share of week 40.
    """
    facts: dict[str, float | str] = {
        "live_weight_kg": 620.0, "milk_kg_per_day": 15.0, "week_of_lactation": 40.0,
        "milk_fat_g_per_kg": 44.0, "milk_protein_g_per_kg": 36.0, "days_pregnant": 190.0,
    }  # fmt: skip
    cows = Group("cows", "Cows", "dairy_cow_milking", 30, "to_appetite", facts)
    cows = replace(cows, calendar=Calendar(START))
    assert [part.id for part in parts_on(cows, date(2026, 11, 20))] == ["cows"]
    (dry,) = parts_on(cows, date(2026, 12, 20))
    assert (dry.id, dry.facts["days_to_calving"]) == ("cows_dry", 42.0)
    (calved,) = parts_on(cows, date(2027, 3, 14))
    assert (calved.id, calved.facts["week_of_lactation"]) == ("cows_calved", pytest.approx(6.0))
    assert calved.number("milk_kg_per_day") == pytest.approx(15.0 / COWS.share(40.0), rel=1e-3)
    (later,) = parts_on(cows, date(2027, 6, 6))
    peak = 15.0 / COWS.share(40.0)
    assert COWS.share(18.0) < 0.9
    assert later.number("milk_kg_per_day") == pytest.approx(peak * COWS.share(18.0), rel=1e-3)
    both = parts_on(cows, date(2027, 1, 24), date(2027, 2, 7))
    assert [(part.id, part.head) for part in both] == [("cows_dry", 15), ("cows_calved", 15)]


def test_a_calf_grows_on_as_cattle() -> None:
    """130 kg and 1.0 kg a day: 281 kg after 151 days, past what a calf may weigh."""
    facts: dict[str, float | str] = {
        "live_weight_kg": 130.0, "gain_kg_per_day": 1.0, "sex": "bull", "maturity": "late",
    }  # fmt: skip
    calves = Group("calves", "Calves", "calf", 30, "to_appetite", facts, calendar=Calendar(START))
    (part,) = parts_on(calves, START + timedelta(days=151))
    assert (part.animal_class, part.facts["live_weight_kg"]) == ("growing_cattle", 281.0)


def test_the_need_is_that_of_the_earliest_quarter_and_never_of_a_later_one() -> None:
    """As lambing comes nearer the need of those that wait never falls below that of the first
    quarter among them.
    """
    needs = []
    for days in range(0, 140, 7):
        part = parts_on(EWES, date(2026, 11, 1) + timedelta(days=days))[0]
        if part.animal_class == "ewe_pregnant":
            energy = group_needs(part, Margins()).energy
            assert energy is not None
            needs.append(energy.required_mj(0.56))
    assert needs == sorted(needs)


def test_a_step_in_late_pregnancy_is_taken_at_its_end() -> None:
    """From 19 February to 5 March the need is that of the last day, as near as the first quarter
    comes to lambing.
    """
    (part,) = parts_on(EWES, date(2027, 2, 19), date(2027, 2, 26))
    assert part.facts["days_to_lambing"] == pytest.approx(6.5)
    (near,) = parts_on(EWES, date(2027, 2, 19), date(2027, 3, 5))
    assert near.facts["days_to_lambing"] == 0.0
    dry = replace(
        EWES,
        animal_class="suckler_cow_dry",
        facts={"live_weight_kg": 650.0, "days_to_calving": 60.0},
    )
    dry = replace(dry, calendar=Calendar(START))
    assert parts_on(dry, START, START + timedelta(days=14))[0].facts["days_to_calving"] == 46.0


def test_changes_hold_from_their_day_on_and_age_from_there() -> None:
    """Milk stated anew in January, heads sold in February; weeks in milk go on running, and milk
    falls along her curve.
    """
    cows = Group(
        "cows",
        "Cows",
        "dairy_cow_milking",
        60,
        "to_appetite",
        {"milk_kg_per_day": 32.0, "week_of_lactation": 6.0},
    )
    changes = (
        Change(date(2027, 1, 10), None, {"milk_kg_per_day": 27.0}),
        Change(date(2027, 2, 1), 52, {}),
    )
    cows = replace(cows, calendar=Calendar(START, changes=changes))
    before, then = COWS.share(6.0), COWS.share(6.0 + 69.0 / 7.0)
    assert parts_on(cows, date(2027, 1, 9))[0].facts["milk_kg_per_day"] == pytest.approx(
        32.0 * then / before
    )
    (later,) = parts_on(cows, date(2027, 2, 8))
    january, february = COWS.share(6.0 + 70.0 / 7.0), COWS.share(6.0 + 99.0 / 7.0)
    assert later.facts["milk_kg_per_day"] == pytest.approx(27.0 * february / january)
    assert later.head == 52
    flat = replace(cows, facts={**cows.facts, "milk_curve": "flat"})
    assert parts_on(flat, date(2027, 2, 8))[0].facts["milk_kg_per_day"] == 27.0
    assert later.facts["week_of_lactation"] == pytest.approx(6.0 + 99.0 / 7.0)
    sold = replace(cows, calendar=Calendar(START, changes=(Change(date(2027, 2, 1), 0, {}),)))
    assert parts_on(sold, date(2027, 2, 2)) == ()


def test_a_calf_that_outgrows_its_class_is_growing_cattle() -> None:
    """From 180 kg at 0.9 kg a day: past 200 kg after 23 days."""
    facts = {"live_weight_kg": 180.0, "gain_kg_per_day": 0.9, "sex": "steer", "maturity": "medium"}
    calves = Group("calves", "Calves", "calf", 10, "to_appetite", facts, calendar=Calendar(START))
    assert parts_on(calves, START + timedelta(days=20))[0].animal_class == "calf"
    assert parts_on(calves, START + timedelta(days=23))[0].animal_class == "growing_cattle"


def test_a_group_without_a_calendar_stays_as_it_is() -> None:
    """A steady group, and one made in code, do not age."""
    steady = replace(EWES, calendar=None)
    assert parts_on(steady, date(2027, 4, 1)) == (steady,)


FARM = f"""{HAY_FROM.format(start="2026-11-01")}[[groups]]
id = "ewes"
class = "ewe_pregnant"
head = 80
live_weight_kg = 66
lambs_carried = 2
tupping = 2026-10-05
lambing = 2027-03-01
spread_weeks = 3
[[groups]]
id = "cows"
class = "suckler_cow_dry"
head = 20
live_weight_kg = 640
calving = 2027-02-10
spread_weeks = 8
[groups.after]
class = "suckler_cow_milking"
milk_kg_per_day = 9
[[groups.changes]]
from = 2027-01-05
head = 18
"""


def test_a_farm_with_dates_is_read_and_moved(tmp_path: Path) -> None:
    """Facts follow from the dates; ewes suckle what they carried without being told; parts are
    found by their group's id.
    """
    (tmp_path / "farm.toml").write_text(FARM, encoding="utf-8")
    farm = read_farm(tmp_path)
    ewes, cows = farm.groups
    assert ewes.facts["days_to_lambing"] == pytest.approx(120.0 + 21.0 / 8.0)
    assert cows.facts["days_to_calving"] == pytest.approx(101.0 + 7.0)
    spring = farm_on(farm, date(2027, 4, 10))
    assert [group.id for group in spring.groups] == ["ewes_lambed", "cows_calved"]
    assert spring.groups[0].facts["lambs_suckled"] == 2.0
    assert spring.groups[1].head == 18
    assert expanded(spring, ["ewes"]) == ["ewes_lambed"]
    assert expanded(spring, ["goats"]) == ["goats"]
    between = farm_on(farm, date(2027, 3, 10))
    assert [(group.id, group.head) for group in between.groups] == [
        ("ewes", 40),
        ("ewes_lambed", 40),
        ("cows", 9),
        ("cows_calved", 9),
    ]


def test_needs_over_the_winter_follow_the_calendar(tmp_path: Path) -> None:
    """Every step of the winter is there, none missing and none twice; the ewes' need rises to
    lambing and jumps with milk.
    """
    (tmp_path / "farm.toml").write_text(FARM, encoding="utf-8")
    farm = read_farm(tmp_path)
    steps = needs_over_winter(farm, ["ewes"])
    covered = steps_of_winter(farm)
    assert covered[0][0] == farm.start
    assert covered[-1][1] == farm.turnout
    assert {(step.first, step.last) for step in steps} == set(covered)
    pregnant = [step.me_mj for step in steps if step.needs.animal_class == "ewe_pregnant"]
    milking = [step.me_mj for step in steps if step.needs.animal_class == "ewe_milking"]
    assert len(pregnant) + len(milking) == len(steps)
    assert max(me or 0.0 for me in pregnant) < min(me or 0.0 for me in milking)
    assert (pregnant[-1] or 0.0) > 1.6 * (pregnant[0] or 0.0)
