"""The places of the page, each the story of a command: stores, animals, buying, switch, worth,
money, why, how sure, next year, yard sheets, sources.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from rationlp.after.cautions import store_cautions
from rationlp.after.face import stated_uses
from rationlp.after.farm_facts import farm_facts
from rationlp.after.money import buying_list, money
from rationlp.after.plan_changes import news_of
from rationlp.after.stock import stocks_of
from rationlp.after.winter_facts import winter_facts
from rationlp.ask.grow import USUAL_RESERVE, grow, storing_figures
from rationlp.ask.held import held_against_appetite
from rationlp.ask.in_force import MADE_NOW, FollowedPlan, kept_for
from rationlp.ask.sure import DrawsAsked, winter_sureness
from rationlp.ask.switch_steps import switch_steps, usual_pair
from rationlp.ask.why_short import why_short
from rationlp.ask.why_winter import why_winter
from rationlp.ask.worth import WorthOptions, worth
from rationlp.chances.risk import HeldRisk, held_risk
from rationlp.chances.spread_answer import SpreadAsked
from rationlp.chances.spread_plan import plan_for_spread
from rationlp.chances.unfed import UnfedWinter, unfed_winters
from rationlp.live.place_asked import PLACES, Asked
from rationlp.live.told import story_json
from rationlp.model.ration import solve_rations
from rationlp.needs import group_needs
from rationlp.needs.calendar import farm_on
from rationlp.planned import WinterPlan
from rationlp.report.chances import chances_parts
from rationlp.report.in_force import made_from_lines
from rationlp.report.stories.asked import grow_story, steps_parts, sureness_story, worth_story
from rationlp.report.stories.farm import farm_story
from rationlp.report.stories.needs import needs_story
from rationlp.report.stories.sheet import sheet_story
from rationlp.report.stories.stores import stores_story
from rationlp.report.stories.winter import Beside, store_fans, winter_story
from rationlp.report.story import BRIEF, Part, Story, Words, always
from rationlp.report.tables.winter_page import feed_sources_table, need_sources_table, proof_table
from rationlp.report.tables.winter_plan import buying_table, money_table, sales_table
from rationlp.report.winter_charts import store_chart
from rationlp.rules.spreads import spreads_with
from rationlp.yard.day_facts import sheet_facts, with_news
from rationlp.yard.sheets import DayFigures, yard_sheets

DRAWS = 20
"""Trial winters of a place; the command draws more."""
EDITED = "The winter's plan with the edits of this page, which are not saved."
"""What the sheets of a changed farm are made from."""
NOT_KEPT = "The winter's plan, made just now; none is kept in the folder yet."
"""What the sheets of a farm without a plan in force are made from."""

NOT_GROWN = (
    "The farm does not say what could be grown next year, so that there is nothing to choose from.",
    "Write a [[growing]] table for each crop into farm.toml: feed, yield_t_dm_per_ha and"
    " cost_per_ha; `rationlp guide grow` shows them. This page notices when the file has changed.",
    "Then it tells the hectares of each crop that the same animals need, weighed against buying.",
)
"""What the place of next year says of a farm without crops."""


def _stores(asked: Asked) -> Story:
    farm, stocks = asked.farm.farm, asked.farm.stocks
    story = stores_story(farm, stocks, stated_uses(farm, stocks), store_cautions(farm, stocks))
    if asked.plan is None or asked.plan.proof is None:
        return story
    drawn = always(*map(store_chart, winter_facts(asked.plan).stores))
    return replace(story, parts=(*story.parts, *drawn))


def _animals(asked: Asked) -> Story:
    today = farm_on(asked.farm.farm, asked.day)
    needs = tuple(group_needs(group, today.margins) for group in today.groups)
    return needs_story(needs, today.own_quantities)


def _buying(asked: Asked) -> Story:
    plan = asked.planned()
    return _tables("buying", buying_table(plan, buying_list(plan)), sales_table(plan))


def _money(asked: Asked) -> Story:
    plan = asked.planned()
    return _tables("money", money_table(money(plan), plan.farm.currency))


def _why(asked: Asked) -> Story:
    plan = asked.planned()
    if not plan.feeds_all:
        return winter_story(winter_facts(plan), Beside(alone=why_short(plan)))
    story = winter_story(winter_facts(plan), Beside(why=why_winter(plan, stocks_of(plan))))
    # What its first lines say stands on the first page of the winter.
    return replace(story, parts=tuple(part for part in story.parts if part.shown != BRIEF))


def _switch(asked: Asked) -> Story:
    today = farm_on(asked.farm.farm, asked.day)
    steps = switch_steps(today, usual_pair(today), None)
    return Story("switch", tuple(steps_parts(steps)))


def _worth(asked: Asked) -> Story:
    today = farm_on(asked.farm.farm, asked.day)
    return worth_story(worth(asked.farm.farm, today, WorthOptions(winter=True)))


def _grow(asked: Asked) -> Story:
    if not asked.farm.farm.growing:
        return Story("grow", always(Words(NOT_GROWN)))
    return grow_story(grow(asked.farm.farm, USUAL_RESERVE), storing_figures())


def _sure(asked: Asked) -> Story:
    """How sure the plan is: trial winters, each store in many winters with the days at which to
    look, and the plan for the spread where that is asked for.
    """
    plan = asked.planned()
    begun = replace(asked.begun, farm=asked.farm.farm, stocks=asked.farm.stocks)
    spreads = dict(spreads_with(()))
    story = sureness_story(winter_sureness(begun, DrawsAsked(DRAWS, 1, spreads, True, 1)))
    held = held_risk(plan) if plan.feeds_all else None
    fans = always(*store_fans(winter_facts(plan).stores, held))
    first, rest = _spread(asked, plan, held)
    return replace(story, parts=(*first, *fans, *rest, *story.parts))


def _spread(
    asked: Asked, plan: WinterPlan, held: HeldRisk | None
) -> tuple[tuple[Part, ...], tuple[Part, ...]]:
    """What is told of the plan for the spread: what to do, and the tables behind it."""
    spread, unfed = None, tuple[UnfedWinter, ...]()
    if asked.spread and held is not None:
        wish, stocks, start = SpreadAsked(), stocks_of(plan), plan.periods[0].first
        spread = plan_for_spread(plan.farm, wish, stocks, start)
        if spread is None:
            unfed = unfed_winters(plan.farm, wish, stocks, start)
    parts = tuple(chances_parts(spread, held, asked.spread, unfed))
    return parts[:1], parts[1:]


def _sheets(asked: Asked) -> Story:
    """By the plan in force, or the plan of the page; where neither feeds anybody on the day, the
    cheapest of the day, which says so.
    """
    day = asked.day or asked.farm.farm.start
    plan = None
    if not asked.changes:
        plan = kept_for(asked.farm.farm, day)
    if plan is None:
        made = asked.planned()
        plan = FollowedPlan(MADE_NOW, made, "", made.farm, day, None)
    feeding = plan.rations()
    if feeding is None:
        cheapest = solve_rations(farm_on(asked.farm.farm, day))
        return sheet_story(sheet_facts(yard_sheets(cheapest, DayFigures())), made_from_lines(None))
    source = made_from_lines(plan)
    if asked.changes:
        source = (EDITED,)
    elif plan.how == MADE_NOW:
        source = (NOT_KEPT,)
    yard = yard_sheets(feeding.rations, DayFigures())
    return sheet_story(sheet_facts(with_news(yard, news_of(plan.plan, plan.day))), source)


def _sources(asked: Asked) -> Story:
    farm = asked.farm.farm
    story = farm_story(farm_facts(farm), held_against_appetite(farm), figures=True)
    if asked.plan is None:
        return story
    tables = (
        feed_sources_table(asked.plan),
        need_sources_table(asked.plan),
        proof_table(asked.plan),
    )
    return replace(story, parts=(*story.parts, *always(*tables)))


def _tables(kind: str, *tables: Any) -> Story:
    parts: tuple[Part, ...] = always(*tables)
    return Story(kind, parts)


MAKERS: dict[str, Callable[[Asked], Story]] = {
    "stores": _stores,
    "animals": _animals,
    "buying": _buying,
    "switch": _switch,
    "worth": _worth,
    "money": _money,
    "why": _why,
    "sure": _sure,
    "grow": _grow,
    "sheets": _sheets,
    "sources": _sources,
}


def place(name: str, asked: Asked) -> dict[str, Any]:
    """The story of a place. Raises InputError and SolverTrouble as the command does."""
    farm = asked.farm.farm
    return story_json(MAKERS[name](asked), PLACES[name], (farm.start, farm.turnout))
