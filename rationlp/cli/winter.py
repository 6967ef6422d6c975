"""`rationlp winter`: one least-cost plan for all groups until turnout."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace
from pathlib import Path

import typer

from rationlp.after.sofar import StoreSoFar, so_far
from rationlp.after.stock import stocks_of
from rationlp.after.winter_facts import winter_facts
from rationlp.ask.carried import plan_from as plan_carried
from rationlp.ask.carry_on import WinterSoFar, plan_on, winter_so_far
from rationlp.ask.enough import enough_changes
from rationlp.ask.lying import forage_left_lying
from rationlp.ask.standards import WinterByStandards, winter_by_standards
from rationlp.ask.why_short import why_short
from rationlp.ask.why_winter import why_winter
from rationlp.chances.risk import held_risk
from rationlp.chances.spread_answer import SpreadAsked, SpreadPlan
from rationlp.chances.spread_plan import plan_for_spread
from rationlp.chances.to_keep import at_our_price, keep_remarks, plan_to_keep, sold_now
from rationlp.chances.unfed import UnfedWinter, unfed_winters
from rationlp.chances.ways_on import ways_on
from rationlp.cli.commands import Periods
from rationlp.cli.days import first_planned
from rationlp.cli.options import Options
from rationlp.errors import Finding
from rationlp.farm.farm import Farm
from rationlp.planned import WayOn, WinterPlan
from rationlp.read.calendar import Winter
from rationlp.read.earlier import EarlierPlan, read_earlier
from rationlp.read.winter import periods_of
from rationlp.records import copied, dataclass
from rationlp.report.answers.winter import WinterAnswer
from rationlp.report.chances import way_on_lines
from rationlp.report.keeping import keep_plan
from rationlp.report.stories.standards import winter_by_standards_story
from rationlp.report.stories.winter import Beside, winter_story
from rationlp.report.story import Story
from rationlp.report.terminal import tell
from rationlp.report.wording import with_day_words
from rationlp.stock.dry_matter import farm_stocks
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

SAME_T_DM = 1e-6
"""Tonnes of dry matter within which a store counts as not measured again."""

PRICED = WinterOptions(ceilings=True)
"""A plan with the price above which to buy none, of every feed."""
NOT_KEPT = (
    "Not kept: no plan of the farm's own feeds goes with the plan for the spread. Give what it buys"
    " in [[bought]] with your price, or keep the cheapest plan with `--keep` alone."
)
NOT_KEPT_YET = (
    "Not kept: sell {sold} first and log it (`rationlp log FARM head ID NUMBER`); then plan again"
    " with `--keep`."
)


@dataclass(frozen=True)
class Solved:
    """A plan, the farm by its log, what was eaten against an earlier plan, and the plan for the
    spread where that was asked for; unfed: where there is none, listed winters that cannot be fed.
    """

    begun: WinterSoFar
    plan: WinterPlan
    eaten: tuple[StoreSoFar, ...]
    spread: SpreadPlan | None = None
    unfed: tuple[UnfedWinter, ...] = ()


def faults(options: Options) -> None:
    """Refuse a share of winters that is none."""
    late_share(options.safe)


def solve(read: Farm, options: Options) -> Solved | WinterByStandards:
    """The plan from the day asked for on."""
    if options.compare_standards:
        return _compared(read, options)
    earlier = None
    if options.since is not None:
        earlier = read_earlier(options.since)
    begun = begun_on(read, options.start)
    measured, wanted = measured_again(read, earlier), _wanted(options)
    plan = plan_from(begun, options.start, options.periods, measured, wanted)
    eaten: tuple[StoreSoFar, ...] = ()
    if earlier is not None:
        eaten = so_far(earlier, begun.stocks or farm_stocks(read), plan.periods[0].first)
    solved = Solved(begun, plan, eaten)
    if options.safe is None or not plan.feeds_all:
        return solved
    asked = SpreadAsked(late_share(options.safe))
    spread = spread_beside(plan, asked)
    if spread is not None:
        return replace(solved, spread=spread)
    first = plan.periods[0].first
    return replace(solved, unfed=unfed_winters(plan.farm, asked, stocks_of(plan), first))


def _wanted(options: Options) -> WinterOptions:
    """What is worked out with the plan: only what is shown or kept."""
    whole = options.whole or bool(options.keep)
    return replace(PRICED, beside=whole, worded=whole)


def _compared(read: Farm, options: Options) -> WinterByStandards:
    """The cheapest plans by two standards: making them practical would blur the difference."""
    begun = begun_on(read, options.start)

    def plan_of(farm: Farm) -> WinterPlan:
        own = replace(begun, farm=farm)
        return plan_from(own, options.start, options.periods, wanted=WinterOptions(tidy=False))

    return winter_by_standards(begun.farm, plan_of)


def notices(read: Farm, solved: Solved | WinterByStandards) -> tuple[Finding, ...]:
    """What was noticed, the log included."""
    farm = solved.begun.farm if isinstance(solved, Solved) else solved.farm
    return farm.notices


def story(solved: Solved | WinterByStandards, options: Options) -> Story:
    """The plan as a story, with reasons where they were asked for."""
    if isinstance(solved, WinterByStandards):
        compared = solved
        return winter_by_standards_story(compared).of(lambda: compared)
    lying = forage_left_lying(solved.plan, priced=options.whole)
    beside = Beside(solved.begun.so_far, lying, solved.eaten)
    beside = replace(
        beside, safe=options.safe is not None, spread=solved.spread, unfed=solved.unfed
    )
    if solved.plan.feeds_all:
        beside = replace(beside, held=held_risk(solved.plan))
    return told(solved.plan, _with_reasons(solved.plan, beside, bool(options.explain)))


def told(plan: WinterPlan, beside: Beside | None = None) -> Story:
    """A plan as a story; of a winter that cannot be fed too."""
    extras, facts = beside or Beside(), winter_facts(plan)
    answer = copied(
        WinterAnswer,
        extras,
        facts=facts,
        so_far=extras.eaten,
        short_alone=tuple(extras.alone),
        enough=tuple(extras.enough or ()),
        so_far_this_winter=extras.so_far,
        left_lying=extras.lying,
    )
    return winter_story(facts, extras).of(lambda: answer)


def late_share(text: str | None) -> float | None:
    """Share of winters with late buying at most, of `9in10`; None for `mean` and if not asked."""
    if text is None or text == "mean":
        return None
    match = re.fullmatch(r"(\d{1,4})in(\d{1,4})", text)
    if match is None or not 0 < int(match[1]) <= int(match[2]):
        raise typer.BadParameter(
            f'"{text}" is no share of winters: write 9in10, 19in20 or mean', param_hint="--safe"
        )
    return 1.0 - int(match[1]) / int(match[2])


def spread_beside(plan: WinterPlan, asked: SpreadAsked) -> SpreadPlan | None:
    """The plan for the spread from the first day of a plan, with the same stores."""
    return plan_for_spread(plan.farm, asked, stocks_of(plan), plan.periods[0].first)


def _with_reasons(plan: WinterPlan, beside: Beside, explain: bool) -> Beside:
    if plan.feeds_all:
        if explain:
            return replace(beside, why=why_winter(plan, stocks_of(plan)))
        return beside
    short = {shortfall.group for shortfall in plan.shortfalls}
    enough = enough_changes(plan.farm, short, stocks_of(plan), plan.periods[0].first)
    return replace(beside, alone=why_short(plan) if explain else (), enough=enough)


def finish(solved: Solved | WinterByStandards, options: Options, inputs: Iterable[Path]) -> None:
    """Keep the plan in force where that was asked for, with `--safe` the one for the spread, and
    say where; a winter without a plan has said so, and nothing is kept.
    """
    if not options.keep or isinstance(solved, WinterByStandards):
        return
    if not solved.plan.rations:
        tell("Not kept: there is no plan to keep.")
        return
    plan, ways = solved.plan, tuple[WayOn, ...]()
    if solved.spread is not None:
        other = plan_to_keep(solved.plan, solved.spread)
        if other is None:
            sold = " and ".join(f"{n:.0f} of {name}" for name, n in sold_now(solved.spread).items())
            if sold:
                tell(NOT_KEPT_YET.format(sold=sold))
            if not sold or at_our_price(solved.spread):
                tell(NOT_KEPT)
            return
        plan = other
        for line in kept_lines(solved.plan, plan, solved.spread):
            tell(line)
        ways = tuple(ways_on(plan, solved.spread))
        for line in way_on_lines(ways):
            tell(line)
    kept_files = keep_plan(plan, options.farm, ways)
    if kept_files.older is not None:
        tell(f"The plan in force until now stays: {kept_files.older}")
    tell(f"Plan in force: {kept_files.path}")


def kept_lines(cheapest: WinterPlan, plan: WinterPlan, spread: SpreadPlan) -> Iterator[str]:
    """Which plan is kept, and what it costs more in a winter as thought."""
    if plan is cheapest:
        yield "Nothing has to be done otherwise for the spread: the cheapest plan is kept."
        return
    more = (plan.cost or 0.0) - (cheapest.cost or 0.0)
    yield (
        f"Kept is the plan for the spread, {plan.farm.currency} {more:,.0f} more than the cheapest"
        " in a winter as thought, forage bought to lie ready not counted."
    )
    yield from map(with_day_words, keep_remarks(spread))


def measured_again(farm: Farm, earlier: EarlierPlan | None) -> frozenset[str]:
    """Ids of the stores with other tonnes than an earlier plan began with, if there is one."""
    if earlier is None:
        return frozenset()
    stocks = farm_stocks(farm)
    return frozenset(
        store.store
        for store in earlier.stores
        if store.store in stocks
        and abs(stocks[store.store].edible_t_dm.typical - store.held_t_dm) > SAME_T_DM
    )


def planned(farm: Farm, start: str | None, wanted: WinterOptions = PRICED) -> WinterPlan:
    """The plan from a day on, by the log. wanted: what is worked out with it. Raises InputError
    (IN504) for what is no day of the winter, (IN730) where nobody can say what is left in the
    stores.
    """
    return plan_from(begun_on(farm, start), start, None, wanted=wanted)


def begun_on(farm: Farm, start: str | None) -> WinterSoFar:
    """The farm on the day from which it is planned, by its log and the plan in force until then."""
    return winter_so_far(farm, first_planned(farm, start) or farm.start)


def plan_from(
    begun: WinterSoFar,
    start: str | None,
    periods: Periods | None,
    measured: Collection[str] = (),
    wanted: WinterOptions = PRICED,
) -> WinterPlan:
    """The plan of the rest of a winter, in periods of the person's choice. Where neither a log nor
    a kept plan says what is in store, what the plan of the whole winter would have fed is taken
    off. measured: ids of stores measured again all the same. wanted: what is worked out with it.
    """
    farm = begun.farm
    if periods is not None:
        winter = Winter(farm.start, farm.turnout)
        farm = replace(farm, periods=periods_of(winter, periods.value))
    options = replace(wanted, start=first_planned(begun.farm, start))
    if begun.stocks is None:
        return plan_carried(farm, options, measured)
    return plan_on(begun, solve_winter(farm, options, begun.stocks))
