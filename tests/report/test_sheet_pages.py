"""The sheets as text, HTML, CSV and JSON: one page a group, nothing of the farm unescaped, nothing
loaded from elsewhere.
"""

from __future__ import annotations

import builtins
import re
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser

import pytest
from schema_check import against_schema
from told import told

from rationlp.errors import InputError
from rationlp.farm.farm import Mix
from rationlp.farm.group import Bedding, Feeding
from rationlp.folders import examples_folder
from rationlp.model.ration import solve_rations
from rationlp.needs.calendar import farm_on
from rationlp.read.farm import read_farm
from rationlp.report.answers.day import sheet_answer
from rationlp.report.files import csv_text
from rationlp.report.json_answer import document
from rationlp.report.sheet import after_rounding, bar, pages, pen_decimals, sheets_html
from rationlp.report.stories.sheet import sheet_story
from rationlp.report.tables.sheet import sheets_table
from rationlp.report.tables.table import shown
from rationlp.result import Rations
from rationlp.yard.day_facts import sheet_facts
from rationlp.yard.pens import BALES, MEALS, RAIL, TOPPED, PenLine
from rationlp.yard.sheets import DayFigures, YardSheets, yard_sheets

A4_LINES = 66
HOSTILE = [
    '<script>alert("x")</script>',
    '=HYPERLINK("http://a.example","b")',
    "عجول الشتاء",
    "🐄" * 40,
    "Silage" * 20,
    "{{ 7 * 7 }} {% raw %}",
]


@cache
def rations(name: str) -> Rations:
    """The rations of an example on its first day."""
    return solve_rations(farm_on(read_farm(examples_folder() / name)))


def named(name: str) -> YardSheets:
    """The dairy sheets with the first feed, the first group and the farm called `name`."""
    found = rations("dairy")
    offers = tuple(
        replace(offer, name=name) if offer.id == "first_cut" else offer
        for offer in found.farm.offers
    )
    groups = tuple(
        replace(group, name=name) if group.id == "high" else group for group in found.farm.groups
    )
    return yard_sheets(
        replace(found, farm=replace(found.farm, name=name, offers=offers, groups=groups))
    )


