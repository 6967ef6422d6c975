"""Values of farm.toml: as numbers, however large they are written, and as errors show them."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from math import inf

MOST_SHOWN = 60


def shown(value: object) -> str:
    """A value as the farm file writes it, cut to 60 characters: text quoted, lists by name."""
    if isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, str):
        text = json.dumps(value, ensure_ascii=False)
    elif isinstance(value, Mapping):
        text = "a table"
    elif isinstance(value, (list, tuple)):
        text = "a list"
    elif isinstance(value, date):
        text = value.isoformat()
    else:
        text = f"{value}"
    if len(text) <= MOST_SHOWN:
        return text
    return f"{text[:MOST_SHOWN]}…"


def as_number(value: object) -> float | None:
    """A number as a float, None for anything else, true and false too; inf if too large."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return None
    try:
        return float(value)
    except OverflowError:
        return inf if value > 0 else -inf
