"""`rationlp whatif`: change something, solve again, compare."""

from __future__ import annotations

from typing import Any

from rationlp.ask.scenarios import (
    Scenario,
    allowed,
    file_scenarios,
    stress_scenarios,
    typed_scenarios,
)
from rationlp.ask.whatif import Scope, WhatIf, what_if
from rationlp.cli.days import farm_on_day
from rationlp.cli.options import Options
from rationlp.cli.run import progress
from rationlp.report.answers.asked import what_if_answer
from rationlp.report.stories.asked import what_if_story
from rationlp.report.story import Story


def solve(begun: Any, options: Options) -> WhatIf:
    """Every scenario, typed, in a file or ready-made. begun: a farm that may be changed."""
    stated = typed_scenarios(options.change or (), options.many)
    if options.scenarios is not None:
        stated = (*stated, *file_scenarios(options.scenarios, options.many))
    ready: tuple[Scenario, ...] = ()
    if options.stress:
        ready = stress_scenarios(begun)
    allowed(len(stated) + len(ready), options.many)
    day = None
    if options.on is not None:
        day = farm_on_day(begun.farm, options.on).day
    groups = tuple(options.group or ()) or None
    return what_if(begun, [*stated, *ready], Scope(groups, day, options.cores, progress))


def story(solved: WhatIf, options: Options) -> Story:
    """The scenarios as a story."""
    return what_if_story(solved).of(lambda: what_if_answer(solved))
