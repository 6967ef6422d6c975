"""The answer: frozen, complete, traceable. Every table, file and page is made from these objects and nothing else."""

from __future__ import annotations

from datetime import date

from rationlp.needs.objects import GroupNeeds
from rationlp.read.objects import Farm, Spread
from rationlp.records import dataclass


@dataclass(frozen=True)
class Amount:
    """One feed of a ration, a head a day. cost: feed cost a head a day [currency]. marginal: reduced cost
    [currency/kg DM] of the cheapest ration, None when it has none to give."""

    offer: str
    name: str
    kg_dm: float
    kg_fresh: float
    cost: float
    marginal: float | None


@dataclass(frozen=True)
class SupplyLine:
    """One quantity of a ration against what is needed or allowed, a head a day (or per kg DM, as `unit` says).

    need: requirement without margin; target: with margin (what the model enforced); low, high: limits. at_limit: the
    ration stands at that need or limit. price: marginal cost of one more unit required [currency/unit], None if none.
    unknown: names of feeds eaten without a figure; `supply` is then that of the others, and no pass of `high`.
    """

    quantity: str
    title: str
    unit: str
    supply: float
    need: float | None
    target: float | None
    low: float | None
    high: float | None
    at_limit: bool
    price: float | None
    whose: str
    unknown: tuple[str, ...] = ()


@dataclass(frozen=True)
class Proof:
    """The certificate of the cheapest ration, made without the solver's own word.

    primal_residual, dual_residual, complementarity: largest scaled violations of the last LP [-]; duality_gap: relative [-].
    requirement_excess_mj: ME supplied less the true requirement at the answer's own q [MJ/d] (≥ 0 within tolerance).
    cost: of the cheapest ration with priced penalties [currency/head/day]; lower_bound: nothing costs less than this;
    gap: their difference; gap_relative: gap/cost [-]. level_of_feeding: the L at which the proof holds (None: no energy need).
    bound_any_level: a bound that holds for every L the group could have. lps: LPs solved. coefficient_range: (least, most).
    passed: every check met. verdict: one plain sentence.
    """

    primal_residual: float
    dual_residual: float
    complementarity: float
    duality_gap: float
    requirement_excess_mj: float | None
    protein_excess_g: float | None
    cost: float
    lower_bound: float
    gap: float
    gap_relative: float
    level_of_feeding: float | None
    level_settled: bool
    bound_any_level: float | None
    lps: int
    coefficient_range: tuple[float, float]
    passed: bool
    verdict: str


@dataclass(frozen=True)
class Shortfall:
    """One need that cannot be met: what, how much short, in which unit; `needed` is the requirement."""

    need: str
    short: float
    needed: float
    unit: str
    whose: str


@dataclass(frozen=True)
class Tidy:
    """What was done to the cheapest ration so that a yard can mix it, and what that costs.

    steps: sentences. cheapest: the feeds of the cheapest ration, to which proof and marginal values belong. cheapest_cost:
    its feed cost; extra_cost: what tidiness adds to it; extra_penalty: what it adds to the priced excess and shortages (a
    ration may cost less and be shorter of a mineral) [currency a head a day]. requirement_excess_mj, protein_excess_g: ME and MP
    of the tidy ration over its own requirement at its own q and level of feeding (≥ 0 within tolerance). passed: both met,
    and the tidy programme's own optimum certified.
    """

    steps: tuple[str, ...]
    cheapest: tuple[Amount, ...]
    cheapest_cost: float
    extra_cost: float
    requirement_excess_mj: float
    protein_excess_g: float | None
    passed: bool
    extra_penalty: float = 0.0


@dataclass(frozen=True)
class GroupRation:
    """The answer for one group on one day.

    status: `proven` (optimal, gap within tolerance), `open` (adequate ration, gap larger than the tolerance),
    `none_exists` (proved), `none_found`. amounts, supply and proof are empty/None unless there is a ration.
    feed_cost: currency a head a day; penalty: what priced excess of energy and shortage of minerals add to the cost
    compared; it is no money. shortfalls, at_limit: what is
    short, and what else stands at its limit, when there is none. remarks: sentences to print with the answer. tidy: set when the
    amounts are not those of the cheapest ration but of a tidier one.
    """

    group: str
    name: str
    head: int
    status: str
    needs: GroupNeeds
    amounts: tuple[Amount, ...]
    supply: tuple[SupplyLine, ...]
    feed_cost: float | None
    penalty: float | None
    dm_kg: float | None
    me_mj_per_kg_dm: float | None
    proof: Proof | None
    shortfalls: tuple[Shortfall, ...] = ()
    at_limit: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    tidy: Tidy | None = None


