"""Weeks to record, on the plan made by hand: thirty-day periods cut into sevens on paper."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from winter_plans import PERIODS, START, made_plan

from rationlp.farm.group import Group
from rationlp.report.record import (
    BLANK,
    group_marks_tables,
    record_html,
    record_table,
    store_marks_tables,
    weighed_word,
)
from rationlp.yard.record import (
    record_facts,
    record_rules,
    recorded_weeks,
    refusals_range,
    used_until,
)


def test_eight_weeks_and_what_is_over() -> None:
    """Sixty days: eight weeks of seven and one of four; asked for two, two."""
    weeks = recorded_weeks(made_plan(), 60)
    assert [(one.last - one.first).days for one in weeks] == [7] * 8 + [4]
    assert weeks[0].first == START
    assert [one.week for one in recorded_weeks(made_plan(), 2)] == [1, 2]


def test_a_week_across_two_periods_counts_by_days() -> None:
    """30 t in the first thirty days and 60 t in the next: by day 35 it is 30 + 10 t, by day 0
    nothing.
    """
    assert used_until(PERIODS, (30.0, 60.0), date(2026, 12, 6)) == pytest.approx(40.0)
    assert used_until(PERIODS, (30.0, 60.0), START) == 0.0


def test_what_is_left_of_a_store() -> None:
    """25 t DM held; the first thirty days take 7.5 put out and 5 sold, a week 7/30 of that; 250
    g/kg: four times in fresh.
    """
    [mark] = recorded_weeks(made_plan(), 1)[0].stores
    assert mark.left_t_fresh == pytest.approx((25.0 - 12.5 * 7 / 30) * 4)
    assert (mark.moved_m, mark.bales_left) == (None, None)


def test_what_is_put_out_for_a_group() -> None:
    """Cows: 20 x (36 kg of silage / 0.9 + 2 kg of meal) = 840 kg; stores: 10 x 18/0.9 = 200 kg."""
    marks = {one.group: one for one in recorded_weeks(made_plan(), 1)[0].groups}
    assert marks["cows"].kg_fresh == pytest.approx(840.0)
    assert (marks["stores"].kg_fresh, marks["stores"].head) == (pytest.approx(200.0), 10)


def test_a_group_that_is_out_is_not_asked_about() -> None:
    """The stores go out on 16 December: in the week from the 20th only the cows are there."""
    weeks = recorded_weeks(made_plan(), 60)
    there = [{mark.group for mark in one.groups} for one in weeks]
    assert there[0] == {"cows", "stores"}
    assert there[7] == {"cows"}
    assert weeks[7].first == date(2026, 12, 20)


def test_a_box_for_every_store_and_group() -> None:
    """One place for a store without a face, three for a group; none for a group that is out."""
    weeks = recorded_weeks(made_plan(), 60)
    [stores], [groups] = store_marks_tables(weeks), group_marks_tables(made_plan().farm, weeks)
    assert stores.rows[0][3] == BLANK
    assert groups.rows[0][3] == "/".join([BLANK] * 3)
    assert groups.rows[7][4:] == ("", "")


def test_the_long_table_has_a_row_a_mark() -> None:
    """Two weeks of one store and two groups."""
    assert len(record_table(recorded_weeks(made_plan(), 2)).rows) == 2 * 3


def test_what_is_written_of_a_group() -> None:
    """Milk of cows in milk, weight of what grows, condition of the others."""
    of = {"dairy_cow_milking": {}, "growing_cattle": {"gain_kg_per_day": 0.8}, "ewe_dry": {}}
    words = [
        weighed_word(Group("g", "G", name, 1, "rationed", dict(facts)))
        for name, facts in of.items()
    ]
    assert words == ["milk", "weight", "condition"]


def test_refusals_by_class() -> None:
    """1 to 4 % for cows in milk (dairy press), 0 to 2 % for the others (common practice)."""
    assert refusals_range("first_calver_milking") == (0.01, 0.04)
    assert refusals_range("lamb") == (0.0, 0.02)


def test_rules_speak_of_what_the_farm_has() -> None:
    """No face, no bales: nothing of marks that moved or of bales; something was sold."""
    plan = made_plan()
    rules = " ".join(record_rules(plan, recorded_weeks(plan, 1)))
    assert "Face moved" not in rules
    assert "Fewer bales" not in rules
    assert "Sold forage counts as gone in the plan's first period: The clamp." in rules


def test_a_name_is_text_and_nothing_else() -> None:
    """A store, a group and a farm named like a tag stand in the page as they were written."""
    plan, name = made_plan(), "<script>x</script>"
    farm = replace(
        plan.farm, name=name, groups=tuple(replace(one, name=name) for one in plan.farm.groups)
    )
    spoilt = replace(plan, farm=farm, stores=tuple(replace(one, name=name) for one in plan.stores))
    html = record_html(record_facts(spoilt, 8))
    assert "<script" not in html
    assert html.count("&lt;script&gt;x") == 5
    assert "http:" not in html
    assert "https:" not in html
    assert html.count("<section") == 1
