"""What is told of a plan for the spread: what to do now, what can wait, what each costs."""

from __future__ import annotations

from dataclasses import field
from datetime import date

from rationlp.chances.course import Course
from rationlp.chances.data import ChanceRow
from rationlp.chances.fresh import FreshCost
from rationlp.chances.without_late import WithoutLate
from rationlp.farm.farm import Farm
from rationlp.records import dataclass

WORTH_MONEY, WORTH_SHARE = 25.0, 0.002
"""Waiting that costs less than the larger of so much [currency] and this share of the winter's cost
is no loss worth a word; own choice, no source (c)."""
SOME_T_DM = 0.5
"""What counts as bought at all [t DM]."""
SOME_HEAD = 0.5
"""Animals below this are none [head]."""


@dataclass(frozen=True)
class SpreadAsked:
    """How the plan for the spread is made.

    most_late: share of winters with forage bought late at most [-], None for no limit. tail: weight
    of the dearest tenth [0 to 1]. points: of stock, turnout and prices, whose product is the number
    of winters; None for the usual ones. width: of all spreads, as a multiple of theirs.
    bales_per_t_dm: of bought big bales in autumn [currency/t DM], None for our default.
    """

    most_late: float | None = None
    tail: float = 0.0
    points: tuple[int, int, int] | None = None
    width: float = 1.0
    bales_per_t_dm: float | None = None


@dataclass(frozen=True)
class Costs:
    """A difference of costs in a mean winter: money, and priced shortages and excess [currency]."""

    money: float
    priced: float

    @property
    def compared(self) -> float:
        """Both together: what a plan makes least [currency]."""
        return self.money + self.priced


@dataclass(frozen=True)
class LaterPrices:
    """What a forage costs after autumn [currency/t DM]: at the turn of the year, in late winter.
    ours: whether these are our defaults; turns: then the price at the turn of the year, late winter
    dearer in proportion, below which none is bought in autumn; None where there is no such price.
    """

    turn_of_year: float
    late_winter: float
    ours: bool
    turns: float | None


@dataclass(frozen=True)
class ForageNow:
    """A bought forage in autumn [t DM]: by the cheapest plan, by the plan for the spread; price in
    autumn [currency/t DM], and as it is delivered [currency/t fresh]; whether it is our default.
    turns_per_t_dm: price in autumn above which none is bought then, later prices as they are.
    waits: what shutting it in autumn would add to the cost of a mean winter, and until late winter
    [currency]. later: what it costs after autumn. lead_days: from the order to the delivery [d].
    """

    offer: str
    name: str
    cheapest_t_dm: float
    spread_t_dm: float
    price_per_t_dm: float
    price_per_t_fresh: float
    ours: bool
    turns_per_t_dm: float
    waits: tuple[Costs, Costs]
    later: LaterPrices
    lead_days: int = 0


@dataclass(frozen=True)
class StoreKept:
    """What is left of a store when autumn ends [t DM], at the stock that is thought to be there, by
    the cheapest plan and by the plan for the spread; put_out_t_dm: what that feeds of it by then.
    """

    store: str
    name: str
    held_t_dm: float
    cheapest_t_dm: float
    spread_t_dm: float
    put_out_t_dm: float


@dataclass(frozen=True)
class AtTheMark:
    """What to do at the turn of the year by what the stores show. light: share by which the clamps
    hold less than thought [-], below 0 for more. bought_t_dm: forage to buy then [t DM].
    held_share: what each store holds as a share of what is thought, by id [-]. buy_t_dm: forage to
    buy then, lying_t_dm: what lies ready, by id; put_out_t_dm: of each store from then until late
    winter, by id [t DM]. price_per_t_fresh: of forage then, by id [currency/t fresh].
    sell_head: animals to sell then, by group id. left_per_t_fresh: what forage counts for that is
    left at turnout, by id [currency/t fresh].
    """

    light: float
    bought_t_dm: float
    held_share: dict[str, float]
    buy_t_dm: dict[str, float]
    lying_t_dm: dict[str, float]
    put_out_t_dm: dict[str, float]
    price_per_t_fresh: dict[str, float]
    sell_head: dict[str, float]
    left_per_t_fresh: dict[str, float]


@dataclass(frozen=True)
class ContractNow:
    """A bought feed on contract. signed_t: to sign now [t fresh]; price, spot: on contract and as
    bought now; turns: price on contract above which none is signed [currency/t fresh], 0 where
    none is at any. forward, by_month: money of a mean winter and of the dearest tenth with the
    contract, and all of it bought as it is eaten, None where that cannot feed all [currency].
    """

    offer: str
    name: str
    signed_t: float
    price: float
    spot: float
    turns: float
    forward: tuple[float, float]
    by_month: tuple[float, float] | None


