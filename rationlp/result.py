"""The answer: frozen, complete, traceable. Every table, file and page is made from it."""

from __future__ import annotations

from rationlp.farm.farm import Farm
from rationlp.needs.objects import GroupNeeds
from rationlp.records import dataclass
from rationlp.shows import Shown


@dataclass(frozen=True)
class Amount:
    """One feed of a ration, a head a day. cost: feed cost a head a day [currency]. marginal:
    reduced cost [currency/kg DM] of the cheapest ration, None when it has none to give.
    """

    offer: str
    name: str
    kg_dm: float
    kg_fresh: float
    cost: float
    marginal: float | None


@dataclass(frozen=True)
class SupplyLine:
    """One quantity of a ration against what is needed or allowed, a head a day (or per kg DM, as
    `unit` says).

    need: requirement without margin; target: with margin (what the model enforced); low, high:
    limits. at_limit: the ration stands at that need or limit. price: marginal cost of one more unit
    required [currency/unit], None if none.
    unknown: names of feeds eaten without a figure; `supply` is then that of the others, and no pass
    of `high`.
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

    primal_residual, dual_residual, complementarity: largest scaled violations of the last LP [-];
    duality_gap: relative [-].
    requirement_excess_mj: ME supplied less the true requirement at the answer's own q [MJ/d] (≥ 0
    within tolerance).
    cost: of the cheapest ration with priced penalties [currency/head/day]; lower_bound: nothing
    costs less than this;
    gap: their difference; gap_relative: gap/cost [-]. level_of_feeding: the ration's own L (None:
    no energy need);
    level_settled: always so. bound_any_level: lower_bound, which holds at every L (None: no protein
    need).
    lps: LPs solved. coefficient_range: (least, most).
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
    """One need that cannot be met: what, how much short, its unit; `needed` is the requirement."""

    need: str
    short: float
    needed: float
    unit: str
    whose: str


@dataclass(frozen=True)
class ClashPart:
    """One need or limit of a clash in farm words. kind: `need` or `limit`; whose: whose rule."""

    what: str
    kind: str
    whose: str


@dataclass(frozen=True)
class Clash:
    """Needs and limits that cannot all be kept, while any of them left out would leave a ration.

    minimal: that last half was shown by a ration found for every part left out; the first half
    always is proved.
    """

    parts: tuple[ClashPart, ...]
    minimal: bool


@dataclass(frozen=True)
class Remedy:
    """One change that by itself gives the group a ration, checked by solving again.

    kind: `allow` (more of a feed), `buy`, `intake`, `produce` (accept less milk or gain), `forage`
    (richer), `own` (a limit of the farm's own). change: how far [unit]; becomes: the figure after
    it [unit]. size: the change as a share of what it is held against [-], by which remedies are put
    in order. words: the whole sentence.
    """

    kind: str
    about: str
    change: float
    becomes: float
    unit: str
    size: float
    words: str


@dataclass(frozen=True)
class Tidy:
    """What was done to the cheapest ration so that a yard can mix it, and what that costs.

    steps: sentences. cheapest: the feeds of the cheapest ration, to which proof and marginal values
    belong. cheapest_cost: its feed cost; extra_cost: what tidiness adds to it; extra_penalty: what
    it adds to the priced excess and shortages (a ration may cost less and be shorter of a mineral)
    [currency a head a day]. requirement_excess_mj, protein_excess_g: ME and MP of the tidy ration
    over its own requirement at its own q and level of feeding (≥ 0 within tolerance). passed: both
    met, and the tidy programme's own optimum certified.
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

    status: `proven` (optimal, gap within tolerance), `open` (adequate ration, gap larger than the
    tolerance), `none_exists` (proved), `none_found`, `planned` (of a winter's plan, which has the
    proof). amounts, supply and proof are empty/None unless there is a ration.
    feed_cost: currency a head a day; penalty: what priced excess of energy and shortage of minerals
    add to the cost compared; it is no money. shortfalls, at_limit: what is short, and what else
    stands at its limit, when there is none. clash: the smallest set of needs and limits that cannot
    be kept together (None where it was not proved); remedies: single changes that would be enough,
    smallest first. remarks:
    sentences to print with the answer. tidy: set when the amounts are not those of the cheapest
    ration but of a tidier one.
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
    clash: Clash | None = None
    remedies: tuple[Remedy, ...] = ()


@dataclass(frozen=True)
class Caution:
    """A caution that a farm or a ration calls for. General guidance, never a diagnosis.

    id: its name in feeds/cautions.csv. about: id of the group, store or bought feed. found,
    threshold: in words with unit.
    says: what it says. kind: `hard`, `soft` or `said`. status, source: of the threshold. value,
    bound: found and threshold as numbers [unit]; both 1 for what was seen or known. about_name: the
    name of what it is about. harm: `people` or `stock` where it can kill or maim, else empty;
    daily: it holds every day, whatever is fed; action: the one thing to do about a harm.
    weeks: of a plan's ration, first day and first day after of each time that calls for it (ISO
    text); empty otherwise. new: on a day of a plan, it did not apply in the period before.
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
    about_name: str = ""
    harm: str = ""
    daily: bool = False
    action: str = ""
    weeks: tuple[tuple[str, str], ...] = ()
    new: bool = False


@dataclass(frozen=True)
class Rations(Shown):
    """The rations of all groups of a farm on one day, with the farm they came from."""

    farm: Farm
    groups: tuple[GroupRation, ...]

    @property
    def exit_code(self) -> int:
        """0 when every group has a ration, 3 when one has none, 4 when one failed its own check."""
        proofs = [group.proof for group in self.groups]
        if any(proof is not None and not proof.passed for proof in proofs):
            return 4
        if any(group.tidy is not None and not group.tidy.passed for group in self.groups):
            return 4
        # A ration of a plan is proved with the plan, not by itself.
        alone = [group.proof for group in self.groups if group.status != "planned"]
        return 3 if None in alone else 0


@dataclass(frozen=True)
class FedSupply(Shown):
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
