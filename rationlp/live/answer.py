"""An answer as the page draws it: bars of stores and crops, a card a group, the days of the winter;
all from the same records as the commands.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import timedelta
from typing import Any

from rationlp.after.money import buying_list
from rationlp.after.plan_cautions import plan_cautions
from rationlp.after.plan_changes import PlanChange, plan_changes
from rationlp.after.stock import StoreLife, each_lasting, plan_uses
from rationlp.ask.held import Appetite, CropHeld, held_against_appetite
from rationlp.farm.farm import Farm
from rationlp.farm.group import Group
from rationlp.live.phases import FACES, SETTLED
from rationlp.live.stages import KnownStages, Stages, stages
from rationlp.live.told import cautions_json, figure
from rationlp.planned import PlanRation, WinterPlan
from rationlp.report.cautions import cautions_of
from rationlp.report.held import QUESTION, crop_words, enough_words
from rationlp.report.plan_words import (
    buy_line,
    cost_words,
    proved_line,
    short_lines,
    stores_line,
    unfed_words,
)
from rationlp.report.tables.table import shown
from rationlp.report.winter_charts import feed_fills
from rationlp.report.wording import day_words
from rationlp.result import Amount, GroupRation, SupplyLine
from rationlp.yard.loads import loads_of

LEAST_T = 0.05
"""Less than this is neither short nor left over [t fresh]: it is rounded away."""
NOTHING_LEFT_T = 0.5
"""With less left at turnout than this a store that was fed only just lasts [t fresh]."""
NO_KG = "0.0"
"""As nothing is written."""
Json = dict[str, Any]


def enough(farm: Farm, appetite: Appetite, plan: WinterPlan | None) -> Json:
    """Have I enough? A bar a store and a bar a crop [t fresh]."""
    held = held_against_appetite(farm, appetite)
    lasting = {} if plan is None else {one.store: one for one in each_lasting(plan_uses(plan))}
    stores = [_store_bar(farm, appetite, store.id, lasting) for store in farm.stores]
    words = enough_words(farm, held)
    return {
        "question": QUESTION,
        "answer": words.answer,
        "stock": words.stock,
        "short": list(words.short),
        "stores": stores,
        "crops": [_crop_bar(farm, crop) for crop in held.crops],
    }


def _store_bar(farm: Farm, appetite: Appetite, name: str, lasting: Mapping[str, StoreLife]) -> Json:
    store = next(store for store in farm.stores if store.id == name)
    offer = next(offer for offer in farm.offers if offer.id == name)
    stock = appetite.stocks[name]
    fresh = 1000.0 / offer.feed.dm_g_per_kg
    edible, would_eat = stock.edible_t_dm, appetite.eaten.get(name, 0.0) * fresh
    bar = {
        "id": name,
        "name": store.name,
        "kind": store.kind,
        "crop": offer.feed.kind,
        "unit": "t fresh",
        "held": {
            "low": edible.low * fresh,
            "typical": edible.typical * fresh,
            "high": edible.high * fresh,
        },
        "would_eat": would_eat if offer.feed.is_forage else None,
    }
    one = lasting.get(name)
    if one is None:
        left = edible.typical * fresh - would_eat
        return bar | _ends(farm, left, edible.typical * fresh, would_eat)
    return bar | _planned_ends(one, fresh)


def _planned_ends(life: StoreLife, fresh: float) -> Json:
    """How a store ends under the plan, and what is left of it by day."""
    day, left = life.runs_out.typical, life.left[-1].t_dm.typical * fresh
    short = life.short_t_dm.typical * fresh
    lasts_to = None
    if day is not None and day < life.turnout:
        lasts_to = day
    days_short = 0
    if lasts_to is not None:
        days_short = (life.turnout - lasts_to).days
    opens = _opens(life)
    if lasts_to is None and opens is not None and left < NOTHING_LEFT_T:
        head, rest = "Only just lasts", "nothing left"
    elif lasts_to is None:
        head, rest = "Lasts", f"{shown(left, 0)} t left"
    elif short >= LEAST_T:
        head, rest = f"To {day_words(lasts_to)}", f"{days_short} days short"
    else:
        head, rest = f"Used up by {day_words(lasts_to)}", "as planned"
    first = life.left[0].t_dm.typical * fresh
    return {
        "plan_uses": first - left,
        "short": short,
        "left": left,
        "lasts_to": None if lasts_to is None else lasts_to.isoformat(),
        "days_short": days_short if short >= LEAST_T else 0,
        "head": head,
        "rest": rest,
        "opens": opens,
        "run": [[at.on.isoformat(), figure(at.t_fresh)] for at in life.left],
    }


def _opens(life: StoreLife) -> str | None:
    """The day from which a store is fed; None where it never is."""
    most = life.left[0].t_dm.typical
    before = life.left[0].on
    for at in life.left[1:]:
        if at.t_dm.typical < most - 1e-6:
            return before.isoformat()
        before = at.on
    return None


def _ends(farm: Farm, left: float, held: float, would_eat: float) -> Json:
    """How long a stock would last at the rate at which it would be eaten, before any plan."""
    days = (farm.turnout - farm.start).days
    lasts = int(days * held / would_eat) if would_eat > 0.0 else days
    short = max(-left, 0.0)
    ends = farm.start + timedelta(days=min(lasts, days))
    head, rest = "Lasts", f"{shown(max(left, 0.0), 0)} t left"
    if short >= LEAST_T:
        head, rest = f"To {day_words(ends)}", f"{days - lasts} days short"
    return {
        "plan_uses": None,
        "short": short,
        "left": max(left, 0.0),
        "lasts_to": ends.isoformat() if short >= LEAST_T else None,
        "days_short": days - lasts if short >= LEAST_T else 0,
        "head": head,
        "rest": rest,
        "opens": None,
        "run": [],
    }


def _crop_bar(farm: Farm, crop: CropHeld) -> Json:
    """A crop in all its stores [t DM]: they differ in dry matter, so that fresh tonnes of several
    stores say little."""
    held = crop.held_t_dm
    name = crop_words(crop.crop)
    left = held.typical - crop.would_eat_t_dm
    return {
        "id": crop.crop,
        "name": name[:1].upper() + name[1:],
        "kind": "crop",
        "crop": crop.crop,
        "stores": list(crop.stores),
        "unit": "t DM",
        "held": {"low": held.low, "typical": held.typical, "high": held.high},
        "would_eat": crop.would_eat_t_dm,
    } | _ends(farm, left, held.typical, crop.would_eat_t_dm)


def of_plan(
    farm: Farm, appetite: Appetite, plan: WinterPlan, phase: str, known: KnownStages | None = None
) -> Json:
    """A winter's plan as an answer. phase: `settled`, `proved`, or `none` where some are short.
    known: the stages of a farm told before, which are often those of this one.
    """
    changes = plan_changes(plan)
    cautions = cautions_of(plan_cautions(plan), (farm.start, farm.turnout))
    lasting = each_lasting(plan_uses(plan))
    words = [*plan.carried]
    if not plan.feeds_all:
        words += [f"The winter: {unfed_words(plan)}", *short_lines(plan)]
    if phase == SETTLED:
        words += plan.remarks[:1] if FACES in plan.remarks else ()
    if plan.proof is not None:
        bought = buy_line(buying_list(plan))
        words += [f"The winter: {cost_words(plan)}", bought, stores_line(lasting)]
    return {
        "phase": phase,
        "enough": enough(farm, appetite, plan if plan.stores else None),
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
        "words": [line for line in dict.fromkeys(words) if line],
        "cautions": cautions_json(cautions),
        "proof": proved_line(plan) if phase == "proved" else "",
        "changes": [_change(change) for change in changes],
    }


def _change(change: PlanChange) -> Json:
    return {"group": change.group, "day": change.begin.isoformat(), "words": _change_words(change)}


def _change_words(change: PlanChange) -> str:
    move = change.moves[0] if change.moves else None
    if move is None:
        return f"ration changes from {day_words(change.begin)}"
    before, after = (shown(kg, 1) for kg in (move.from_kg_fresh, move.to_kg_fresh))
    if before == NO_KG:
        return f"from {day_words(change.begin)}: {move.name} begins, {after} kg"
    if after == NO_KG:
        return f"from {day_words(change.begin)}: {move.name} ends, {before} kg before"
    return f"from {day_words(change.begin)}: {move.name} {before} to {after} kg"


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
        short = next((words for one in fed for words in one["short"]), "")
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
            "line": short or next_change,
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
        f"{part.shortfall.need}: {shown(part.shortfall.short, 1)} {part.shortfall.unit} short"
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
        short = [
            f"{fall.need}: {shown(fall.short, 1)} {fall.unit} short" for fall in one.shortfalls
        ]
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
                "line": short[0] if short else "",
            }
        )
    return {
        "phase": "day",
        "enough": enough(farm, appetite, None),
        "groups": cards,
        "periods": [{"number": 0, "first": first, "last": turnout}],
        "cost": None,
        "words": [],
        "cautions": {"first": [], "grave": [], "others": [], "daily": [], "defer": ""},
        "proof": "",
        "changes": [],
    }
