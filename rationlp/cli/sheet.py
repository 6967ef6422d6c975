"""`rationlp sheet`: what the people in the yard weigh, load and put out, a page a group."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from rationlp.after.plan_changes import news_of
from rationlp.ask.in_force import FollowedPlan, followed
from rationlp.cli import record
from rationlp.cli.days import day_of_winter, farm_on_day
from rationlp.cli.options import Options
from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Farm
from rationlp.model.ration import chosen_groups
from rationlp.needs.calendar import expanded
from rationlp.records import dataclass
from rationlp.report.answers.day import made_from, sheet_answer
from rationlp.report.html import WITHOUT_HTML, refuse_without
from rationlp.report.in_force import made_from_lines
from rationlp.report.stories.sheet import sheet_story
from rationlp.report.story import Story
from rationlp.result import Rations
from rationlp.wintering.open_stores import rations_of_day
from rationlp.yard.day_facts import sheet_facts, with_news
from rationlp.yard.sheets import DayFigures, YardSheets, yard_sheets

Number = TypeVar("Number", int, float)


@dataclass(frozen=True)
class Solved:
    """The sheets, the plan that they come from (None: cheapest of the day), and the exit code."""

    yard: YardSheets
    plan: FollowedPlan | None
    exit_code: int


def faults(options: Options) -> None:
    """Refuse options that do not go together, and a page that cannot be made."""
    if findings := record.record_faults(options):
        raise InputError(findings)
    if options.html is not None:
        refuse_without(("jinja2",), "--html", WITHOUT_HTML)


def solve(read: Farm, options: Options) -> Solved | record.Solved:
    """The sheets of the day, or the plan to record against."""
    if options.record:
        return record.solve(read, options)
    findings: list[Finding] = []
    dry_matter = _pairs(options.dm, "--dm", float, findings)
    heads = _pairs(options.head, "--head", int, findings)
    if findings:
        raise InputError(findings)
    today, groups = DayFigures(dry_matter, heads), options.group
    plan = None
    if not options.cheapest_today:
        plan = followed(read, day_of_winter(read, options.on))
    feeding = None if plan is None else plan.rations()
    if plan is None or feeding is None:
        day = farm_on_day(read, options.on)
        yard = yard_sheets(rations_of_day(day, expanded(day, groups)), today)
        return Solved(yard, None, yard.exit_code)
    farm = feeding.rations.farm
    groups_shown = {group.id for group in chosen_groups(farm, expanded(farm, groups))}
    rations = tuple(group for group in feeding.rations.groups if group.group in groups_shown)
    yard = with_news(yard_sheets(Rations(farm, rations), today), news_of(plan.plan, plan.day))
    return Solved(yard, plan, max(yard.exit_code, plan.plan.exit_code))


def story(solved: Solved | record.Solved, options: Options) -> Story:
    """The sheets as a story."""
    if isinstance(solved, record.Solved):
        return record.story(solved, options)
    facts, plan = sheet_facts(solved.yard), solved.plan
    told = sheet_story(facts, made_from_lines(plan), solved.exit_code)
    return told.of(lambda: sheet_answer(facts, made_from(plan)))


def _pairs(
    typed: list[str] | None, option: str, number: Callable[[str], Number], findings: list[Finding]
) -> dict[str, Number]:
    """What stands left and right of each equals sign; what cannot be read goes to the findings."""
    pairs: dict[str, Number] = {}
    for text in typed or []:
        key, _, figure = text.partition("=")
        try:
            value = number(figure)
        except ValueError:
            trouble, remedy = f'"{text}" is no id with a number', f"write it like {option} id=25"
            findings.append(Finding("IN520", option, trouble, remedy))
            continue
        if key in pairs:
            findings.append(Finding("IN520", option, f'duplicate "{key}"', "keep one of them"))
        pairs[key] = value
    return pairs
