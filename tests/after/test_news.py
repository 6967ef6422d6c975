"""What is news on a day of a plan: the change-over under way, its kilograms the plan's, and which
cautions did not apply in the period before.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from ask_plans import plan_of_example

from rationlp.after.followed import day_of_plan
from rationlp.after.plan_changes import FeedMove, News, move_words, news_of, plan_changes
from rationlp.planned import WinterPlan
from rationlp.yard.day_facts import sheet_cautions, with_news
from rationlp.yard.sheets import YardSheets, yard_sheets

OPENED = date(2026, 10, 29)
"""First day on which the maize is fed: the high yielders change over to it."""


def plan() -> WinterPlan:
    """The plan of the dairy example."""
    return plan_of_example("dairy")


def sheets(day: date) -> YardSheets:
    """The sheets that the plan gives on a day."""
    fed = day_of_plan(plan(), plan().farm, day)
    assert fed is not None
    return with_news(yard_sheets(fed.rations), news_of(plan(), day))


def test_a_day_of_the_ramp_says_from_what_to_what_and_which_day_it_is() -> None:
    """In the middle of the ramp, on its first day and on its last; a day before and after: no
    word.
    """
    change = next(one for one in plan_changes(plan()) if one.group == "high" and one.on == OPENED)
    days = change.change.days
    for number in (1, days // 2, days):
        words = news_of(plan(), change.begin + timedelta(days=number - 1)).changing["high"]
        assert f"day {number} of {days}" in words
        for move in change.moves:
            places = 1
            if max(move.from_kg_fresh, move.to_kg_fresh) < 1.0:
                places = 2
            kg = f"{move.from_kg_fresh:.{places}f} to {move.to_kg_fresh:.{places}f}"
            to = f"{move.name} from {kg}"
            assert to in words
    for day in (change.begin - timedelta(days=1), change.begin + timedelta(days=days)):
        assert "high" not in news_of(plan(), day).changing


@pytest.mark.parametrize("day", [OPENED - timedelta(days=1), OPENED])
def test_the_kilograms_of_a_sheet_stay_those_of_the_plan(day: date) -> None:
    """The day before and the day on which the new ration begins: the note comes first, the amounts
    are those of the plan's period.
    """
    number = next(one.number for one in plan().periods if one.first <= day < one.last)
    ration = next(one for one in plan().rations if (one.group, one.period) == ("high", number))
    sheet = next(one for one in sheets(day).sheets if one.group == "high")
    assert sheet.notes[0].startswith("Changing over")
    fed = {one.offer: one.kg_fresh for one in ration.amounts}
    assert {key: kg for key, kg in sheet.kg_fresh.items() if kg > 1e-3} == pytest.approx(
        {key: kg for key, kg in fed.items() if kg > 1e-3}, rel=1e-6
    )


def test_cautions_are_new_that_did_not_apply_in_the_period_before() -> None:
    """In December the high yielders' cautions are those of November; without a plan all are new,
    and what holds every day is never new.
    """
    yard = sheets(date(2026, 12, 20))
    sheet = next(one for one in yard.sheets if one.group == "high")
    later = sheet_cautions(yard, sheet)
    assert not any(one.new for one in later)
    alone = with_news(yard, News())
    unplanned = sheet_cautions(alone, sheet)
    assert {one.id for one in unplanned} == {one.id for one in later}
    assert all(one.new != one.daily for one in unplanned)
    first = sheets(plan().periods[0].first)
    newest = [sheet_cautions(first, one) for one in first.sheets]
    assert any(one.new for cautions in newest for one in cautions)


def test_a_change_too_fast_is_a_caution_of_the_sheet_while_it_lasts() -> None:
    """The sheet knows the ration before it: known to it in the ramp, unknown afterwards."""
    assert "high" in news_of(plan(), OPENED).kg_dm_before
    assert "high" not in news_of(plan(), OPENED - timedelta(days=1)).kg_dm_before
    assert "high" not in news_of(plan(), date(2026, 12, 20)).kg_dm_before
    assert news_of(plan(), date(2027, 8, 1)) == News()


@pytest.mark.parametrize(
    ("kg", "words"),
    [
        ((0.05, 0.222), "Barley from 0.05 to 0.22"),
        ((0.0, 12.04), "Barley from 0.0 to 12.0"),
        ((0.6, 1.3), "Barley from 0.6 to 1.3"),
    ],
)
def test_little_amounts_are_told_to_ten_grams(kg: tuple[float, float], words: str) -> None:
    """A ewe's barley that goes up fourfold is not told as from 0.1 to 0.2."""
    assert move_words(FeedMove("barley", "Barley", *kg)) == words
