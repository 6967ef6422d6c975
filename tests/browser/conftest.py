"""A line at the end of a run that left out the tests that need a browser."""

from __future__ import annotations

from pathlib import Path

import pytest

HERE = Path(__file__).parent
LIVE = "test_page_browser.py"
COMMAND = "python -m pytest -m browser"


def pytest_terminal_summary(
    terminalreporter: pytest.TerminalReporter, config: pytest.Config
) -> None:
    """Say which tests a run without a browser left out."""
    if config.getoption("-m") != "browser":
        files = ", ".join(sorted(path.name for path in HERE.glob("test_in_browser*.py")))
        terminalreporter.write_line(
            f"Needing a browser and left out: tests/browser/{files}, tests/live/{LIVE}."
            f" They run with: {COMMAND}"
        )
