"""The first lines of `winter`, `last`, `ration` and `sheet`: the question answered before any
detail.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from rationlp.after.stock import Lasting
from rationlp.farm.farm import Farm
from rationlp.planned import PlanRation, WinterPlan
from rationlp.quantities import fresh_from_dm
from rationlp.report.cautions import day_words
from rationlp.report.tables.table import shown
from rationlp.result import Rations

LEAST_SHOWN_KG = 0.01
"""Concentrates below this do not show in a first line [kg fresh a head a day]."""


def span_words(first: date, last: date) -> str:
    """Two days as people say them, with their years: 15 October 2026 to 10 April 2027."""
    return f"{day_words(first)} {first.year} to {day_words(last)} {last.year}"


def stores_line(stores: Sequence[Lasting]) -> str:
    """Which stores run out before turnout and which do not, in one sentence each; empty without a
    store.
    """
    if not stores:
        return ""
    turnout = stores[0].turnout
    out, barely, lasting = [], [], []
    for store in stores:
        day = store.runs_out.typical
        if day is not None and day < turnout:
            out.append(f"{store.name} {day_words(day)}")
        elif day == turnout:
            barely.append(store.name)
        else:
            lasting.append(store.name)
    told = [f"Runs out before turnout ({day_words(turnout)}): {'; '.join(out) or 'no store'}."]
    if barely:
        told.append(f"Only just lasts: {'; '.join(barely)}.")
    if lasting:
        told.append(f"Lasts: {'; '.join(lasting)}.")
    return " ".join(told)


def plan_feed_lines(plan: WinterPlan) -> Iterator[str]:
    """What each group eats on the first day of a plan, in kg fresh a head, forages by name; nothing
    where nobody is fed.
    """
    first = min((ration.period for ration in plan.rations), default=0)
    fed = [ration for ration in plan.rations if ration.period == first and ration.amounts]
    if not fed:
        return
    day = day_words(plan.periods[first].first)
    yield f"Feed from {day}, kg fresh a head a day (every feed and later period: tables below):"
    for ration in fed:
        yield f"  {ration.name}: {_feed_words(plan.farm, ration)}."


def _feed_words(farm: Farm, ration: PlanRation) -> str:
    feeds = {offer.id: offer.feed for offer in farm.offers}
    named, concentrates = [], 0.0
    for amount in sorted(ration.amounts, key=lambda amount: -amount.kg_fresh):
        feed = feeds[amount.offer]
        if feed.is_concentrate:
            concentrates += amount.kg_fresh
        elif feed.kind != "mineral":
            named.append(f"{shown(amount.kg_fresh, _decimals(amount.kg_fresh))} {amount.name}")
    if concentrates >= LEAST_SHOWN_KG:
        named.append(f"{shown(concentrates, _decimals(concentrates))} concentrates")
    return "; ".join(named) or "minerals only"


def _decimals(kg: float) -> int:
    return 1 if kg >= 1.0 else 2


def day_line(rations: Rations) -> str:
    """What all groups cost a day, and what is bought for it; empty for a single group, whose own
    line says it.
    """
    fed = [group for group in rations.groups if group.feed_cost is not None]
    if len(fed) < 2:
        return ""
    head = sum(group.head for group in fed)
    cost = sum(group.head * (group.feed_cost or 0.0) for group in fed)
    bought = _bought_a_day(rations)
    buys = f"bought feed {'; '.join(bought)}" if bought else "nothing is bought"
    answer = f"{rations.farm.currency} {cost:,.2f} a day; {buys}."
    without = [
        f"{group.name} ({group.head} head)" for group in rations.groups if group.feed_cost is None
    ]
    if without:
        return f"No ration for {', '.join(without)}: see below. The other {head} head: {answer}"
    return f"All {head} head: {answer}"


def _bought_a_day(rations: Rations) -> list[str]:
    """Bought feed of all groups, minerals left out: kg fresh a day, most first."""
    bought = {
        offer.id: offer
        for offer in rations.farm.offers
        if offer.bought and offer.feed.kind != "mineral"
    }
    totals: dict[str, float] = {}
    for group in rations.groups:
        for amount in group.amounts:
            if amount.offer in bought:
                totals[amount.offer] = totals.get(amount.offer, 0.0) + group.head * amount.kg_dm
    fresh = {key: fresh_from_dm(kg, bought[key].feed.dm_g_per_kg) for key, kg in totals.items()}
    ordered = sorted(fresh.items(), key=lambda item: -item[1])
    return [f"{kg:,.0f} kg {bought[key].name}" for key, kg in ordered if kg >= 0.5]


def load_line(weights: Iterable[tuple[str, str]]) -> str:
    """What goes into one load in its order, or to the pen: feed and kg; empty where nothing
    does.
    """
    told = [f"{kg} {name}" for name, kg in weights]
    return f"In kg: {'; '.join(told)}." if told else ""
