"""The answers about a day: rations, what is fed, and the sheets of the yard."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import TYPE_CHECKING, ClassVar

from rationlp.after.changeover import ChangeOver
from rationlp.after.stock import StoreLife
from rationlp.farm.farm import Farm
from rationlp.records import dataclass
from rationlp.report.answers.base import Composed, FarmAnswer, OffersAnswer
from rationlp.report.in_force import made_from_lines
from rationlp.result import Caution, FedSupply, GroupRation
from rationlp.yard.day_facts import FedFacts, RationFacts, SheetFacts
from rationlp.yard.parlour import Parlour
from rationlp.yard.sheets import GroupSheet

if TYPE_CHECKING:
    from rationlp.after.since import FarmChanges
    from rationlp.after.ways import WayFollowed
    from rationlp.ask.fix import FedWhy
    from rationlp.ask.in_force import FollowedPlan
    from rationlp.ask.why import Reasons
    from rationlp.model.trace import Trace


@dataclass(frozen=True)
class MadeFrom(Composed):
    """What amounts of a day come from.

    how: `plan_in_force`, `winter_plan` (made just now) or `cheapest_today`. plan: file of the plan
    in force. first: first day of the plan. says: the same in sentences. since: what changed since
    the plan was kept, null where nothing did. way: which way on of a plan for the spread the log
    has shown, null where there is but one.
    """

    how: str
    plan: str | None
    first: date | None
    says: tuple[str, ...]
    since: FarmChanges | None
    way: WayFollowed | None = None


def made_from(followed: FollowedPlan | None) -> MadeFrom:
    """What amounts of a day come from: a plan, or (None) the day alone."""
    from rationlp.ask.in_force import CHEAPEST, IN_FORCE

    says = made_from_lines(followed)
    if followed is None:
        return MadeFrom(CHEAPEST, None, None, says, None)
    name, first = None, None
    if followed.how == IN_FORCE:
        name = followed.name
    if followed.plan.periods:
        first = followed.plan.periods[0].first
    return MadeFrom(followed.how, name, first, says, followed.since, followed.way)


@dataclass(frozen=True)
class RationOfGroup(Composed):
    """The ration of one group.

    parlour: what is given by yield, null without a `parlour_feed`. cautions: what the ration calls
    for. change_over: the way from what is fed now, null without `--instead-of`. why: why the ration
    is what it is, null without `--explain`. rows: its last programme, null without `--show-rows`.
    """

    of: ClassVar[str] = "ration"
    ration: GroupRation
    parlour: Parlour | None
    cautions: tuple[Caution, ...]
    change_over: ChangeOver | None = None
    why: Reasons | None = None
    rows: Trace | None = None


@dataclass(frozen=True)
class RationAnswer(OffersAnswer):
    """The answer of `ration`.

    at_this_rate: how long each store lasts if these rations are fed on. plan_in_force: what the
    plan in force is, null where none was kept.
    """

    groups: tuple[RationOfGroup, ...]
    at_this_rate: tuple[StoreLife, ...] = ()
    plan_in_force: MadeFrom | None = None


def rations_of_groups(
    facts: RationFacts,
    changes: Mapping[str, ChangeOver] | None = None,
    reasons: Mapping[str, Reasons] | None = None,
    traces: Iterable[Trace] = (),
) -> tuple[RationOfGroup, ...]:
    """The ration of every group. changes, reasons: by group id. traces: those with rows."""
    why, ways = reasons or {}, changes or {}
    rows = {trace.group: trace for trace in traces}
    return tuple(
        RationOfGroup(
            ration=group,
            parlour=facts.parlours[group.group],
            cautions=facts.cautions[group.group],
            change_over=ways.get(group.group),
            why=why.get(group.group),
            rows=rows.get(group.group),
        )
        for group in facts.rations.groups
    )


@dataclass(frozen=True)
class FedOfGroup(Composed):
    """What one group is given, against its need. cautions: what it calls for. why: what it carries,
    wastes and leaves, and what puts it right; null where that was not asked for.
    """

    of: ClassVar[str] = "fed"
    fed: FedSupply
    cautions: tuple[Caution, ...]
    why: FedWhy | None = None


@dataclass(frozen=True)
class SupplyAnswer(OffersAnswer):
    """The answer of `supply`. made_from: null where a file says what is fed."""

    groups: tuple[FedOfGroup, ...]
    made_from: MadeFrom | None = None


def supply_answer(
    farm: Farm,
    facts: FedFacts,
    reasons: Mapping[str, FedWhy] | None = None,
    from_plan: MadeFrom | None = None,
) -> SupplyAnswer:
    """What each fed ration gives. reasons: by group id."""
    why = reasons or {}
    groups = (
        FedOfGroup(supply, facts.cautions[supply.group], why.get(supply.group))
        for supply in facts.fed
    )
    return SupplyAnswer(farm, facts.called_for, tuple(groups), from_plan)


@dataclass(frozen=True)
class SheetOfGroup(Composed):
    """The sheet of one group. given: what it gets after rounding."""

    of: ClassVar[str] = "sheet"
    sheet: GroupSheet
    given: FedOfGroup


@dataclass(frozen=True)
class SheetAnswer(FarmAnswer):
    """The answer of `sheet`. without_ration: ids of groups that have none."""

    groups: tuple[SheetOfGroup, ...]
    without_ration: tuple[str, ...]
    cautions: tuple[Caution, ...]
    made_from: MadeFrom | None = None


def sheet_answer(facts: SheetFacts, from_plan: MadeFrom | None = None) -> SheetAnswer:
    """The loads, pens and parlours of a day."""
    yard = facts.yard
    groups = tuple(
        SheetOfGroup(sheet, FedOfGroup(sheet.fed, facts.of_fed[sheet.group]))
        for sheet in yard.sheets
    )
    without = tuple(ration.group for ration in yard.without)
    return SheetAnswer(yard.farm, groups, without, facts.cautions, from_plan)
