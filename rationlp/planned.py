"""The answer for a whole winter: frozen, complete, traceable, as result.py is for a day."""

from __future__ import annotations

from dataclasses import field
from datetime import date

from rationlp.errors import EXIT_NO_RATION, EXIT_SOLVER
from rationlp.farm.farm import Farm
from rationlp.farm.store import Spread, StoreStock
from rationlp.needs.objects import GroupNeeds
from rationlp.records import dataclass
from rationlp.result import Amount, Shortfall, SupplyLine
from rationlp.shows import Shown


@dataclass(frozen=True)
class Period:
    """A step of the winter: its number from 0, first day and last day (left out)."""

    number: int
    first: date
    last: date

    @property
    def days(self) -> int:
        """Length [d]."""
        return (self.last - self.first).days


@dataclass(frozen=True)
class PlanRation:
    """What one part of a group eats in one period of the plan, a head a day.

    group: id of the part; origin: id of the group of the farm file. waste: share put out and not
    eaten, by offer id.
    excess_mj, excess_mp_g: supply over the true requirement at the ration's own q and L (≥ 0 within
    tolerance, unless the plan names a shortfall); None without such a need. withheld: why no
    amounts are given, empty where they are.
    """

    group: str
    origin: str
    name: str
    head: int
    period: int
    needs: GroupNeeds
    amounts: tuple[Amount, ...]
    supply: tuple[SupplyLine, ...]
    feed_cost: float
    penalty: float
    dm_kg: float
    me_mj_per_kg_dm: float | None
    level_of_feeding: float | None
    excess_mj: float | None
    excess_mp_g: float | None
    waste: dict[str, float]
    remarks: tuple[str, ...] = ()
    withheld: str = ""

    @property
    def animal_class(self) -> str:
        """The class of the animals."""
        return self.needs.animal_class


@dataclass(frozen=True)
class StorePlan:
    """One store through the winter [t DM]: held at the first day, then by period eaten, wasted at
    the trough, spoiled at the face, sold and bedded; left at turnout. marginal: what one more t DM
    would save, for the whole winter [currency/t DM], None when the plan has whole numbers. Balance:
    held = all uses + left.
    """

    store: str
    name: str
    held_t_dm: Spread
    reserve_t_dm: float
    eaten_t_dm: tuple[float, ...]
    wasted_t_dm: tuple[float, ...]
    spoiled_t_dm: tuple[float, ...]
    sold_t_dm: tuple[float, ...]
    bedded_t_dm: tuple[float, ...]
    left_t_dm: float
    marginal: float | None

    @property
    def used_t_dm(self) -> tuple[float, ...]:
        """All that leaves the store by period [t DM]."""
        ways = (
            self.eaten_t_dm,
            self.wasted_t_dm,
            self.spoiled_t_dm,
            self.sold_t_dm,
            self.bedded_t_dm,
        )
        return tuple(sum(parts) for parts in zip(*ways, strict=True))


@dataclass(frozen=True)
class Purchase:
    """A bought feed through the winter [t fresh by period], its cost, and the price above which
    none would be bought.

    loads: whole loads by period where it is bought by the load. price_ceiling: currency/t fresh,
    None when not worked out.
    """

    offer: str
    name: str
    t_fresh: tuple[float, ...]
    cost: float
    loads: tuple[int, ...] = ()
    price_ceiling: float | None = None


@dataclass(frozen=True)
class Sale:
    """Forage sold to an outlet through the winter."""

    outlet: str
    store: str
    t_dm: float
    t_fresh: float
    income: float


@dataclass(frozen=True)
class PlanProof:
    """The certificate of a plan. residuals and gaps as in `Proof`, of the last joint programme;
    worst_excess_mj: least ME over its true requirement in any part and period [MJ/d]; balance_kg:
    largest error of any store's mass balance [kg DM].

    lower_bound: no plan at these levels of feeding costs less [currency]; how: how it was found, in
    words. bound_any_level: no plan at any level of feeding costs less [currency], None where that
    was not worked out.
    """

    primal_residual: float
    dual_residual: float
    complementarity: float
    duality_gap: float
    worst_excess_mj: float | None
    worst_excess_mp_g: float | None
    balance_kg: float
    cost: float
    lower_bound: float
    gap: float
    gap_relative: float
    levels_settled: bool
    whole_numbers: bool
    lps: int
    passed: bool
    how: str
    verdict: str
    bound_any_level: float | None = None


@dataclass(frozen=True)
class PlanShortfall:
    """What cannot be met: group (or part of one) by id and name, period, need, amount a head a day,
    and the dry matter of a usual feed that would do [t].
    """

    group: str
    period: int
    shortfall: Shortfall
    t_dm: float
    name: str = ""


