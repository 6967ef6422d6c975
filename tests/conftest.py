"""Shared settings of the tests: one hypothesis profile, so that a failure is found again, which
tests take long, and a browser for those that need one.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from fnmatch import fnmatch
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from shared_plans import remove_plans, share_plans

settings.register_profile(
    "steady", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("steady")

LONG = Path(__file__).with_name("long-tests.txt")
"""Patterns of the tests that take many seconds, one a line: `python -m pytest -m long` runs them,
the plain command does not.
"""


def pytest_configure(config: pytest.Config) -> None:
    """All workers of a run share the plans of winters: they inherit the folder of the first process
    from the environment (shared_plans.py).
    """
    share_plans()


def pytest_unconfigure(config: pytest.Config) -> None:
    """The plans go with the run, not with one of its workers."""
    if not hasattr(config, "workerinput"):
        remove_plans()


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark the tests that take long, before pytest chooses by marks."""
    patterns = [line for line in LONG.read_text(encoding="utf-8").splitlines() if line]
    for item in items:
        plain = item.nodeid.replace("[", "(").replace("]", ")")
        if any(fnmatch(plain, pattern) for pattern in patterns):
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
