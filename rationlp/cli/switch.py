"""`rationlp switch`: from one forage to another, by share, by tonnes or by hectares."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any

from rationlp.ask.switch import Switch, switch_by_share, why_switch
from rationlp.ask.switch_steps import SwitchSteps, switch_steps, usual_pair
from rationlp.ask.tonnes import WinterSwitch, switch_by_hectares, switch_by_tonnes
from rationlp.cli.commands import By
from rationlp.cli.days import farm_on_day
from rationlp.cli.options import Format, Options
from rationlp.errors import refused
from rationlp.farm.farm import Farm
from rationlp.needs.calendar import expanded
from rationlp.records import dataclass
from rationlp.report.answers.asked import switch_answer
from rationlp.report.stories.asked import moved_story, switch_story
from rationlp.report.story import Story


@dataclass(frozen=True)
class Solved:
    """A switch by share, steps and curve worked out when wanted; or one over the winter."""

    steps: Callable[[], SwitchSteps]
    curve: Callable[[], Switch]
    moved: WinterSwitch | None = None


def solve(read: Farm, options: Options) -> Solved:
    """The switch; what is worked out by share waits until it is wanted."""
    forages = _pair(read, options.first, options.second)
    if options.by is not By.share:
        by = switch_by_tonnes if options.by is By.tonnes else switch_by_hectares
        moved = by(read, forages)
        return Solved(_nothing, _nothing, moved)
    today = farm_on_day(read, options.on)
    groups = expanded(today, options.group)
    return Solved(
        cache(lambda: switch_steps(today, forages, groups)),
        cache(lambda: switch_by_share(today, forages, groups)),
    )


def _nothing() -> Any:
    raise AssertionError("a switch over the winter has neither steps nor a curve")


def _pair(farm: Farm, first: str | None, second: str | None) -> tuple[str, str]:
    """The two forages as named, or the usual ones. Raises InputError (IN811) for only one."""
    if first is not None and second is not None:
        return first, second
    if first is None and second is None:
        return usual_pair(farm)
    missing = "--from" if first is None else "--to"
    remedy = "give both, or neither"
    raise refused("IN811", missing, "one forage named, not the other", remedy)


def story(solved: Solved, options: Options) -> Story:
    """The switch as a story: its steps by default, the whole curve as well with --full."""
    moved = solved.moved
    if moved is not None:
        return moved_story(moved).of(lambda: moved)
    reasons = why_switch(solved.curve()) if options.explain else {}
    table = options.form is Format.table
    curved = table and (options.whole or bool(options.explain))
    steps = solved.steps() if table else None
    told = switch_story(steps, solved.curve, reasons, curved)
    return told.of(lambda: switch_answer(solved.curve(), reasons, solved.steps()))
