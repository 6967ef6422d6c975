"""Answers as JSON documents: stable keys, full precision, fixed order, no clock, every figure with
its origin.

One function a command. Keys are described in schema/answers.schema.json; within a major version
keys are only added.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from math import isfinite
from typing import TYPE_CHECKING, Any

from rationlp.after.cautions import farm_cautions, ration_cautions, store_cautions
from rationlp.after.changeover import ChangeOver, fed_before
from rationlp.after.face import StoreUse
from rationlp.errors import Finding
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed, Offer
from rationlp.farm.group import Calendar, Group
from rationlp.farm.store import StoreStock
from rationlp.needs.compare import Opinion
from rationlp.needs.objects import GroupNeeds
from rationlp.needs.winter import WinterStep
from rationlp.quantities import Quantity
from rationlp.report.tables.table import known
from rationlp.report.terminal import CLOSING_LINE
from rationlp.result import Caution, FedSupply, GroupRation, Rations
from rationlp.stock.dry_matter import farm_stocks
from rationlp.yard.cautions import yard_cautions
from rationlp.yard.parlour import parlour
from rationlp.yard.sheets import GroupSheet, YardSheets

if TYPE_CHECKING:
    from rationlp.ask.fix import FedWhy
    from rationlp.ask.why import Why
    from rationlp.model.trace import Trace

SCHEMA_VERSION = "1.0"

Document = dict[str, Any]


def json_text(document: Mapping[str, Any]) -> str:
    """A document as UTF-8 JSON text, ended by a line feed. Numbers keep full precision; what is not
    finite is null.
    """
    return json.dumps(_finite(document), ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def _finite(value: Any) -> Any:
    if isinstance(value, float):
        if not isfinite(value):
            return None
        return 0.0 if value == 0.0 else value
    if isinstance(value, Mapping):
        return {key: _finite(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_finite(item) for item in value]
    if isinstance(value, (set, frozenset)):
        return sorted(value)
    return value


def start_of(kind: str) -> Document:
    return {"schema_version": SCHEMA_VERSION, "kind": kind, "caution": CLOSING_LINE}


def rations_document(
    rations: Rations,
    changes: Mapping[str, ChangeOver] | None = None,
    reasons: Mapping[str, Why] | None = None,
    traces: Iterable[Trace] = (),
) -> Document:
    """The answer of `ration`: farm, offers with every figure traced, groups with amounts, supply,
    proof and needs.

    changes: by group id, the way from what is fed now; reasons: why each ration is what it is;
    traces: programmes whose rows were asked for.
    """
    farm = rations.farm
    rows = {trace.group: _trace(trace) for trace in traces}
    return {
        **start_of("ration"),
        "farm": farm_part(farm),
        "offers": [offer_part(offer, farm.own_quantities) for offer in farm.offers],
        "groups": [
            {
                **_ration(rations.farm, group),
                "cautions": cautions_part(
                    ration_cautions(farm, group, fed_before(changes, group.group))
                ),
                "change_over": change_part((changes or {}).get(group.group)),
                "why": record_part((reasons or {}).get(group.group)),
                "rows": rows.get(group.group),
            }
            for group in rations.groups
        ],
        "notices": notices_part(farm.notices),
        "cautions": cautions_part(farm_cautions(farm)),
    }


def supply_document(
    farm: Farm, fed: Iterable[FedSupply], reasons: Mapping[str, FedWhy] | None = None
) -> Document:
    """The answer of `supply`: what each fed ration gives against what its group needs.

    reasons: by group id, what it carries, wastes and leaves, and what puts it right.
    """
    return {
        **start_of("supply"),
        "farm": farm_part(farm),
        "offers": [offer_part(offer, farm.own_quantities) for offer in farm.offers],
        "groups": [
            {**_fed(farm, group), "why": record_part((reasons or {}).get(group.group))}
            for group in fed
        ],
        "notices": notices_part(farm.notices),
        "cautions": cautions_part(farm_cautions(farm)),
    }


def needs_document(
    farm: Farm,
    needs: Iterable[GroupNeeds],
    opinions: Mapping[str, tuple[Opinion, ...]] | None = None,
    working: bool = False,
) -> Document:
    """The answer of `needs`: each group's requirement with every step that led to it.

    opinions: other standards by group id, where they were asked for. working: with the steps from
    net energy to ME.
    """
    document = {
        **start_of("needs"),
        "farm": farm_part(farm),
        "groups": [_needs(group, working) for group in needs],
        "notices": notices_part(farm.notices),
    }
    if opinions is not None:
        document["second_opinions"] = [
            {"group": group, "opinions": [asdict(opinion) for opinion in found]}
            for group, found in opinions.items()
        ]
    return document


def winter_needs_document(farm: Farm, steps: Iterable[WinterStep]) -> Document:
    """The answer of `needs --over-winter`: each group, part and step with the facts that its need
    is taken at.
    """
    return {
        **start_of("needs_over_winter"),
        "farm": farm_part(farm),
        "steps": [
            {
                "from": step.first.isoformat(),
                "to": step.last.isoformat(),
                "group": step.group.id,
                "class": step.group.animal_class,
                "head": step.group.head,
                "facts": dict(step.group.facts),
                "me_mj": step.me_mj,
                "at_me_mj_per_kg_dm": step.density,
                "mp_required_g": step.needs.mp_required_g,
                "intake_cap_kg_dm": (
                    None if step.needs.intake is None else step.needs.intake.cap_kg_dm
                ),
                "remarks": list(step.needs.remarks),
            }
            for step in steps
        ],
        "notices": notices_part(farm.notices),
    }


def sheets_document(yard: YardSheets) -> Document:
    """The answer of `sheet`: for each group the loads, the pen and the parlour, and what is given
    against what is needed.
    """
    return {
        **start_of("sheet"),
        "farm": farm_part(yard.farm),
        "groups": [_sheet(yard.farm, sheet) for sheet in yard.sheets],
        "without_ration": [one.group for one in yard.without],
        "notices": notices_part(yard.farm.notices),
        "cautions": cautions_part(yard_cautions(yard)),
    }


def _sheet(farm: Farm, sheet: GroupSheet) -> Document:
    load = None if sheet.mix is None else sheet.mix.load
    mix: Document | None = None
    if sheet.mix is not None and load is not None:
        mix = {
            "id": sheet.mix.id,
            "recipe_of": sheet.mix.recipe_of,
            **asdict(load),
            "volume_m3": load.volume_m3,
            "fill": load.fill,
            "drops": [asdict(drop) for drop in sheet.mix.drops],
        }
    return {
        "id": sheet.group,
        "name": sheet.name,
        "head": sheet.head,
        "feeding": asdict(sheet.feeding),
        "kg_fresh": dict(sheet.kg_fresh),
        "mix": mix,
        "pen": None if sheet.pen is None else asdict(sheet.pen),
        "parlour": None if sheet.parlour is None else asdict(sheet.parlour),
        "given": _fed(farm, sheet.fed),
        "remarks": list(sheet.notes),
    }


def check_document(farm: Farm) -> Document:
    """The answer of `check`: the farm as read, with the origin of every figure."""
    stores = [asdict(store) for store in farm.stores]
    return {
        **start_of("check"),
        "farm": farm_part(farm),
        "groups": [_group(group) for group in farm.groups],
        "stores": stores,
        "stocks": [asdict(stock) for stock in farm_stocks(farm).values()],
        "offers": [offer_part(offer, farm.own_quantities) for offer in farm.offers],
        "notices": notices_part(farm.notices),
        "cautions": cautions_part(farm_cautions(farm)),
    }


def clamp_document(
    farm: Farm, stocks: Mapping[str, StoreStock], uses: Iterable[StoreUse]
) -> Document:
    """The answer of `clamp`: what each store holds, step by step, and what the stated use does to
    it.
    """
    return {
        **start_of("clamp"),
        "farm": farm_part(farm),
        "stocks": [asdict(stock) for stock in stocks.values()],
        "uses": [asdict(use) for use in uses],
        "notices": notices_part(farm.notices),
        "cautions": cautions_part(store_cautions(farm, stocks)),
    }


def feeds_document(feeds: Iterable[Feed], own: Mapping[str, Quantity] | None = None) -> Document:
    """Feeds of the tables with every figure traced."""
    return {**start_of("feeds"), "feeds": [_feed(feed, own or {}) for feed in feeds]}


def farm_part(farm: Farm) -> Document:
    return {
        "name": farm.name,
        "currency": farm.currency,
        "start": farm.start.isoformat(),
        "turnout": farm.turnout.isoformat(),
        "day": (farm.day or farm.start).isoformat(),
        "margins": {
            "me": farm.margins.me,
            "mp": farm.margins.mp,
            "me_milking": farm.margins.me_milking,
        },
        "home_grown_price": farm.home_grown_price,
        "over_energy_price_per_mj": farm.over_energy_price_per_mj,
        "mineral_shortage_price_per_g": farm.mineral_shortage_price_per_g,
        "feeding": asdict(farm.feeding),
    }


def _group(group: Group) -> Document:
    return {
        "id": group.id,
        "name": group.name,
        "class": group.animal_class,
        "head": group.head,
        "fed": group.fed,
        "facts": dict(group.facts),
        "barred": sorted(group.barred),
        "feed_limits": [asdict(limit) for limit in group.feed_limits],
        "quantity_limits": [asdict(limit) for limit in group.quantity_limits],
        "intake_kg_dm": group.intake_kg_dm,
        "intake_equation": group.intake_equation,
        "appetite_share": group.appetite_share,
        "maint_factor": group.maint_factor,
        "origin": group.origin,
        "feeding": None if group.feeding is None else asdict(group.feeding),
        "calendar": _calendar(group.calendar),
    }


def _calendar(calendar: Calendar | None) -> Document | None:
    if calendar is None:
        return None
    return {
        "start": calendar.start.isoformat(),
        "first_birth": None if calendar.first_birth is None else calendar.first_birth.isoformat(),
        "spread_weeks": calendar.spread_weeks,
        "after_class": calendar.after_class,
        "after": dict(calendar.after),
        "changes": [
            {"from": change.start.isoformat(), "head": change.head, "facts": dict(change.facts)}
            for change in calendar.changes
        ],
    }


def _feed(feed: Feed, own: Mapping[str, Quantity]) -> Document:
    figures: Document = {}
    for name, figure in feed.figures.items():
        found = known(name, own)
        figures[name] = {
            "value": figure.value,
            "unit": "" if found is None else found.unit,
            "origin": figure.origin,
            "status": figure.status,
            "source": figure.source,
        }
    return {
        "key": feed.key,
        "name": feed.name,
        "kind": feed.kind,
        "figures": figures,
        "note": feed.note,
    }


def offer_part(offer: Offer, own: Mapping[str, Quantity]) -> Document:
    return {
        "id": offer.id,
        "name": offer.name,
        "bought": offer.bought,
        "price_per_t_fresh": offer.price_per_t_fresh,
        "price_per_kg_dm": offer.price_per_kg_dm,
        "least_t": offer.least_t,
        "most_t": offer.most_t,
        "load_t": offer.load_t,
        "feed": _feed(offer.feed, own),
    }


def _needs(needs: GroupNeeds, working: bool = False) -> Document:
    document: Document = asdict(needs)
    document["mp_required_g"] = needs.mp_required_g
    if working:
        from rationlp.needs.working import energy_working

        document["working"] = [asdict(step) for step in energy_working(needs)]
    return document


def record_part(record: Why | FedWhy | None) -> Document | None:
    return None if record is None else asdict(record)


def _trace(trace: Trace) -> Document:
    from rationlp.model.trace import slug

    return {
        "objective": trace.objective,
        "columns": [
            {
                "name": slug(c.key),
                "title": c.title,
                "unit": c.unit,
                "cost": c.cost,
                "low": c.low,
                "high": c.high,
            }
            for c in trace.columns
        ],
        "rows": [
            {
                "name": slug(row.key),
                "kind": row.kind,
                "title": row.title,
                "unit": row.unit,
                "why": row.why,
                "low": row.low,
                "high": row.high,
                "coefficients": {slug(key): value for key, value in row.coefs.items()},
            }
            for row in trace.rows
        ],
    }


def _ration(farm: Farm, group: GroupRation) -> Document:
    sheet = parlour(farm, group)
    return {
        "id": group.group,
        "name": group.name,
        "head": group.head,
        "status": group.status,
        "feed_cost": group.feed_cost,
        "penalty": group.penalty,
        "dm_kg": group.dm_kg,
        "me_mj_per_kg_dm": group.me_mj_per_kg_dm,
        "amounts": [asdict(amount) for amount in group.amounts],
        "supply": [asdict(line) for line in group.supply],
        "proof": None if group.proof is None else asdict(group.proof),
        "parlour": None if sheet is None else asdict(sheet),
        "tidy": None if group.tidy is None else asdict(group.tidy),
        "shortfalls": [asdict(shortfall) for shortfall in group.shortfalls],
        "at_limit": list(group.at_limit),
        "clash": None if group.clash is None else asdict(group.clash),
        "remedies": [asdict(remedy) for remedy in group.remedies],
        "remarks": list(group.remarks),
        "cautions": cautions_part(ration_cautions(farm, group)),
        "needs": _needs(group.needs),
    }


def change_part(change: ChangeOver | None) -> Document | None:
    """The way from one ration to another; null where there is none."""
    return None if change is None else {**asdict(change), "sentences": list(change.sentences)}


def _fed(farm: Farm, group: FedSupply) -> Document:
    return {
        "id": group.group,
        "name": group.name,
        "feed_cost": group.feed_cost,
        "dm_kg": group.dm_kg,
        "me_mj_per_kg_dm": group.me_mj_per_kg_dm,
        "level_of_feeding": group.level_of_feeding,
        "amounts": [asdict(amount) for amount in group.amounts],
        "supply": [asdict(line) for line in group.supply],
        "remarks": list(group.remarks),
        "cautions": cautions_part(ration_cautions(farm, group)),
        "needs": _needs(group.needs),
    }


def cautions_part(cautions: Iterable[Caution]) -> list[Document]:
    parts = [asdict(caution) for caution in cautions]
    for part in parts:
        if not part["new"]:
            del part["new"]
    return parts


def notices_part(notices: Iterable[Finding]) -> list[Document]:
    return [asdict(notice) for notice in notices]
