"""Answers that compare several solves, as JSON documents."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from rationlp.ask.whatif import Outcome, WhatIf
from rationlp.report.documents import Document, farm_part, notices_part, start_of


def what_if_document(answer: WhatIf) -> Document:
    """The answer of `whatif`: the farm as it stands and every scenario, with the differences."""
    return {
        **start_of("what_if"),
        "farm": farm_part(answer.farm),
        "now": [_outcome(one, one) for one in answer.now],
        "scenarios": [_outcome(one, answer.before(one)) for one in answer.outcomes],
        "notices": notices_part(answer.farm.notices),
    }


def _outcome(one: Outcome, before: Outcome) -> Document:
    both = one.cost is not None and before.cost is not None
    return {
        "name": one.name,
        "group": one.group or None,
        "status": one.status,
        "cost": one.cost,
        "more_than_now": one.cost - before.cost if one.cost is not None and before.cost is not None else None,
        "bought_cost": one.bought_cost,
        "gap": one.gap,
        "fed": [{"offer": name, "bought": name in one.bought, "amount_fresh": kg} for name, kg in one.fed.items()],
        "runs_out": [
            {"store": name, "day": None if day is None else day.isoformat()} for name, day in one.runs_out.items()
        ],
        "turnout": None if one.turnout is None else one.turnout.isoformat(),
        "came_in": list(one.came_in(before)) if both else [],
        "went_out": list(one.went_out(before)) if both else [],
        "short": one.short,
    }
