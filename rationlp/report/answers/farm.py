"""The answers about a farm as it was read: its figures, what is in store, what animals need."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import TYPE_CHECKING, ClassVar

from rationlp.after.face import StoreUse
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed
from rationlp.farm.group import Group
from rationlp.farm.store import Store, StoreStock
from rationlp.needs.objects import GroupNeeds, IntakeCap, Step
from rationlp.records import dataclass
from rationlp.report.answers.base import Composed, FarmAnswer, OffersAnswer, units_of
from rationlp.result import Caution

if TYPE_CHECKING:
    from rationlp.after.lastyear import LastYear
    from rationlp.ask.held import ForageBalance
    from rationlp.needs.second.opinion import Opinion
    from rationlp.needs.winter import WinterStep
    from rationlp.read.logbook import LogLine


@dataclass(frozen=True)
class CheckAnswer(OffersAnswer):
    """The answer of `check`. have_i_enough: what is held against what would be eaten, null where it
    could not be worked out. by_store: what each store holds.
    """

    by_store: Mapping[str, StoreStock]
    have_i_enough: ForageBalance | None = None

    @property
    def groups(self) -> tuple[Group, ...]:
        """The groups as read."""
        return self.farm.groups

    @property
    def stores(self) -> tuple[Store, ...]:
        """The stores as read."""
        return self.farm.stores

    @property
    def stocks(self) -> tuple[StoreStock, ...]:
        """What each store holds, step by step."""
        return tuple(self.by_store.values())


@dataclass(frozen=True)
class FeedsAnswer(Composed):
    """The answer of `feeds`."""

    feeds: tuple[Feed, ...]

    @property
    def units(self) -> dict[str, str]:
        """The unit of each figure, by the figure's name."""
        return units_of(self.feeds, {})


@dataclass(frozen=True)
class NeedsOfGroup(Composed):
    """What a head of one group requires a day. working: from net energy to ME, if asked for."""

    of: ClassVar[str] = "needs"
    needs: GroupNeeds
    working: tuple[Step, ...] = ()


@dataclass(frozen=True)
class OpinionsOfGroup:
    """What other published standards ask for, for one group."""

    group: str
    opinions: tuple[Opinion, ...]


@dataclass(frozen=True)
class NeedsAnswer(FarmAnswer):
    """The answer of `needs`. second_opinions: empty without `--compare`."""

    groups: tuple[NeedsOfGroup, ...]
    second_opinions: tuple[OpinionsOfGroup, ...] = ()


def needs_answer(
    farm: Farm,
    needs: Iterable[GroupNeeds],
    opinions: Mapping[str, tuple[Opinion, ...]] | None = None,
    working: Mapping[str, tuple[Step, ...]] | None = None,
) -> NeedsAnswer:
    """Each group's requirement. opinions, working (from net energy to ME): by group id."""
    steps = working or {}
    groups = tuple(NeedsOfGroup(need, steps.get(need.group, ())) for need in needs)
    second = tuple(OpinionsOfGroup(*pair) for pair in (opinions or {}).items())
    return NeedsAnswer(farm, groups, second)


@dataclass(frozen=True)
class NeedsOfStep:
    """What a head of a part of a group requires in one step of the winter, a day.

    first, last: the step, last day left out. facts: those that the need is taken at. me_mj: ME [MJ]
    on a ration of `density` [MJ/kg DM]; by NRC (2001) net energy.
    """

    first: date
    last: date
    group: str
    animal_class: str
    head: int
    facts: dict[str, float | str]
    me_mj: float | None
    density: float
    mp_required_g: float | None
    intake: IntakeCap | None
    remarks: tuple[str, ...]


@dataclass(frozen=True)
class WinterNeedsAnswer(FarmAnswer):
    """The answer of `needs --over-winter`."""

    steps: tuple[NeedsOfStep, ...]


def winter_needs_answer(farm: Farm, steps: Iterable[WinterStep]) -> WinterNeedsAnswer:
    """The needs of every part of a group, step by step."""
    return WinterNeedsAnswer(farm, tuple(_needs_of_step(step) for step in steps))


def _needs_of_step(step: WinterStep) -> NeedsOfStep:
    group, needs = step.group, step.needs
    return NeedsOfStep(
        first=step.first,
        last=step.last,
        group=group.id,
        animal_class=group.animal_class,
        head=group.head,
        facts=group.facts,
        me_mj=step.me_mj,
        density=step.density,
        mp_required_g=needs.mp_required_g,
        intake=needs.intake,
        remarks=needs.remarks,
    )


@dataclass(frozen=True)
class ClampAnswer(FarmAnswer):
    """The answer of `clamp`. stocks: what each store holds, step by step. uses: what the stated use
    does to it. cautions: What these stores call for.
    """

    stocks: tuple[StoreStock, ...]
    uses: tuple[StoreUse, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True)
class LastYearAnswer(FarmAnswer):
    """The answer of `clamp --thought --had`."""

    of: ClassVar[str] = "last_year"
    last_year: LastYear


@dataclass(frozen=True)
class LogAnswer(FarmAnswer):
    """The answer of `log`: its lines in order of date."""

    lines: tuple[LogLine, ...]
