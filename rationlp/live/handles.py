"""What can be changed: sliders for what most often moves, and every field of every object of the
farm's folder with its unit, its range and where its figure came from.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import timedelta
from typing import Any

import annotated_types
from pydantic.fields import FieldInfo

from rationlp.farm.animals import CLASSES
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.read.changed import Begun
from rationlp.read.schema import LISTS, TABLES
from rationlp.read.stores import KINDS

Json = dict[str, Any]
MOST_WEEKS = 8
"""So far a slider moves turnout either way [weeks]."""
_UNITS = {
    "_t_fresh": "t fresh", "_t_dm": "t DM", "_kg_dm": "kg DM", "_kg_fresh": "kg fresh",
    "_per_day": "a day", "_kg": "kg", "_m": "m", "_m3": "m3", "_t": "t", "_ha": "ha",
    "_days": "days", "_degrees": "degrees", "_c": "°C", "_g_per_kg": "g/kg",
}  # fmt: skip
_FIGURES = (
    ("dm_g_per_kg", "dry matter", "g/kg", 60.0, 1.0),
    ("me_mj_per_kg_dm", "ME", "MJ/kg DM", 1.5, 0.1),
)
_SKIPPED = frozenset(
    {"id", "name", "feed", "analysis", "kind", "periods", "period_starts", "look_days", "currency"}
)


def handles(now: Farm, base: Farm) -> list[Json]:
    """Sliders: turnout, prices, dry matter and ME of silages, heads, tonnes of stores. base: the
    farm without what is tried.
    """
    found = [_turnout(now, base)]
    before = {offer.id: offer for offer in base.offers}
    for offer in now.offers:
        old = before.get(offer.id, offer)
        if offer.bought:
            found.append(_price(now, offer, old))
        elif offer.feed.is_forage and "silage" in offer.feed.key:
            found += _analysis(offer, old)
    heads = {group.id: group.head for group in base.groups}
    for group in now.groups:
        high = max(10, 2 * heads.get(group.id, group.head))
        found.append(
            _handle(f"{group.id}.head", group.name, "head", "head", "group")
            | {"value": group.head, "base": heads.get(group.id, group.head), "low": 1}
            | {"high": high, "step": 1, "kind": "whole"}
        )
    return found


def _handle(path: str, label: str, what: str, unit: str, about: str) -> Json:
    return {"path": path, "label": label, "what": what, "unit": unit, "about": about}


def _turnout(now: Farm, base: Farm) -> Json:
    room = timedelta(weeks=MOST_WEEKS)
    low = max(base.turnout - room, base.start + timedelta(days=1))
    return _handle("winter.turnout", "Turnout", "day", "", "winter") | {
        "value": now.turnout.isoformat(),
        "base": base.turnout.isoformat(),
        "low": low.isoformat(),
        "high": (base.turnout + room).isoformat(),
        "step": 1,
        "kind": "date",
    }


def _price(farm: Farm, offer: Offer, old: Offer) -> Json:
    price = old.price_per_t_fresh
    unit = f"{farm.currency}/t fresh"
    return _handle(f"{offer.id}.price_per_t_fresh", offer.name, "price", unit, "bought") | {
        "value": offer.price_per_t_fresh,
        "base": price,
        "low": round(0.5 * price),
        "high": max(round(2.0 * price), 10),
        "step": 1,
        "kind": "number",
    }


def _analysis(offer: Offer, old: Offer) -> Iterator[Json]:
    """Dry matter and ME of a silage, within what its figure may be out."""
    for key, what, unit, room, step in _FIGURES:
        value, base = offer.feed.value(key), old.feed.value(key)
        if value is None or base is None:
            continue
        yield _handle(f"{offer.id}.{key}", offer.name, what, unit, "store") | {
            "value": value,
            "base": base,
            "low": round(base - room, 1),
            "high": round(base + room, 1),
            "step": step,
            "kind": "number",
        }


def things(begun: Begun, farm: Farm) -> list[Json]:
    """Every editable object with its fields, as the farm has them now."""
    raw: Mapping[str, Any] = begun.source.raw
    found = [
        {
            "id": name,
            "list": name,
            "name": name.replace("_", " ").capitalize(),
            "kind": "table",
            "fields": list(_fields(name, model.model_fields, _table(raw.get(name)), ())),
            "drawing": None,
        }
        for name, model in TABLES.items()
        if name != "farm"
    ]
    found += [_store(farm, store, raw) for store in farm.stores]
    found += [_bought(offer) for offer in farm.offers if offer.bought]
    found += [_group(group, raw) for group in farm.groups]
    found += [_outlet(outlet) for outlet in farm.outlets]
    return found


def _table(value: Any) -> Mapping[str, Any]:
    return value if isinstance(value, Mapping) else {}


def _entry(raw: Mapping[str, Any], listed: str, name: str) -> Mapping[str, Any]:
    entries = raw.get(listed, [])
    return next((entry for entry in entries if (entry.get("id") or entry.get("feed")) == name), {})


def _store(farm: Farm, store: Any, raw: Mapping[str, Any]) -> Json:
    offer = next(offer for offer in farm.offers if offer.id == store.id)
    sizes = [
        _field(f"{store.id}.{size.key}", size.key, store.size.get(size.key))
        | {"words": size.words, "required": size.required, "choices": list(size.choices)}
        | ({"low": size.low, "high": size.high} if size.high else {})
        | ({"kind": "word"} if size.choices else {})
        | ({"kind": "date"} if size.high == 0 and not size.choices else {})
        for size in KINDS[store.kind]
    ]
    stated = _entry(raw, "stores", store.id)
    own = _fields(store.id, LISTS["stores"].model_fields, stated, ())
    figures = _figures(offer)
    return {
        "id": store.id,
        "list": "stores",
        "name": store.name,
        "kind": store.kind,
        "feed": offer.feed.key,
        "fields": [*sizes, *own, *figures],
        "drawing": None,
    }


def _figures(offer: Offer) -> list[Json]:
    """Dry matter and energy of a feed, and where each figure came from."""
    found = []
    for key, words, unit, *_ in _FIGURES:
        figure = offer.feed.figures.get(key)
        if figure is None:
            continue
        field = _field(f"{offer.id}.{key}", key, offer.feed.value(key))
        found.append(field | {"words": words, "unit": unit, "status": str(figure.origin)})
    return found


def _bought(offer: Offer) -> Json:
    values = {
        key: getattr(offer, key)
        for key in LISTS["bought"].model_fields
        if hasattr(offer, key) and key not in _SKIPPED
    }
    fields = list(_fields(offer.id, LISTS["bought"].model_fields, values, ()))
    return {
        "id": offer.id,
        "list": "bought",
        "name": offer.name,
        "kind": offer.feed.kind,
        "fields": [*fields, *_figures(offer)],
        "drawing": None,
    }


def _group(group: Any, raw: Mapping[str, Any]) -> Json:
    facts = [
        _field(f"{group.id}.{fact.key}", fact.key, group.facts.get(fact.key))
        | {"words": fact.words, "required": fact.required, "choices": list(fact.choices)}
        | ({"low": fact.low, "high": fact.high} if not fact.choices else {"kind": "word"})
        | ({"kind": "whole"} if fact.whole else {})
        for fact in CLASSES[group.animal_class]
    ]
    stated = _entry(raw, "groups", group.id)
    own = _fields(group.id, LISTS["groups"].model_fields, {**stated, "head": group.head}, ())
    limits = [
        _field(f"{group.id}.feed_limits.{limit.offer}.{key}", key, getattr(limit, key))
        | {"words": f"{limit.offer}: {key.replace('_', ' ')}"}
        for limit in group.feed_limits
        for key in ("min_kg_fresh", "max_kg_fresh", "min_share_of_dm", "max_share_of_dm")
        if getattr(limit, key) is not None
    ]
    return {
        "id": group.id,
        "list": "groups",
        "name": group.name,
        "kind": group.animal_class,
        "fields": [*own, *facts, *limits],
        "drawing": None,
    }


def _outlet(outlet: Any) -> Json:
    model = LISTS["outlets"].model_fields
    values = {key: getattr(outlet, key) for key in model if hasattr(outlet, key)}
    fields = list(_fields(outlet.id, model, values, ("stores",)))
    return {
        "id": outlet.id,
        "list": "outlets",
        "name": outlet.name,
        "kind": "outlet",
        "fields": fields,
        "drawing": None,
    }


def _fields(
    name: str, model: Mapping[str, FieldInfo], values: Mapping[str, Any], skipped: Iterable[str]
) -> Iterator[Json]:
    """The single figures, days and words of a table; its lists and inner tables are left out."""
    for key, info in model.items():
        kind, choices = _kind(str(info.annotation))
        if kind is None or key in _SKIPPED or key in skipped or info.alias not in (None, key):
            continue
        value = values.get(key, None if info.is_required() else info.default)
        bounds = _bounds(info)
        field = _field(f"{name}.{key}", key, value)
        yield field | bounds | {"kind": kind, "choices": choices, "required": info.is_required()}


def _kind(annotation: str) -> tuple[str | None, list[str]]:
    """What kind of field an annotation makes, and its words to choose from."""
    if "list[" in annotation or "dict[" in annotation or "Table" in annotation:
        return None, []
    if "Literal[" in annotation:
        words = annotation.partition("Literal[")[2].partition("]")[0]
        return "word", [word.strip(" '\"") for word in words.split(",")]
    for mark, kind in (("bool", "flag"), ("date", "date"), ("float", "number"), ("int", "whole")):
        if mark in annotation:
            return kind, []
    return None, []


def _bounds(info: FieldInfo) -> Json:
    found: Json = {}
    rules = [*info.metadata]
    for part in getattr(info.annotation, "__args__", ()):
        for rule in getattr(part, "__metadata__", ()):
            rules += getattr(rule, "metadata", [rule])
    for rule in rules:
        if isinstance(rule, (annotated_types.Ge, annotated_types.Gt)):
            found["low"] = getattr(rule, "ge", getattr(rule, "gt", None))
        elif isinstance(rule, (annotated_types.Le, annotated_types.Lt)):
            found["high"] = getattr(rule, "le", getattr(rule, "lt", None))
    return {key: value for key, value in found.items() if isinstance(value, (int, float))}


def _field(path: str, key: str, value: Any) -> Json:
    """A field with what its name and its value say of it."""
    kind = "number"
    if isinstance(value, bool):
        kind = "flag"
    elif isinstance(value, int):
        kind = "whole"
    elif isinstance(value, str):
        kind = "word"
    elif value is not None and hasattr(value, "isoformat"):
        kind, value = "date", value.isoformat()
    unit = next((unit for ending, unit in _UNITS.items() if key.endswith(ending)), "")
    return {
        "path": path,
        "key": key,
        "words": key.replace("_", " "),
        "unit": unit,
        "kind": kind,
        "value": value,
        "low": None,
        "high": None,
        "choices": [],
        "status": "stated" if value is not None else "",
        "required": False,
    }