@dataclass(frozen=True)
class SmallOrder:
    """What is bought below its least order [t fresh], because any other way costs more. way: `bags`
    at their dearer price, or the least order with a rest `left_over`; extra_cost: of that way
    [currency], in no other sum.
    """

    offer: str
    name: str
    t_fresh: float
    least_t: float
    way: str
    extra_cost: float


@dataclass(frozen=True)
class SmallAmount:
    """A feed that a group gets at some time although no one would mix it so, and why."""

    group: str
    name: str
    offer: str
    feed: str
    why: str


@dataclass(frozen=True)
class RuleCost:
    """What one rule of the yard costs.

    rule: `shut_stores`, `steady`, `held_weeks`, `least_amounts`, `one_way`,
    `bought_feeds` or `orders`.
    cost: what it adds after the rules before it, less than 0 where it undoes some of theirs
    [currency]. words: the same in a sentence.
    """

    rule: str
    cost: float
    words: str


@dataclass(frozen=True)
class PlanTidy:
    """What was done so that a yard can mix the plan: amounts dropped, brought up to a useful one,
    left although too small.

    extra_cost: what that adds to the cheapest plan, priced excess included [currency]; passed: the
    tidy programme's own optimum certified and adequate in every period. above_least: share of its
    cost by which the plan is at most above the best that keeps the same rules [-], proved by a
    lower bound; None without one.
    small_orders: what stays below its least order; too_many: bought feeds above the farm's most;
    stays: the amounts left. steady_groups: parts whose forages are held for the days of the farm's
    rules. rules: what each rule costs; they sum up to extra_cost but for shut stores, whose cost is
    in that of the cheapest plan already.
    """

    dropped: int
    raised: int
    left: int
    extra_cost: float
    passed: bool
    above_least: float | None = None
    small_orders: tuple[SmallOrder, ...] = ()
    too_many: int = 0
    stays: tuple[SmallAmount, ...] = ()
    steady_groups: tuple[str, ...] = ()
    rules: tuple[RuleCost, ...] = ()


@dataclass(frozen=True)
class Hectares:
    """What a plan grows of a crop [ha], brings to the trough and sells [t DM]."""

    crop: str
    hectares: float
    edible_t_dm: float
    surplus_t_dm: float


@dataclass(frozen=True)
class WinterPlan(Shown):
    """Who eats what and when, what is bought and sold, from the first day planned to turnout.

    status: `proven`, `open` (a plan, gap above 0.1 %), or no plan that meets every need:
    `none_exists` (proved), `none_found`. Then shortfalls say who is short, and the rations, where
    there are any, are those of the least shortage found.

    cost: feed bought and eaten at the farm's prices less sales, whole winter [currency];
    bought_cost, own_cost, sold_income: its parts;
    penalty: priced excess and shortage, no money. tidy: set when the rations are not those of the
    cheapest plan, to which the proof belongs, but tidier ones. hectares: of a winter whose forage
    is still to be grown; its cost is then part of own_cost. stocks: what was in store on the first
    day, by store id, where that is not what the farm's own sizes say.
    carried: what was taken off stores that were not measured again, in sentences.
    """

    farm: Farm
    status: str
    periods: tuple[Period, ...]
    rations: tuple[PlanRation, ...]
    stores: tuple[StorePlan, ...]
    purchases: tuple[Purchase, ...]
    sales: tuple[Sale, ...]
    cost: float | None
    bought_cost: float | None
    own_cost: float | None
    sold_income: float | None
    penalty: float | None
    proof: PlanProof | None
    shortfalls: tuple[PlanShortfall, ...] = ()
    remarks: tuple[str, ...] = ()
    tidy: PlanTidy | None = None
    hectares: tuple[Hectares, ...] = ()
    stocks: dict[str, StoreStock] = field(default_factory=dict)
    carried: tuple[str, ...] = ()

    @property
    def exit_code(self) -> int:
        """0 with a plan that meets every need, 3 without, 4 where the plan fails its own check."""
        if self.proof is None:
            return EXIT_NO_RATION
        if not self.proof.passed or (self.tidy is not None and not self.tidy.passed):
            return EXIT_SOLVER
        return EXIT_NO_RATION if self.shortfalls else 0

    @property
    def feeds_all(self) -> bool:
        """Whether there is a plan that leaves nobody short."""
        return self.proof is not None and not self.shortfalls


@dataclass(frozen=True)
class WayOn:
    """How a plan goes on from a day if its stores hold less or more than thought.

    light: share by which the store that is furthest out holds less than thought [-], below 0 for
    more. held_t_dm: of each store on the first day, by id [t DM]. buy: forage to buy then, by name
    [t DM]. plan: the rest of the winter; None where none feeds all with the farm's own feeds. sell:
    animals to sell then, by the name of their group; the plan is without them.
    """

    light: float
    first: date
    held_t_dm: dict[str, float]
    buy: dict[str, float]
    plan: WinterPlan | None
    sell: dict[str, int] = field(default_factory=dict)