class Reader(HTMLParser):
    """What a browser would make of a page: its tags, its text, and where it would look for more."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.links: list[str] = []
        self.open: list[str] = []
        self.text = ""
        self.pages: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep the tag, and every attribute that could load something."""
        self.tags.append(tag)
        self.links += [
            value or ""
            for key, value in attrs
            if key in ("src", "href", "srcset", "data", "action")
        ]
        if tag not in ("meta", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        """Tags close in the order in which they were opened."""
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        """Keep the text."""
        self.text += data


def read(html: str) -> Reader:
    """A page as parsed."""
    reader = Reader()
    reader.feed(html)
    reader.close()
    assert reader.open == []
    return reader


@pytest.mark.parametrize("name", HOSTILE)
def test_a_name_is_text_and_nothing_else(name: str) -> None:
    """As a feed, a group and a farm it stands in the page as it was written, and makes no tag."""
    plain, spoilt = (
        read(sheets_html(sheet_facts(named("Plain")))),
        read(sheets_html(sheet_facts(named(name)))),
    )
    assert spoilt.tags == plain.tags
    assert spoilt.text.count(name) == plain.text.count("Plain")
    assert "script" not in spoilt.tags


@pytest.mark.parametrize("name", HOSTILE)
def test_a_name_does_not_break_the_plain_page(name: str) -> None:
    """Every group still has its page, the cautions have one, and the name stands in it."""
    text = told(sheet_story(sheet_facts(named(name))), 80)
    assert len(text.split("=" * 80)) == 6
    assert name in text.replace("\n", "")


def test_the_page_needs_nothing_from_elsewhere() -> None:
    """No link, no script, no picture, no import or address in the style."""
    html = sheets_html(sheet_facts(named("Plain")))
    reader = read(html)
    assert reader.links == []
    assert not {"script", "link", "img", "iframe", "object"} & set(reader.tags)
    assert "http:" not in html
    assert "https:" not in html
    assert "url(" not in html
    assert "@import" not in html


def test_a_page_a_group_prints_on_a4() -> None:
    """As many sections as groups and one of cautions, each on a page of its own in print."""
    html = sheets_html(sheet_facts(named("Plain")))
    assert read(html).tags.count("section") == 6
    assert re.search(r"@page \{ size: A4;", html)
    assert "break-after: page" in html


def test_a_group_without_a_ration_is_named_on_a_page_of_its_own() -> None:
    """In text and in HTML."""
    found = rations("dairy")
    none = replace(
        found.groups[0], amounts=(), supply=(), proof=None, feed_cost=None, status="none_exists"
    )
    yard = yard_sheets(replace(found, groups=(none, *found.groups[1:])))
    assert "High yielders (62 head): no ration, so no sheet." in told(
        sheet_story(sheet_facts(yard)), 80
    )
    assert (
        "High yielders (62 head)"
        in read(sheets_html(sheet_facts(yard))).text.rpartition("No ration, so no sheet")[2]
    )


@pytest.mark.parametrize("name", ["dairy", "beef", "hill"])
def test_a_plain_page_fits_on_a4(name: str) -> None:
    """No more than 66 lines of 80 columns a group."""
    for page in told(sheet_story(sheet_facts(yard_sheets(rations(name)))), 80).split("=" * 80):
        lines = page.strip("\n").split("\n")
        assert len(lines) <= A4_LINES, lines[0]
        assert max(len(line) for line in lines) <= 80


def test_every_page_ends_with_the_caution() -> None:
    """The line that stands under every page and sheet."""
    for page in told(sheet_story(sheet_facts(yard_sheets(rations("beef")))), 80).split("=" * 80):
        assert " ".join(page.split()).endswith("local rules come first.")


def test_csv_has_a_line_for_every_weighing() -> None:
    """Premix and load of each group; the load's lines end with what the scale shows."""
    yard = yard_sheets(rations("dairy"))
    rows = csv_text(sheets_table(yard)).splitlines()
    want = 0
    for sheet in yard.sheets:
        assert sheet.mix is not None
        want += len(sheet.mix.load.lines) + len(sheet.mix.load.premix)
    assert len(rows) == 1 + want
    assert rows[0].startswith(
        "group,group_name,head,where,order,offer,feed,kg,scale_kg,times_a_day"
    )


@pytest.mark.parametrize("name", ["dairy", "beef", "hill"])
def test_the_document_keeps_to_the_schema(name: str) -> None:
    """With a wagon and without."""
    assert (
        against_schema(document("sheet", sheet_answer(sheet_facts(yard_sheets(rations(name))))))
        == []
    )


def test_the_document_of_a_shared_mix_keeps_to_the_schema() -> None:
    """Two groups, a top-up beside the mix and a corrected dry matter."""
    found = rations("dairy")
    mix = Mix("milking", {"high": 1.0, "late": 0.8}, frozenset({"wheat"}))
    farm = replace(
        found.farm, feeding=Feeding("horizontal", 14.0, mix_kg_per_m3=280.0), mixes=(mix,)
    )
    yard = yard_sheets(replace(found, farm=farm), DayFigures({"maize": 31.0}, {"late": 71}))
    mixed = document("sheet", sheet_answer(sheet_facts(yard)))
    assert against_schema(mixed) == []
    assert mixed["groups"][0]["mix"]["shared_out"][1]["head"] == 71


def test_what_each_group_gets_of_a_shared_load_stands_on_its_page() -> None:
    """The table of who gets how much, with both groups."""
    found = rations("dairy")
    farm = replace(found.farm, mixes=(Mix("milking", {"high": 1.0, "late": 0.8}, frozenset()),))
    text = told(sheet_story(sheet_facts(yard_sheets(replace(found, farm=farm)))), 80)
    table = text.partition("Who gets how much of a load")[2].partition("Supply after")[0]
    assert re.search(r"High yielders +62 +[\d,]+\n", table)
    assert re.search(r"Late lactation +70 +[\d,]+\n", table)


def test_what_rounding_breaks_is_said_and_marked() -> None:
    """Dry cows given a tenth less head than they are: short of dry matter by more than weights are
    aimed at.
    """
    yard = yard_sheets(rations("dairy"))
    sheet = next(sheet for sheet in yard.sheets if sheet.group == "dry")
    cut = tuple(replace(line, supply=0.9 * line.supply) for line in sheet.fed.supply)
    said, good = after_rounding(replace(sheet, fed=replace(sheet.fed, supply=cut)))
    assert not good
    assert "Dry matter" in said
    assert "below its need or least" in said
    page = next(
        pages(
            sheet_facts(replace(yard, sheets=(replace(sheet, fed=replace(sheet.fed, supply=cut)),)))
        )
    )
    assert (page.check, page.good) == (said, False)


def test_what_the_ration_itself_keeps_is_told_as_kept() -> None:
    """The ration unrounded against itself."""
    sheet = yard_sheets(rations("dairy")).sheets[0]
    same = replace(sheet.fed, supply=sheet.before.supply)
    assert after_rounding(replace(sheet, fed=same))[1]


@pytest.mark.parametrize(("share", "signs"), [(0.0, 0), (0.5, 10), (1.0, 20), (1.4, 20)])
def test_the_small_chart_is_as_full_as_the_tub(share: float, signs: int) -> None:
    """Twenty signs in all, never more."""
    assert bar(share) == f"[{'#' * signs}{'.' * (20 - signs)}]"


def test_without_jinja2_the_install_line_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """IN610 with what to type; the text form needs nothing."""
    real = builtins.__import__

    def without(name: str, *more: object) -> object:
        if name == "jinja2":
            raise ImportError(name)
        return real(name, *more)  # type: ignore[arg-type]

    yard = yard_sheets(rations("beef"))
    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(InputError) as trouble:
        sheets_html(sheet_facts(yard))
    assert trouble.value.findings[0].code == "IN610"
    assert "'.[report]'" in trouble.value.findings[0].remedy
    assert "Finishing bulls" in told(sheet_story(sheet_facts(yard)), 80)


def test_bedding_stands_on_the_sheet_of_those_who_lie_on_it() -> None:
    """4 kg of straw a head under 45 young stock: 180 kg a day, on their page and on no other."""
    found = rations("dairy")
    farm = replace(found.farm, beddings=(Bedding("straw", "young", 4.0),))
    facts = sheet_facts(yard_sheets(replace(found, farm=farm)))
    beds = {page.title.partition(" (")[0]: page.bedding for page in pages(facts) if page.bedding}
    assert beds == {"Young stock": "Bed them with 180 kg Barley straw a day."}
    assert "Bed them with 180 kg Barley straw a day." in told(sheet_story(facts), 100)


@pytest.mark.parametrize(
    ("way", "kg", "told_as"),
    [(BALES, 33.3, "33"), (RAIL, 48.9, "49"), (RAIL, 8.4, "8.4"), (MEALS, 22.5, "22.5"),
     (TOPPED, 0.045, "0.045"), (RAIL, 874.0, "874")],
)  # fmt: skip
def test_nobody_forks_out_hay_to_a_hundred_grams(way: str, kg: float, told_as: str) -> None:
    """Whole kilograms of what is forked, tenths of what is weighed in a bucket."""
    line = PenLine("hay", "Hay", way, kg, kg)
    assert shown(kg, pen_decimals(line)) == told_as
