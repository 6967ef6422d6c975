"""The live page in a real browser: by keyboard alone, two pages, a changed file, answers out of
order, hostile names, every width.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from browsing import Watched, copy_of, go_to, proved, slide, state_of, tab_to, until

pytestmark = pytest.mark.browser

HOSTILE = '<img src=x onerror=alert(1)><b>"&amp; ${7*7}'


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

    page.route("**/api/state*", hold)
    slide(page, "h-winter.turnout", "ArrowRight", 1)
    other = watched.opened(watched.address.partition("?")[0])
    other.wait_for_selector("#trial small:has-text('21')")
    slide(other, "h-winter.turnout", "ArrowRight", 1)
    page.wait_for_selector("#trial small:has-text('22')")
    assert len(held) == 1
    late[0].fulfill(response=held[0])
    page.wait_for_timeout(400)
    assert "22" in page.inner_text("#trial small")
    assert "21" not in page.inner_text("#trial small")
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


def assert_no_violations(page: Any) -> None:
    """An accessibility engine finds nothing on a page."""
    from axe_playwright_python.sync_playwright import Axe

    told = Axe().run(page).response
    assert [(one["id"], one["nodes"][0]["html"]) for one in told["violations"]] == []


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


def test_what_would_do_is_a_button(watch: Callable[..., Watched], tmp_path: Path) -> None:
    """Far too many cows: single changes that would each be enough are looked for; one that is
    pressed feeds them all, and is kept as any trial is.
    """
    folder = copy_of("few", tmp_path)
    path = folder / "farm.toml"
    text = path.read_text(encoding="utf-8").replace("head = 11", "head = 150")
    path.write_text(text.replace("2027-04-20", "2027-01-10"), encoding="utf-8")
    watched = watch(folder, tmp_path)
    page = watched.page
    page.wait_for_selector("#phase.none")
    assert page.inner_text("h1") == "Not every need can be met."
    assert "The plan feeds every group" not in page.inner_text("body")
    page.wait_for_selector("#enough li")
    assert page.locator(".card .warn button").count() == 2
    assert_no_violations(page)
    assert all(word in page.inner_text("#enough") for word in ("head fewer", "more in Big bales"))
    fewer = page.locator("#enough li:has-text('head fewer') button")
    fewer.focus()
    page.keyboard.press("Enter")
    page.wait_for_selector("#trial .trial")
    proved(page)
    assert page.locator("#enough").count() == 0
    assert ("Short if they ate" in page.inner_text(".answer")) == (
        "The plan feeds every group" in page.inner_text(".answer")
    )
    page.click("#keep")
    page.wait_for_selector("#trial:empty", state="attached")
    (edit,) = state_of(page)["edits"]
    assert edit["path"] == "cows.head"
    assert 1 < int(edit["value"]) < 150
    watched.end()


def test_the_plan_for_the_spread_is_asked_for(
    watch: Callable[..., Watched], tmp_path: Path
) -> None:
    """Each store in many winters, with the days at which to look; what to do about it on a button,
    and nothing wider than a phone.
    """
    folder = copy_of("few", tmp_path)
    watched = watch(folder, tmp_path)
    page = watched.page
    go_to(page, "How sure")
    page.wait_for_selector("#told figure")
    titles = page.locator("#told figure h2").all_inner_texts()
    assert "Big bales in many winters" in titles
    assert page.locator("#told figure svg .mark").count() > 0
    assert "look what is in store" in page.locator("#told figure").first.inner_text()
    assert "listed winters" not in page.inner_text("#told")
    page.focus("#ask-spread")
    page.keyboard.press("Enter")
    page.wait_for_selector("#told:has-text('listed winters')")
    assert page.locator("#told figure h2").all_inner_texts() == titles
    assert_no_violations(page)
    page.set_viewport_size({"width": 390, "height": 800})
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    watched.end()
