"""Bales once opened: days for all groups that share one, said where they lie too long, more
strongly for sheep.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from rationlp.farm.farm import Farm
from rationlp.model.bales import Eater, bale_remarks, bales_line, open_too_long
from rationlp.model.ration import solve_rations
from rationlp.read.farm import read_farm
from rationlp.read.feeds import read_feed_tables
from rationlp.rules.bales import bale_weights, days_open, spoils_open
from rationlp.wintering.plan import solve_winter
from rationlp.yard.day_facts import ration_facts
from rationlp.yard.sheets import yard_sheets

FARM = """
[farm]
name = "F"
currency = "GBP"
[winter]
start = 2026-12-01
turnout = 2027-01-12
[[stores]]
id = "bales"
name = "Silage bales"
feed = "grass_silage_big_bale"
kind = "bales"
count = 200
weight_kg = 650
shape = "round"
cost_per_t_fresh = 40
[[stores]]
id = "hay"
feed = "hay_average"
kind = "bales"
count = 200
weight_kg = 220
shape = "round"
cost_per_t_fresh = 160
[[bought]]
id = "minerals"
feed = "minerals_sheep_no_copper"
price_per_t_fresh = 700
[[groups]]
id = "ewes"
class = "ewe_dry"
head = {ewes}
live_weight_kg = 70
{more}
"""
SUCKLERS = """
[[groups]]
id = "cows"
class = "suckler_cow_dry"
head = 40
live_weight_kg = 640
days_to_calving = 100
"""


def farm(tmp_path: Path, ewes: int, more: str = "") -> Farm:
    """Dry ewes on silage bales, and whoever shares them."""
    (tmp_path / "farm.toml").write_text(FARM.format(ewes=ewes, more=more), encoding="utf-8")
    return read_farm(tmp_path)


def test_a_bale_of_650_kg_wants_a_hundred_ewes() -> None:
    """Acceptance figure 26: a 650 kg silage bale lasts 100 ewes 2 days and 50 ewes 4 (stocks
    advice, a): 3.25 kg a ewe a day.
    """
    assert days_open(650.0, 100 * 3.25) == pytest.approx(2.0)
    assert days_open(650.0, 50 * 3.25) == pytest.approx(4.0)


@pytest.mark.parametrize(("head", "too_long"), [(100, False), (101, False), (99, True), (50, True)])
def test_two_days_is_the_line(tmp_path: Path, head: int, too_long: bool) -> None:
    """At 3.25 kg a ewe a hundred ewes finish a bale in time, ninety-nine do not (figure 26)."""
    given = farm(tmp_path, head)
    found = list(open_too_long(given, [Eater("ewes", "ewe_dry", "bales", 3.25 * head)]))
    assert bool(found) == too_long
    assert [one.kg_needed for one in found] == [325.0] * too_long


def test_all_groups_of_a_yard_share_a_bale(tmp_path: Path) -> None:
    """Fifty ewes alone leave it open for four days; with cows that eat from the same bale it is
    gone in one.
    """
    given = farm(tmp_path, 50, SUCKLERS)
    ewes, cows = (
        Eater("ewes", "ewe_dry", "bales", 162.5),
        Eater("cows", "suckler_cow_dry", "bales", 600.0),
    )
    assert set(bale_remarks(given, [ewes])) == {"ewes"}
    assert bale_remarks(given, [ewes, cows]) == {}
    assert bale_remarks(given, [replace(ewes, offer="hay")]) == {}


def test_sheep_are_warned_more_strongly(tmp_path: Path) -> None:
    """Listeriosis is named to those who feed sheep, not to those who feed cattle; both are told
    days and what would do.
    """
    given = farm(tmp_path, 50, SUCKLERS)
    ewes, cows = (
        Eater("ewes", "ewe_dry", "bales", 60.0),
        Eater("cows", "suckler_cow_dry", "bales", 100.0),
    )
    said = bale_remarks(given, [ewes, cows])
    assert "listeriosis" in said["ewes"][0]
    assert "listeriosis" not in said["cows"][0]
    assert all(
        "4.1 days" in text and "2 days in winter, 1 above 15.6 °C" in text
        for texts in said.values()
        for text in texts
    )


def test_dry_bales_keep(tmp_path: Path) -> None:
    """Hay and haylage above 700 g DM/kg do not spoil when opened; silage of 420 g does."""
    table = read_feed_tables()
    assert spoils_open(table["grass_silage_big_bale"])
    assert not spoils_open(table["hay_average"])
    assert bale_weights(farm(tmp_path, 10)) == {"bales": 650.0, "hay": 220.0}


def said(texts: tuple[str, ...]) -> bool:
    """Whether a bale that lies open is spoken of."""
    return any("an opened bale of 650 kg" in text for text in texts)


@pytest.mark.parametrize(("head", "too_long"), [(40, True), (400, False)])
def test_ration_sheet_and_winter_say_so(tmp_path: Path, head: int, too_long: bool) -> None:
    """Forty ewes do not finish a bale in two days, four hundred do: said in all three, or in
    none.
    """
    given = farm(tmp_path, head)
    rations = solve_rations(given)
    assert any(one.offer == "bales" for one in rations.groups[0].amounts)
    assert said(rations.groups[0].remarks) == too_long
    assert said(yard_sheets(rations).sheets[0].notes) == too_long
    plan = solve_winter(given)
    assert plan.proof is not None
    assert said(plan.remarks) == too_long
    for remarks in (rations.groups[0].remarks, plan.remarks):
        assert any("Without Silage bales" in text for text in remarks) == too_long


def test_what_it_costs_to_leave_the_bale_out_is_the_cost_of_the_other_ration(
    tmp_path: Path,
) -> None:
    """Forty ewes on good hay instead: the difference of two rations, each solved by itself; the
    default stays the cheaper one, with the bale. Without hay there is nothing instead.
    """
    text = FARM.format(ewes=40, more="").replace("hay_average", "hay_good")
    (tmp_path / "farm.toml").write_text(text, encoding="utf-8")
    given = read_farm(tmp_path)
    hay = replace(
        given,
        offers=tuple(offer for offer in given.offers if offer.id != "bales"),
        stores=tuple(store for store in given.stores if store.id != "bales"),
    )
    with_it, without = (solve_rations(one).groups[0] for one in (given, hay))
    assert with_it.feed_cost is not None
    assert without.feed_cost is not None
    more = f"GBP {without.feed_cost - with_it.feed_cost:.2f} a head a day more"
    assert any(more in text for text in with_it.remarks)
    assert any(amount.offer == "bales" for amount in with_it.amounts)
    bales = replace(
        given,
        offers=tuple(offer for offer in given.offers if offer.id != "hay"),
        stores=tuple(store for store in given.stores if store.id != "hay"),
    )
    only = solve_rations(bales).groups[0]
    assert any("there is no ration that meets every need" in text for text in only.remarks)


def test_the_first_lines_name_bales_that_lie_too_long(tmp_path: Path) -> None:
    """Fifty ewes: four days, and that silage lain open kills sheep; a hundred: nothing to say."""
    few = open_too_long(farm(tmp_path, 50), [Eater("ewes", "ewe_dry", "bales", 162.5)])
    line = bales_line(few)
    assert line.startswith("An opened bale lies too long (2 days in winter at most): ")
    assert "4 days" in line
    assert "listeriosis" in line
    cows = open_too_long(farm(tmp_path, 50), [Eater("c", "suckler_cow_dry", "bales", 162.5)])
    assert "listeriosis" not in bales_line(cows)
    many = open_too_long(farm(tmp_path, 100), [Eater("ewes", "ewe_dry", "bales", 325.0)])
    assert bales_line(many) == ""


def test_a_bale_that_others_may_share_is_not_told_of_for_one_group(tmp_path: Path) -> None:
    """Asked for four cows alone, nobody can say how long a bale lies open; asked for all it is
    told, and for ewes always.
    """
    both = farm(tmp_path, 5, SUCKLERS.replace("head = 40", "head = 4"))
    lines = {
        asked: ration_facts(solve_rations(both, list(asked) or None)).bales
        for asked in (("cows",), ("ewes",), ())
    }
    assert lines[("cows",)] == ""
    assert "listeriosis" in lines[("ewes",)]
    assert lines[()].startswith("An opened bale lies too long")
