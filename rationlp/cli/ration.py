"""`rationlp ration`: the least-cost ration of each group on a day."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import NamedTuple

from rationlp.after.changeover import ChangeOver, History, change_overs
from rationlp.after.stock import StoreLife, each_lasting, fixed_uses
from rationlp.ask.carry_on import stocks_on
from rationlp.ask.in_force import kept_for
from rationlp.ask.rows import traces
from rationlp.ask.standards import ByStandards, rations_by_standards
from rationlp.ask.why import why_ration
from rationlp.cli.days import day_of_winter, farm_on_day
from rationlp.cli.options import Options
from rationlp.farm.farm import Farm
from rationlp.model.trace import Trace, lp_text
from rationlp.needs.calendar import expanded
from rationlp.read.fed import read_fed
from rationlp.records import dataclass
from rationlp.report.answers.day import MadeFrom, RationAnswer, made_from, rations_of_groups
from rationlp.report.files import write_whole
from rationlp.report.in_force import fed_on_day_lines, rate_line, shut_line
from rationlp.report.stories.ration import Asked, ration_story
from rationlp.report.stories.standards import rations_by_standards_story
from rationlp.report.story import Story
from rationlp.report.tables.trace import rows_table
from rationlp.report.terminal import tell
from rationlp.result import Rations
from rationlp.wintering.open_stores import rations_of_day, shut_on
from rationlp.yard.day_facts import ration_facts


class Rate(NamedTuple):
    """First sentences, how long stores last, the plan in force, stores that are still shut."""

    lines: tuple[str, ...]
    stores: tuple[StoreLife, ...]
    plan_in_force: MadeFrom | None
    shut: str = ""


def at_this_rate(read: Farm, rations: Rations, on: str | None) -> Rate:
    """How long stores would last if the rations of a day were fed on, where every group has one;
    what the plan in force feeds."""
    day = day_of_winter(read, on)
    stores = _lasting(read, rations)
    lines = []
    if line := rate_line(stores, rations.farm.day or read.start):
        lines.append(line)
    shut = shut_line(*_shut(read, rations, day or read.start))
    in_force = kept_for(read, day or read.start)
    if in_force is None:
        return Rate(tuple(lines), stores, None, shut)
    lines += fed_on_day_lines(in_force)
    return Rate(tuple(lines), stores, made_from(in_force), shut)


def _shut(read: Farm, rations: Rations, day: date) -> tuple[dict[str, date], dict[str, date]]:
    """Opening day by name of every store still shut on a day: those left so, and those that a
    ration feeds all the same."""
    fed = {amount.offer for group in rations.groups for amount in group.amounts}
    opens = shut_on(read, day)
    left: dict[str, date] = {}
    all_the_same: dict[str, date] = {}
    for store in read.stores:
        if store.id in opens:
            of = all_the_same if store.id in fed else left
            of[store.name] = opens[store.id]
    return left, all_the_same


def _lasting(read: Farm, rations: Rations) -> tuple[StoreLife, ...]:
    """Every store that the rations draw on; empty where a group has no ration, or at turnout."""
    day = rations.farm.day or read.start
    fed = {
        group.group: {amount.offer: amount.kg_dm for amount in group.amounts}
        for group in rations.groups
    }
    everyone = {group.id for group in rations.farm.groups}
    if set(fed) != everyone or rations.exit_code or day >= read.turnout:
        return ()
    uses = fixed_uses(read, fed, stocks_on(read, day), day)
    return each_lasting(use for use in uses if sum(use.used_t_dm) > 0.0)


@dataclass(frozen=True)
class Solved:
    """Rations of a day, and what else was asked for. changes: None without --instead-of."""

    rations: Rations
    rate: Rate
    changes: dict[str, ChangeOver] | None
    traces: tuple[Trace, ...]


def solve(read: Farm, options: Options) -> Solved | ByStandards:
    """The rations of the day. What is fed now is read first: its faults come at once."""
    today = farm_on_day(read, options.on)
    if options.compare_standards:
        return rations_by_standards(today, expanded(today, options.group))
    fed: dict[str, dict[str, float]] = {}
    if options.instead_of is not None:
        fed = read_fed(options.instead_of, replace(today, groups=(*today.groups, *read.groups)))
    rations = rations_of_day(today, expanded(today, options.group))
    changes = None
    if options.instead_of is not None:
        changes = change_overs(rations, fed, History(options.fed_for))
    rows: tuple[Trace, ...] = ()
    if options.show_rows or options.write_lp:
        rows = traces(rations)
    return Solved(rations, at_this_rate(read, rations, options.on), changes, rows)


def story(solved: Solved | ByStandards, options: Options) -> Story:
    """The rations as a story."""
    if isinstance(solved, ByStandards):
        compared = solved
        return rations_by_standards_story(compared).of(lambda: compared)
    rations, names = solved.rations, {group.group: group.name for group in solved.rations.groups}
    reasons = {}
    if options.explain:
        every = {group.group: why_ration(rations.farm, group) for group in rations.groups}
        reasons = {group: why for group, why in every.items() if why is not None}
    rows = solved.traces if options.show_rows else ()
    facts = ration_facts(rations, solved.changes)

    def answer() -> RationAnswer:
        groups, rate = rations_of_groups(facts, solved.changes, reasons, rows), solved.rate
        in_force = rate.plan_in_force
        return RationAnswer(rations.farm, facts.called_for, groups, rate.stores, in_force)

    tables = tuple(rows_table(trace, names[trace.group]) for trace in rows)
    rate, figures = solved.rate, bool(options.figures)
    extras = Asked(rate.lines, solved.changes, reasons, tables, figures, rate.shut)
    return ration_story(facts, extras).of(answer)


def finish(solved: Solved | ByStandards, options: Options, inputs: Iterable[Path]) -> None:
    """Write the last programmes where that was asked for."""
    if options.write_lp is not None and isinstance(solved, Solved):
        write_whole(options.write_lp, lp_text(solved.traces), inputs)
        tell(f"Written: {options.write_lp}")