@dataclass(frozen=True)
class SoldAt:
    """Animals sold in a stage after autumn by what is seen there. light: share by which the stores
    hold less than thought [-], below 0 for more; late_days: turnout after the farm's own [d].
    """

    stage: int
    light: float
    late_days: int
    head: float


@dataclass(frozen=True)
class SaleNow:
    """Animals that may be sold before turnout. now: of `head`, to be sold in autumn. later: what is
    sold then. waits: what not selling in autumn adds to the cost of a mean winter, and not before
    late winter [currency].
    """

    group: str
    name: str
    head: int
    now: float
    later: tuple[SoldAt, ...]
    waits: tuple[Costs, Costs]


@dataclass(frozen=True)
class GrassUse:
    """Grass grazed in late winter before turnout: most of it, and the most that is grazed in any
    listed winter [t DM]; share of winters with any [-].
    """

    name: str
    most_t_dm: float
    most_grazed_t_dm: float
    share: float


@dataclass(frozen=True)
class ForageSold:
    """Forage of a store for an outlet [t DM]: sold in autumn, and the most that is sold after it in
    any listed winter. price: net of loading and haulage [currency/t DM]. share: of winters in which
    some is sold after autumn [-].
    """

    outlet: str
    store: str
    now_t_dm: float
    later_t_dm: float
    price: float
    share: float


@dataclass(frozen=True)
class AutumnChoice:
    """What an autumn costs by what the winter turns out to be, in money [currency]."""

    autumn: str
    ordinary: float
    light: float
    late: float
    both: float


@dataclass(frozen=True)
class SpreadPlan:
    """The plan for the spread. mean_cost: of the mean winter's cheapest plan [currency]. wait_see:
    WS, had each winter been known. course: RP, the plan for the spread; planned again: EEV, the
    autumn of the cheapest plan with the rest planned again. asked_for: as `course`, but with the
    share or the weight that was asked for. know_stock, know_turnout: what knowing the one in
    autumn, the other at the turn of the year would save in a mean winter [currency]; read_marks:
    what is saved by seeing at the turn of the year, not in late winter, what is in store.
    without_late: what can be fed after this autumn with no forage bought late, counted on fresh
    draws. fresh: what both autumns cost on fresh draws, None where one of them cannot be fed.
    """

    farm: Farm
    stages: tuple[date, ...]
    asked: SpreadAsked
    mean_cost: float
    wait_see: Course
    course: Course
    again: Course
    asked_for: Course | None
    forages: tuple[ForageNow, ...]
    stores: tuple[StoreKept, ...]
    marks: tuple[AtTheMark, ...]
    choices: tuple[AutumnChoice, ...]
    light_share: float
    late_days: int
    know_stock: Costs
    know_turnout: Costs
    read_marks: Costs
    without_late: WithoutLate
    fresh: FreshCost | None
    figures: tuple[ChanceRow, ...] = field(default_factory=tuple)
    contracts: tuple[ContractNow, ...] = ()
    sales: tuple[SaleNow, ...] = ()
    grass: tuple[GrassUse, ...] = ()
    sold: tuple[ForageSold, ...] = ()

    @property
    def chosen(self) -> Course:
        """The course that keeps what was asked for."""
        return self.asked_for or self.course

    @property
    def worth_a_word(self) -> float:
        """Differences of cost below this are none [currency]."""
        return max(WORTH_MONEY, WORTH_SHARE * abs(self.course.mean))

    @property
    def asks_for_nothing(self) -> bool:
        """Whether the cheapest plan's autumn is as good, and no forage has to be bought now; or no
        money is spared by anything else: what only spares priced shortages is no advice.
        """
        kept, again = self.chosen, self.again
        differences = (again.mean - kept.mean, again.dearest_tenth - kept.dearest_tenth)
        alike = all(abs(difference) <= self.worth_a_word for difference in differences)
        fewer = again.late_share - kept.late_share > 0.005
        waiting = [forage.waits[0] for forage in self.forages]
        waiting += [sale.waits[0] for sale in self.sales]
        # The winter's cheapest plan signs nothing and sells no animal.
        acts_now = any(contract.signed_t >= SOME_T_DM for contract in self.contracts)
        acts_now = acts_now or any(sale.now >= SOME_HEAD for sale in self.sales)
        waits = all(lost.compared <= self.worth_a_word for lost in waiting)
        spares_money = kept.money < again.money or kept.dearest_money < again.dearest_money
        return not fewer and not acts_now and ((alike and waits) or not spares_money)
