"""`rationlp supply`: a ration already fed, set against what is needed."""

from __future__ import annotations

from rationlp import supply as fed_against_needs
from rationlp.ask.fix import explain_fed
from rationlp.ask.in_force import followed, kept_for
from rationlp.cli.days import day_of_winter, farm_on_day
from rationlp.cli.options import Format, Options
from rationlp.errors import refused
from rationlp.farm.farm import Farm
from rationlp.model.fed import fed_supply
from rationlp.records import dataclass
from rationlp.report.answers.day import MadeFrom, made_from, supply_answer
from rationlp.report.in_force import fed_on_day_lines, made_from_lines
from rationlp.report.stories.ration import fed_story
from rationlp.report.story import Story
from rationlp.result import FedSupply
from rationlp.yard.day_facts import fed_facts


@dataclass(frozen=True)
class Solved:
    """The farm of the day, what groups are fed, first sentences, whence; None: from a file."""

    farm: Farm
    fed: tuple[FedSupply, ...]
    lines: tuple[str, ...]
    made_from: MadeFrom | None


def solve(read: Farm, options: Options) -> Solved:
    """What the file says is fed, else what the plan feeds on the day."""
    if options.fed is None:
        return _from_plan(read, options.on)
    in_force = kept_for(read, day_of_winter(read, options.on))
    today, lines = read, list[str]()
    if options.on is not None:
        today = farm_on_day(read, options.on)
    if in_force is not None:
        lines += fed_on_day_lines(in_force)
    return Solved(today, fed_against_needs(today, options.fed), tuple(lines), None)


def _from_plan(read: Farm, on: str | None) -> Solved:
    """What the plan feeds on the day. Raises InputError (IN803) where it feeds nobody."""
    plan = followed(read, day_of_winter(read, on))
    feeding = plan.rations()
    if feeding is None:
        remedy = "give FED.CSV, what is fed; `rationlp winter FARM` says who is short of what"
        trouble = f"no plan feeds anybody on {plan.day}"
        raise refused("IN803", "supply", trouble, remedy)
    today, groups = feeding.rations.farm, feeding.rations.groups
    amounts = {
        group.group: {amount.offer: amount.kg_dm for amount in group.amounts} for group in groups
    }
    needs = {group.group: group.needs for group in groups}
    fed = fed_supply(today, {group: kg for group, kg in amounts.items() if kg}, needs)
    return Solved(today, fed, made_from_lines(plan), made_from(plan))


def story(solved: Solved, options: Options) -> Story:
    """What is fed as a story; CSV holds no reasons."""
    reasons = {}
    if options.form is not Format.csv:
        reasons = {supply.group: explain_fed(solved.farm, supply) for supply in solved.fed}
    farm, facts = solved.farm, fed_facts(solved.farm, solved.fed)
    told = fed_story(farm, facts, reasons, solved.lines)
    return told.of(lambda: supply_answer(farm, facts, reasons, solved.made_from))
