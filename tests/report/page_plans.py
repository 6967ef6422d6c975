"""Plans for tests of the page: an example's, and the same with names that a page could stumble
over.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from rationlp.after.winter_facts import cautions_on, winter_facts
from rationlp.ask.switch import Switch
from rationlp.ask.why import Reasons
from rationlp.folders import examples_folder
from rationlp.planned import WinterPlan
from rationlp.read.farm import read_farm
from rationlp.report.page import story_page
from rationlp.report.stories.report import Extras, report_story
from rationlp.wintering.plan import solve_winter

HOSTILE = (
    '<script>alert("x")</script>',
    "</style></title><img src=x onerror=alert(1)>",
    '=HYPERLINK("http://a.example","b")',
    "\u202e\u0639\u062c\u0648\u0644 \u0627\u0644\u0634\u062a\u0627\u0621",
    "\U0001f404" * 40,
    "Silage" * 20,
    "{{ 7 * 7 }} {% raw %} $x^2$",
)


@cache
def plan_of(name: str) -> WinterPlan:
    """The plan of an example farm."""
    return solve_winter(read_farm(examples_folder() / name))


def winter_page(
    plan: WinterPlan, switch: Switch | None = None, reasons: tuple[tuple[str, Reasons], ...] = ()
) -> str:
    """The report of a plan, its first page of the first day."""
    facts, day = winter_facts(plan), plan.periods[0].first
    extras = Extras(day, cautions_on(facts, day), switch=switch, reasons=reasons)
    return story_page(report_story(facts, extras))


@cache
def page_of(name: str) -> str:
    """The page of an example farm."""
    return winter_page(plan_of(name))


def named(name: str) -> WinterPlan:
    """The plan of the few cows with the farm, its stores, its group and what they eat called
    `name`.
    """
    plan = plan_of("few")
    offers = tuple(replace(offer, name=name) for offer in plan.farm.offers)
    stores = tuple(replace(store, name=name) for store in plan.farm.stores)
    groups = tuple(replace(group, name=name) for group in plan.farm.groups)
    rations = tuple(
        replace(one, name=name, amounts=tuple(replace(amount, name=name) for amount in one.amounts))
        for one in plan.rations
    )
    return replace(
        plan,
        farm=replace(plan.farm, name=name, offers=offers, stores=stores, groups=groups),
        rations=rations,
        stores=tuple(replace(store, name=name) for store in plan.stores),
        purchases=tuple(replace(one, name=name) for one in plan.purchases),
    )
