"""Changes that would each be enough where a winter cannot be fed, looked for in a process of its
own and told as edits that can be tried.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import timedelta
from multiprocessing.connection import Connection
from threading import Lock
from typing import Any

from rationlp.after.stock import stocks_of
from rationlp.ask.enough import GAIN, SingleChange, enough_changes
from rationlp.errors import RationError
from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.live.phases import NONE
from rationlp.live.solving import Job, Process, Told, newest
from rationlp.report.why import ENOUGH_CHANGES, NO_CHANGE

Json = dict[str, Any]
MOST = 12
"""Farms of which the changes are remembered."""
CLOSE_T_DM = 1e-9
NOT_WORKED_OUT = "Changes that would be enough could not be worked out."


def look(jobs: Connection[Any, Any]) -> None:
    """The life of the process that looks for changes: the newest job is answered."""
    while True:
        job = newest(jobs)
        if job is None:
            return
        try:
            jobs.send(Told(job.number, NONE, {"changes": enough_json(job)}))
        except RationError as trouble:
            jobs.send(Told(job.number, NONE, trouble=str(trouble)))


def enough_json(job: Job) -> list[Json]:
    """Single changes that would be enough for a plan that leaves somebody short. Raises InputError
    and SolverTrouble as a plan does.
    """
    plan = job.plan
    short = {shortfall.group for shortfall in plan.shortfalls}
    changes = enough_changes(plan.farm, short, stocks_of(plan), plan.periods[0].first)
    return [change_json(change, plan.farm, job.farm.stocks, stocks_of(plan)) for change in changes]


def change_json(
    change: SingleChange,
    farm: Farm,
    stocks: Mapping[str, StoreStock],
    planned: Mapping[str, StoreStock],
) -> Json:
    """A change in words, with the edits that try it; none for a feed that is not bought so far, and
    for a store of which a log says what is left. stocks: as the farm has them; planned: as the plan
    began with them.
    """
    return {
        "kind": change.kind,
        "subject": change.subject,
        "words": change.words,
        "cost": change.cost,
        "edits": [
            {"path": path, "value": value}
            for path, value in _edit(change, farm, stocks, planned).items()
        ],
    }


def _edit(
    change: SingleChange,
    farm: Farm,
    stocks: Mapping[str, StoreStock],
    planned: Mapping[str, StoreStock],
) -> Json:
    if change.kind == "turnout":
        turnout = farm.turnout - timedelta(days=round(change.amount))
        return {"winter.turnout": turnout.isoformat()}
    if change.kind == "head":
        head = next(group.head for group in farm.groups if group.id == change.subject)
        return {f"{change.subject}.head": head - round(change.amount)}
    if change.kind == "gain":
        group = next(group for group in farm.groups if group.id == change.subject)
        return {f"{change.subject}.{GAIN}": round(group.number(GAIN) - change.amount, 3)}
    if change.kind == "buy":
        bought = any(offer.bought and offer.id == change.subject for offer in farm.offers)
        return {f"{change.subject}.most_t": change.amount} if bought else {}
    held = planned[change.subject].edible_t_dm.typical
    if abs(held - stocks[change.subject].edible_t_dm.typical) > CLOSE_T_DM:
        return {}
    more = change.amount * farm.offer(change.subject).feed.dm_g_per_kg / 1000.0
    return {f"{change.subject}.edible_t_dm": held + more}


def told_of(changes: list[Json] | None) -> Json:
    """What is told of the changes; None while they are looked for."""
    words = ENOUGH_CHANGES
    if changes is not None and not changes:
        words = NO_CHANGE
    return {"words": words, "changes": changes}


class Enough:
    """The changes of the farms that could not be fed. came: called when some came."""

    def __init__(self, came: Callable[[], None]) -> None:
        self._came, self._lock = came, Lock()
        self._process = Process(look, self._told)
        self._known: dict[Any, list[Json]] = {}
        self._asked: tuple[int, Any] = (0, None)
        self._failed: Any = None

    def ask(self, key: Any, job: Job) -> None:
        """Look for the changes of a farm, unless they are known. key: what makes it another one."""
        with self._lock:
            if key in self._known:
                return
            self._asked, self._failed = (job.number, key), None
        self._process.ask(job)

    def of(self, key: Any) -> Json:
        """What is told of the changes of a farm."""
        with self._lock:
            if key == self._failed:
                return {"words": NOT_WORKED_OUT, "changes": []}
            return told_of(self._known.get(key))

    def stop(self) -> None:
        """End what is being looked for."""
        self._process.stop()

    def end(self) -> None:
        """End the process."""
        self._process.end()

    def _told(self, told: Told) -> None:
        with self._lock:
            number, key = self._asked
            if told.number != number:
                return
            if told.answer is None:
                self._failed = key
            else:
                self._known[key] = told.answer["changes"]
            for old in [one for one in self._known if one != key][: len(self._known) - MOST]:
                del self._known[old]
        self._came()
