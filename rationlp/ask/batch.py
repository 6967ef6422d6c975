"""Many answers at once: over all cores, in the order in which they were asked for, the same as one
at a time.

The workers are plain processes with a pipe each: nothing is shared that could be left behind, and
whoever asked can end them at once. A worker ends by itself when whoever asked is gone, however it
went.
"""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from multiprocessing import get_context, parent_process
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from typing import Any, TypeVar

from rationlp.errors import RationError, SolverTrouble

Task = TypeVar("Task")
Answer = TypeVar("Answer")
Progress = Callable[[int, int], None]
Worker = tuple[BaseProcess, "Connection[Any, Any]"]

WORTH_A_PROCESS = 4
"""Fewer questions than this are answered one at a time: a process takes longer to begin."""
_ENDED = "a process that was solving came to an end before its answer"


def cores() -> int:
    """Cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def answer_all(
    answer: Callable[[Task], Answer],
    questions: Sequence[Task],
    workers: int | None = None,
    progress: Progress | None = None,
    worth_it: int = WORTH_A_PROCESS,
) -> tuple[Answer, ...]:
    """The answers in the order of the questions. answer: a function of a module, with one picklable
    question.

    workers: processes, all cores where None. progress: told after each answer how many there are,
    and how many in all. worth_it: fewest questions for which processes are begun; less where each
    takes seconds. Raises what `answer` raises of our own errors, and SolverTrouble where a process
    came to an end in any other way.
    """
    count = len(questions)
    used = min(workers or cores(), count)
    answers: dict[int, Answer] = {}

    def keep(number: int, reply: Answer) -> None:
        answers[number] = reply
        if progress is not None:
            progress(len(answers), count)

    if used < 2 or count < worth_it:
        for number, question in enumerate(questions):
            keep(number, answer(question))
    else:
        with _started(answer, used) as pool:
            for number, reply in _shared_out(pool, questions):
                keep(number, reply)
    return tuple(answers[number] for number in range(count))


def _shared_out(pool: Sequence[Worker], questions: Sequence[Any]) -> Iterator[tuple[int, Any]]:
    """Number and answer of each question as they come; a worker that answered gets the next."""
    waiting = list(enumerate(questions))[::-1]
    numbers: dict[Connection[Any, Any], int] = {}
    pipes = [pipe for _, pipe in pool]
    for pipe in pipes:
        numbers[pipe] = _ask(pipe, waiting)
    while numbers:
        ready = wait(list(numbers))
        for pipe in [asked for asked in numbers if asked in ready]:
            try:
                good, reply = pipe.recv()
            except (EOFError, OSError) as gone:
                raise SolverTrouble(_ENDED) from gone
            if not good:
                raise reply
            yield numbers.pop(pipe), reply
            if waiting:
                numbers[pipe] = _ask(pipe, waiting)


def _ask(pipe: Connection[Any, Any], waiting: list[tuple[int, Any]]) -> int:
    number, question = waiting.pop()
    try:
        pipe.send(question)
    except OSError as gone:
        raise SolverTrouble(_ENDED) from gone
    return number


@contextmanager
def _started(answer: Callable[[Any], Any], count: int) -> Iterator[list[Worker]]:
    """Processes that answer through their pipes; none is left when this ends, however it ends."""
    # Begun afresh: a copy of this process could hold a lock of the solver for ever.
    context = get_context("spawn")
    pool: list[Worker] = []
    try:
        for _ in range(count):
            pipe, far_end = context.Pipe()
            process = context.Process(target=_work, args=(far_end, answer), daemon=True)
            with _interrupt_held():
                process.start()
            pool.append((process, pipe))
            far_end.close()
        yield pool
    finally:
        for worker, pipe in pool:
            worker.kill()
            pipe.close()
        for worker, _ in pool:
            worker.join()
            worker.close()


@contextmanager
def _interrupt_held() -> Iterator[None]:
    """A process begun here never sees Ctrl-C; here it counts as soon as this ends."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    from multiprocessing import resource_tracker

    # The library's own watcher, begun with the first process, would let Ctrl-C through again: it is
    # begun before.
    resource_tracker.ensure_running()
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _work(pipe: Connection[Any, Any], answer: Callable[[Any], Any]) -> None:
    """What a worker does: answer what comes, until nobody is there to ask."""
    with suppress(ValueError):  # only the main thread of a process may say this
        signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    while True:
        try:
            question = pipe.recv()
        except (EOFError, OSError):
            return
        try:
            reply: tuple[bool, Any] = (True, answer(question))
        except RationError as trouble:
            reply = (False, trouble)
        try:
            pipe.send(reply)
        except OSError:
            return


def _end_with_parent() -> None:
    """End this process, in the middle of a solve too, when the one that began it is gone."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
