"""Two processes that solve: one settles (soon there), one proves what was settled and is ended when
a newer edit comes.
"""

from __future__ import annotations

import multiprocessing
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from threading import Condition, Lock, Thread
from types import ModuleType
from typing import Any

from rationlp.ask.carry_on import plan_on, winter_so_far
from rationlp.ask.held import appetite
from rationlp.errors import Finding, InputError, RationError
from rationlp.farm.farm import Farm
from rationlp.live.answer import of_day, of_plan
from rationlp.live.phases import NONE, PROVED, SETTLED, WORKING
from rationlp.live.warm import WarmWinter
from rationlp.model.ration import solve_rations
from rationlp.needs.calendar import farm_on
from rationlp.read.changed import Change, ChangedFarm
from rationlp.records import dataclass
from rationlp.wintering.collector import collector_paused
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

ENDED = "the process that solves has ended by itself"
NO_SOLVER = "the answer did not pass its own check"


@dataclass(frozen=True)
class Job:
    """A farm to be solved. number: which answer is wanted; read: what its folder held when it was
    read; changes: its edits; farm: what both come to; plan: of it, for what is asked of a plan.
    """

    number: int
    read: Any
    changes: tuple[Change, ...]
    farm: ChangedFarm
    plan: Any = None


@dataclass(frozen=True)
class Told:
    """What is said of a job. phase: WORKING where nothing could be settled and the proof has to
    tell. answer: as the page draws it; plan: the record itself, where there is one; findings: what
    is wrong with the farm.
    """

    number: int
    phase: str
    answer: dict[str, Any] | None = None
    plan: Any = None
    findings: tuple[Finding, ...] = ()
    trouble: str = ""


def first_day(farm: Farm) -> dict[str, Any]:
    """The rations of a farm's first day as an answer. Raises InputError and SolverTrouble as
    `rationlp ration` does.
    """
    today = farm_on(farm)
    return of_day(farm, appetite(farm), solve_rations(today).groups, today)


def settle(jobs: Connection[Any, Any]) -> None:
    """The life of the process that settles: the newest job is answered, older ones are dropped."""
    warm: WarmWinter | None = None
    while True:
        job = newest(jobs)
        if job is None:
            return
        try:
            with collector_paused():
                if warm is None or not warm.fits(job.read, job.changes):
                    warm = WarmWinter(job.read, job.changes, job.farm, warm)
                told = _settled(warm, job)
            jobs.send(told)
        except InputError as trouble:
            jobs.send(Told(job.number, NONE, findings=tuple(trouble.findings)))
        except RationError as trouble:
            jobs.send(Told(job.number, WORKING, trouble=str(trouble)))


def _settled(warm: WarmWinter, job: Job) -> Told:
    """The settled plan of a job, on the open winter where that can be."""
    farm = job.farm
    plan, remark = warm.plan(farm.farm), ""
    if plan is not None:
        remark = warm.remark(plan)
    else:
        options = WinterOptions(tidy=False, prove=False, shortage=False)
        plan = solve_winter(farm.farm, options, farm.stocks)
    if plan.proof is None or not plan.proof.passed:
        return Told(job.number, WORKING)
    eaten = warm.appetite(farm.farm)
    answer = of_plan(farm.farm, eaten, plan, SETTLED, warm.stages, remark)
    return Told(job.number, SETTLED, answer)


def prove(jobs: Connection[Any, Any]) -> None:
    """The life of the process that proves: each job as `rationlp winter` answers it."""
    while True:
        job = newest(jobs)
        if job is None:
            return
        try:
            plan = proved_plan(job.farm, job.changes)
            phase = PROVED if plan.feeds_all else NONE
            eaten = appetite(job.farm.farm, job.farm.stocks)
            answer = of_plan(plan.farm, eaten, plan, phase)
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


