"""What a person who feeds a yard would remark on a plan: bales that lie open, clamps opened too
soon, loads that will not keep.

All thresholds are common practice, no source (c), unless the sentence names one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from math import ceil

from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.farm.group import Group
from rationlp.farm.store import Store
from rationlp.model.bales import Eater, OpenBale, bale_words, bales_line, open_too_long
from rationlp.needs.cohorts import each_cohort
from rationlp.needs.reserves import kg_lost, score_lost
from rationlp.planned import Period, PlanRation, Purchase, StorePlan, WinterPlan
from rationlp.read.yard_rules import shut_days
from rationlp.wintering.links import KG_PER_T, Yard
from rationlp.wintering.parts import opening_days

SPOILED_SHARE = 0.05
"""From this share of what is eaten on a face is too wide for those who eat from it; own choice (c).
"""
SHUT_DAYS = 28
"""Days a clamp is kept shut after filling: UK advice on feed-out of grass silage; (a)."""
NOTHING_T = 1e-6


def plan_remarks(
    yard: Yard,
    rations: Sequence[PlanRation],
    stores: tuple[StorePlan, ...],
    purchases: tuple[Purchase, ...],
) -> tuple[str, ...]:
    """Sentences to print with a plan, in the farm's order; empty when there is nothing to say."""
    found = [*_bales(yard, rations)]
    for store, used in zip(yard.farm.stores, stores, strict=True):
        found += [*_opened_early(yard, store, used), *_spoiled(store, used)]
    for purchase in purchases:
        offer = next(offer for offer in yard.farm.offers if offer.id == purchase.offer)
        found += _keeping(yard, offer, purchase)
    for group in yard.farm.groups:
        found += _off_their_backs(yard, group)
    return tuple(found)


OpenBales = dict[str, list[tuple[OpenBale, Period]]]


def open_bales(farm: Farm, periods: Sequence[Period], rations: Sequence[PlanRation]) -> OpenBales:
    """Bales of silage not finished in time, by store, in every period that it happens."""
    bales: OpenBales = {}
    for period in periods:
        eaters = []
        for ration in rations:
            for amount in ration.amounts if ration.period == period.number else ():
                waste = ration.waste.get(amount.offer, 0.0)
                kg = amount.kg_fresh * ration.head / (1.0 - waste)
                eaters.append(Eater(ration.group, ration.needs.animal_class, amount.offer, kg))
        for bale in open_too_long(farm, eaters):
            bales.setdefault(bale.store, []).append((bale, period))
    return bales


def plan_bales_line(plan: WinterPlan) -> str:
    """For the first lines of a plan: bales that lie open too long at some time."""
    found = open_bales(plan.farm, plan.periods, plan.rations)
    return bales_line(bale for times in found.values() for bale, _ in times)


def _bales(yard: Yard, rations: Sequence[PlanRation]) -> Iterator[str]:
    """The worst period of each store whose bales lie open too long, and how many there are."""
    for times in open_bales(yard.farm, yard.periods, rations).values():
        bale, period = max(times, key=lambda time: time[0].days)
        when = f"in the period from {period.first}"
        if len(times) > 1:
            when = f"in {len(times)} periods, longest from {period.first}"
        yield f"{bale_words(bale, bale.sheep)} So it is {when}."


def _off_their_backs(yard: Yard, group: Group) -> Iterator[str]:
    """What the fresh cows of a group lose over the winter by the plan's own count."""
    own = [run for run in yard.runs if group.id in (run.block.group.id, run.block.group.origin)]
    losing = [run for run in own if run.block.group.reserve_mj > 0.0]
    if not losing:
        return
    in_milk = [0] * (1 + max(number for run in own for number in run.periods))
    for run in own:
        if run.block.needs.milker is not None:
            for number, head in zip(run.periods, run.head, strict=True):
                in_milk[number] += head
    kg = sum(kg_lost(run.block.group.reserve_mj) * run.weight for run in losing) / max(in_milk)
    cohorts = [cows for run in losing for _, cows in each_cohort(run.block.group)]
    weeks = [cows.number("week_of_lactation") for cows in cohorts]
    first, last = ceil(min(weeks)), ceil(max(weeks))
    about = f"weeks {first} to {last}" if first < last else f"week {first}"
    score = score_lost(kg, losing[0].block.group.number("live_weight_kg"))
    yield (
        f"{group.name}: in {about} after calving these cows milk about {kg:.0f} kg off their backs"
        f" ({score:.1f} score) and the plan counts on it. Score them at calving and in week 6; more"
        " than half a score is too much. It is put back later only if that is fed for, by"
        " live_weight_change_kg_per_day."
    )


def _opened_early(yard: Yard, store: Store, used: StorePlan) -> Iterator[str]:
    """A clamp or bag opened before it has had its weeks of rest."""
    filled = store.size.get("filled")
    if store.kind not in ("clamp", "bag") or not isinstance(filled, str):
        return
    ready = date.fromisoformat(filled) + timedelta(days=SHUT_DAYS)
    for period, t in zip(yard.periods, used.used_t_dm, strict=True):
        if t > NOTHING_T and period.first < ready:
            yield (
                f"{store.name}: fed from {period.first} on, filled {filled}; keep it shut for four"
                f" weeks, to {ready}."
            )
        if t > NOTHING_T:
            break
    opens = opening_days(yard.farm).get(store.id)
    fed = next((period.first for period in yard.periods if opens and period.first >= opens), None)
    if fed is not None and fed > yard.periods[0].first:
        days = shut_days(yard.farm.yard_rules)
        yield (
            f"{store.name}: shut for {days} days after filling ({filled}) and fed from {fed} on;"
            " shut_days of [yard] changes that."
        )


def _spoiled(store: Store, used: StorePlan) -> Iterator[str]:
    """What the face of a clamp costs where too few eat from it."""
    lost, eaten = sum(used.spoiled_t_dm), sum(used.eaten_t_dm)
    if lost > max(NOTHING_T, SPOILED_SHARE * eaten):
        yield (
            f"{store.name}: {lost:.1f} t DM are taken off the face and spoil, {eaten:.1f} t are"
            " eaten: the face is too wide for so few. Bales, a bag or a narrower, lower face would"
            " waste less."
        )


def _keeping(yard: Yard, offer: Offer, purchase: Purchase) -> Iterator[str]:
    """A bought load that spoils before it is eaten, or for which there is no room."""
    load = offer.load_t
    if load is None:
        return
    if offer.space_t is not None and load > offer.space_t:
        yield f"{offer.name}: a load of {load:g} t, and room for {offer.space_t:g} t."
    if offer.keeps_days is None:
        return
    pairs = zip(yard.periods, purchase.t_fresh, strict=True)
    slowest = max((load / (t / one.days) for one, t in pairs if t > NOTHING_T), default=0.0)
    if slowest > offer.keeps_days:
        yield (
            f"{offer.name}: a load of {load:g} t lasts up to {slowest:.0f} days and keeps"
            f" {offer.keeps_days:g}: take smaller loads, or leave it out while less than"
            f" {load / offer.keeps_days * KG_PER_T:.0f} kg a day are eaten."
        )
