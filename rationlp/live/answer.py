"""An answer as the page draws it: what is told of the plan, a card a group, the days of the winter;
all from the same records as the commands.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from rationlp.after.money import MonthBuy, buying_list
from rationlp.after.plan_cautions import plan_cautions
from rationlp.after.plan_changes import PlanChange, plan_changes
from rationlp.ask.held import Appetite
from rationlp.farm.farm import Farm
from rationlp.farm.group import Group
from rationlp.live.bars import enough
from rationlp.live.phases import DAY, PROVED
from rationlp.live.stages import KnownStages, Stages, stages
from rationlp.live.told import cautions_json, figure
from rationlp.planned import PlanRation, WinterPlan
from rationlp.report.cautions import cautions_of
from rationlp.report.plan_words import (
    buy_items,
    cost_words,
    proved_line,
    short_lines,
    unfed_words,
)
from rationlp.report.tables.table import shown
from rationlp.report.winter_charts import feed_fills
from rationlp.report.wording import day_words, with_day_words
from rationlp.result import Amount, GroupRation, SupplyLine
from rationlp.yard.loads import loads_of

LEAST_KG = 0.05
"""Less than this is written as nothing [kg fresh a head]."""
CLOSE = 1e-3
"""By less than this share of a need nothing is called short."""
Json = dict[str, Any]


def of_plan(
    farm: Farm,
    appetite: Appetite,
    plan: WinterPlan,
    phase: str,
    known: KnownStages | None = None,
    remark: str = "",
) -> Json:
    """A winter's plan as an answer. phase: `settled`, `proved`, or `none` where some are short.
    known: the stages of a farm told before, which are often those of this one. remark: what is to
    be said of the plan besides.
    """
    changes = plan_changes(plan)
    cautions = cautions_of(plan_cautions(plan), (farm.start, farm.turnout))
    return {
        "phase": phase,
        "feeds_all": plan.feeds_all,
        "enough": enough(farm, appetite, plan if plan.stores else None, changes),
        "groups": list(_cards(farm, plan, changes, (known or KnownStages()).of(farm))),
        "periods": [
            {
                "number": period.number,
                "first": period.first.isoformat(),
                "last": period.last.isoformat(),
            }
            for period in plan.periods
        ],
        "cost": plan.cost,
        "told": told_of(plan, remark),
        "cautions": cautions_json(cautions),
        "proof": proved_line(plan) if phase == PROVED else "",
        "changes": [_change(change) for change in changes],
    }


def told_of(plan: WinterPlan, remark: str = "") -> Json:
    """What is told of a plan in words. unfed: why it does not feed all, and short: who is short of
    what; cost; buy: what is bought, with the month it begins in where that is not the first one.
    """
    unfed = "" if plan.feeds_all else unfed_words(plan)
    cost, buy = "", list[Json]()
    if plan.proof is not None:
        cost, buy = cost_words(plan), _bought(buying_list(plan))
    return {
        "remarks": [*plan.carried, *([remark] if remark else [])],
        "unfed": unfed[:1].upper() + unfed[1:],
        "short": short_lines(plan) if unfed else [],
        "cost": cost,
        "buy": buy,
    }


def _bought(buying: Sequence[MonthBuy]) -> list[Json]:
    first: dict[str, str] = {}
    for item in buying:
        first.setdefault(item.name, item.month)
    start = min(first.values(), default="")
    months = {name: with_day_words(month) for name, month in first.items() if month != start}
    items = zip(first, buy_items(buying), strict=True)
    return [{"words": words, "begins": months.get(name, "")} for name, words in items]


def _change(change: PlanChange) -> Json:
    return {"group": change.group, "day": change.begin.isoformat(), "words": _change_words(change)}


def _change_words(change: PlanChange) -> str:
    """The greatest move of a change, as what to do; over so many days where it takes some."""
    over = f" over {change.change.days} days" if change.change.days > 1 else ""
    start = f"from {day_words(change.begin)}{over}:"
    move = change.moves[0] if change.moves else None
    if move is None:
        return f"{start} another ration"
    before, after = (shown(kg, 1) for kg in (move.from_kg_fresh, move.to_kg_fresh))
    if move.from_kg_fresh < LEAST_KG:
        return f"{start} add {move.name}, {after} kg a head"
    if move.to_kg_fresh < LEAST_KG:
        return f"{start} no more {move.name}, {before} kg a head before"
    more = "more" if move.to_kg_fresh > move.from_kg_fresh else "less"
    return f"{start} {more} {move.name}, {before} to {after} kg a head"


def _cards(
    farm: Farm, plan: WinterPlan, changes: Iterable[PlanChange], known: Stages
) -> Iterator[Json]:
    groups = {group.id: group for group in farm.groups}
    for part in dict.fromkeys(ration.group for ration in plan.rations):
        rations = [ration for ration in plan.rations if ration.group == part]
        own = [change for change in changes if change.group == part]
        group = groups[rations[0].origin]
        fed = _joined(_plan_rations(farm, group, plan, rations))
        next_change = _change_words(own[0]) if own else ""
        yield {
            "id": part,
            "name": rations[0].name,
            "group": rations[0].origin,
            "head": rations[0].head,
            "stages": known.get(part, []),
            "rations": fed,
            "next_change": next_change,
            "changes": [_change(one) for one in own],
            "cautions": [],
        }


def _joined(rations: Iterable[Json]) -> list[Json]:
    """The rations of a group, one for all periods that follow each other and are fed the same."""
    done: list[Json] = []
    for ration in rations:
        before = done[-1] if done else None
        if before is not None and before["last"] == ration["first"]:
            days = {key: ration[key] for key in ("period", "first", "last")}
            if {**before, **days} == ration:
                before["last"] = ration["last"]
                continue
        done.append(ration)
    return done


def _plan_rations(
    farm: Farm, group: Group, plan: WinterPlan, rations: Iterable[PlanRation]
) -> Iterator[Json]:
    """The rations of a group, period by period. Periods of one run share what they are fed: it is
    told once.
    """
    before, fed = None, Json()
    for ration in rations:
        same = before is not None and before.amounts is ration.amounts
        if not same or before is None or before.supply is not ration.supply:
            fed = _fed(farm, ration)
        before = ration
        yield _days_fed(farm, group, plan, ration) | fed


def _fed(farm: Farm, ration: PlanRation) -> Json:
    """What a head is fed."""
    return {
        "cost": figure(ration.feed_cost) if ration.amounts else None,
        "dm_kg": figure(ration.dm_kg),
        "feeds": feeds(farm, ration.amounts),
        "supply": [_supply(one) for one in ration.supply],
    }


def _days_fed(farm: Farm, group: Group, plan: WinterPlan, ration: PlanRation) -> Json:
    """When and to how many it is fed."""
    period = plan.periods[ration.period]
    short = [
        f"{shown(part.shortfall.short, 1)} {part.shortfall.unit} of {part.shortfall.need}"
        for part in plan.shortfalls
        if part.group == ration.group and part.period == ration.period
    ]
    if ration.withheld:
        short = [ration.withheld, *short]
    return {
        "period": ration.period,
        "first": period.first.isoformat(),
        "last": period.last.isoformat(),
        "head": ration.head,
        "short": short,
        "load": _load(farm, group, ration.amounts, ration.head),
    }


def feeds(farm: Farm, amounts: Iterable[Amount]) -> list[Json]:
    """The feeds of a ration, kg fresh a head a day, each with its fill."""
    fills = feed_fills(farm.offers)
    bought = {offer.id for offer in farm.offers if offer.bought}
    return [
        {
            "id": amount.offer,
            "name": amount.name,
            "kg": figure(amount.kg_fresh),
            "grown": amount.offer not in bought,
            "fill": fills.get(amount.offer, "grown-8"),
        }
        for amount in amounts
        if amount.kg_fresh > 0.0
    ]


def _supply(line: SupplyLine) -> Json:
    return {
        "title": line.title,
        "unit": line.unit,
        "supply": figure(line.supply),
        "need": figure(line.need),
        "target": figure(line.target),
        "low": figure(line.low),
        "high": figure(line.high),
        "at_limit": line.at_limit,
        "short": line.need is not None and line.supply < line.need * (1.0 - CLOSE),
    }


def _load(farm: Farm, group: Group, amounts: Iterable[Amount], head: int) -> Json | None:
    """How many heads one load of the wagon feeds; None without a wagon."""
    feeding = group.feeding or farm.feeding
    if feeding.wagon == "none" or feeding.tub_m3 is None or head <= 0:
        return None
    offers = {offer.id: offer for offer in farm.offers}
    fresh = {amount.offer: amount.kg_fresh * head for amount in amounts if amount.offer in offers}
    if not fresh:
        return None
    return {"kg_factor": head / loads_of(fresh, offers, feeding)[0]}


def of_day(farm: Farm, appetite: Appetite, groups: Iterable[GroupRation], today: Farm) -> Json:
    """The rations of a day as an answer: what is shown first, before any plan of the winter."""
    cards = []
    known = {group.id: group for group in today.groups}
    told = stages(farm)
    first, turnout = farm.start.isoformat(), farm.turnout.isoformat()
    for one in groups:
        group = known[one.group]
        short = [f"{shown(fall.short, 1)} {fall.unit} of {fall.need}" for fall in one.shortfalls]
        ration = {
            "period": 0,
            "first": first,
            "last": turnout,
            "head": group.head,
            "cost": one.feed_cost if one.proof is not None else None,
            "dm_kg": sum(amount.kg_dm for amount in one.amounts),
            "feeds": feeds(farm, one.amounts),
            "supply": [_supply(line) for line in one.supply],
            "short": short,
            "load": _load(farm, group, one.amounts, group.head),
        }
        cards.append(
            {
                "id": one.group,
                "name": group.name,
                "group": group.origin or group.id,
                "head": group.head,
                "stages": told.get(one.group, []),
                "rations": [ration],
                "next_change": "",
                "changes": [],
                "cautions": [],
            }
        )
    return {
        "phase": DAY,
        "feeds_all": False,
        "enough": enough(farm, appetite, None),
        "groups": cards,
        "periods": [{"number": 0, "first": first, "last": turnout}],
        "cost": None,
        "told": {"remarks": [], "unfed": "", "short": [], "cost": "", "buy": []},
        "cautions": {"first": [], "grave": [], "others": [], "daily": [], "defer": ""},
        "proof": "",
        "changes": [],
    }
