"""A distributed engine on this machine for the tests that need one, and a line at the end of a run
that left them out.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).parent
COMMAND = "python -m pytest -m engine"


def pytest_terminal_summary(
    terminalreporter: pytest.TerminalReporter, config: pytest.Config
) -> None:
    """Say which tests a run without the engine left out."""
    if config.getoption("-m") != "engine":
        files = ", ".join(sorted(path.name for path in HERE.glob("test_on_engine*.py")))
        needing = "Needing a distributed engine and left out"
        terminalreporter.write_line(f"{needing}: tests/engine/{files}. They run with: {COMMAND}")


@pytest.fixture(scope="session")
def client() -> Iterator[Any]:
    """A client of two workers, each a process of its own with one thread."""
    from dask.distributed import Client, LocalCluster

    with (
        LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
        ) as cluster,
        Client(cluster) as found,
    ):
        yield found
