"""The live page in a real browser: the whole job by mouse and by keyboard, two pages, a changed
file, answers out of order, hostile names, and figures that are those of the command line.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from queue import Queue
from threading import Thread
from typing import Any

import pytest

from rationlp.folders import examples_folder
from rationlp.live.serve import serve

pytestmark = pytest.mark.browser

PATIENCE_MS = 60_000
"""So long a page may take to show an answer on a slow machine [ms]."""
HOSTILE = '<img src=x onerror=alert(1)><b>"&amp; ${7*7}'


def opened_farm(folder: Path | None, where: Path) -> str:
    """The address of a server in this process, which ends when its pages are closed."""
    addresses: Queue[str] = Queue()

    def run() -> None:
        serve(folder, where, addresses.put, browser=False, grace_s=1.0)

    Thread(target=run, daemon=True).start()
    return addresses.get(timeout=60)


class Watched:
    """A page in the browser, and everything that it should not have said or asked for."""

    def __init__(self, chromium: Any, address: str, **window: Any) -> None:
        self.address = address
        self.context = chromium.new_context(viewport={"width": 1280, "height": 900}, **window)
        self.wrong: list[str] = []
        self.page = self.opened(address)

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


@pytest.fixture(scope="module")
def watch(chromium: Any) -> Iterator[Callable[..., Watched]]:
    """Opens farms, and looks at the end whether their pages were quiet."""
    pages: list[Watched] = []

    def start(folder: Path | None, where: Path, **window: Any) -> Watched:
        pages.append(Watched(chromium, opened_farm(folder, where), **window))
        return pages[-1]

    yield start
    for page in pages:
        page.context.close()


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


def command(folder: Path, *words: str) -> Any:
    """What a command of the program says of a folder, as JSON."""
    run = subprocess.run(
        [sys.executable, "-m", "rationlp", *words, str(folder), "--format", "json"],
        capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    return json.loads(run.stdout)


def start_farm(page: Any, like: str, name: str) -> None:
    """Answer the questions of a new farm."""
    page.select_option("#like", like)
    page.fill("#folder", name)
    page.click("#fresh button[type=submit]")
    proved(page)


def paste(page: Any, name: str, file: str) -> None:
    """Paste a paper of the examples, answer what it leaves open, and put it into a file."""
    page.fill("#paper", (examples_folder() / name).read_text(encoding="utf-8"))
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
    page.wait_for_selector("#cards" if place == "The winter" else "#told")


def assert_plan(shown: Any, plan: Any) -> None:
    """What the page has is what the command says: cost, and every feed of every group in every
    period.
    """
    assert shown["cost"] == pytest.approx(plan["cost"], rel=1e-5)
    begins = [period["first"] for period in plan["periods"]]
    rations = {card["id"]: card["rations"] for card in shown["groups"]}
    assert plan["rations"]
    for one in plan["rations"]:
        day = begins[one["period"]]
        fed = next(each for each in rations[one["group"]] if each["first"] <= day < each["last"])
        planned = {
            amount["offer"]: amount["kg_fresh"]
            for amount in one["amounts"]
            if amount["kg_fresh"] > 0.0
        }
        assert {feed["id"]: feed["kg"] for feed in fed["feeds"]} == {
            offer: pytest.approx(kg, rel=1e-5) for offer, kg in planned.items()
        }


def assert_cards(page: Any, ration: Any) -> None:
    """The words on the card of the first day: kilograms of a ration, for a head and for all."""
    page.focus("#day")
    page.keyboard.press("Home")
    page.wait_for_selector(".day output:text-is('1\xa0November')")
    feeds = {amount["name"]: amount["kg_fresh"] for amount in ration["amounts"]}
    for unit, words, heads in (
        ("head", "kg fresh a head", 1),
        ("group", "kg fresh, all", ration["head"]),
    ):
        page.check(f"#unit-{unit}", force=True)
        page.wait_for_selector(f".card dt:has-text('{words}') >> nth=0")
        lines = page.locator(".card .mix li").all()
        words = {
            line.locator("span").inner_text(): line.locator("b").inner_text() for line in lines
        }
        assert {name: float(text) for name, text in words.items()} == {
            name: pytest.approx(kg * heads, rel=0.05) for name, kg in feeds.items()
        }


def test_the_whole_job_by_mouse(watch: Callable[..., Watched], tmp_path: Path) -> None:
    """New farm, lab sheet and prices pasted, plan read, slider moved, kept, saved, sheet printed;
    then the command gives the plan that the page showed.
    """
    watched = watch(None, tmp_path)
    page, folder = watched.page, tmp_path / "our farm"
    start_farm(page, "few", "our farm")
    go_to(page, "Stores")
    page.wait_for_selector("#told table")
    assert "no group may get it" not in page.inner_text("#told")
    paste(page, "few-sheet.txt", "lab.csv")
    go_to(page, "Buying")
    paste(page, "few-prices.txt", "prices.csv")
    go_to(page, "The winter")
    proved(page)
    page.click('[id="if-group"] summary')
    page.locator('[id="h-cows.head"]').fill("13")
    page.wait_for_selector("#trial .trial")
    page.wait_for_selector(".said:has-text('dearer')")
    assert page.locator(".bars .former").count() > 0
    page.click("#keep")
    page.wait_for_selector("#trial:empty", state="attached")
    page.click("#save")
    page.wait_for_selector("#save:has-text('Saved')")
    proved(page)
    written = (folder / "farm.toml").read_text(encoding="utf-8")
    assert "head = 13" in written
    assert "# the clamp is paid for: only what is bought counts" in written
    go_to(page, "Yard sheets")
    page.wait_for_selector("#told table")
    assert page.pdf(format="A4").startswith(b"%PDF")
    plan = command(folder, "winter")
    assert_plan(state_of(page)["answer"], plan)
    go_to(page, "The winter")
    assert_cards(page, plan["rations"][0])
    watched.end()


def tab_to(page: Any, selector: str) -> None:
    """Press Tab until what is wanted has the keyboard."""
    for _ in range(200):
        if page.evaluate("(wanted) => document.activeElement.matches(wanted)", selector):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"Tab does not lead to {selector}")


def test_the_whole_job_by_keyboard(watch: Callable[..., Watched], tmp_path: Path) -> None:
    """Skip link, day, a trial kept, a field mended, undone and done again, saved: Tab, arrows,
    Enter and what is typed.
    """
    watched = watch(copy_of("few", tmp_path), tmp_path)
    page = watched.page
    proved(page)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    tab_to(page, "#day")
    page.keyboard.press("Home")
    page.wait_for_selector(".day output:text-is('1\xa0November')")
    page.keyboard.press("ArrowRight")
    page.wait_for_selector(".day output:text-is('2\xa0November')")
    tab_to(page, '[id="h-winter.turnout"]')
    page.keyboard.press("ArrowLeft")
    page.wait_for_selector("#trial .trial")
    tab_to(page, "#keep")
    page.keyboard.press("Enter")
    page.wait_for_selector("#trial:empty", state="attached")
    page.focus("#undo")
    tab_to(page, 'a[href="/animals"]')
    page.keyboard.press("Enter")
    page.wait_for_selector("#thing-cows")
    tab_to(page, "#thing-cows > summary")
    page.keyboard.press("Enter")
    tab_to(page, '[id="f-cows.head"]')
    page.keyboard.press("Control+A")
    page.keyboard.type("many")
    page.keyboard.press("Tab")
    page.wait_for_selector('[id="f-cows.head-fault"]')
    assert page.input_value('[id="f-cows.head"]') == "many"
    page.focus('[id="f-cows.head"]')
    page.keyboard.press("Control+A")
    page.keyboard.type("12")
    page.keyboard.press("Tab")
    page.wait_for_selector(".field.wrong", state="detached")
    for button, heads in (("#undo", "11"), ("#redo", "12")):
        page.focus("#acts button:not([disabled])")
        tab_to(page, button)
        page.keyboard.press("Enter")
        until(page, f"document.getElementById('f-cows.head').value === '{heads}'")
    tab_to(page, "#save")
    page.keyboard.press("Enter")
    page.wait_for_selector("#save:has-text('Saved')")
    text = (tmp_path / "few" / "farm.toml").read_text(encoding="utf-8")
    assert "head = 12" in text
    assert "turnout = 2027-04-19" in text
    watched.end(refused=1)


def test_two_pages_share_edits_and_leave_what_is_typed(
    watch: Callable[..., Watched], tmp_path: Path
) -> None:
    """An edit of one page is seen by the other, under whose hand nothing is replaced."""
    watched = watch(copy_of("few", tmp_path), tmp_path)
    one = watched.page
    proved(one)
    other = watched.opened(f"{watched.address.partition('?')[0]}stores")
    other.wait_for_selector("#told table")
    other.fill("#paper", "half a lab sheet")
    other.click("#thing-bales > summary")
    other.fill('[id="f-bales.count"]', "2")
    slide(one, "h-winter.turnout", "ArrowRight", 3)
    other.wait_for_selector("#trial:has-text('23')")
    proved(other)
    assert other.input_value("#paper") == "half a lab sheet"
    assert other.input_value('[id="f-bales.count"]') == "2"
    assert other.evaluate("document.activeElement.id") == "f-bales.count"
    other.keyboard.type("8")
    other.keyboard.press("Tab")
    one.wait_for_selector("#undo:not([disabled])")
    until(one, "fetch('/api/state').then((a) => a.json()).then((s) => s.edits.length === 1)")
    paths = [edit["path"] for edit in state_of(one)["edits"]]
    assert paths == ["bales.count"]
    watched.end()


def test_an_old_answer_that_comes_late_is_dropped(
    watch: Callable[..., Watched], tmp_path: Path
) -> None:
    """A state held back on its way is not shown when a newer one was."""
    watched = watch(copy_of("few", tmp_path), tmp_path)
    page = watched.page
    proved(page)
    late: list[Any] = []
    held: list[Any] = []

    def hold(route: Any) -> None:
        late.append(route)
        if len(late) == 1:
            held.append(route.fetch())
        else:
            route.continue_()

    page.route("**/api/state", hold)
    slide(page, "h-winter.turnout", "ArrowRight", 1)
    other = watched.opened(watched.address.partition("?")[0])
    other.wait_for_selector("#trial:has-text('21')")
    slide(other, "h-winter.turnout", "ArrowRight", 1)
    page.wait_for_selector("#trial:has-text('22')")
    assert len(held) == 1
    late[0].fulfill(response=held[0])
    page.wait_for_timeout(400)
    assert "22" in page.inner_text("#trial .trial")
    assert "21" not in page.inner_text("#trial .trial")
    watched.end()


def test_a_file_that_changed_is_shown_and_not_overwritten(
    watch: Callable[..., Watched], tmp_path: Path
) -> None:
    """Both versions stand beside each other; read again, edits stay and can be saved."""
    folder = copy_of("few", tmp_path)
    watched = watch(folder, tmp_path)
    page, path = watched.page, folder / "farm.toml"
    proved(page)
    go_to(page, "Animals")
    page.click("#thing-cows > summary")
    page.fill('[id="f-cows.head"]', "12")
    page.keyboard.press("Tab")
    page.wait_for_selector("#save:has-text('Save'):not([disabled])")
    theirs = path.read_text(encoding="utf-8") + "# written by another hand\n"
    path.write_text(theirs, encoding="utf-8")
    page.click("#save")
    page.wait_for_selector("#conflict")
    versions = page.locator("#conflict pre").all_inner_texts()
    assert len(versions) == 2
    assert "▸ head = 11" in versions[0]
    assert "▸ head = 12" in versions[1]
    assert path.read_text(encoding="utf-8") == theirs
    page.click("#conflict #reload")
    page.wait_for_selector("#conflict", state="detached")
    page.click("#save")
    page.wait_for_selector("#save:has-text('Saved')")
    text = path.read_text(encoding="utf-8")
    assert "head = 12" in text
    assert text.endswith("# written by another hand\n")
    watched.end(refused=1)


def test_hostile_names_are_text(watch: Callable[..., Watched], tmp_path: Path) -> None:
    """Names of farm, store, group and set are shown as they are written, and do nothing."""
    folder = copy_of("few", tmp_path)
    path = folder / "farm.toml"
    text = path.read_text(encoding="utf-8")
    for name in ("Long Acre, an invented smallholding", "The wide clamp", "Eleven suckler cows"):
        text = text.replace(f'"{name}"', json.dumps(HOSTILE))
    path.write_text(text, encoding="utf-8")
    watched = watch(folder, tmp_path)
    page = watched.page
    proved(page)
    assert page.inner_text("#farm") == HOSTILE
    assert page.inner_text(".card h3") == HOSTILE
    assert HOSTILE in page.locator(".bars .line .word").all_inner_texts()
    slide(page, "h-winter.turnout", "ArrowRight", 1)
    page.fill("#set-name", HOSTILE)
    page.keyboard.press("Enter")
    page.wait_for_selector(".sets tr:nth-child(2)")
    assert HOSTILE in page.inner_text(".sets tr:nth-child(2) th")
    for place in ("Stores", "Animals"):
        go_to(page, place)
        assert HOSTILE in page.inner_text("main")
    assert page.locator("main img, main script, main b b").count() == 0
    watched.end()


def test_places_have_addresses_and_fit_every_screen(
    watch: Callable[..., Watched], tmp_path: Path
) -> None:
    """Back and forward go between places; nothing is wider than a phone; an accessibility engine
    finds nothing, in light and in dark.
    """
    from axe_playwright_python.sync_playwright import Axe

    watched = watch(
        copy_of("few", tmp_path), tmp_path, color_scheme="dark", reduced_motion="reduce"
    )
    page = watched.page
    proved(page)
    found = Axe().run(page).response
    assert [(one["id"], one["nodes"][0]["html"]) for one in found["violations"]] == []
    assert {"color-contrast", "label", "heading-order"} <= {one["id"] for one in found["passes"]}
    page.click('[id="open-bales"]')
    page.wait_for_selector("#thing-bales[open]")
    page.emulate_media(color_scheme="light")
    found = Axe().run(page).response
    assert [(one["id"], one["nodes"][0]["html"]) for one in found["violations"]] == []
    for width in (1280, 768, 390, 320):
        page.set_viewport_size({"width": width, "height": 800})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.go_back()
    page.wait_for_selector("#cards")
    for width in (1280, 768, 390, 320):
        page.set_viewport_size({"width": width, "height": 800})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.go_forward()
    page.wait_for_selector("#thing-bales")
    assert page.url.endswith("/stores#thing-bales")
    watched.end()
