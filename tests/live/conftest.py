"""A farm at the table, with nothing solved: what solves is tested by itself."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from asgi import Browser
from browsing import Watched

from rationlp.folders import examples_folder
from rationlp.live.app import Live
from rationlp.live.solving import Job, Process


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A farm folder of one's own."""
    return Path(shutil.copytree(examples_folder() / "few", tmp_path / "farm"))


@pytest.fixture
def jobs(monkeypatch: pytest.MonkeyPatch) -> list[Job]:
    """What was asked of the processes that solve; they are not begun."""
    asked: list[Job] = []

    def ask(self: Process, job: Job) -> None:
        asked.append(job)

    monkeypatch.setattr(Process, "ask", ask)
    return asked


@pytest.fixture
def browser(folder: Path, jobs: list[Job]) -> Iterator[Browser]:
    """A browser on that farm."""
    live = Live(folder, folder.parent)
    yield Browser(live)
    assert live.table is not None
    live.table.end()


@pytest.fixture(scope="module")
def watch(chromium: Any) -> Iterator[Callable[..., Watched]]:
    """Opens farms, and looks at the end whether their pages were quiet."""
    pages: list[Watched] = []

    def start(folder: Path | None, where: Path, **window: Any) -> Watched:
        pages.append(Watched(chromium, Live(folder, where), **window))
        return pages[-1]

    yield start
    for page in pages:
        page.context.close()
