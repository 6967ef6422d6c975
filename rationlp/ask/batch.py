"""Many answers at once: over all cores, in the order in which they were asked for, the same as one at a time."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from typing import TypeVar

Asked = TypeVar("Asked")
Answered = TypeVar("Answered")
Said = Callable[[int, int], None]

WORTH_A_PROCESS = 4
"""Fewer questions than this are answered one at a time: another process takes longer to begin than they do."""


def cores() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def answer_all(
    answer: Callable[[Asked], Answered],
    questions: Sequence[Asked],
    workers: int | None = None,
    said: Said | None = None,
) -> tuple[Answered, ...]:
    """The answers in the order of the questions. answer: a function of a module, with one picklable question.

    workers: processes, all cores where None. said: told after each answer how many there are, and how many in all.
    """
    count = len(questions)
    used = min(cores() if workers is None else workers, count)
    done: list[Answered] = []

    def keep(one: Answered) -> None:
        done.append(one)
        if said is not None:
            said(len(done), count)

    if used < 2 or count < WORTH_A_PROCESS:
        for question in questions:
            keep(answer(question))
        return tuple(done)
    # A process of its own for each worker: a copy of this one could hold a lock of the solver for ever.
    with ProcessPoolExecutor(used, mp_context=get_context("spawn")) as pool:
        waiting = [pool.submit(answer, question) for question in questions]
        try:
            for one in waiting:
                keep(one.result())
        finally:
            pool.shutdown(wait=False, cancel_futures=True)
    return tuple(done)
