"""Changes of ration over a winter: every one past a threshold is told, with the day to begin;
smaller ones are not.

Thresholds: common practice without a source (c), as in feeds/change-over.csv.
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import date
from functools import lru_cache

import pytest
from told import told
from winter_plans import COWS, PERIODS, made_plan

from rationlp.after.plan_changes import PlanChange, plan_changes
from rationlp.after.winter_facts import winter_facts
from rationlp.farm.feed import Feed, Offer
from rationlp.folders import examples_folder
from rationlp.planned import Period, PlanRation, WinterPlan
from rationlp.read.farm import read_farm
from rationlp.report.stories.winter import winter_story
from rationlp.report.story import story_tables
from rationlp.report.wording import day_words
from rationlp.result import Amount
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions


def hay() -> Offer:
    """A second forage, of another crop."""
    feed = made_plan().farm.offers[0].feed
    return Offer("hay", "Hay", Feed("hay", "Hay", "forage", feed.figures, sort="hay"), False, 25.0)


def plan_with(hay_share: float, meal_dm: float = 1.6) -> WinterPlan:
    """The plan made by hand, its cows alone: from December a share of their 9 kg DM of forage is
    hay; meal as given.
    """
    plan = made_plan()
    first = replace(
        plan.rations[0], needs=replace(plan.rations[0].needs, limits_key="dairy_milking")
    )
    kg = {"clamp": 9.0 * (1.0 - hay_share), "hay": 9.0 * hay_share, "meal": meal_dm}
    amounts = tuple(
        Amount(key, key, dm, dm * (1.25 if key == "meal" else 4.0), 0.0, 0.0)
        for key, dm in kg.items()
    )
    second = replace(first, period=1, amounts=amounts)
    return replace(
        plan, farm=replace(plan.farm, offers=(*plan.farm.offers, hay())), rations=(first, second)
    )


def only(plan: WinterPlan) -> PlanChange:
    """The one change of a plan."""
    [found] = plan_changes(plan)
    return found


def test_a_change_of_a_quarter_of_the_forage_is_a_step() -> None:
    """Up to 25 % of the forage dry matter nothing is told; past it there is a line (c)."""
    assert plan_changes(plan_with(0.2499)) == ()
    assert [one.what for one in only(plan_with(0.2501)).change.changes] == ["clamp"]


def test_half_a_kilogram_of_concentrates_is_a_step() -> None:
    """0.5 kg at the dry matter of bagged feed, 0.86, is 0.43 kg DM: nothing below, a line above
    (c).
    """
    assert plan_changes(plan_with(0.0, 1.6 + 0.42)) == ()
    assert [one.what for one in only(plan_with(0.0, 1.6 + 0.45)).change.changes] == ["concentrate"]


def test_half_of_the_days_lie_before_the_new_ration() -> None:
    """A silage takes up to ten days: from 26 November for a ration that begins on 1 December."""
    found = only(plan_with(1.0))
    assert (found.on, found.begin, found.change.days) == (date(2026, 12, 1), date(2026, 11, 26), 10)


def test_the_ramp_uses_as_much_of_each_store_as_the_plan() -> None:
    """Days of the ramp on its straight line, middle of each day, add up to five days of the old
    ration and five of the new.
    """
    found = only(plan_with(1.0))
    old, new = found.change.steps[0].kg_dm, found.change.steps[-1].kg_dm
    eaten = {
        key: sum(
            old[key] + (day + 0.5) / 10 * (new[key] - old[key]) for day in range(found.change.days)
        )
        for key in old
    }
    before = (found.on - found.begin).days
    assert eaten == pytest.approx(
        {key: before * old[key] + (10 - before) * new[key] for key in old}
    )


def test_a_ramp_begins_no_earlier_than_its_ration_before() -> None:
    """A ration fed from 28 November can only be left from that day."""
    plan = plan_with(1.0)
    first = (
        replace(PERIODS[0], last=date(2026, 11, 28)),
        replace(PERIODS[1], first=date(2026, 11, 28)),
    )
    housed = replace(plan.farm, groups=(replace(COWS, housed=date(2026, 11, 26)),))
    assert only(replace(plan, farm=housed, periods=first)).begin == date(2026, 11, 26)


def test_one_ramp_ends_before_the_next_begins() -> None:
    """Silage, hay from 1 December, silage again from the 9th: ten days from 26 November end on the
    6th, when the next begins.
    """
    plan = plan_with(1.0)
    silage = replace(plan.rations[0], period=2)
    periods = (
        PERIODS[0],
        replace(PERIODS[1], last=date(2026, 12, 9)),
        Period(2, date(2026, 12, 9), date(2026, 12, 31)),
    )
    found = plan_changes(replace(plan, rations=(*plan.rations, silage), periods=periods))
    assert [one.begin for one in found] == [date(2026, 11, 26), date(2026, 12, 6)]


def test_a_second_switch_of_forage_within_four_weeks_is_warned_of() -> None:
    """No more than one in 28 days (c): on the 28th day after the first it is one again."""
    plan = plan_with(1.0)
    silage = replace(plan.rations[0], period=2)
    for again, warned in ((date(2026, 12, 28), True), (date(2026, 12, 29), False)):
        periods = (PERIODS[0], replace(PERIODS[1], last=again), Period(2, again, date(2027, 1, 31)))
        last = plan_changes(replace(plan, rations=(*plan.rations, silage), periods=periods))[-1]
        assert any(change.what == "switches" for change in last.change.changes) == warned


def test_soon_after_the_ration_before_a_change_of_forage_is_warned_of() -> None:
    """Fed 20 days, more than 25 % of the forage is too soon; fed 21 days it only takes its days
    (c).
    """
    plan = plan_with(0.5)
    for fed, warned in ((20, True), (21, False)):
        start = replace(PERIODS[0], first=date.fromordinal(date(2026, 12, 1).toordinal() - fed))
        found = only(replace(plan, periods=(start, PERIODS[1])))
        assert any(change.warned for change in found.change.changes) == warned


def test_those_that_have_calved_come_from_the_ration_of_those_waiting() -> None:
    """Their first ration is set beside the one they were fed before; it begins on its own day."""
    plan = plan_with(1.0)
    calved = replace(plan.rations[1], group="cows_calved", origin="cows", name="Milkers, calved")
    found = only(replace(plan, rations=(plan.rations[0], calved)))
    assert (found.group, found.came_from, found.begin) == ("cows_calved", "cows", date(2026, 12, 1))


def test_what_changes_is_named_in_kg_fresh() -> None:
    """9 kg DM of silage at 250 g/kg is 36 kg fresh; the meal, which stays, is not named."""
    moves = {one.offer: (one.from_kg_fresh, one.to_kg_fresh) for one in only(plan_with(1.0)).moves}
    assert moves == {"clamp": (pytest.approx(36.0), 0.0), "hay": (0.0, pytest.approx(36.0))}


@lru_cache(maxsize=1)
def example() -> WinterPlan:
    """The winter of the example that changes from one forage to another."""
    return solve_winter(read_farm(examples_folder() / "few"), WinterOptions(prove=False))


def greatest_move(plan: WinterPlan, before: PlanRation, after: PlanRation) -> float:
    """The greatest change of one store or bought forage, as a share of the larger forage dry
    matter.
    """
    forages = {offer.id for offer in plan.farm.offers if offer.feed.is_forage}
    old, new = (
        {a.offer: a.kg_dm for a in one.amounts if a.offer in forages} for one in (before, after)
    )
    return max(abs(new.get(key, 0.0) - old.get(key, 0.0)) for key in {*old, *new}) / max(
        sum(old.values()), sum(new.values())
    )


def test_every_change_of_forage_of_an_example_has_its_line() -> None:
    """Worked out again from the plan's amounts: past 25 % a line, with silage's days, and none that
    is not called for.
    """
    plan = example()
    called_for = {
        (after.group, after.period)
        for before, after in itertools.pairwise(plan.rations)
        if before.group == after.group and greatest_move(plan, before, after) > 0.25
    }
    found = {(one.group, one.period) for one in plan_changes(plan) if one.change.days >= 7}
    assert called_for
    assert found == called_for


def test_the_text_has_a_line_a_change() -> None:
    """Group, first day, day to begin, days, and what changes."""
    found = plan_changes(example())
    text = (
        told(winter_story(winter_facts(example())), 160)
        .split("Changes over the winter\n")[1]
        .split("What to buy")[0]
    )
    assert len(
        [line for line in text.split("\n") if line.startswith("Eleven suckler cows")]
    ) == len(found)
    days = f"{day_words(found[0].on)} {day_words(found[0].begin)}"
    assert days in " ".join(text.split())


def test_a_plan_without_a_change_says_nothing() -> None:
    """No table in the text and none among the tables."""
    plan = plan_with(0.1)
    assert "Changes over the winter" not in told(winter_story(winter_facts(plan)), 100)
    tables = story_tables(winter_story(winter_facts(plan)))
    assert "changes" not in {table.name for table in tables}


def test_cows_of_a_pen_come_from_the_pen_before() -> None:
    """Calved cows come out of the fresh pen, not from the dry cows: no change where both eat the
    same; dry to fresh is one, on the day itself.
    """
    plan = plan_with(1.0)
    dry, fresh = plan.rations
    fresh = replace(fresh, group="cows_fresh", origin="cows", name="Milkers, fresh")
    calved = replace(fresh, group="cows_calved", name="Milkers, calved", period=2)
    periods = (*PERIODS, Period(2, PERIODS[1].last, date(2027, 3, 1)))
    pens = replace(plan, rations=(dry, fresh, calved), periods=periods)
    assert [(one.group, one.came_from) for one in plan_changes(pens)] == [("cows_fresh", "cows")]


def test_no_ramp_begins_while_the_store_it_brings_in_is_shut() -> None:
    """Hay in place of silage from 1 December: from 26 November, but from 29 November where what it
    brings in is a clamp filled four weeks before that day.
    """
    plan = plan_with(1.0)
    clamp = replace(plan.farm.stores[0], id="hay", kind="clamp", size={"filled": "2026-11-01"})
    shut = replace(plan, farm=replace(plan.farm, stores=(*plan.farm.stores, clamp)))
    assert only(shut).begin == date(2026, 11, 29)
