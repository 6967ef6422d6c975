"""Everything the page shows of a table: farm, answer, what is tried, edits, notices."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from rationlp.after.kept import plan_files
from rationlp.live.desk import BESIDE
from rationlp.live.handles import handles
from rationlp.live.phases import REFUSED, SAID, WORKING
from rationlp.live.place_asked import PLACES
from rationlp.live.shown import (
    days,
    difference,
    edit_json,
    edits_json,
    former,
    set_json,
    unless_there,
)

if TYPE_CHECKING:
    from rationlp.live.table import Table

Json = dict[str, Any]


def state_of(table: Table, has: Mapping[str, int]) -> Json:
    """The state of a table, whose lock is held. has: marks of the answers that the page has, by
    `answer` and `before`: they are most of it, and are not sent again.
    """
    farm, edits, phase = table.now.farm, table.edits, table.phase
    before, answer = table.beside(), table.answer
    current = phase not in (WORKING, REFUSED)
    return {
        "version": table.version,
        "said": table.said,
        "serial": dict(table.serials),
        "new": False,
        "phase": phase,
        "said_phase": SAID[phase],
        "farm": {
            "name": farm.name,
            "currency": farm.currency,
            "start": farm.start.isoformat(),
            "turnout": farm.turnout.isoformat(),
            "folder": table.folder.name,
        },
        "days": days(farm, answer),
        "answer": unless_there(answer, has.get("answer")),
        "stale": not current,
        "before": unless_there(former(before), has.get("before")),
        "difference": difference(farm.currency, before, answer) if current else "",
        "faults": table.faults,
        "enough": table.enough(),
        "handles": handles(farm, table.base.farm),
        "tried": [edit_json(change) for change in edits.changes() if change.path in edits.tried],
        "edits": edits_json(edits.changes(False)),
        "can_undo": bool(edits.before),
        "can_redo": bool(edits.after),
        "unsaved": bool(edits.kept),
        "sets": [set_json(name, texts, table.known(texts)) for name, texts in edits.sets.items()],
        "file_changed": table.on_disk(),
        "kept_plan": bool(plan_files(table.folder)),
        "offered": [] if table.offered is None else edits_json(table.offered.changes()),
        "notices": [*map(str, farm.notices), *filter(None, _beside(table))],
        "places": [{"name": name, "title": title} for name, title in PLACES.items()],
    }


def _beside(table: Table) -> list[str]:
    """What is to be said of what waits beside the farm."""
    return [table.not_put_by, BESIDE if table.desk.others() else ""]
