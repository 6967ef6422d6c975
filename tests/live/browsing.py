"""The live page in a real browser: opened, watched, gone through as a person does."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path
from queue import Queue
from threading import Thread
from typing import Any

from rationlp.folders import examples_folder
from rationlp.live.app import Live
from rationlp.live.serve import serve_live

PATIENCE_MS = 200_000
"""So long a page may take to show an answer on a slow machine [ms]."""


def opened_farm(live: Live) -> str:
    """The address of a server in this process, which ends when its pages are closed."""
    addresses: Queue[str] = Queue()

    def run() -> None:
        serve_live(live, addresses.put, browser=False, grace_s=1.0)

    Thread(target=run, daemon=True).start()
    return addresses.get(timeout=60)


class Watched:
    """A page in the browser, and everything that it should not have said or asked for. live: the
    program behind it.
    """

    def __init__(self, chromium: Any, live: Live, **window: Any) -> None:
        self.live, self.address = live, opened_farm(live)
        self.context = chromium.new_context(viewport={"width": 1280, "height": 900}, **window)
        self.wrong: list[str] = []
        self.page = self.opened(self.address)

    def opened(self, address: str) -> Any:
        """One more page of the same browser."""
        page = self.context.new_page()
        page.set_default_timeout(PATIENCE_MS)
        page.on("console", lambda message: self.wrong.append(message.text))
        page.on("pageerror", lambda error: self.wrong.append(str(error)))
        page.on("dialog", lambda dialog: self.wrong.append(f"dialog {dialog.message}"))
        page.on("request", self._asked)
        page.goto(address)
        return page

    def _asked(self, request: Any) -> None:
        home = self.address.partition("/?")[0]
        if not request.url.startswith((home, "data:", "blob:")):
            self.wrong.append(f"asked for {request.url}")

    def end(self, refused: int = 0) -> None:
        """Close it; nothing may have been said in the console, nothing asked for outside. refused:
        answers of the program that say no, which the browser itself puts into the console.
        """
        self.context.close()
        lines = [line for line in self.wrong if "status of 4" in line]
        assert len(lines) == refused
        assert [line for line in self.wrong if line not in lines] == []


def copy_of(name: str, into: Path) -> Path:
    """An example farm of one's own."""
    return Path(shutil.copytree(examples_folder() / name, into / name))


def state_of(page: Any) -> Any:
    """What the program says that the page shows."""
    return page.evaluate("fetch('/api/state').then((answer) => answer.json())")


def proved(page: Any) -> None:
    """Wait until the page shows a proved answer to everything that was changed."""
    page.wait_for_selector("#phase.proved")


def until(page: Any, expression: str) -> None:
    """Wait until an expression of JavaScript holds in a page."""
    for _ in range(PATIENCE_MS // 100):
        if page.evaluate(expression):
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"never came true: {expression}")


def slide(page: Any, name: str, keys: str, times: int) -> None:
    """Move a slider by keys."""
    page.focus(f'[id="{name}"]')
    for _ in range(times):
        page.keyboard.press(keys)


def command(folder: Path, *words: str) -> str:
    """What a command of the program says of a folder, as the text of its JSON."""
    run = subprocess.run(
        [sys.executable, "-m", "rationlp", *words, str(folder), "--format", "json"],
        capture_output=True, encoding="utf-8", check=False, timeout=300,
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    return run.stdout


def paste(page: Any, text: str, file: str) -> None:
    """Paste a paper, answer what it leaves open, and put it into a file."""
    page.fill("#paper", text)
    page.click("#read-paper")
    page.wait_for_selector("#paper-read")
    answer_questions(page)
    page.click("#take-paper")
    page.wait_for_selector(f"text=Written into {file}.")


def answer_questions(page: Any) -> None:
    """Answer what a paper leaves open, by the first word that is offered."""
    fields = page.locator("#paper-read select")
    while fields.count():
        before = fields.count()
        fields.first.select_option(fields.first.locator("option").nth(1).get_attribute("value"))
        until(page, f"document.querySelectorAll('#paper-read select').length < {before}")


def go_to(page: Any, place: str) -> None:
    """Follow the word of a place."""
    page.get_by_role("link", name=place, exact=True).click()
    page.wait_for_selector("#cards" if place == "The winter" else "#told, #paper")


def tab_to(page: Any, selector: str) -> None:
    """Press Tab until what is wanted has the keyboard."""
    for _ in range(200):
        if page.evaluate("(wanted) => document.activeElement.matches(wanted)", selector):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"Tab does not lead to {selector}")
