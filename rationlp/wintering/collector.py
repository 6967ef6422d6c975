"""Python's collector of cycles, paused while a winter is built and proved.

The records and rows of a winter stay until its plan is made and hold no cycles, yet the collector
goes through all of them again and again as they grow: a third of the time of a large winter.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collector_paused() -> Iterator[None]:
    """Leave cycles uncollected until the end; may stand inside itself."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
