"""Two processes that solve: one settles (first answers, soon there), one proves and is ended when a
newer edit comes.
"""

from __future__ import annotations

import multiprocessing
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from pathlib import Path
from threading import Lock, Thread
from types import ModuleType
from typing import Any

from rationlp.ask.carry_on import plan_on, winter_so_far
from rationlp.ask.held import appetite
from rationlp.errors import Finding, InputError, RationError
from rationlp.live.answer import of_day, of_plan
from rationlp.live.edits import checked
from rationlp.live.phases import DAY, NONE, PROVED, SETTLED
from rationlp.live.warm import WarmWinter
from rationlp.model.ration import solve_rations
from rationlp.needs.calendar import farm_on
from rationlp.read.changed import Change, ChangedFarm, begin
from rationlp.records import dataclass
from rationlp.wintering.plan import WinterOptions, solve_winter

NO_SOLVER = "the answer did not pass its own check"


@dataclass(frozen=True)
class Job:
    """A farm to be solved. number: which answer is wanted; folder and changes: the farm; day: the
    rations of its first day are wanted first.
    """

    number: int
    folder: Path
    changes: tuple[Change, ...]
    day: bool


@dataclass(frozen=True)
class Told:
    """What a process has to say of a job. answer: as the page draws it; plan: the record itself,
    where there is one; findings: what is wrong with the farm.
    """

    number: int
    phase: str
    answer: dict[str, Any] | None = None
    plan: Any = None
    findings: tuple[Finding, ...] = ()
    trouble: str = ""


def settle(jobs: Connection[Any, Any]) -> None:
    """The life of the process that settles: the newest job is answered, older ones are dropped."""
    warm: WarmWinter | None = None
    while True:
        job = _newest(jobs)
        if job is None:
            return
        try:
            farm = checked(begin(job.folder), job.changes)
            found = appetite(farm.farm)
            if job.day:
                today = farm_on(farm.farm)
                rations = solve_rations(today).groups
                answer = of_day(farm.farm, found, rations, today)
                jobs.send(Told(job.number, DAY, answer))
                if jobs.poll():
                    continue
            if warm is None or not warm.fits(job.folder, job.changes):
                warm = None
            plan = None if warm is None else warm.plan(farm)
            if plan is None:
                options = WinterOptions(tidy=False, prove=False, shortage=False)
                plan = solve_winter(farm.farm, options, farm.stocks)
            if plan.proof is not None and plan.proof.passed:
                jobs.send(Told(job.number, SETTLED, of_plan(farm.farm, found, plan, SETTLED)))
            if warm is None and not jobs.poll():
                warm = WarmWinter(job.folder, job.changes, farm)
        except InputError as trouble:
            jobs.send(Told(job.number, NONE, findings=tuple(trouble.findings)))
        except RationError as trouble:
            jobs.send(Told(job.number, NONE, trouble=str(trouble) or NO_SOLVER))


def prove(jobs: Connection[Any, Any]) -> None:
    """The life of the process that proves: each job as `rationlp winter` answers it."""
    while True:
        job = _newest(jobs)
        if job is None:
            return
        try:
            farm = checked(begin(job.folder), job.changes)
            plan = proved_plan(farm, job.changes)
            phase = PROVED if plan.feeds_all else NONE
            answer = of_plan(plan.farm, appetite(farm.farm), plan, phase)
            jobs.send(Told(job.number, phase, answer, plan))
        except InputError as trouble:
            jobs.send(Told(job.number, NONE, findings=tuple(trouble.findings)))
        except RationError as trouble:
            jobs.send(Told(job.number, NONE, trouble=str(trouble) or NO_SOLVER))


def proved_plan(farm: ChangedFarm, changes: tuple[Change, ...]) -> Any:
    """The plan of the winter as the command makes it: by the log where there is one."""
    begun = winter_so_far(farm.farm, farm.farm.start)
    stocks = begun.stocks
    if stocks is None and changes:
        stocks = farm.stocks
    return plan_on(begun, solve_winter(begun.farm, WinterOptions(ceilings=True), stocks))


def _newest(jobs: Connection[Any, Any]) -> Job | None:
    """The last job that was sent; None where the other end is gone."""
    try:
        job: Job = jobs.recv()
        while jobs.poll():
            job = jobs.recv()
    except (EOFError, OSError, KeyboardInterrupt):
        return None
    return job


class Process:
    """One process that solves, begun when it is first needed. told: called, in a thread of its own,
    with everything that it says.
    """

    def __init__(
        self, life: Callable[[Connection[Any, Any]], None], told: Callable[[Told], None]
    ) -> None:
        self._life, self._told = life, told
        self._lock = Lock()
        self._process: Any = None
        self._pipe: Connection[Any, Any] | None = None
        self._busy = False

    def ask(self, job: Job, instead: bool = False) -> None:
        """Send a job. instead: what is being solved is ended first."""
        with self._lock:
            if instead and self._busy:
                self._end()
            if self._process is None or not self._process.is_alive():
                self._begin()
            assert self._pipe is not None
            self._busy = True
            self._pipe.send(job)

    def end(self) -> None:
        """End the process."""
        with self._lock:
            self._end()

    def _begin(self) -> None:
        context = _context()
        ours, theirs = context.Pipe()
        self._process = context.Process(target=self._life, args=(theirs,), daemon=True)
        with _bare_main():
            self._process.start()
        theirs.close()
        self._pipe = ours
        Thread(target=self._listen, args=(ours,), daemon=True).start()

    def _end(self) -> None:
        if self._process is not None:
            self._process.terminate()
            self._process.join(2.0)
            if self._process.is_alive():
                self._process.kill()
        if self._pipe is not None:
            self._pipe.close()
        self._process, self._pipe, self._busy = None, None, False

    def _listen(self, pipe: Connection[Any, Any]) -> None:
        while True:
            try:
                told: Told = pipe.recv()
            except (EOFError, OSError):
                return
            if told.phase != DAY:
                self._busy = False
            self._told(told)


@contextmanager
def _bare_main() -> Iterator[None]:
    """A process begun in here does not run the script again that this one was begun with: what it
    needs is all in modules.
    """
    own = sys.modules["__main__"]
    sys.modules["__main__"] = ModuleType("__main__")
    try:
        yield
    finally:
        sys.modules["__main__"] = own


def _context() -> Any:
    """Processes that begin without what the server holds; where the system allows it, from one that
    has read the modules already.
    """
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([__name__])
    return context