@dataclass(frozen=True)
class Caution:
    """A caution that a farm or a ration calls for. General guidance, never a diagnosis.

    id: its name in feeds/cautions.csv. about: id of the group, store or bought feed. found, threshold: in words with unit.
    says: what it says. kind: `hard`, `soft` or `said`. status, source: of the threshold. value, bound: found and threshold as
    numbers [unit]; both 1 for what was seen or known.
    """

    id: str
    title: str
    about: str
    found: str
    threshold: str
    says: str
    kind: str
    status: str
    source: str
    value: float
    bound: float
    unit: str


@dataclass(frozen=True)
class Rations:
    """The rations of all groups of a farm on one day, with the farm they came from."""

    farm: Farm
    groups: tuple[GroupRation, ...]

    @property
    def exit_code(self) -> int:
        """0 when every group has a ration, 3 when at least one has none."""
        return 0 if all(group.proof is not None for group in self.groups) else 3


@dataclass(frozen=True)
class FedSupply:
    """A ration already fed, set against what the group needs; amounts a head a day."""

    group: str
    name: str
    amounts: tuple[Amount, ...]
    supply: tuple[SupplyLine, ...]
    feed_cost: float
    dm_kg: float
    me_mj_per_kg_dm: float
    level_of_feeding: float | None
    needs: GroupNeeds
    remarks: tuple[str, ...] = ()


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

    group: id of the part; origin: id of the group of the farm file. waste: share put out and not eaten, by offer id.
    excess_mj, excess_mp_g: supply over the true requirement at the ration's own q and L (≥ 0 within tolerance); None without
    such a need.
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


@dataclass(frozen=True)
class StorePlan:
    """One store through the winter [t DM]: held at the first day, then by period eaten, wasted at the trough, spoiled at the
    face, sold and bedded; left at turnout. marginal: what one more t DM would save, for the whole winter [currency/t DM], None
    when the plan has whole numbers. Balance: held = all uses + left.
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
        ways = (self.eaten_t_dm, self.wasted_t_dm, self.spoiled_t_dm, self.sold_t_dm, self.bedded_t_dm)
        return tuple(sum(parts) for parts in zip(*ways, strict=True))


@dataclass(frozen=True)
class Purchase:
    """A bought feed through the winter [t fresh by period], its cost, and the price above which none would be bought.

    loads: whole loads by period where it is bought by the load. price_ceiling: currency/t fresh, None when not worked out.
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
    """The certificate of a plan. residuals and gaps as in `Proof`, of the last joint programme; worst_excess_mj: least ME over
    its true requirement in any part and period [MJ/d]; balance_kg: largest error of any store's mass balance [kg DM].

    lower_bound: no plan at these levels of feeding costs less [currency]; how: how the bound was found, in words.
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


@dataclass(frozen=True)
class PlanShortfall:
    """What cannot be met: group, period, need, amount a head a day, and the dry matter of a usual feed that would do [t]."""

    group: str
    period: int
    shortfall: Shortfall
    t_dm: float


@dataclass(frozen=True)
class PlanTidy:
    """What was done so that a yard can mix the plan: amounts dropped, brought up to a useful one, left although too small.

    extra_cost: what that adds to the cheapest plan, priced excess included [currency]; passed: the tidy programme's own optimum
    certified and adequate in every period.
    """

    dropped: int
    raised: int
    left: int
    extra_cost: float
    passed: bool


@dataclass(frozen=True)
class Hectares:
    """What a plan grows of a crop [ha], what it brings to the trough, reserve and surplus included [t DM], and what is sold [t
    DM]."""

    crop: str
    hectares: float
    edible_t_dm: float
    surplus_t_dm: float


@dataclass(frozen=True)
class WinterPlan:
    """Who eats what and when, what is bought and sold, from the first day planned to turnout.

    status: `proven`, `open` (a plan, gap above 0.1 %), `none_exists` or `none_found`. cost: feed bought and eaten at the farm's
    prices less sales, whole winter [currency]; bought_cost, own_cost, sold_income: its parts; penalty: priced excess and
    shortage, no money. tidy: set when the rations are not those of the cheapest plan, to which
    the proof belongs, but tidier ones. hectares: of a winter whose forage is still to be grown; its cost is then part of
    own_cost."""

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

    @property
    def exit_code(self) -> int:
        """0 with a plan, 3 without."""
        return 0 if self.proof is not None else 3
