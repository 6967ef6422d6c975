"""The page of a winter as HTML: whole, self-contained, always the same, nothing of the farm
unescaped, every chart in words.
"""

from __future__ import annotations

import builtins
import re
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest
from page_plans import HOSTILE, named, page_of, plan_of
from typer.testing import CliRunner

from rationlp.after.plan_changes import plan_changes
from rationlp.cli.app import app
from rationlp.errors import InputError
from rationlp.folders import examples_folder
from rationlp.planned import PlanShortfall, WinterPlan
from rationlp.report.charts import styles
from rationlp.report.page import winter_page
from rationlp.report.tables.table import shown
from rationlp.report.tables.winter_page import (
    feed_sources_table,
    standing_table,
    supply_over_winter_table,
    used_offers,
)
from rationlp.result import Shortfall

VOID = {"meta", "br", "input", "rect", "use"}
LOADS = ("src", "srcset", "data", "action", "href", "xlink:href")


class Page(HTMLParser):
    """What a browser makes of a page: tags in order, ids, headings, links, scripts, and the text
    outside scripts and styles.
    """

    def __init__(self, html: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.handlers: list[str] = []
        self.text = ""
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep the tag, its id, what it would load and what it would run."""
        self.tags.append(tag)
        for key, value in attrs:
            if key == "id":
                self.ids.append(value or "")
            if key in LOADS:
                self.links.append(value or "")
            if key.startswith("on"):
                self.handlers.append(key)
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """A tag closed in itself."""
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        """Tags close in the order in which they were opened."""
        if tag not in VOID:
            assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        """Keep the text that is read."""
        if self.open and self.open[-1] not in ("script", "style"):
            self.text += data


@pytest.fixture(scope="module")
def beef() -> Page:
    """The page of the beef farm, parsed."""
    return Page(page_of("beef"))


def test_a_page_is_whole_and_loads_nothing(beef: Page) -> None:
    """Every tag is closed, no id stands twice, and every link leads to a place in the page."""
    assert beef.open == []
    assert len(beef.ids) == len(set(beef.ids))
    assert beef.links
    assert [link for link in beef.links if not link.startswith("#")] == []
    assert [link for link in beef.links if link[1:] not in beef.ids] == []
    assert re.findall(r"@import|url\((?!#)", page_of("beef")) == []


def test_headings_stand_in_order(beef: Page) -> None:
    """One first heading, and none skips a level."""
    levels = [int(tag[1]) for tag in beef.tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels.count(1) == 1
    assert all(b - a <= 1 for a, b in pairwise(levels))


def test_the_answer_comes_first(beef: Page) -> None:
    """Cost, each store and the first feed to buy stand before the first chart."""
    first = page_of("beef").partition("<figure")[0]
    plan = plan_of("beef")
    assert f"{plan.farm.currency} {plan.cost:,.0f}" in first
    assert all(store.name in first for store in plan.stores)
    assert plan.purchases[0].name in first
    assert "Have a qualified nutritionist or vet check" in first
    assert beef.text.index("The answer") < beef.text.index("What is left of each store")


def test_every_chart_is_told_in_words() -> None:
    """Each drawing is hidden from those who hear the page, or carries a title and a description of
    what it shows.
    """
    drawings = re.findall(
        r"<svg[^>]*>(?:<title[^>]*>(.*?)</title><desc[^>]*>(.*?)</desc>)?", page_of("beef")
    )
    opened = re.findall(r"<svg[^>]*>", page_of("beef"))
    parts = {ration.group for ration in plan_of("beef").rations}
    told = [said for title, said in drawings if title]
    assert len(told) == len(plan_of("beef").stores) + len(parts)
    assert all(re.search(r"\d", said) for said in told)
    assert sum('aria-hidden="true"' in tag for tag in opened) == len(opened) - len(told)


def test_charts_hold_no_text_of_the_farm() -> None:
    """Names stand in the page only: what a chart draws is numbers, months and our own words."""
    drawn = re.findall(r"<text[^>]*>([^<]*)</text>", page_of("beef"))
    own = {"t DM left", "kg DM a head a day"}
    months = {"Oct", "Nov", "Dec", "Jan", "Feb", "Mar", "Apr", "May", ""}
    assert drawn
    assert [
        text
        for text in drawn
        if not (text.strip() in own | months or re.fullmatch(r"[\d.]+", text.strip()))
    ] == []


def test_the_same_plan_gives_the_same_bytes() -> None:
    """No day, no chance and no counting of what came before is in a page."""
    plan = plan_of("few")
    assert winter_page(plan) == winter_page(plan)


def test_no_two_feeds_look_alike() -> None:
    """Fill and hatching together tell any 56 feeds apart; hatching alone any seven, for grey
    print.
    """
    assert len(set(styles(56))) == 56
    assert len({style.hatch for style in styles(7)}) == 7


@pytest.mark.parametrize("name", HOSTILE)
def test_names_of_the_farm_are_text_and_nothing_else(name: str) -> None:
    """The same tags as with plain names, one script and one style, no handler, and the name is
    there to be read.
    """
    plain, hostile = Page(winter_page(named("Plain"))), Page(winter_page(named(name)))
    assert hostile.tags == plain.tags
    assert hostile.handlers == []
    assert hostile.tags.count("script") == hostile.tags.count("style") == 1
    assert name in hostile.text


def test_a_page_stays_small() -> None:
    """At most 1.5 MB for the largest example."""
    assert len(page_of("hill").encode()) <= 1_500_000


@pytest.mark.parametrize("kind", ["jinja2", "matplotlib"])
def test_a_missing_package_is_named_with_its_remedy(
    kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """IN610 with the line that installs it."""
    real = builtins.__import__

    def refuse(name: str, *rest: object, **more: object) -> object:
        if name.split(".")[0] == kind:
            raise ImportError(name)
        return real(name, *rest, **more)  # type: ignore[arg-type]

    plan = plan_of("few")
    monkeypatch.setattr(builtins, "__import__", refuse)
    with pytest.raises(InputError) as trouble:
        winter_page(plan)
    [finding] = trouble.value.findings
    assert (finding.code, finding.remedy) == ("IN610", "pip install '.[report]'")
    assert kind in finding.found


def _without_plan() -> WinterPlan:
    plan = plan_of("few")
    short = Shortfall("ME", 12.5, 80.0, "MJ", "AFRC (1993)")
    return replace(
        plan,
        status="none_exists",
        rations=(),
        stores=(),
        purchases=(),
        sales=(),
        cost=None,
        proof=None,
        tidy=None,
        shortfalls=(PlanShortfall("cows", 3, short, 1.7),),
    )


def test_a_winter_that_cannot_be_fed_has_a_page_too() -> None:
    """It says so first, then who is short of what."""
    page = Page(winter_page(_without_plan()))
    assert page.open == []
    answer = page.text.partition("Cautions")[0]
    assert "no plan feeds every group" in page.text
    assert "12.5" in page.text
    assert "Nothing cheaper exists" not in answer
    assert "Proved cheapest" not in answer
    assert "proved cheapest" not in answer


def test_supply_stands_against_need_in_every_period() -> None:
    """Each quantity of each period is in the table, or prints as it did in the period before."""
    plan = plan_of("beef")
    rations = [one for one in plan.rations if one.group == "weaned"]
    table = supply_over_winter_table(plan, rations)
    held = {column.title: n for n, column in enumerate(table.columns)}
    at = 3
    for ration in rations:
        first = plan.periods[ration.period].first
        at = held.get(f"{first.day} {first:%b}", at)
        energy = next(line for line in ration.supply if line.quantity == "me_mj")
        assert str(table.rows[0][at]).startswith(shown(energy.supply, 1))


def test_every_figure_of_every_feed_has_a_source() -> None:
    """As many figures as the feeds in the plan hold, and every number in brackets stands below with
    its words.
    """
    plan = plan_of("beef")
    table = feed_sources_table(plan)
    offers = used_offers(plan)
    assert len(table.rows) == len(offers)
    for offer, row in zip(offers, table.rows, strict=True):
        assert len(re.split(r"; |\. ", str(row[1]))) == len(offer.feed.figures) + 1
    cited = {number for row in table.rows for number in re.findall(r"\[\d+\]", str(row[1]))}
    assert cited == {note.partition(" ")[0] for note in table.notes}
    assert any(note.partition(" ")[2].startswith("laboratory: lab.csv") for note in table.notes)


def test_what_binds_all_winter_is_told_apart_from_what_binds_at_times() -> None:
    """Counted by hand over the periods of one group."""
    plan = plan_of("beef")
    rations = [one for one in plan.rations if one.group == "weaned"]
    row = next(row for row in standing_table(plan).rows if row[0] == rations[0].name)
    for line in rations[0].supply:
        times = sum(
            other.at_limit
            for one in rations
            for other in one.supply
            if other.quantity == line.quantity
        )
        words = f"{line.title} ({line.unit})"
        assert (words in str(row[1]).split(", ")) == (times == len(rations))
        assert (words in str(row[2]).split(", ")) == (0 < times < len(rations))


def test_the_command_writes_the_page(tmp_path: Path) -> None:
    """`rationlp report` writes the file, says so, and prints nothing else."""
    out = tmp_path / "winter.html"
    done = CliRunner().invoke(app, ["report", str(examples_folder() / "few"), "-o", str(out)])
    assert done.exit_code == 0
    assert done.stdout == ""
    assert f"Written: {out}" in done.stderr
    assert out.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_the_command_leaves_an_input_alone(tmp_path: Path) -> None:
    """The farm file is no place for a page: IN602, and it stays as it was."""
    farm = tmp_path / "farm.toml"
    farm.write_bytes((examples_folder() / "few" / "farm.toml").read_bytes())
    before = farm.read_bytes()
    done = CliRunner().invoke(app, ["report", str(tmp_path), "--output", str(farm)])
    assert done.exit_code == 2
    assert "IN602" in done.stderr
    assert farm.read_bytes() == before


def test_changes_of_ration_stand_on_the_page() -> None:
    """Below the groups, a row a change of the plan, from the day to begin; a farm that never
    changes has no such table.
    """
    assert Page(page_of("few")).text.count("Changes over the winter") == 1
    found = plan_changes(plan_of("few"))
    assert found
    assert all(one.begin.isoformat() in page_of("few") for one in found)
    same = replace(plan_of("few"), rations=plan_of("few").rations[:1])
    assert not plan_changes(same)
    assert "Changes over the winter" not in winter_page(same)
