"""Parts of what the page shows at any time: edits in words, the days of the winter, what is tried
against what is not.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from typing import Any

from rationlp.errors import Finding
from rationlp.farm.farm import Farm
from rationlp.farm.group import Group
from rationlp.live.edits import fault_of
from rationlp.live.phases import PROVED, SETTLED
from rationlp.live.remembered import Known
from rationlp.read.changed import Change
from rationlp.read.changed_paths import EDIBLE

Json = dict[str, Any]


def first_shown(farm: Farm) -> date:
    """The day that is shown first: today where it lies in the winter."""
    today = date.today()
    return farm.start if today > farm.turnout else max(today, farm.start)


def days(farm: Farm, answer: Json | None) -> Json:
    """The days of the winter with what happens on them, and the day that is shown first."""
    return {
        "first": farm.start.isoformat(),
        "last": farm.turnout.isoformat(),
        "today": first_shown(farm).isoformat(),
        "marks": marks(farm, answer),
    }


def marks(farm: Farm, answer: Json | None) -> list[Json]:
    """What happens on the days of the winter: births, changes of groups and rations, stores."""
    found: list[tuple[date, str, str]] = [(farm.turnout, "turnout", "turnout")]
    for group in farm.groups:
        calendar = group.calendar
        if calendar is not None:
            kind = "calving"
            if "ewe" in group.animal_class:
                kind = "lambing"
            if calendar.first_birth is not None:
                found.append((calendar.first_birth, kind, f"{group.name}: {kind} begins"))
            found += [
                (change.start, "group", f"{group.name} changes") for change in calendar.changes
            ]
        found += [(day, "group", f"{group.name} {words}") for day, words in _moves(group)]
    inside = [one for one in found if farm.start <= one[0] <= farm.turnout]
    told = [{"day": day.isoformat(), "kind": kind, "words": words} for day, kind, words in inside]
    if answer is not None:
        for store in answer["enough"]["stores"]:
            if store["opens"]:
                told.append({"day": store["opens"], "kind": "opens", "words": store["name"]})
            if store["lasts_to"]:
                words = f"{store['name']} is empty"
                told.append({"day": store["lasts_to"], "kind": "runs_out", "words": words})
        for change in answer["changes"]:
            told.append({"day": change["day"], "kind": "change", "words": change["words"]})
    return sorted(told, key=lambda one: (one["day"], one["kind"], one["words"]))


def _moves(group: Group) -> Iterator[tuple[date, str]]:
    if group.housed is not None:
        yield group.housed, "housed"
    if group.out is not None:
        yield group.out, "go out"


def former(answer: Json | None) -> Json | None:
    """An answer that stands behind another one: without what each ration supplies, which is most of
    it and is not drawn there.
    """
    if answer is None:
        return None
    groups = [
        {**card, "rations": [{**ration, "supply": []} for ration in card["rations"]]}
        for card in answer["groups"]
    ]
    return {**answer, "groups": groups}


def unless_there(answer: Json | None, mark: int | None) -> Json | None:
    """An answer; its mark alone where the page has the answer of that mark."""
    if answer is None or mark is None or answer.get("mark") != mark:
        return answer
    return {"mark": mark, "same": True}


def edit_json(change: Change) -> Json:
    """An edit with its words."""
    name, _, key = change.path.rpartition(".")
    words = f"{name.replace('_', ' ')}: {key.replace('_', ' ')} {change.text}"
    if key == EDIBLE:
        words = f"{name.replace('_', ' ')}: {float(change.text):,.1f} t DM to feed"
    return {"path": change.path, "value": change.text, "words": words}


def edits_json(changes: Iterable[Change]) -> list[Json]:
    """Edits with their words."""
    return [edit_json(change) for change in changes]


def set_json(name: str, texts: Mapping[str, str], known: Known | None) -> Json:
    """A named set of edits with its cost, None where it is not worked out."""
    edits = [edit_json(Change(path, "=", text)) for path, text in texts.items()]
    words = "; ".join(f"{path} = {text}" for path, text in texts.items())
    cost = None
    if known is not None:
        cost = known.answer["cost"]
    return {"name": name, "edits": edits, "cost": cost, "words": words}


def difference(currency: str, before: Json | None, answer: Json | None) -> str:
    """What is tried against what is not, in a line: cost, and stores that end on other days."""
    if before is None or answer is None or before["cost"] is None or answer["cost"] is None:
        return ""
    phase = answer["phase"]
    if phase not in (SETTLED, PROVED) or before["phase"] != phase:
        # A settled plan is not yet one that a yard can mix: it would look cheaper than it is.
        return ""
    more = answer["cost"] - before["cost"]
    told = [f"{currency} {abs(more):,.0f} {'dearer' if more > 0 else 'cheaper'}"]
    if abs(more) < 0.5:
        told = ["costs the same"]
    old = {one["id"]: one for one in before["enough"]["stores"]}
    for store in answer["enough"]["stores"]:
        was = old.get(store["id"])
        if was is None or was["lasts_to"] == store["lasts_to"]:
            continue
        told.append(f"{store['name']}: {store['words']}, {store['more']}")
    if phase == SETTLED:
        told.append("proof follows")
    return "; ".join(told)


def no_answer(trouble: str) -> dict[str, Any]:
    """The fault of a farm without an answer that passes its own check (IN906)."""
    remedy = "put the last change back; the answer before it is still shown"
    return fault_of(Finding("IN906", "answer", trouble, remedy))
