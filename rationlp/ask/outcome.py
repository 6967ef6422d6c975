"""What a farm comes to when it is solved: a plan or a ration in a few figures, to be set beside
those of another farm.
"""

from __future__ import annotations

from dataclasses import field
from datetime import date

from rationlp.after.stock import each_lasting, plan_uses
from rationlp.farm.farm import Farm
from rationlp.planned import WinterPlan
from rationlp.records import dataclass
from rationlp.result import GroupRation

TRACE_T = 0.05
"""Less of a feed over a whole winter does not count as fed [t fresh]."""
TRACE_KG = 0.005
"""Less of a feed does not count as fed [kg fresh a head a day]."""


@dataclass(frozen=True)
class Outcome:
    """What a scenario came to.

    group: whose ration it is, empty for the whole winter. status: as of a ration or plan, or
    `refused` (the changed farm has faults). cost, bought_cost: of the winter, or a head a day
    [currency]; None without an answer. fed: by offer id, t fresh over the winter, bought or out of
    a store, or kg fresh a head a day. runs_out: by store, the day, or None where it lasts.
    short: what is lacking, or why it was refused.
    """

    name: str
    group: str
    status: str
    cost: float | None = None
    bought_cost: float | None = None
    gap: float | None = None
    fed: dict[str, float] = field(default_factory=dict)
    bought: frozenset[str] = frozenset()
    runs_out: dict[str, date | None] = field(default_factory=dict)
    turnout: date | None = None
    short: str = ""

    def came_in(self, before: Outcome) -> tuple[str, ...]:
        """Feeds fed here and not before, in the farm's order."""
        return tuple(name for name in self.fed if name not in before.fed)

    def went_out(self, before: Outcome) -> tuple[str, ...]:
        """Feeds fed before and not here."""
        return tuple(name for name in before.fed if name not in self.fed)


def outcome_of_group(name: str, group: GroupRation, farm: Farm) -> Outcome:
    """What a group's ration comes to, a head a day."""
    if group.proof is None:
        lacking = ", ".join(
            f"{shortfall.need} {shortfall.short:.2f} {shortfall.unit}"
            for shortfall in group.shortfalls
        )
        return Outcome(name, group.group, group.status, short=lacking)
    bought = frozenset(offer.id for offer in farm.offers if offer.bought)
    fed = {amount.offer: amount.kg_fresh for amount in group.amounts if amount.kg_fresh >= TRACE_KG}
    spent = sum(amount.cost for amount in group.amounts if amount.offer in bought)
    return Outcome(
        name, group.group, group.status, group.feed_cost, spent, group.proof.gap, fed, bought
    )


def outcome_of_plan(name: str, plan: WinterPlan) -> Outcome:
    """What a plan of the whole winter comes to."""
    if plan.proof is None:
        return Outcome(name, "", plan.status, short=_short(plan), turnout=plan.farm.turnout)
    return Outcome(
        name=name,
        group="",
        status=plan.status,
        cost=plan.cost,
        bought_cost=plan.bought_cost,
        gap=plan.proof.gap,
        fed=_tonnes(plan),
        bought=frozenset(offer.id for offer in plan.farm.offers if offer.bought),
        runs_out={store.store: store.runs_out.typical for store in each_lasting(plan_uses(plan))},
        turnout=plan.farm.turnout,
    )


def _tonnes(plan: WinterPlan) -> dict[str, float]:
    """t fresh of every feed that leaves a store or is bought, in the farm's order."""
    dry = {offer.id: offer.feed.dm_g_per_kg for offer in plan.farm.offers}
    fed = {store.store: sum(store.used_t_dm) * 1000.0 / dry[store.store] for store in plan.stores}
    fed |= {purchase.offer: sum(purchase.t_fresh) for purchase in plan.purchases}
    return {
        offer.id: fed[offer.id] for offer in plan.farm.offers if fed.get(offer.id, 0.0) >= TRACE_T
    }


def _short(plan: WinterPlan) -> str:
    """Who is short of what first, and how many more there are."""
    if not plan.shortfalls:
        return "no plan was found"
    first = plan.shortfalls[0]
    day = plan.periods[first.period].first
    sentence = f"{first.group} short of {first.shortfall.need} from {day}"
    if len(plan.shortfalls) > 1:
        sentence += f", and {len(plan.shortfalls) - 1} more"
    return sentence
