"""What `rationlp ration` says of the stores: how long each would last at the day's rate, and
what the plan in force feeds."""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

from rationlp.after.stock import StoreLife, each_lasting, fixed_uses
from rationlp.ask.carry_on import stocks_on
from rationlp.ask.in_force import kept_for
from rationlp.cli.days import day_of_winter
from rationlp.farm.farm import Farm
from rationlp.report.answers.day import MadeFrom, made_from
from rationlp.report.in_force import fed_on_day_lines, rate_line, shut_line
from rationlp.result import Rations
from rationlp.wintering.open_stores import shut_on


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
    """Every store that the rations draw on; empty where a group is left out or has no ration, or
    it is turnout."""
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
