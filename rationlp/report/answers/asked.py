"""The answers to questions that solve several times: switch, what if, how sure, next year."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, ClassVar

from rationlp.records import dataclass
from rationlp.report.answers.base import Composed, FarmAnswer

if TYPE_CHECKING:
    from rationlp.ask.grow import NextYear, StoringFigure
    from rationlp.ask.outcome import Outcome
    from rationlp.ask.robust import SureGroup
    from rationlp.ask.switch import GroupSwitch, Switch
    from rationlp.ask.switch_steps import SwitchSteps
    from rationlp.ask.whatif import WhatIf
    from rationlp.ask.why import Reasons
    from rationlp.rules.spreads import SpreadRow


@dataclass(frozen=True)
class SwitchOfGroup(Composed):
    """The switch in one group. why: at the cheapest share, null without `--explain`."""

    of: ClassVar[str] = "switch"
    switch: GroupSwitch
    why: Reasons | None = None


@dataclass(frozen=True)
class SwitchAnswer(Composed):
    """The answer of `switch` by share. steps: the farm at a few shares, in kilograms."""

    of: ClassVar[str] = "switch"
    switch: Switch
    groups: tuple[SwitchOfGroup, ...]
    steps: SwitchSteps | None = None


def switch_answer(
    switch: Switch, reasons: Mapping[str, Reasons] | None = None, steps: SwitchSteps | None = None
) -> SwitchAnswer:
    """Every point of a switch. reasons: by group id."""
    why = reasons or {}
    groups = tuple(SwitchOfGroup(group, why.get(group.group)) for group in switch.groups)
    return SwitchAnswer(switch, groups, steps)


@dataclass(frozen=True)
class Scenario(Composed):
    """What a scenario came to, beside the farm as it stands. more_than_now: cost less that of now,
    null where one is missing. came_in, went_out: ids of feeds.
    """

    of: ClassVar[str] = "outcome"
    outcome: Outcome
    more_than_now: float | None = None
    came_in: tuple[str, ...] = ()
    went_out: tuple[str, ...] = ()


@dataclass(frozen=True)
class WhatIfAnswer(FarmAnswer):
    """The answer of `whatif`. now: the farm as it stands."""

    now: tuple[Outcome, ...]
    scenarios: tuple[Scenario, ...]


def what_if_answer(answer: WhatIf) -> WhatIfAnswer:
    """Every scenario with its differences."""
    scenarios = (_scenario(outcome, answer.before(outcome)) for outcome in answer.outcomes)
    return WhatIfAnswer(answer.farm, answer.now, tuple(scenarios))


def _scenario(outcome: Outcome, before: Outcome) -> Scenario:
    if outcome.cost is None or before.cost is None:
        return Scenario(outcome)
    extra = outcome.cost - before.cost
    return Scenario(outcome, extra, outcome.came_in(before), outcome.went_out(before))


@dataclass(frozen=True)
class SureAnswer(FarmAnswer):
    """The answer of `sure` for groups. spreads: what the analyses were taken to vary by."""

    groups: tuple[SureGroup, ...]
    spreads: tuple[SpreadRow, ...]


@dataclass(frozen=True)
class GrowAnswer(Composed):
    """The answer of `grow`. storing: the figures of storing forage, by name."""

    of: ClassVar[str] = "next_year"
    next_year: NextYear
    storing: dict[str, StoringFigure]
