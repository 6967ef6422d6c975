"""What takes seconds to work out, in a process of its own: the page stays quick meanwhile."""

from __future__ import annotations

from collections.abc import Callable
from multiprocessing.connection import Connection
from threading import BoundedSemaphore
from typing import Any

from rationlp.errors import InputError, RationError, SolverTrouble
from rationlp.live.solving import ENDED, bare_main, process_context

_ONE = BoundedSemaphore(1)
"""One at a time: what the page shows first, the winter itself, has the other cores."""


def apart(make: Callable[..., Any], *given: Any) -> Any:
    """What a function makes of what is given. Raises InputError and SolverTrouble as it does, and
    SolverTrouble where its process ends by itself.
    """
    with _ONE:
        context = process_context()
        ours, theirs = context.Pipe()
        process = context.Process(target=_make, args=(theirs, make, given), daemon=True)
        with bare_main():
            process.start()
        theirs.close()
        try:
            findings, trouble, made = ours.recv()
        except EOFError as ended:
            raise SolverTrouble(ENDED) from ended
        finally:
            ours.close()
            process.join(2.0)
    if findings is not None:
        raise InputError(findings)
    if trouble is not None:
        raise SolverTrouble(trouble)
    return made


def _make(pipe: Connection[Any, Any], make: Callable[..., Any], given: tuple[Any, ...]) -> None:
    """The life of the process: findings, trouble and what was made; errors do not travel."""
    try:
        pipe.send((None, None, make(*given)))
    except InputError as trouble:
        pipe.send((tuple(trouble.findings), None, None))
    except RationError as trouble:
        pipe.send((None, str(trouble), None))
