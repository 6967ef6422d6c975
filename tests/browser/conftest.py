"""A real browser for the tests that need one, and a line at the end of a run that left them out."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).parent
COMMAND = "python -m pytest -m browser"


def pytest_terminal_summary(
    terminalreporter: pytest.TerminalReporter, config: pytest.Config
) -> None:
    """Say which tests a run without a browser left out."""
    if config.getoption("-m") != "browser":
        files = ", ".join(sorted(path.name for path in HERE.glob("test_in_browser*.py")))
        terminalreporter.write_line(
            f"Needing a browser and left out: tests/browser/{files}. They run with: {COMMAND}"
        )


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
