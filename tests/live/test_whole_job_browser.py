"""The whole job in a real browser, by mouse and keyboard: a farm made by its five questions, three
clamps, two herds and a flock; a lab sheet and a price list pasted; the plan read, a slider moved
and kept, saved, a sheet printed; then the command line gives the same plan, to the byte.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from browsing import Watched, command, go_to, paste, proved, slide, state_of
from pypdf import PdfReader

from rationlp.ask.carry_on import winter_so_far
from rationlp.cli.options import Format, Options
from rationlp.cli.winter import Solved, story
from rationlp.live.table import Table
from rationlp.live.told import figure
from rationlp.read.farm import read_farm
from rationlp.report.json_answer import story_json

pytestmark = pytest.mark.browser

CLAMPS = {
    "first_cut.length_m": "22", "first_cut.width_m": "4", "first_cut.height_m": "1.6",
    "second_cut.length_m": "12", "second_cut.width_m": "4", "second_cut.height_m": "1.5",
    "maize.length_m": "16", "maize.width_m": "4", "maize.height_m": "1.6",
}  # fmt: skip
HERDS = {"high.head": "14", "dry.head": "10"}
FLOCK = {"singles.head": "40", "singles.live_weight_kg": "62", "singles.lambing": "2027-04-01"}
WINTER = {"winter.start": "2026-12-01", "winter.turnout": "2027-02-28"}
LAB_SHEET = """Invented laboratory                 Report of 19/10/2026
Sample: First-cut clamp
Date sampled: 06/10/2026

Determination            Unit         Result     Usual
Dry matter (corrected)   %            28,6       25 - 35
Metabolisable energy     MJ/kg DM     10,8       10 - 11,5
Crude protein            % DM         13,9       11 - 17
NDF                      g/kg DM      486        450 - 550
"""
PRICE_LIST = """Invented Country Stores, prices for November 2026, delivered

Rolled barley            £196 per tonne
Soya bean meal           £372 per tonne
"""


def answer_the_questions(page: Any, folder: str) -> None:
    """Five questions: like which farm, when is winter, what is in store, which animals, prices."""
    page.select_option("#like", "dairy")
    page.fill("#folder", folder)
    for path, text in {**WINTER, **CLAMPS, **HERDS}.items():
        page.fill(f'[id="n-{path}"]', text)
    for path in ("late", "young", "finishers"):
        page.click(f'[id="n-{path}.head"]')
        page.keyboard.press("Control+A")
        page.keyboard.press("Delete")
    page.click("#more-groups > summary")
    for path, text in FLOCK.items():
        page.fill(f'[id="n-{path}"]', text)
    page.click("#fresh button[type=submit]")
    page.wait_for_selector("#cards")


def read_the_plan(page: Any) -> None:
    """The winter is proved, the stores suffice, and each group has its ration."""
    proved(page)
    assert page.inner_text("h1").startswith("Yes")
    assert page.locator(".bars .line").count() >= len(CLAMPS) / 3
    names = page.locator(".card h3").all_inner_texts()
    assert names == ["High yielders", "Dry cows", "Ewes scanned with one lamb"]
    for card in page.locator(".card").all():
        assert card.locator(".mix li").count() > 0


def move_a_slider(page: Any) -> None:
    """Two cows fewer: what it does is said, with the former answer behind, and kept."""
    page.click('[id="if-group"] summary')
    slide(page, "h-high.head", "ArrowLeft", 2)
    page.wait_for_selector("#trial:has-text('12')")
    page.wait_for_selector(".said:has-text('cheaper')")
    assert page.locator(".cmp .former").count() > 0
    page.click("#keep")
    page.wait_for_selector("#trial:empty", state="attached")


def print_the_sheet(page: Any) -> str:
    """The words on the printed yard sheets."""
    go_to(page, "Yard sheets")
    packed = page.pdf(format="A4")
    return "\n".join(one.extract_text() for one in PdfReader(BytesIO(packed)).pages)


def command_of(table: Table, folder: Path) -> str:
    """The text that the command makes of the plan that the page proved."""
    farm = read_farm(folder)
    solved = Solved(winter_so_far(farm, farm.start), table.plan, ())
    asked = Options(form=Format.json)
    return story_json(story(solved, asked))


def test_the_whole_job(watch: Callable[..., Watched], tmp_path: Path) -> None:
    """From no farm at all to a printed sheet; what the page proved is what the command says."""
    watched, folder = watch(None, tmp_path), tmp_path / "our farm"
    page = watched.page
    answer_the_questions(page, "our farm")
    go_to(page, "Stores")
    assert "no group may get it" not in page.inner_text("#told")
    paste(page, LAB_SHEET, "lab.csv")
    go_to(page, "Buying")
    paste(page, PRICE_LIST, "prices.csv")
    go_to(page, "The winter")
    read_the_plan(page)
    move_a_slider(page)
    page.click("#save")
    page.wait_for_selector("#save:has-text('Saved')")
    proved(page)
    assert "head = 12" in (folder / "farm.toml").read_text(encoding="utf-8")
    printed = print_the_sheet(page)
    for name in ("High yielders", "Dry cows", "Ewes scanned with one lamb"):
        assert name in printed
    assert watched.live.table is not None
    told = command(folder, "winter")
    assert command_of(watched.live.table, folder) == told
    assert_shown(state_of(page)["answer"], json.loads(told))
    watched.end()


def assert_shown(shown: Any, plan: Any) -> None:
    """What the page has is what the command says: cost, and every feed of every group in every
    period, in as many digits as are sent.
    """
    assert shown["cost"] == plan["cost"]
    begins = [period["first"] for period in plan["periods"]]
    rations = {card["id"]: card["rations"] for card in shown["groups"]}
    assert plan["rations"]
    for one in plan["rations"]:
        day = begins[one["period"]]
        fed = next(each for each in rations[one["group"]] if each["first"] <= day < each["last"])
        assert {feed["id"]: feed["kg"] for feed in fed["feeds"]} == {
            amount["offer"]: figure(amount["kg_fresh"])
            for amount in one["amounts"]
            if amount["kg_fresh"] > 0.0
        }
