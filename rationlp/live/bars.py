"""Have I enough? as the page draws it: the answer in its parts, a bar a store and a bar a crop."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from typing import Any

from rationlp.after.plan_changes import PlanChange
from rationlp.after.stock import StoreLife, each_lasting, plan_uses
from rationlp.ask.held import Appetite, CropHeld, held_against_appetite
from rationlp.farm.farm import Farm
from rationlp.live.told import figure
from rationlp.planned import WinterPlan
from rationlp.report.held import QUESTION, crop_words, enough_words
from rationlp.report.tables.table import shown
from rationlp.report.wording import day_words

LEAST_T = 0.05
"""Less than this is neither short nor left over [t]: it is rounded away."""
FEW_T = 10.0
"""Below this a tenth of a tonne is told [t]."""
Json = dict[str, Any]


def enough(
    farm: Farm,
    appetite: Appetite,
    plan: WinterPlan | None,
    changes: Iterable[PlanChange] = (),
) -> Json:
    """Have I enough? A bar a store [t fresh] and a bar a crop [t DM]. changes: of the plan's
    rations: a store is opened where the first change that brings it in begins.
    """
    held = held_against_appetite(farm, appetite)
    lasting = {} if plan is None else {life.store: life for life in each_lasting(plan_uses(plan))}
    brought = _brought_in(changes)
    words = enough_words(farm, held)
    return {
        "verdict": {
            "question": QUESTION,
            "answer": words.answer,
            "stock": words.stock,
            "short": list(words.short),
        },
        "stores": [_store_bar(farm, appetite, store.id, lasting, brought) for store in farm.stores],
        "crops": [_crop_bar(farm, crop) for crop in held.crops],
    }


def _brought_in(changes: Iterable[PlanChange]) -> dict[tuple[str, date], date]:
    """When the change begins that brings a feed in, by the feed and the day from which the plan
    gives it.
    """
    begins: dict[tuple[str, date], date] = {}
    for change in changes:
        for move in change.moves:
            if move.from_kg_fresh <= 0.0:
                key = (move.offer, change.on)
                begins[key] = min(begins.get(key, change.begin), change.begin)
    return begins


def _store_bar(
    farm: Farm,
    appetite: Appetite,
    name: str,
    lasting: Mapping[str, StoreLife],
    brought: Mapping[tuple[str, date], date],
) -> Json:
    store = next(store for store in farm.stores if store.id == name)
    offer = next(offer for offer in farm.offers if offer.id == name)
    stock = appetite.stocks[name]
    fresh = 1000.0 / offer.feed.dm_g_per_kg
    edible, would_eat = stock.edible_t_dm, appetite.eaten.get(name, 0.0) * fresh
    held = {
        "low": edible.low * fresh,
        "typical": edible.typical * fresh,
        "high": edible.high * fresh,
    }
    bar = {
        "id": name,
        "name": store.name,
        "kind": store.kind,
        "crop": offer.feed.kind,
        "unit": "t fresh",
        "held": held,
        "decimals": decimals(held["typical"]),
        "would_eat": would_eat if offer.feed.is_forage else None,
    }
    life = lasting.get(name)
    if life is None:
        return bar | _ends(farm, held["typical"], would_eat, "t")
    return bar | _planned_ends(life, fresh, brought)


def decimals(tonnes: float) -> int:
    """With how many decimals tonnes are told."""
    return 1 if tonnes < FEW_T else 0


def _tonnes(tonnes: float, unit: str) -> str:
    return f"{shown(tonnes, decimals(tonnes))} {unit}"


def _days(days: int) -> str:
    return f"{days} day" if days == 1 else f"{days} days"


def _planned_ends(life: StoreLife, fresh: float, brought: Mapping[tuple[str, date], date]) -> Json:
    """How a store ends under the plan, and what is left of it by day."""
    day, left = life.runs_out.typical, life.left[-1].t_dm.typical * fresh
    short = life.short_t_dm.typical * fresh
    first, opens = life.left[0].t_dm.typical * fresh, _opens(life)
    lasts_to = day if day is not None and day < life.turnout else None
    is_short = lasts_to is not None and short >= LEAST_T
    days_short = (life.turnout - lasts_to).days if is_short and lasts_to is not None else 0
    if opens is None:
        words, more = "not fed", f"{_tonnes(left, 't')} left"
    elif lasts_to is None and left < LEAST_T:
        words, more = "only just lasts", "nothing left"
    elif lasts_to is None:
        words, more = "lasts", f"{_tonnes(left, 't')} left"
    elif is_short:
        words, more = f"to {day_words(lasts_to)}", f"{_days(days_short)} short"
    else:
        words, more = f"used up by {day_words(lasts_to)}", "as planned"
    if opens is not None:
        opens = brought.get((life.store, opens), opens)
    return {
        "plan_uses": first - left,
        "short": short if is_short else 0.0,
        "left": left,
        "lasts_to": None if lasts_to is None else lasts_to.isoformat(),
        "days_short": days_short,
        "words": words,
        "more": more,
        "opens": None if opens is None else opens.isoformat(),
        "run": [[at.on.isoformat(), figure(at.t_fresh)] for at in life.left],
    }


def _opens(life: StoreLife) -> date | None:
    """The day from which the plan feeds a store; None where it never does."""
    most = life.left[0].t_dm.typical
    before = life.left[0].on
    for at in life.left[1:]:
        if at.t_dm.typical < most - 1e-6:
            return before
        before = at.on
    return None


def _ends(farm: Farm, held: float, would_eat: float, unit: str) -> Json:
    """How long a stock would last at the rate at which it would be eaten, before any plan."""
    days = (farm.turnout - farm.start).days
    lasts = int(days * held / would_eat) if would_eat > 0.0 else days
    short, left = max(would_eat - held, 0.0), max(held - would_eat, 0.0)
    ends = farm.start + timedelta(days=min(lasts, days))
    is_short = short >= LEAST_T
    words, more = "lasts", f"{_tonnes(left, unit)} left"
    if is_short:
        words, more = f"to {day_words(ends)}", f"{_days(days - lasts)} short"
    return {
        "plan_uses": None,
        "short": short if is_short else 0.0,
        "left": left,
        "lasts_to": ends.isoformat() if is_short else None,
        "days_short": days - lasts if is_short else 0,
        "words": words,
        "more": more,
        "opens": None,
        "run": [],
    }


def _crop_bar(farm: Farm, crop: CropHeld) -> Json:
    """A crop in all its stores [t DM]: they differ in dry matter, so that fresh tonnes of several
    stores say little."""
    held = crop.held_t_dm
    name = crop_words(crop.crop)
    return {
        "id": crop.crop,
        "name": name[:1].upper() + name[1:],
        "kind": "crop",
        "crop": crop.crop,
        "stores": list(crop.stores),
        "unit": "t DM",
        "held": {"low": held.low, "typical": held.typical, "high": held.high},
        "decimals": decimals(held.typical),
        "would_eat": crop.would_eat_t_dm,
    } | _ends(farm, held.typical, crop.would_eat_t_dm, "t DM")
