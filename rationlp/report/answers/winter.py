"""The answers about a whole winter: the plan, how long stores last, the page to record on."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rationlp.after.money import Money, MonthBuy
from rationlp.after.plan_changes import PlanChange
from rationlp.after.stock import Spring, StoreLife
from rationlp.after.winter_facts import WinterFacts
from rationlp.farm.feed import Offer
from rationlp.farm.store import StoreStock
from rationlp.planned import WinterPlan
from rationlp.records import dataclass
from rationlp.report.answers.base import Composed, FarmAnswer, units_of
from rationlp.report.answers.day import MadeFrom
from rationlp.result import Caution
from rationlp.yard.record import Week

if TYPE_CHECKING:
    from rationlp.after.drift import SoFarThisWinter
    from rationlp.after.sofar import StoreSoFar
    from rationlp.ask.enough import SingleChange
    from rationlp.ask.lying import LyingForage
    from rationlp.ask.why_short import ShortAlone
    from rationlp.ask.why_winter import WinterWhy
    from rationlp.chances.risk import HeldRisk
    from rationlp.chances.spread_answer import SpreadPlan


@dataclass(frozen=True)
class WinterAnswer(Composed):
    """The answer of `winter`.

    facts: the plan and what follows from it. so_far: what was eaten against an earlier plan. why:
    why the plan is what it is, null without `--explain`. short_alone: each group that is short, by
    itself; empty without `--explain`. enough: single changes that would be enough for a winter that
    cannot be fed.
    so_far_this_winter: where the winter stands, null for a plan from its first day. left_lying:
    forage left at turnout while feed is bought. held: what the plan risks if it is held as it
    is, null for one that cannot be fed; spread: the plan made for the spread, null without
    `--safe`.
    """

    of: ClassVar[str] = "plan"
    facts: WinterFacts
    so_far: tuple[StoreSoFar, ...] = ()
    why: WinterWhy | None = None
    short_alone: tuple[ShortAlone, ...] = ()
    enough: tuple[SingleChange, ...] = ()
    so_far_this_winter: SoFarThisWinter | None = None
    left_lying: tuple[LyingForage, ...] = ()
    spread: SpreadPlan | None = None
    held: HeldRisk | None = None

    @property
    def plan(self) -> WinterPlan:
        """The plan itself."""
        return self.facts.plan

    @property
    def offers(self) -> tuple[Offer, ...]:
        """Every feed in store or bought."""
        return self.plan.farm.offers

    @property
    def units(self) -> dict[str, str]:
        """The unit of each figure of the feeds, by the figure's name."""
        farm = self.plan.farm
        return units_of((offer.feed for offer in farm.offers), farm.own_quantities)

    @property
    def stocks(self) -> tuple[StoreStock, ...]:
        """What each store holds on the first day planned."""
        return tuple(self.facts.stocks.values())

    @property
    def lasting(self) -> tuple[StoreLife, ...]:
        """How long each store lasts."""
        return self.facts.stores

    @property
    def changes(self) -> tuple[PlanChange, ...]:
        """Every change of a ration within the winter."""
        return self.facts.changes

    @property
    def buying_list(self) -> tuple[MonthBuy, ...]:
        """What is bought, month by month."""
        return self.facts.buying

    @property
    def money(self) -> tuple[Money, ...]:
        """Cost and margin of each group and of all."""
        return self.facts.money

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What the farm and the plan call for."""
        return self.facts.cautions


@dataclass(frozen=True)
class LastAnswer(FarmAnswer):
    """The answer of `last`.

    under: `plan`, or `fed` for rations that the farm stated. springs: every turnout looked at, the
    farm's own being the one of 0 days. made_from: null where no plan in force was followed.
    cautions: What the stores call for.
    """

    under: str
    springs: tuple[Spring, ...]
    remarks: tuple[str, ...]
    made_from: MadeFrom | None
    cautions: tuple[Caution, ...]


@dataclass(frozen=True)
class RecordAnswer(FarmAnswer):
    """The answer of `sheet --record`. rules: what a difference means. made_from: null where no plan
    in force was followed. cautions: What the stores call for.
    """

    weeks: tuple[Week, ...]
    rules: tuple[str, ...]
    made_from: MadeFrom | None
    cautions: tuple[Caution, ...]