def newest(jobs: Connection[Any, Any]) -> Job | None:
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
        self._asked = Condition(self._lock)
        self._turn: object = None
        self._process: Any = None
        self._busy, self._number = False, 0
        self._job: Job | None = None

    def ask(self, job: Job) -> None:
        """Ask for a job; one that was asked before and not sent yet is dropped. Never waits for the
        process: whoever asks may hold what has to be held to hear its answers.
        """
        with self._asked:
            gone = self._process is not None and not self._process.is_alive()
            if self._turn is None or gone:
                self._process, self._turn = None, object()
                Thread(target=self._begin, args=(self._turn,), daemon=True).start()
            self._busy, self._number = True, job.number
            self._job = job
            self._asked.notify_all()

    def stop(self) -> None:
        """End what is being solved, if anything is; the next job begins the process again. Never
        waits for the end: a slider would.
        """
        with self._lock:
            ended = self._process if self._busy else None
            if ended is not None:
                self._let_go()
        if ended is not None:
            Thread(target=_ended, args=(ended,), daemon=True).start()

    def end(self) -> None:
        """End the process."""
        with self._lock:
            self._end()

    def _begin(self, turn: object) -> None:
        """Begin the process and send it what is asked, unless it was ended meanwhile."""
        try:
            process, pipe = _begun(self._life)
        except OSError:
            return self._over(turn)
        with self._lock:
            wanted = turn is self._turn
            if wanted:
                self._process = process
        if not wanted:
            pipe.close()
            return _ended(process)
        Thread(target=self._listen, args=(pipe, turn), daemon=True).start()
        self._send(pipe, turn)

    def _send(self, pipe: Connection[Any, Any], turn: object) -> None:
        """Send what is asked, until another process has the place of this one."""
        while True:
            with self._asked:
                self._asked.wait_for(lambda: self._job is not None or turn is not self._turn)
                if turn is not self._turn:
                    return
                job, self._job = self._job, None
            try:
                pipe.send(job)
            except (OSError, ValueError, TypeError):
                return  # it has ended, its pipe shut meanwhile: who listens to it tells

    def _end(self) -> None:
        ended = self._process
        self._let_go()
        if ended is not None:
            _ended(ended)

    def _let_go(self) -> None:
        """Have no process any more: whatever it still says is not heard."""
        self._process, self._turn, self._busy = None, None, False
        self._job = None
        self._asked.notify_all()

    def _listen(self, pipe: Connection[Any, Any], turn: object) -> None:
        """Hand on what a process says until it ends."""
        while True:
            try:
                told: Told = pipe.recv()
            except (EOFError, OSError):
                break
            if told.number == self._number:
                self._busy = False
            self._told(told)
        pipe.close()
        self._over(turn)

    def _over(self, turn: object) -> None:
        """A process has ended: where nobody asked for it and something was asked, that is told."""
        with self._lock:
            unasked = turn is self._turn and self._busy
            if turn is self._turn:
                self._end()
        if unasked:
            self._told(Told(self._number, NONE, trouble=ENDED))


def _begun(life: Callable[[Connection[Any, Any]], None]) -> tuple[Any, Connection[Any, Any]]:
    """A process that has begun, and our end of its pipe. Raises OSError where none can be."""
    context = process_context()
    ours, theirs = context.Pipe()
    process = context.Process(target=life, args=(theirs,), daemon=True)
    with bare_main():
        process.start()
    theirs.close()
    return process, ours


def _ended(process: Any) -> None:
    """End a process and wait until it has."""
    process.terminate()
    process.join(2.0)
    if process.is_alive():
        process.kill()


_BEGINNING = Lock()


@contextmanager
def bare_main() -> Iterator[None]:
    """A process begun in here does not run the script again that this one was begun with: what it
    needs is all in modules.
    """
    with _BEGINNING:
        own = sys.modules["__main__"]
        sys.modules["__main__"] = ModuleType("__main__")
        try:
            yield
        finally:
            sys.modules["__main__"] = own


def process_context() -> Any:
    """Processes that begin without what the server holds; where the system allows it, from one that
    has read the modules already.
    """
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([__name__])
    return context
