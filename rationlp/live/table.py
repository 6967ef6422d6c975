"""The table at which a farm is looked at: its folder, its edits, the answers that came, and who is
told of them. All pages on one farm sit at one table.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, timedelta
from itertools import count
from pathlib import Path
from threading import RLock, Thread
from typing import Any

from rationlp.errors import InputError, RationError
from rationlp.farm.farm import Farm
from rationlp.live.desk import Desk
from rationlp.live.edits import Edits, changes_of, checked, fault_of, savable, sent_changes, stale
from rationlp.live.enough import Enough
from rationlp.live.folder import (
    both_versions,
    changed_on_disk,
    differences,
    drafted,
    save,
    signature,
)
from rationlp.live.phases import DAY, NONE, ORDER, PROVED, REFUSED, SETTLED, WORKING
from rationlp.live.place_asked import Asked
from rationlp.live.quick import KeptQuick, Quick
from rationlp.live.remembered import Known, Remembered
from rationlp.live.shown import first_shown, no_answer
from rationlp.live.solving import Job, Process, Told, first_day, prove, settle
from rationlp.live.state import state_of
from rationlp.live.warm import PRICE
from rationlp.read.changed import ChangedFarm, begin

MOST_NAME = 80
"""A longer name of a set is cut [signs]."""
Json = dict[str, Any]
Tell = Callable[[str, Json], None]


class Table:
    """One farm and its edits. tell: told of every event, by name and content. All that changes it
    goes through `_lock`; solving is in processes of its own. Raises InputError where the folder
    cannot be read.
    """

    def __init__(self, folder: Path, tell: Tell) -> None:
        self.folder, self._tell = folder, tell
        self._lock = RLock()
        self.version, self.said = 0, 0
        self.serials: dict[str, int] = {}
        self.edits = Edits()
        self.phase, self.faults = WORKING, list[Json]()
        self.answer: Json | None = None
        self.plan: Any = None
        self._answers, self._marks = Remembered(), count(1)
        self._wanted: dict[int, Any] = {}
        self._quick = KeptQuick()
        self._job: Job | None = None
        self._waiting: Any = (self.edits.kept, dict(self.edits.sets))
        self._late = False
        self.not_put_by = ""
        self._first: Thread | None = None
        self._settler = Process(settle, self._told)
        self._prover = Process(prove, self._told)
        self._enough = Enough(self._say)
        self.base: ChangedFarm
        self.now: ChangedFarm
        self._read()
        self.desk = Desk(folder)
        self.offered = self.desk.left_before()
        if self.offered is not None and not (self.offered.kept or self.offered.tried):
            self.edits.sets, self.offered = self.offered.sets, None

    def _read(self) -> None:
        self.signature = signature(self.folder)
        self._read_as = tuple(self.signature.items())
        self.begun = begin(self.folder)
        self._check()

    def start(self) -> None:
        """Ask for the first answer: the rations of the first day here, at once; the winter in
        processes of their own, which take longer to begin.
        """
        with self._lock:
            self._solve()
            job = (self.version, self.now.farm)
        self._first = Thread(target=self._first_day, args=job)
        self._first.start()

    def _first_day(self, number: int, farm: Farm) -> None:
        try:
            self._told(Told(number, DAY, first_day(farm)))
            self._open_groups()
        except RationError:
            return  # the winter's own answer tells what is the matter

    def end(self) -> None:
        """End the processes; what is tried waits beside the farm."""
        self.put_by()
        self._settler.end()
        self._prover.end()
        self._enough.end()
        if self._first is not None:
            self._first.join()
        self.desk.leave()

    def put_by(self) -> None:
        """Keep what is tried beside the farm; what is kept went there at once."""
        with self._lock:
            if not self._late:
                return
            self._late, edits = False, self.edits
            if self.offered is not None:
                edits = self.offered.with_later(edits)
            self.not_put_by = self.desk.put_by(edits)

    # -- edits

    def take(self, page: str, serial: int, sent: list[Any], trying: bool) -> Json:
        """Edits of a page. Raises InputError: for a stale number (IN903), for what is no edit, and
        with everything that is wrong with the farm as it would be.
        """
        changes = sent_changes(sent)
        with self._lock:
            if serial <= self.serials.get(page, -1):
                raise stale(serial)
            if not trying:
                savable(self.begun, changes)
            kept, tried = self.edits.taken(changes, trying)
            try:
                base = self.base
                if kept != self.edits.kept:
                    base = checked(self.begun, changes_of(kept, {}))
                now = checked(self.begun, changes_of(kept, tried)) if tried else base
            except InputError as trouble:
                self._refused(trouble, (*kept, *tried))
                raise
            self.edits.take(changes, trying)
            self.serials[page] = serial
            self.now, self.base = now, base
            self._changed()
            return {"serial": serial, "version": self.version, "quick": None}

    def quick(self, day: date | None = None) -> Json | None:
        """Every group's ration of a day at the prices tried, settled at once; None where more than
        prices is tried, or nothing. day: that the page shows, its first one where none is given.
        """
        with self._lock:
            tried, farm = self.edits.tried, self.now.farm
        if not tried or not all(path.endswith(PRICE) for path in tried):
            return None
        return self._open_groups(day).at(farm)

    def _open_groups(self, day: date | None = None) -> Quick:
        """The groups of the farm without what is tried, open on a day."""
        with self._lock:
            key, farm = (self._read_as, tuple(self.edits.kept.items())), self.base.farm
        if day is None:
            day = first_shown(farm)
        last = farm.turnout - timedelta(days=1)
        return self._quick.of(key, farm, max(farm.start, min(day, last)))

    def step(self, which: str) -> None:
        """Undo, redo, keep or forget. Raises InputError where what is tried cannot be kept."""
        with self._lock, self._or_as_before():
            if which == "keep":
                savable(self.begun, self.edits.changes())
                self.edits.keep()
            else:
                getattr(self.edits, which)()
            self._check()
            self._changed()

    def sets(self, name: str, use: bool, gone: bool) -> None:
        """Name what is tried, try a named set again, or take one away."""
        name = name[:MOST_NAME]
        with self._lock, self._or_as_before():
            if gone:
                self.edits.sets.pop(name, None)
            elif use and name in self.edits.sets:
                self.edits.use(self.edits.sets[name])
            elif not use:
                self.edits.sets[name] = dict(self.edits.tried)
            self._check()
            self._changed()

    def take_offered(self, take: bool) -> None:
        """Take up the edits of an earlier time, or let them go."""
        with self._lock, self._or_as_before():
            if take and self.offered is not None:
                self.edits.add(self.offered)
                self._check()
            self.offered, self._waiting = None, None
            self._changed()

    @contextmanager
    def _or_as_before(self) -> Iterator[None]:
        """Edits that the farm does not allow are put back. Raises InputError as it came."""
        before = self.edits.copied()
        try:
            yield
        except InputError:
            self.edits = before
            raise

    def _check(self) -> None:
        base = now = checked(self.begun, self.edits.changes(False))
        if self.edits.tried:
            now = checked(self.begun, self.edits.changes())
        self.base, self.now = base, now

    def _refused(self, trouble: InputError, paths: Iterable[str]) -> None:
        self.faults = [fault_of(finding, paths) for finding in trouble.findings]

    # -- folder

    def save(self) -> list[str]:
        """Write the farm's edits into its folder. Raises InputError (IN905) where a file changed on
        disk since it was read, and where it cannot be written; nothing is written then.
        """
        with self._lock, self.desk.saving():
            names = self.on_disk()
            if names:
                raise changed_on_disk(names)
            changes = self.edits.changes(False)
            done = []
            if changes:
                done = save(self.folder, drafted(self.folder, self.begun, changes))
            self.edits.saved()
            self._read()
            self._changed()
            return done

    def versions(self) -> Json:
        """farm.toml as it stands on disk, and as it would be written."""
        return both_versions(self.folder, self.begun, self.edits.changes(False))

    def reload(self) -> None:
        """Read the folder again; edits that no longer hold are offered, to be taken up or left.
        Raises InputError where it cannot be read.
        """
        with self._lock:
            self.begun = begin(self.folder)
            try:
                self._read()
            except InputError:
                waiting = self.edits
                if self.offered is not None:
                    waiting = self.offered.with_later(waiting)
                self.offered, self.edits = waiting, Edits(sets=self.edits.sets)
                self._read()
            self._answers.clear()
            self._quick = KeptQuick()
            self._changed()

    def take_paper(self, reader: Callable[[Path, Json], Json], sent: Json) -> Json:
        """A paper through its reader; the folder is read again where it was written. Raises
        InputError where a file changed on disk before (IN905), and as the reader does.
        """
        with self._lock, self.desk.saving():
            names = self.on_disk()
            if names and sent.get("write") is True:
                raise changed_on_disk(names)
            answer = reader(self.folder, sent)
            if answer["written"]:
                self.reload()
            return answer

    def on_disk(self) -> list[str]:
        """Names of files that changed since they were read."""
        return differences(self.signature, signature(self.folder))

    # -- answers

    def _changed(self) -> None:
        self.faults = []
        self._late = True
        if (self.edits.kept, self.edits.sets) != self._waiting:
            self._waiting = (self.edits.kept, dict(self.edits.sets))
            self.put_by()
        self._solve()

    def _key(self, trying: bool = True) -> Any:
        return (self._read_as, self.edits.changes(trying))

    def _solve(self) -> None:
        """Ask for the answer to what there is now; a known one is there at once."""
        self.version += 1
        key = self._key()
        self._enough.stop()
        known = self._answers.final(key)
        self._wanted = {self.version: key}
        if known is not None:
            self.answer, self.phase, self.plan = known.answer, known.phase, known.plan
            self._ask_enough()
            self._ask_base()
            self._say()
            return
        self.phase, self.plan = WORKING, None
        self._job = Job(self.version, self._read_as, self.edits.changes(), self.now)
        self._prover.stop()
        self._settler.ask(self._job)
        self._say()

    def _told(self, told: Told) -> None:
        """An answer came: a stale one is dropped, and a settled one never takes a proved one's
        place.
        """
        with self._lock:
            key = self._wanted.get(told.number)
            if key is not None and told.answer is not None:
                told = replace(told, answer={**told.answer, "mark": next(self._marks)})
            if key is not None and told.number < 0:
                return self._told_of_base(told, key)
            if key is None:
                return
            if told.phase in (WORKING, SETTLED) and self._job is not None:
                self._prover.ask(self._job)
            if told.phase == WORKING or ORDER[told.phase] < ORDER[self.phase]:
                return
            if told.answer is None:
                if told.findings or told.trouble:
                    self.phase = REFUSED
                else:
                    self.phase = NONE
                self.faults = [fault_of(finding) for finding in told.findings]
                if told.trouble:
                    self.faults.append(no_answer(told.trouble))
            else:
                self.answer, self.phase = told.answer, told.phase
                self.faults = []
                if told.phase in (PROVED, NONE):
                    self.plan = told.plan
                if told.phase != DAY:
                    known = Known(told.answer, told.phase, told.plan)
                    self._answers.keep(key, known, self._key(trying=False))
            if told.phase in (PROVED, NONE):
                self._ask_enough()
                self._ask_base()
            self._say()

    def _ask_enough(self) -> None:
        """Look for what would be enough where not every need can be met."""
        if self.phase == NONE and self.plan is not None and self.plan.shortfalls:
            job = Job(self.version, self._read_as, self.edits.changes(), self.now, self.plan)
            self._enough.ask(self._key(), job)

    def enough(self) -> Json | None:
        """What would be enough where not every need can be met; None where every one is."""
        if self.phase == NONE and self.plan is not None and self.plan.shortfalls:
            return self._enough.of(self._key())
        return None

    def _ask_base(self) -> None:
        """Ask for the farm without what is tried, which stands behind, if it was never proved."""
        key = self._key(trying=False)
        if self.edits.tried and self._answers.final(key) is None:
            self._wanted[-self.version] = key
            job = Job(-self.version, self._read_as, self.edits.changes(False), self.base)
            self._prover.ask(job)

    def _told_of_base(self, told: Told, key: Any) -> None:
        """The answer to the farm without what is tried."""
        if told.answer is not None:
            self._answers.keep(key, Known(told.answer, told.phase, told.plan), key)
            self._say()

    def _say(self) -> None:
        self.said += 1
        self._tell("state", self.news())

    def news(self) -> Json:
        """What is told of a state: said counts, so that a page knows whether it has it."""
        return {"version": self.version, "phase": self.phase, "said": self.said}

    def asked(self, day: date | None) -> Asked:
        """What a place is made of now."""
        with self._lock:
            plan = self.plan if self.phase in (PROVED, NONE) else None
            return Asked(self.begun, self.edits.changes(), self.now, day, plan)

    def state(self, has: Mapping[str, int] | None = None) -> Json:
        """Everything the page shows. has: marks of the answers that it has."""
        with self._lock:
            return state_of(self, has or {})

    def beside(self) -> Json | None:
        """The answer without what is tried, to stand behind the one with it."""
        if not self.edits.tried:
            return None
        return self._answers.beside(self._key(trying=False), self.phase)

    def known(self, texts: Mapping[str, str]) -> Known | None:
        """The command's answer with a named set tried, where it came."""
        return self._answers.final((self._read_as, changes_of(self.edits.kept, texts)))
