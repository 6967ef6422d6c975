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
from page_plans import HOSTILE, named, page_of, plan_of, winter_page
from typer.testing import CliRunner

from rationlp.after.plan_cautions import plan_cautions
from rationlp.after.plan_changes import plan_changes
from rationlp.after.winter_facts import cautions_on, winter_facts
from rationlp.cli.app import app
from rationlp.errors import InputError
from rationlp.folders import examples_folder
from rationlp.planned import PlanShortfall, WinterPlan
from rationlp.report.page import SHARED
from rationlp.report.tables.table import shown
from rationlp.report.tables.winter_page import (
    feed_sources_table,
    standing_table,
    supply_over_winter_table,
    used_offers,
)
from rationlp.report.winter_charts import BOUGHT, GROWN, feed_fills
from rationlp.report.wording import day_words, unbroken
from rationlp.result import Shortfall

VOID = {"meta", "br", "input", "rect", "use", "circle", "path", "line", "stop"}
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
    """Cost, each store, each group fed and what can kill stand before the first fold."""
    first = Page(page_of("beef").partition("<details")[0]).text
    plan = plan_of("beef")
    assert f"{plan.farm.currency}\u00a0{plan.cost:,.0f}" in first
    assert all(store.name in first for store in plan.stores)
    fed = {ration.name for ration in plan.rations if ration.period == 0 and ration.amounts}
    assert all(name in first for name in fed)
    grave = {one for one in plan_cautions(plan) if one.harm and not one.weeks}
    assert grave
    assert all(one.title in first and one.action in first for one in grave)
    assert first.index("Have I enough?") < first.index("What they get")
    assert re.search(r"<h1><bdi>Enough to turnout on \d", page_of("beef"))
    assert "Have a qualified nutritionist or vet check" in first


def test_cards_say_what_the_first_fortnight_feeds(beef: Page) -> None:
    """Every feed of every group fed in the first period, in kg fresh as the plan has it."""
    cards = re.findall(r'<article class="card">(.*?)</article>', page_of("beef"), re.S)
    rations = [ration for ration in plan_of("beef").rations if ration.period == 0]
    assert len(cards) == len(rations)
    for card, ration in zip(cards, rations, strict=True):
        figures = [float(text) for text in re.findall(r"<b>([\d.,]+)</b>", card)]
        shown_kg = sorted(one.kg_fresh for one in ration.amounts if one.kg_fresh >= 0.0005)
        assert sorted(figures) == pytest.approx(shown_kg, abs=0.051)


def test_what_holds_all_winter_is_new_in_the_first_fortnight_only() -> None:
    """Then what is new are cautions of weeks that did not apply in the period before."""
    facts = winter_facts(plan_of("beef"))
    first, later = facts.plan.periods[0].first, facts.plan.periods[3].first
    new = {one.id for one in cautions_on(facts, first) if one.new}
    assert new == {one.id for one in cautions_on(facts, first) if not one.daily}
    for one in cautions_on(facts, later):
        day = facts.plan.periods[2].first.isoformat()
        applied = not one.weeks or any(begin <= day < end for begin, end in one.weeks)
        assert one.new == (not applied and not one.daily)


def test_no_date_is_written_for_machines(beef: Page) -> None:
    """Days are written as people do, everywhere in the text."""
    assert re.findall(r"\d{4}-\d\d-\d\d", beef.text) == []


def test_every_chart_is_told_in_words() -> None:
    """Each drawing is hidden from those who hear the page, or carries a title and a description of
    what it shows; or it is a layer of one that does.
    """
    page = page_of("beef")
    told = re.findall(
        r'<svg class="chart"[^>]*><title[^>]*>(.*?)</title><desc[^>]*>(.*?)</desc>', page
    )
    parts = {ration.group for ration in plan_of("beef").rations}
    assert len(told) == len(plan_of("beef").stores) + len(parts)
    assert all(re.search(r"\d", says) for _, says in told)
    opened = re.findall(r"<svg[^>]*>", page)
    silent = [tag for tag in opened if 'aria-hidden="true"' in tag or 'class="plot"' in tag]
    assert len(silent) == len(opened) - len(told)


def test_charts_hold_no_text_of_the_farm() -> None:
    """Names stand in the page only: what a chart draws is numbers, months and our own words."""
    drawn = re.findall(r"<text[^>]*>([^<]*)</text>", page_of("beef"))
    own = {"t DM left", "kg DM a head a day", "›"}
    months = {"Oct", "Nov", "Dec", "Jan", "Feb", "Mar", "Apr", "May", "Jun", ""}
    assert drawn
    assert [
        text for text in drawn if not (text in own | months or re.fullmatch(r"[\d.,]+", text))
    ] == []


def test_the_same_plan_gives_the_same_bytes() -> None:
    """No day, no chance and no counting of what came before is in a page."""
    plan = plan_of("few")
    assert winter_page(plan) == winter_page(plan)


def test_no_two_feeds_look_alike() -> None:
    """Eight home-grown and ten bought feeds have fills of their own, each with a look in the style
    sheet and a pattern where it names one.
    """
    offers = plan_of("beef").farm.offers
    many = [replace(offers[0], id=f"{n}", bought=n >= GROWN) for n in range(GROWN + BOUGHT)]
    fills = feed_fills(many)
    assert len(set(fills.values())) == GROWN + BOUGHT
    css = (SHARED / "common.css").read_text(encoding="utf-8")
    patterns = (SHARED / "fills.svg").read_text(encoding="utf-8")
    looks = [re.search(rf"\.{fill} \{{ fill: (.*?); \}}", css) for fill in fills.values()]
    assert None not in looks
    assert len({look.group(1) for look in looks if look}) == GROWN + BOUGHT
    for pattern in re.findall(r"url\(#([\w-]+)\)", css):
        assert f'id="{pattern}"' in patterns


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


@pytest.mark.parametrize("kind", ["jinja2"])
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
    assert all(unbroken(day_words(one.begin)) in page_of("few") for one in found)
    same = replace(plan_of("few"), rations=plan_of("few").rations[:1])
    assert not plan_changes(same)
    assert "Changes over the winter" not in winter_page(same)
