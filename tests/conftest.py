"""Shared settings of the tests: one hypothesis profile, so that a failure is found again, which
tests take long, and a browser for those that need one.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from fnmatch import translate
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from shared_plans import remove_plans, share_bytecode, share_plans

settings.register_profile(
    "steady", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("steady")

LONG = [
    line
    for line in Path(__file__).with_name("long-tests.txt").read_text(encoding="utf-8").splitlines()
    if line
]
"""Patterns of the tests that take many seconds, one a line: `python -m pytest -m long` runs them,
the plain command does not.
"""
TAKES_LONG = re.compile("|".join(translate(pattern) for pattern in LONG))
HAS_LONG = {pattern.partition("::")[0] for pattern in LONG}
ONLY_LONG = {pattern.partition("::")[0] for pattern in LONG if pattern.endswith("::*")}
"""Files some of whose tests take long, and files all of whose tests do."""


def pytest_configure(config: pytest.Config) -> None:
    """All workers of a run share the plans of winters: they inherit the folder of the first process
    from the environment (shared_plans.py).
    """
    share_plans()
    if hasattr(config, "workerinput") or not getattr(config.option, "numprocesses", None):
        share_bytecode()


def pytest_unconfigure(config: pytest.Config) -> None:
    """The plans go with the run, not with one of its workers."""
    if not hasattr(config, "workerinput"):
        remove_plans()


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """A file none of whose tests would be chosen is not read, unless it is asked for by its name:
    reading all files takes each worker ten seconds and more.
    """
    if collection_path.suffix != ".py" or any(".py" in asked for asked in config.args):
        return None
    file = collection_path.relative_to(config.rootpath).as_posix()
    chosen = config.option.markexpr
    if chosen == "long":
        return True if file not in HAS_LONG else None
    return True if "not long" in chosen and file in ONLY_LONG else None


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark the tests that take long, before pytest chooses by marks."""
    for item in items:
        plain = item.nodeid.replace("[", "(").replace("]", ")")
        if TAKES_LONG.match(plain):
            item.add_marker(pytest.mark.long)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """Chromium without a window, driven by playwright; the one that the system has."""
    from playwright.sync_api import sync_playwright

    found = (
        shutil.which("chromium")
        or shutil.which("chromium-browser")
        or shutil.which("google-chrome")
    )
    assert found, "no Chromium was found: install it, on Debian with apt-get install chromium"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=["--no-sandbox"])
        yield browser
        browser.close()
