"""What the rations of a winter's plan call for: the cautions of a day's ration, looked for in every period."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from rationlp.after.cautions import farm_cautions, ration_cautions
from rationlp.after.money import feed_of
from rationlp.needs.calendar import parts_on
from rationlp.planned import PlanRation, WinterPlan
from rationlp.read.objects import Farm, Group, Offer
from rationlp.result import Caution, FedSupply


def plan_cautions(plan: WinterPlan) -> tuple[Caution, ...]:
    """What the farm and the rations of a plan call for, each once a group: as it is found in the first period that calls for it.

    about: id of the part of a group, of a store or of a bought feed.
    """
    found: dict[tuple[str, str], Caution] = {}
    for caution in (*farm_cautions(plan.farm), *_of_rations(plan)):
        found.setdefault((caution.id, caution.about), caution)
    return tuple(found.values())


def _of_rations(plan: WinterPlan) -> Iterator[Caution]:
    groups = {group.id: group for group in plan.farm.groups}
    seen = set()
    for ration in plan.rations:
        period = plan.periods[ration.period]
        origin = groups[ration.origin or ration.group]
        parts = {part.id: part for part in parts_on(origin, period.first, period.last)}
        part = parts.get(ration.group, origin)
        mark = (part.id, tuple(part.facts.items()), tuple((one.offer, one.kg_dm) for one in ration.amounts))
        if mark not in seen:
            seen.add(mark)
            yield from ration_cautions(_farm_with(plan, ration, origin, part), _as_fed(ration))


def _farm_with(plan: WinterPlan, ration: PlanRation, origin: Group, part: Group) -> Farm:
    """The farm with the part of the group as its only group, and what is grazed among what it can feed."""
    known = {offer.id for offer in plan.farm.offers}
    grazed = [one for one in ration.amounts if one.offer not in known]
    feeds = [(one, feed_of(plan, origin, ration, one.offer)) for one in grazed]
    offers = [Offer(one.offer, one.name, feed, bought=False, price_per_t_fresh=0.0) for one, feed in feeds if feed]
    return replace(plan.farm, groups=(part,), offers=(*plan.farm.offers, *offers))


def _as_fed(ration: PlanRation) -> FedSupply:
    return FedSupply(
        group=ration.group,
        name=ration.name,
        amounts=ration.amounts,
        supply=ration.supply,
        feed_cost=ration.feed_cost,
        dm_kg=ration.dm_kg,
        me_mj_per_kg_dm=ration.me_mj_per_kg_dm or 0.0,
        level_of_feeding=ration.level_of_feeding,
        needs=ration.needs,
    )
