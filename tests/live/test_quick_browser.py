"""A price moved in a real browser: the groups' rations of the day at once, marked so, and the
winter in their place when it comes.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from browsing import Watched, copy_of, proved, slide, until

from rationlp.live.phases import QUICK, SETTLED
from rationlp.live.solving import Process

pytestmark = pytest.mark.browser


def test_rations_of_the_day_are_shown_until_the_winter_is_there(
    watch: Callable[..., Watched], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While nothing solves the winter, the card has the ration settled for the day, and the page
    says what follows; the answer's own figures come back when the slider does.
    """
    watched = watch(copy_of("few", tmp_path), tmp_path)
    page = watched.page
    proved(page)
    before = page.inner_text("#cards")
    held: list[Any] = []
    monkeypatch.setattr(Process, "ask", lambda self, job: held.append((self, job)))
    page.evaluate("document.querySelector('#if-bought').open = true")
    slide(page, "h-barley.price_per_t_fresh", "End", 1)
    page.wait_for_selector(f"#phase:has-text('{QUICK}')")
    assert page.inner_text("#cards") != before
    monkeypatch.undo()
    process, job = held[-1]
    process.ask(job)
    page.wait_for_selector(f"#phase.{SETTLED}, #phase.proved")
    assert QUICK not in page.inner_text("#phase")
    page.click("#forget")
    proved(page)
    until(page, "!document.querySelector('#trial aside')")
    assert page.inner_text("#cards") == before
    watched.end()
