"""The page of a winter in a real browser: quiet, alone, sorted, on a phone, on A4, without scripts,
and for those who hear it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from rationlp.after.winter_facts import cautions_on, winter_facts
from rationlp.ask.switch import Switch, switch_by_share
from rationlp.folders import examples_folder
from rationlp.model.block_ration import Optimum, solve_block
from rationlp.model.ration import make_blocks
from rationlp.model.rows.block import Pair
from rationlp.needs.calendar import farm_on
from rationlp.planned import WinterPlan
from rationlp.read.farm import read_farm
from rationlp.report.page import story_page
from rationlp.report.stories.report import Extras, report_story
from rationlp.wintering.plan import solve_winter

pytestmark = pytest.mark.browser

MM = 96.0 / 25.4
OPEN_ALL = "document.querySelectorAll('details').forEach(fold => { fold.open = true; })"
PRINTED = re.compile(rb"/Type\s*/Page[^s]")
"""A sheet of paper in a PDF."""
PAPER_MM = (210.0, 297.0)
PRINTED_WIDTH_MM = 182.0


@pytest.fixture(scope="module")
def plan() -> WinterPlan:
    """The plan of the dairy farm."""
    return solve_winter(read_farm(examples_folder() / "dairy"))


@pytest.fixture(scope="module")
def switch(plan: WinterPlan) -> Switch:
    """The switch of the finishing cattle."""
    return switch_by_share(farm_on(plan.farm), ("first_cut", "maize"), ["finishers"])


@pytest.fixture(scope="module")
def address(plan: WinterPlan, switch: Switch, tmp_path_factory: pytest.TempPathFactory) -> str:
    """Where the page of the dairy farm lies."""
    path: Path = tmp_path_factory.mktemp("page") / "winter.html"
    facts, day = winter_facts(plan), plan.periods[0].first
    story = report_story(facts, Extras(day, cautions_on(facts, day), switch=switch))
    path.write_text(story_page(story), encoding="utf-8")
    return path.as_uri()


@pytest.fixture
def page(chromium: Any, address: str) -> Iterator[Any]:
    """The page in a window of a desk."""
    context = chromium.new_context(viewport={"width": 1200, "height": 900})
    opened = context.new_page()
    opened.goto(address)
    opened.evaluate(OPEN_ALL)
    yield opened
    context.close()


def test_nothing_is_complained_of_and_nothing_else_is_asked_for(
    chromium: Any, address: str
) -> None:
    """No line in the console, no error, and no request but for the page itself."""
    context = chromium.new_context()
    opened = context.new_page()
    said: list[str] = []
    asked: list[str] = []
    opened.on("console", lambda message: said.append(message.text))
    opened.on("pageerror", lambda error: said.append(str(error)))
    opened.on("request", lambda request: asked.append(request.url))
    opened.goto(address)
    opened.evaluate(OPEN_ALL)
    for heading in opened.query_selector_all("thead button")[:5]:
        heading.click()
    context.close()
    assert said == []
    assert asked == [address]


def test_tables_sort_by_number_both_ways(page: Any) -> None:
    """First choice of a heading: least first; second: most first; said to those who hear it."""
    column = "table[data-name=balance] tbody tr td:nth-child(2)"
    button = page.query_selector("table[data-name=balance] thead th:nth-child(2) button")
    for order, mark in ((1, "ascending"), (-1, "descending")):
        button.click()
        values = [
            float(text)
            for text in page.eval_on_selector_all(column, "cells => cells.map(c => c.dataset.v)")
        ]
        assert len(values) > 2
        assert values == sorted(values, key=lambda value: order * value)
        assert (
            page.get_attribute("table[data-name=balance] thead th:nth-child(2)", "aria-sort")
            == mark
        )


def _solved(plan: WinterPlan, share: float) -> Optimum:
    """The least-cost ration at a share of maize, solved by itself: two forages and straw, the share
    held.
    """
    [block] = make_blocks(farm_on(plan.farm), ["finishers"])
    kept = tuple(
        offer
        for offer in block.offers
        if offer.id in ("first_cut", "maize")
        or offer.feed.kind == "straw"
        or not offer.feed.is_forage
    )
    found = solve_block(replace(block, offers=kept, pair=Pair("first_cut", "maize", share)))
    assert isinstance(found, Optimum)
    return found


def test_the_slider_moves_to_what_solving_again_finds(
    page: Any, plan: WinterPlan, switch: Switch
) -> None:
    """Along the whole curve: share, cost and kg of maize, and the mark moves with it."""
    [group] = switch.groups
    last = len(group.points) - 1
    prices = {offer.id: offer.price_per_kg_dm for offer in plan.farm.offers}
    slider = page.locator(".slider input[type=range]")
    marks = []
    for number in (0, last // 3, last // 2, last):
        slider.evaluate(
            "(s, n) => { s.value = n; s.dispatchEvent(new Event('input', {bubbles: true})); }",
            number,
        )
        text = page.inner_text(".slider output")
        again = _solved(plan, group.points[number].share)
        cost = sum(kg * prices[name] for name, kg in again.values.items())
        assert f"{100.0 * group.points[number].share:.1f} %" in text
        shown = re.search(r"Feed cost a head a day\s+GBP ([\d.]+)", text)
        maize = re.search(r"Maize clamp\s+([\d.]+) kg DM", text)
        assert shown is not None
        assert float(shown.group(1)) == pytest.approx(cost, abs=1e-3)
        assert (float(maize.group(1)) if maize else 0.0) == pytest.approx(
            again.values["maize"], abs=0.02
        )
        marks.append(page.get_attribute(".slider circle.at", "cx"))
    assert len(set(marks)) == len(marks)


def test_the_slider_is_moved_by_keys(page: Any) -> None:
    """One step to the right is the next point, said to those who hear it."""
    slider = page.locator(".slider input[type=range]")
    before = slider.get_attribute("aria-valuetext")
    slider.focus()
    page.keyboard.press("ArrowRight")
    assert slider.get_attribute("aria-valuetext") != before


@pytest.mark.parametrize("width", [360, 768, 1024, 1280])
def test_nothing_is_wider_than_the_window(chromium: Any, address: str, width: int) -> None:
    """With every fold open the page is as wide as the window, and nothing scrolls sideways."""
    context = chromium.new_context(viewport={"width": width, "height": 740})
    opened = context.new_page()
    opened.goto(address)
    opened.evaluate(OPEN_ALL)
    wide = opened.evaluate("document.documentElement.scrollWidth")
    scrolled = opened.evaluate(
        "[...document.querySelectorAll('main *')].filter(box =>"
        " /auto|scroll/.test(getComputedStyle(box).overflowX)).length"
    )
    context.close()
    assert wide == width
    assert scrolled == 0


def test_a_phone_shows_a_card_a_group_and_a_card_a_row(chromium: Any, address: str) -> None:
    """Cards stand below one another; a wide table names each figure beside it."""
    context = chromium.new_context(viewport={"width": 390, "height": 740})
    opened = context.new_page()
    opened.goto(address)
    opened.evaluate(OPEN_ALL)
    lefts = opened.eval_on_selector_all(
        ".card", "boxes => boxes.map(b => b.getBoundingClientRect().left)"
    )
    named = opened.eval_on_selector(
        "table.wide td:not(:empty)", "cell => getComputedStyle(cell, '::before').content"
    )
    context.close()
    assert len(lefts) > 3
    assert max(lefts) - min(lefts) < 1.0
    assert named not in ("none", "normal", '""')


def test_the_first_page_is_one_sheet_of_paper_and_all_are_more(chromium: Any, address: str) -> None:
    """Folds that are shut are not printed; by its buttons the first page alone, or everything."""
    context = chromium.new_context()
    opened = context.new_page()
    opened.add_init_script("window.print = () => {}")
    opened.goto(address)

    def sheets() -> int:
        return len(PRINTED.findall(opened.pdf(prefer_css_page_size=True)))

    shut = sheets()
    opened.click("#print-all")
    every = sheets()
    opened.evaluate("dispatchEvent(new Event('afterprint'))")
    again = sheets()
    opened.click("summary")
    with_one = sheets()
    opened.click("#print-first")
    alone = sheets()
    context.close()
    assert (shut, again, alone) == (1, 1, 1)
    assert every > with_one > 1


BROKEN = """() => {
  const found = [], texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let text = texts.nextNode(); text; text = texts.nextNode()) {
    if (!text.parentElement.closest("table")) continue;
    for (const word of text.data.matchAll(/[\\p{L}]+|\\(?\\d{4}-\\d\\d-\\d\\d\\)?/gu)) {
      const range = document.createRange();
      range.setStart(text, word.index);
      range.setEnd(text, word.index + word[0].length);
      const wide = [...range.getClientRects()].filter(r => r.width > 0);
      const lines = new Set(wide.map(r => Math.round(r.top)));
      if (lines.size > 1) found.push(word[0]);
    }
  }
  return found;
}"""
"""Words and dates of the tables that go on in another line."""


@pytest.mark.parametrize(
    ("width", "media"), [(1100, "screen"), (390, "screen"), (int(PRINTED_WIDTH_MM * MM), "print")]
)
def test_no_word_of_a_table_is_broken(chromium: Any, address: str, width: int, media: str) -> None:
    """On a desk, on a phone and on paper: a wide table scrolls in its box, or is printed
    smaller.
    """
    context = chromium.new_context(viewport={"width": width, "height": 800})
    opened = context.new_page()
    opened.goto(address)
    opened.emulate_media(media=media)
    broken = opened.evaluate(BROKEN)
    wide = opened.evaluate("document.documentElement.scrollWidth")
    context.close()
    assert broken == []
    assert wide == width


def test_print_is_a4_and_nothing_is_cut(page: Any) -> None:
    """Every sheet is A4, and no table is wider than what is printed of it."""
    sheets = re.findall(
        rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", page.pdf(prefer_css_page_size=True)
    )
    assert sheets
    for width, height in sheets:
        assert float(width) == pytest.approx(PAPER_MM[0] / 25.4 * 72.0, abs=1.0)
        assert float(height) == pytest.approx(PAPER_MM[1] / 25.4 * 72.0, abs=1.0)
    page.emulate_media(media="print")
    page.set_viewport_size({"width": int(PRINTED_WIDTH_MM * MM), "height": 1000})
    too_wide = page.eval_on_selector_all(
        "table, figure",
        "boxes => boxes.filter(b => b.scrollWidth > b.clientWidth + 1).map(b =>"
        " b.textContent.slice(0, 60))",
    )
    assert too_wide == []
    assert page.eval_on_selector(".acts", "box => getComputedStyle(box).display") == "none"


def test_it_can_be_heard_and_seen_by_everybody(page: Any) -> None:
    """An accessibility engine finds nothing: contrast, text alternatives, headings, names, ids."""
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page)
    assert [(one["id"], one["nodes"][0]["html"][:80]) for one in found.response["violations"]] == []
    passed = {one["id"] for one in found.response["passes"]}
    assert {
        "color-contrast",
        "svg-img-alt",
        "document-title",
        "html-has-lang",
        "heading-order",
    } <= passed


def test_without_scripts_everything_is_there(chromium: Any, address: str, plan: WinterPlan) -> None:
    """Every table stands, and nothing is offered that would not work."""
    context = chromium.new_context(java_script_enabled=False)
    opened = context.new_page()
    opened.goto(address)
    text = opened.inner_text("main")
    buttons = opened.locator("thead button").count()
    hint = opened.locator(".acts").is_visible()
    opened.click("summary >> text=Switch of forage")
    table = opened.locator("table[data-name=switch]").is_visible()
    slide = opened.locator(".slider form").is_visible()
    context.close()
    assert all(store.name in text for store in plan.stores)
    assert "What they get" in text
    assert table
    assert (buttons, hint, slide) == (0, False, False)
