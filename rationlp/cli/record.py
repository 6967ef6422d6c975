"""`rationlp sheet --record`: a page to write on, what is planned beside it."""

from __future__ import annotations

from dataclasses import replace

from rationlp.ask.in_force import FollowedPlan, kept_for
from rationlp.cli.days import day_of_winter
from rationlp.cli.options import Options
from rationlp.errors import Finding
from rationlp.farm.farm import Farm
from rationlp.planned import WinterPlan
from rationlp.records import dataclass
from rationlp.report.answers.day import made_from
from rationlp.report.answers.winter import RecordAnswer
from rationlp.report.in_force import way_lines
from rationlp.report.record import record_story, rules_of
from rationlp.report.story import Story
from rationlp.wintering.yard import FED_ONLY
from rationlp.yard.record import record_facts

USUAL_WEEKS, MOST_WEEKS = 8, 60


@dataclass(frozen=True)
class Solved:
    """The plan that is recorded against, and the plan in force where it comes from there."""

    plan: WinterPlan
    kept: FollowedPlan | None


def record_faults(options: Options) -> list[Finding]:
    """Options that do not go together (IN523)."""
    if not options.record:
        if options.weeks is None:
            return []
        remedy = "add --record, or leave it out"
        return [Finding("IN523", "--weeks", "no --record with it", remedy)]
    trouble, remedy = "it does not go with --record", "leave it out: the page is of the whole plan"
    others = [name for name in ("group", "dm", "head", "cheapest_today") if getattr(options, name)]
    faults = [Finding("IN523", f"--{name.replace('_', '-')}", trouble, remedy) for name in others]
    if options.weeks is not None and not 1 <= options.weeks <= MOST_WEEKS:
        remedy = f"give 1 to {MOST_WEEKS}"
        faults.append(Finding("IN523", "--weeks", f"{options.weeks} weeks", remedy))
    return faults


def solve(read: Farm, options: Options) -> Solved:
    """The plan in force on a day, else a plan made from that day."""
    in_force = kept_for(read, day_of_winter(read, options.on))
    if in_force is None:
        # A sheet of the day does without what plans a winter from its log.
        from rationlp.cli.winter import planned

        return Solved(planned(read, options.on, FED_ONLY), None)
    plan = in_force.plan
    return Solved(replace(plan, carried=(*way_lines(in_force.way), *plan.carried)), in_force)


def story(solved: Solved, options: Options) -> Story:
    """The page as a story, from the day asked for in a plan in force; or the plan's own."""
    plan, in_force = solved.plan, solved.kept
    if plan.proof is None or not plan.proof.passed:
        from rationlp.cli.winter import told

        return told(plan)
    day = from_plan = None
    if in_force is not None:
        day, from_plan = in_force.day, made_from(in_force)
    facts = record_facts(plan, options.weeks or USUAL_WEEKS, day)
    rules = rules_of(facts)
    answer = RecordAnswer(plan.farm, facts.weeks, rules, from_plan, facts.cautions)
    return record_story(facts).of(lambda: answer)
