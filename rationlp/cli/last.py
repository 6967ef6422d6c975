"""`rationlp last`: how long each store lasts, under the plan or under stated rations."""

from __future__ import annotations

from dataclasses import replace

from rationlp.after.cautions import store_cautions
from rationlp.after.stock import Spring, each_lasting, fixed_uses, spring_of, springs, turnouts
from rationlp.ask.batch import answer_all
from rationlp.ask.in_force import FollowedPlan, kept_for
from rationlp.cli.options import Options
from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.needs.calendar import parts_on, planned_steps
from rationlp.planned import WinterPlan
from rationlp.read.fed import read_fed
from rationlp.records import dataclass
from rationlp.report.answers.day import made_from
from rationlp.report.answers.winter import LastAnswer
from rationlp.report.in_force import plan_lines
from rationlp.report.plan_words import short_heads
from rationlp.report.stories.stores import last_story
from rationlp.report.story import Story
from rationlp.stock.dry_matter import farm_stocks
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import FED_ONLY, WinterOptions


@dataclass(frozen=True)
class Solved:
    """Each turnout looked at, and what it comes from: rations that were given, a plan made now, or
    the plan in force. without: names of groups of which nothing was given.
    """

    farm: Farm
    springs: tuple[Spring, ...]
    plan: WinterPlan | None = None
    kept: FollowedPlan | None = None
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True)
class Turnout:
    """A farm with another turnout, to be planned as the plan in hand was."""

    farm: Farm
    options: WinterOptions
    stocks: dict[str, StoreStock] | None


def solve(read: Farm, given: Options) -> Solved:
    """How long stores last; with --full turnout earlier and later too, each of them a plan."""
    if given.fed is not None:
        return _under_fed(read, given)
    in_force = kept_for(read, None)
    if in_force is None:
        plan = solve_winter(read, FED_ONLY)
        if plan.proof is None:
            return Solved(read, (), plan)
        every = _springs(plan, Turnout(read, FED_ONLY, None), bool(given.full))
        return Solved(read, every, plan, remarks=tuple(short_heads(plan)))
    plan = in_force.plan
    options = replace(FED_ONLY, start=plan.periods[0].first)
    own = Turnout(plan.farm, options, dict(plan.stocks) or None)
    every = _springs(plan, own, bool(given.full))
    return Solved(plan.farm, every, plan, in_force, tuple(plan_lines(in_force)))


def _springs(plan: WinterPlan, own: Turnout, whole: bool) -> tuple[Spring, ...]:
    """Every turnout, or only the farm's own: each other takes as long as the plan."""
    if not whole:
        return (spring_of(plan),)
    farms = turnouts(own.farm)
    others = [days for days in farms if days]
    tasks = [replace(own, farm=farms[days]) for days in others]
    planned = dict(zip(others, answer_all(planned_spring, tasks, worth_it=2), strict=True))
    planned[0] = spring_of(plan)
    return tuple(replace(planned[days], days=days) for days in farms)


def planned_spring(turnout: Turnout) -> Spring:
    """What the plan of another turnout comes to: a pure function, for any process."""
    return spring_of(solve_winter(turnout.farm, turnout.options, turnout.stocks))


def _under_fed(farm: Farm, options: Options) -> Solved:
    parts = {
        part.id: part
        for group in farm.groups
        for first, until in planned_steps(farm)
        for part in (group, *parts_on(group, first, until))
    }
    fed = read_fed(options.fed, replace(farm, groups=tuple(parts.values())))
    stocks = farm_stocks(farm)
    every = springs(
        farm,
        lambda farm_at: Spring(0, farm_at.turnout, each_lasting(fixed_uses(farm_at, fed, stocks))),
    )
    without = [
        part.name for part in parts.values() if part.id not in fed and part.origin not in fed
    ]
    remarks: tuple[str, ...] = ()
    if without:
        names = ", ".join(without)
        remarks = (f"Not in {options.fed.name}, and so nothing counted for: {names}.",)
    return Solved(farm, every, remarks=remarks)


def story(solved: Solved, options: Options) -> Story:
    """How long stores last as a story; the plan's own where the winter has none."""
    if not solved.springs and solved.plan is not None:
        # Only a winter without a plan pays for loading all that a plan is told with.
        from rationlp.cli.winter import told

        return told(solved.plan)
    under, code, from_plan = "fed", 0, None
    if solved.plan is not None:
        under, code = "plan", solved.plan.exit_code
    if solved.kept is not None:
        from_plan = made_from(solved.kept)
    farm, springs, remarks = solved.farm, tuple(solved.springs), tuple(solved.remarks)
    cautions = store_cautions(farm)
    told_so = last_story(farm, springs, cautions, remarks, code)
    return told_so.of(lambda: LastAnswer(farm, under, springs, remarks, from_plan, cautions))
