"""A winter's plan, and how long each store lasts, as JSON documents."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from datetime import date
from typing import Any

from rationlp.after.cautions import store_cautions
from rationlp.after.money import buying_list, money
from rationlp.after.plan_cautions import plan_cautions
from rationlp.after.plan_changes import plan_changes
from rationlp.after.sofar import SoFar
from rationlp.after.stock import Lasting, Spring, each_lasting, plan_uses, stocks_of
from rationlp.ask.enough import Enough
from rationlp.ask.why_short import ShortAlone
from rationlp.ask.why_winter import WinterWhy
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.planned import PlanRation, Purchase, WinterPlan
from rationlp.report.documents import (
    Document,
    cautions_part,
    change_part,
    farm_part,
    notices_part,
    offer_part,
    start_of,
)
from rationlp.report.why_winter import short_part, winter_why_part


def winter_document(
    plan: WinterPlan,
    so_far_found: Iterable[SoFar] = (),
    why: WinterWhy | None = None,
    alone: Sequence[ShortAlone] = (),
    enough: Iterable[Enough] | None = None,
) -> Document:
    """The answer of `winter`: periods, rations by part and period, stores with balance and
    run-down, purchases, money, proof;
    so_far_found: what was eaten against an earlier plan. why, alone: reasons where they were asked
    for.
    enough: single changes for a winter that cannot be fed.
    """
    farm = plan.farm
    return {
        **start_of("winter"),
        "farm": farm_part(farm),
        "offers": [offer_part(offer, farm.own_quantities) for offer in farm.offers],
        "status": plan.status,
        "cost": plan.cost,
        "bought_cost": plan.bought_cost,
        "own_cost": plan.own_cost,
        "sold_income": plan.sold_income,
        "penalty": plan.penalty,
        "periods": [_plain({"days": period.days, **asdict(period)}) for period in plan.periods],
        "rations": [_ration(ration) for ration in plan.rations],
        "stores": [{**asdict(store), "used_t_dm": list(store.used_t_dm)} for store in plan.stores],
        "stocks": [asdict(stock) for stock in stocks_of(plan).values()],
        "so_far": [asdict(one) for one in so_far_found],
        "lasting": lasting_part(each_lasting(plan_uses(plan))),
        "changes": [
            _plain({**asdict(one), "change": change_part(one.change)}) for one in plan_changes(plan)
        ],
        "purchases": [_purchase(one, farm.offers) for one in plan.purchases],
        "buying_list": [asdict(one) for one in buying_list(plan)],
        "sales": [asdict(one) for one in plan.sales],
        "money": [asdict(one) for one in money(plan)],
        "proof": None if plan.proof is None else asdict(plan.proof),
        "tidy": None if plan.tidy is None else asdict(plan.tidy),
        "shortfalls": [asdict(one) for one in plan.shortfalls],
        "why": winter_why_part(why),
        "short_alone": short_part(alone),
        "enough": [asdict(one) for one in enough or ()],
        "carried": list(plan.carried),
        "remarks": list(plan.remarks),
        "notices": notices_part(farm.notices),
        "cautions": cautions_part(plan_cautions(plan)),
    }


def last_document(
    farm: Farm, under: str, springs: Sequence[Spring], remarks: Iterable[str] = ()
) -> Document:
    """The answer of `last`: every turnout looked at, the farm's own being the one of 0 days. under:
    `plan`, or `fed` for rations that the farm stated.
    """
    return {
        **start_of("last"),
        "farm": farm_part(farm),
        "under": under,
        "springs": [
            {
                "days": spring.days,
                "turnout": spring.turnout.isoformat(),
                "cost": spring.cost,
                "stores": lasting_part(spring.stores),
            }
            for spring in springs
        ],
        "remarks": list(remarks),
        "notices": notices_part(farm.notices),
        "cautions": cautions_part(store_cautions(farm)),
    }


def lasting_part(stores: Iterable[Lasting]) -> list[Document]:
    """How long each store lasts; dates as ISO text."""
    return [_plain(asdict(one)) for one in stores]


def _ration(ration: PlanRation) -> Document:
    """A ration of the plan; its needs step by step stand in `needs --over-winter`, what they come
    to in `supply`.
    """
    document: Document = {
        name: getattr(ration, name) for name in PlanRation.__match_args__ if name != "needs"
    }
    document["class"] = ration.needs.animal_class
    document["amounts"] = [asdict(one) for one in ration.amounts]
    document["supply"] = [asdict(one) for one in ration.supply]
    return document


def _purchase(one: Purchase, offers: Iterable[Offer]) -> Document:
    price = next(offer.price_per_t_fresh for offer in offers if offer.id == one.offer)
    return {**asdict(one), "price_per_t_fresh": price}


def _plain(value: Any) -> Any:
    """The same with dates as ISO text."""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(item) for item in value]
    return value
