"""Speed as ratios: whole processes beside the bare imports they need, and the model beside its own
raw solver time.

Run with the environment's own python; prints a table, asserts nothing. Each figure is the median of
several runs.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

# Byte code is written, as it is for whoever installs the package: a run that compiles every file
# each time measures nothing.
ENVIRONMENT = {
    name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"
}
ROOT = Path(__file__).resolve().parents[2]
EXAMPLE = ROOT / "examples" / "dairy"
RUNS = 9
NEEDED = (
    "import typer, numpy, pulp, highspy, tabulate; from pydantic import BaseModel, Field,"
    " ValidationError"
)


# The console script's own two lines, without the search for a module that `python -m` makes.
INSTALLED = ("-c", "from rationlp.cli import console; console()")


def process_seconds(*arguments: str) -> float:
    """Median processor time of a whole python process [s], after one run that warms the disk: on a
    machine that has other work it says more than the clock on the wall.
    """
    command = [sys.executable, *arguments]
    subprocess.run(command, check=True, capture_output=True, cwd=ROOT, env=ENVIRONMENT)
    times = []
    for _ in range(RUNS):
        before = os.times()
        subprocess.run(command, check=True, capture_output=True, cwd=ROOT, env=ENVIRONMENT)
        after = os.times()
        user = after.children_user - before.children_user
        times.append(user + after.children_system - before.children_system)
    return statistics.median(times)


def median_of(work: Callable[[], object]) -> float:
    """Median processor time of a call [s], after one that warms up."""
    work()
    times = []
    for _ in range(RUNS):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return statistics.median(times)


def line(what: str, measured: float, beside: float, target: str) -> None:
    """One row of the report: milliseconds, milliseconds beside, ratio."""
    sys.stdout.write(
        f"{what:58s} {1e3 * measured:8.1f} ms {1e3 * beside:8.1f} ms  {measured / beside:5.2f} x  "
        f" {target}\n"
    )


class TimedSolver:
    """A solver whose `run` is timed; everything else passes through."""

    def __init__(self, solver: Any, clock: list[float]) -> None:
        self._solver, self._clock = solver, clock

    def __getattr__(self, name: str) -> Any:
        return getattr(self._solver, name)

    def run(self) -> Any:
        """Solve, adding the time to the clock."""
        start = time.perf_counter()
        answer = self._solver.run()
        self._clock[0] += time.perf_counter() - start
        return answer


def processes() -> None:
    """Whole processes beside bare imports."""
    bare = process_seconds("-c", "import typer")
    line(
        "rationlp --help beside import typer",
        process_seconds(*INSTALLED, "--help"),
        bare,
        "target 1.25",
    )
    needed = process_seconds("-c", NEEDED)
    ration = process_seconds(*INSTALLED, "ration", str(EXAMPLE))
    line("rationlp ration examples/dairy beside the imports it needs", ration, needed, "target 1.5")


def in_process() -> None:
    """A settled ration and a closed gap, a group, beside the raw solver time of the same
    programmes.
    """
    from rationlp.model import block_ration
    from rationlp.model.ration import make_blocks
    from rationlp.model.search import BlockModel
    from rationlp.model.solve import LiveModel
    from rationlp.read.farm import read_farm

    clock = [0.0]
    load = LiveModel._load
    LiveModel._load = lambda self, program: TimedSolver(load(self, program), clock)  # type: ignore[method-assign]
    sys.stdout.write(
        f"read and check the farm: {1e3 * median_of(lambda: read_farm(EXAMPLE)):.1f} ms\n"
    )
    farm = read_farm(EXAMPLE)
    sys.stdout.write(
        f"needs and rows of all groups: {1e3 * median_of(lambda: make_blocks(farm)):.1f} ms\n"
    )
    for block in make_blocks(farm):

        def settle(block: Any = block) -> int:
            model = BlockModel(block)
            model.find_interval()
            block_ration.settle_levels(model)
            return model.live.solves

        for what, work, target in (
            ("settled", settle, "target 30 ms"),
            ("gap closed", lambda block=block: block_ration.solve_block(block).lps, "target 75 ms"),
        ):
            whole = median_of(work)
            clock[0] = 0.0
            lps = work()
            name = f"{block.group.id}: {what}, {lps} programmes, beside raw solver time"
            line(name, whole, clock[0], target)


if __name__ == "__main__":
    processes()
    in_process()
