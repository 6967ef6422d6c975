"""What a winter excretes: the published table row by row, the rows groups fall into, and the mass
balance of a plan by hand.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "ask"))

from ask_farm import small_farm

from rationlp.after.manure import P2O5_PER_P, WinterManure, winter_manure
from rationlp.farm.animals import CLASSES
from rationlp.farm.farm import Farm
from rationlp.farm.group import Group
from rationlp.folders import packaged_rows
from rationlp.planned import WinterPlan
from rationlp.read.farm import read_farm
from rationlp.rules.standard_manure import (
    manure_rules,
    standard_manure,
    storage_ends,
    yield_l,
)
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
PUBLISHED = {
    "dairy_over_9000": (64.0, 315.0, 142.0),
    "dairy_6000_9000": (53.0, 276.0, 121.0),
    "dairy_under_6000": (42.0, 211.0, 93.0),
    "dairy_heifer_in_calf": (40.0, 167.0, 69.0),
    "dairy_heifer_young": (20.0, 95.0, 34.0),
    "dairy_heifer_older": (40.0, 167.0, 69.0),
    "bull_for_beef": (26.0, 148.0, 24.0),
    "beef_2_12": (20.0, 91.0, 33.0),
    "beef_12_24": (26.0, 137.0, 43.0),
    "beef_over_24": (32.0, 137.0, 60.0),
    "beef_heifer_in_calf": (26.0, 137.0, 43.0),
    "cull_cow": (32.0, 137.0, 60.0),
    "suckler_small": (32.0, 167.0, 65.0),
    "suckler_large": (45.0, 227.0, 86.0),
    "breeding_bull": (26.0, 132.0, 60.0),
    "ewe_small": (3.3, 21.0, 8.8),
    "ewe_large": (5.0, 33.0, 10.0),
    "lamb_6_9": (1.8, 5.5, 0.76),
    "lamb_over_9": (1.8, 3.9, 2.1),
}
"""Litres, g N, g P2O5 a head a day: SI 2015/668, schedule 1 as made; status (a)."""


def test_every_figure_of_the_published_table() -> None:
    """Each row as printed, with its source and both statuses; every class is one of ours."""
    rows = packaged_rows("manure-standard.csv")
    printed = {
        row["id"]: (float(row["litres"]), float(row["n_g"]), float(row["p2o5_g"])) for row in rows
    }
    assert printed == PUBLISHED
    for row in rows:
        assert (row["status"], row["chosen_status"] in "ac") == ("a", True)
        assert "2015/668" in row["source"]
        assert row["chosen_by"]
        assert set(row["classes"].split()) <= CLASSES.keys()
    assert [row["status"] for row in manure_rules().values()] == ["a", "a", "a"]


@pytest.fixture(scope="module")
def beef() -> Farm:
    """A farm without a dairy herd."""
    return read_farm(EXAMPLES / "beef")


@pytest.fixture(scope="module")
def dairy() -> Farm:
    """A farm with one."""
    return read_farm(EXAMPLES / "dairy")


def animal(animal_class: str, **facts: float | str) -> Group:
    """One animal of a class with these facts."""
    return Group("g", "G", animal_class, 1, "to_appetite", dict(facts))


@pytest.mark.parametrize(
    ("group", "row"),
    [
        (animal("growing_cattle", live_weight_kg=250.0, sex="steer"), "beef_2_12"),
        (animal("growing_cattle", live_weight_kg=250.0, sex="heifer"), "beef_2_12"),
        (animal("growing_cattle", live_weight_kg=380.0, sex="steer"), "beef_12_24"),
        (animal("finishing_cattle", live_weight_kg=640.0, sex="steer"), "beef_over_24"),
        (animal("finishing_cattle", live_weight_kg=640.0, sex="bull"), "bull_for_beef"),
        (animal("in_calf_heifer", live_weight_kg=480.0), "beef_heifer_in_calf"),
        (animal("suckler_cow_dry", live_weight_kg=500.0), "suckler_small"),
        (animal("suckler_cow_milking", live_weight_kg=501.0), "suckler_large"),
        (animal("cull_cow", live_weight_kg=600.0), "cull_cow"),
        (animal("breeding_bull", live_weight_kg=900.0), "breeding_bull"),
        (animal("ewe_dry", live_weight_kg=59.9), "ewe_small"),
        (animal("ewe_milking", live_weight_kg=60.0), "ewe_large"),
        (animal("lamb", live_weight_kg=38.0), "lamb_6_9"),
        (animal("ewe_lamb", live_weight_kg=42.0), "lamb_over_9"),
        (animal("ram", live_weight_kg=95.0), None),
        (animal("stated"), None),
    ],
    ids=lambda one: one if isinstance(one, str) else None,
)
def test_the_row_of_a_group(beef: Farm, group: Group, row: str | None) -> None:
    """By class, sex and weight, on both sides of each step; what the table lacks has none."""
    found = standard_manure(beef, group)
    assert (found.id if found is not None else None) == row


def test_a_dairy_herd_makes_heifers_dairy_heifers(dairy: Farm) -> None:
    """And steers stay beef."""
    young = animal("growing_cattle", live_weight_kg=250.0, sex="heifer")
    older = animal("growing_cattle", live_weight_kg=300.0, sex="heifer")
    rows = [standard_manure(dairy, group) for group in (young, older, animal("in_calf_heifer"))]
    names = [row.id for row in rows if row is not None]
    assert names == ["dairy_heifer_young", "dairy_heifer_older", "dairy_heifer_in_calf"]
    steer = standard_manure(dairy, animal("growing_cattle", live_weight_kg=250.0, sex="steer"))
    assert steer is not None
    assert steer.id == "beef_2_12"


def cow(milk: float, **facts: float | str) -> Group:
    """A cow in week 10 that gives so much milk."""
    own = {"milk_kg_per_day": milk, "week_of_lactation": 10.0, "live_weight_kg": 640.0}
    return animal("dairy_cow_milking", **own, **facts)


def test_dairy_cows_by_the_yield_of_their_lactation(dairy: Farm) -> None:
    """Held flat, 30 kg are 305 × 30 / 1.03 = 8,883 l; more and less fall into the other rows; dry
    cows go with the cows in milk."""
    flat = {"milk_curve": "flat"}
    assert yield_l(cow(30.0, **flat)) == pytest.approx(8883.5, abs=5.0)
    ids = []
    for milk in (18.0, 30.0, 34.0):
        row = standard_manure(dairy, cow(milk, **flat))
        assert row is not None
        ids.append(row.id)
    assert ids == ["dairy_under_6000", "dairy_6000_9000", "dairy_over_9000"]
    dry = animal("dairy_cow_dry", live_weight_kg=650.0)
    high = replace(dairy, groups=(cow(45.0, **flat), dry))
    row = standard_manure(high, dry)
    assert row is not None
    assert row.id == "dairy_over_9000"
    alone = standard_manure(replace(dairy, groups=(dry,)), dry)
    assert alone is not None
    assert alone.id == "dairy_6000_9000"


def test_the_end_of_the_storage_months() -> None:
    """1 March, of the year after for a winter that begins before the turn of the year."""
    assert storage_ends(date(2026, 10, 15)) == date(2027, 3, 1)
    assert storage_ends(date(2027, 1, 15)) == date(2027, 3, 1)
    assert storage_ends(date(2027, 3, 1)) == date(2028, 3, 1)


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> WinterPlan:
    """The plan of the small farm, to the end of March."""
    folder = small_farm(
        tmp_path_factory.mktemp("m"),
        ("turnout = 2026-12-27", "turnout = 2027-03-31"),
        ("length_m = 10\n", "length_m = 60\n"),
        ("count = 40", "count = 400"),
        ("amount_t_fresh = 12", "amount_t_fresh = 90"),
    )
    return solve_winter(read_farm(folder), WinterOptions(faces="off", prove=False))


@pytest.fixture(scope="module")
def answer(plan: WinterPlan) -> WinterManure:
    """What it excretes."""
    return winter_manure(plan)


def test_the_table_of_a_plan_by_hand(answer: WinterManure) -> None:
    """16 suckler cows of 650 kg for 150 days, 120 of them to 1 March: 16 × 150 × 227 g, × 45 l."""
    cows = answer.groups[0]
    assert (answer.storage_ends, cows.head_days) == (date(2027, 3, 1), 16.0 * 150.0)
    assert cows.standard_n_kg == pytest.approx(16 * 150 * 0.227)
    assert cows.standard_p2o5_kg == pytest.approx(16 * 150 * 0.086)
    assert cows.all_m3 == pytest.approx(16 * 150 * 0.045)
    assert cows.stored_m3 == pytest.approx(16 * 120 * 0.045)


def test_steers_grow_from_one_row_into_the_next(answer: WinterManure) -> None:
    """From 320 kg at 0.9 kg a day they pass 380 kg in the winter: part of it in each row."""
    steers = answer.groups[1]
    assert [row.id for row in steers.rows] == ["beef_2_12", "beef_12_24"]
    assert steers.standard_n_kg is not None
    assert 12 * 150 * 0.091 < steers.standard_n_kg < 12 * 150 * 0.137


def test_the_balance_of_a_plan_by_hand(plan: WinterPlan, answer: WinterManure) -> None:
    """Steers: nitrogen eaten less 26 g a kg of gain; phosphorus less 7 g a kg, times 2.291."""
    feeds = {offer.id: offer.feed for offer in plan.farm.offers}
    n = p = 0.0
    for ration in plan.rations:
        if ration.group != "stores":
            continue
        days = 12.0 * plan.periods[ration.period].days
        for amount in ration.amounts:
            n += days * amount.kg_dm * (feeds[amount.offer].value("cp_g_per_kg_dm") or 0.0) / 6.25
            p += days * amount.kg_dm * (feeds[amount.offer].value("p_g_per_kg_dm") or 0.0)
        n -= days * 26.0 * 0.9
        p -= days * 7.0 * 0.9
    steers = answer.groups[1]
    assert steers.n_kg == pytest.approx(n / 1000.0)
    assert steers.p2o5_kg == pytest.approx(p * P2O5_PER_P / 1000.0)
    assert pytest.approx(2.2914, abs=2e-4) == P2O5_PER_P
    assert answer.n_kg == pytest.approx(sum(group.n_kg or 0.0 for group in answer.groups))


def test_a_feed_without_phosphorus_is_named_and_nothing_summed(plan: WinterPlan) -> None:
    """A blank is never nought; nitrogen is told all the same."""
    offers = []
    for offer in plan.farm.offers:
        figures = {k: v for k, v in offer.feed.figures.items() if k != "p_g_per_kg_dm"}
        offers.append(replace(offer, feed=replace(offer.feed, figures=figures)))
    bare = winter_manure(replace(plan, farm=replace(plan.farm, offers=tuple(offers))))
    assert bare.p2o5_kg is None
    assert bare.n_kg is not None
    assert "Clamp" in bare.groups[0].unknown or "Barley straw" in str(bare.groups[0].unknown)
