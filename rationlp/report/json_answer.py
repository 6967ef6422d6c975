"""Any answer as JSON, made from the record itself: `answers/` holds one for each kind of answer.

Full precision, the order of the fields, no clock. A date is ISO text, a set a sorted list, a number
that is not finite null. `tests/answers_schema.py` makes the JSON Schema from the same records.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import fields
from functools import cache, cached_property
from math import isfinite
from typing import Any

from rationlp.after.exact import Parts, as_plain
from rationlp.report.answers.base import Composed
from rationlp.report.story import Story
from rationlp.report.terminal import CLOSING_LINE

SCHEMA_VERSION = "2.0"

KINDS = {
    "ration": "RationAnswer",
    "supply": "SupplyAnswer",
    "needs": "NeedsAnswer",
    "needs_over_winter": "WinterNeedsAnswer",
    "check": "CheckAnswer",
    "feeds": "FeedsAnswer",
    "clamp": "ClampAnswer",
    "last_year": "LastYearAnswer",
    "sheet": "SheetAnswer",
    "record": "RecordAnswer",
    "winter": "WinterAnswer",
    "last": "LastAnswer",
    "switch": "SwitchAnswer",
    "switch_winter": "WinterSwitch",
    "worth": "Worth",
    "promise": "Promises",
    "promise_winter": "WinterPromise",
    "manure": "WinterManure",
    "what_if": "WhatIfAnswer",
    "sure_winter": "WinterSureness",
    "sure_rations": "SureAnswer",
    "grow": "GrowAnswer",
    "log": "LogAnswer",
    "standards": "ByStandards",
    "winter_standards": "WinterByStandards",
}
"""Kinds of answers, and the record that each is made from."""

COMPUTED = {
    "Course": ("money", "priced", "gap", "late_share", "dearest_tenth", "dearest_money"),
    "HeldRisk": ("reserve_t_dm",),
    "ChangeOver": ("sentences",),
    "CropHeld": ("short_t_dm",),
    "GroupNeeds": ("mp_required_g",),
    "GroupSwitch": ("whole_change",),
    "Judgement": ("energy_share", "protein_share"),
    "LastYear": ("ratio",),
    "WinterManure": ("n_kg", "p2o5_kg"),
    "Load": ("volume_m3", "fill"),
    "Offer": ("price_per_kg_dm",),
    "Period": ("days",),
    "PlanRation": ("animal_class",),
    "ShortAlone": ("fed",),
    "StorePlan": ("used_t_dm",),
    "SwitchSteps": ("best",),
}
"""Properties that are told besides the fields, by class."""

LEFT_OUT = {
    "CheckAnswer": ("by_store",),
    "Course": ("values", "reduced"),
    "SpreadPlan": ("farm",),
    "Farm": ("place", "offers", "stores", "groups", "feeds", "growing"),
    "OffersAnswer": ("called_for",),
    "PlanRation": ("needs",),
    "Row": ("words",),
    "GroupSheet": ("before", "fed", "passed", "passed_before"),
    "SwitchSteps": ("farm", "first", "second"),
    "WinterAnswer": ("facts",),
}
"""Fields that are not told, by class: a path of this machine, what stands elsewhere in the answer
or in another one."""


def document(kind: str, answer: Any) -> dict[str, Any]:
    """An answer of one of `KINDS`, from the record named there, as plain data for `json_text`."""
    start = {"schema_version": SCHEMA_VERSION, "kind": kind, "caution": CLOSING_LINE}
    return {**start, **plain(answer)}


def story_json(story: Story) -> str:
    """A story's answer as JSON text."""
    answer = story.answer()
    kind = next(kind for kind, name in KINDS.items() if name == answer.__class__.__name__)
    return json_text(document(kind, answer))


def plain(value: Any) -> Any:
    """A record, or anything made of records, as plain data."""
    return as_plain(value, _parts, _number)


def json_text(document: Mapping[str, Any]) -> str:
    """Plain data as UTF-8 JSON text, ended by a line feed."""
    return json.dumps(document, ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def _number(value: float) -> float | None:
    if not isfinite(value):
        return None
    return value or 0.0  # no minus nought


def _parts(record: Any) -> Parts:
    """The names and values that a record is told by."""
    if isinstance(record, Composed) and record.of:
        yield from _parts(getattr(record, record.of))
    for name in names_of(record.__class__):
        yield name, getattr(record, name)


@cache
def names_of(record: Any) -> tuple[str, ...]:
    """The fields and properties that a record is told by, beside those of the part named `of`."""
    left_out = tuple(name for of in record.__mro__ for name in LEFT_OUT.get(of.__name__, ()))
    computed = COMPUTED.get(record.__name__, ())
    if issubclass(record, Composed):
        left_out, computed = (*left_out, record.of), tuple(_properties(record))
    names = (*(field.name for field in fields(record)), *computed)
    return tuple(name for name in names if name not in left_out)


def _properties(record: type) -> Iterator[str]:
    for base in reversed(record.__mro__):
        for name, value in vars(base).items():
            if isinstance(value, (property, cached_property)):
                yield name
