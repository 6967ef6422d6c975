"""Every ration is held against what is usual for its class, feeding system and weight: said in one
sentence, nothing refused.
"""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import pytest
from ask_plans import plan_of_example

from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed
from rationlp.folders import packaged_rows
from rationlp.model.believable import feeding_system, figures, unusual, unusual_words
from rationlp.model.fed import fed_supply
from rationlp.model.ration import solve_rations
from rationlp.needs.limits import class_row, class_rows
from rationlp.read.farm import read_farm
from rationlp.read.feeds import read_feed_tables
from rationlp.result import Amount
from rationlp.rules.blanks import complete
from rationlp.rules.limits import believable

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def fed(**kg_dm: float) -> dict[str, tuple[Feed, float]]:
    """A ration of table feeds."""
    table = read_feed_tables()
    return {key: (complete(table[key]), kg) for key, kg in kg_dm.items()}


def test_figures_on_paper() -> None:
    """1.2 kg DM of hay at 860 g and 0.3 kg of barley at 860 g: four fifths forage, 0.35 kg of
    barley.
    """
    found = figures(fed(hay_average=1.2, barley=0.3))
    hay, barley = (read_feed_tables()[key] for key in ("hay_average", "barley"))
    assert found["forage_share_of_dm"] == pytest.approx(0.8)
    assert found["concentrate_kg_fresh"] == pytest.approx(0.3 * 1000.0 / barley.dm_g_per_kg)
    assert found["dm_intake_kg"] == pytest.approx(1.5)
    mean = (
        1.2 * (hay.value("ndf_g_per_kg_dm") or 0.0) + 0.3 * (barley.value("ndf_g_per_kg_dm") or 0.0)
    ) / 1.5
    assert found["ndf_g_per_kg_dm"] == pytest.approx(mean)
    assert figures({}) == {}


@pytest.mark.parametrize(
    ("ration", "system"),
    [
        ({"straw_barley": 4.0, "hay_good": 2.0}, "straw"),
        ({"straw_barley": 2.0, "hay_good": 4.0}, "hay"),
        ({"grass_silage_2nd": 4.0, "maize_silage_typical": 5.0}, "maize"),
        ({"grass_silage_2nd": 6.0, "maize_silage_typical": 5.0}, "silage"),
        ({"grass_silage_2nd": 6.0, "fodder_beet": 1.5}, "roots"),
        ({"grass_silage_2nd": 6.0, "fodder_beet": 1.0}, "silage"),
        ({"barley": 3.0}, ""),
    ],
)
def test_the_feeding_system_is_the_forage_that_leads(ration: dict[str, float], system: str) -> None:
    """By dry matter; empty without any forage."""
    assert feeding_system(fed(**ration)) == system


def test_a_range_of_the_system_goes_before_the_plain_one() -> None:
    """Dry ewes on straw may have 600 g of straw in the kg; on hay or silage nearly all is
    forage.
    """
    plain = {one.quantity: one for one in believable("ewe_dry_mid_pregnancy")}
    straw = {one.quantity: one for one in believable("ewe_dry_mid_pregnancy", "straw")}
    assert straw["forage_share_of_dm"].low < plain["forage_share_of_dm"].low
    assert straw["dm_intake_kg"] == plain["dm_intake_kg"]


def test_what_is_eaten_goes_with_the_weight() -> None:
    """0.9 kg of hay is usual for a ewe of 60 kg, too little for one of 90 kg and far too much for
    one of 40 kg.
    """
    eaten = fed(hay_average=0.9)
    names = {
        weight: [one.quantity for one in unusual("ewe_dry_mid_pregnancy", eaten, weight)]
        for weight in (40.0, 60.0, 90.0)
    }
    assert names == {40.0: ["dm_intake_kg"], 60.0: [], 90.0: ["dm_intake_kg"]}


def test_what_lies_outside_is_said_in_one_sentence() -> None:
    """Two figures outside: one sentence with both; inside: none; a class without ranges: none."""
    words = list(unusual_words("ewe_late_pregnant", fed(hay_average=0.4, barley=1.5), 70.0))
    assert len(words) == 1
    assert "forage in the dry matter 21 % (usual 40 to 100)" in words[0]
    assert "concentrate 1.74 kg (usual 0.00 to 1.40)" in words[0]
    assert (
        list(
            unusual_words(
                "ewe_late_pregnant", fed(hay_good=1.2, barley=0.2, soya_meal_48=0.1), 70.0
            )
        )
        == []
    )
    assert list(unusual_words(None, fed(barley=9.0), 70.0)) == []


@pytest.mark.parametrize(
    "eaten",
    [
        fed(grass_silage_1st_typical=40.0),
        fed(barley=30.0),
        fed(straw_barley=9.0),
        fed(soya_meal_48=9.0, straw_barley=1.0),
    ],
    ids=["silage", "barley", "straw", "soya"],
)
def test_what_is_printed_is_the_figure_in_its_unit(eaten: dict[str, tuple[Feed, float]]) -> None:
    """Shares of dry matter in per cent, everything else in the unit of its range."""
    key = "dairy_milking_18_28_l"
    (words,) = unusual_words(key, eaten, 620.0)
    odd = unusual(key, eaten, 620.0)
    printed = re.findall(r" ([\d.]+) \S+(?: DM)? \(usual ([\d.]+) to ([\d.]+)\)", words)
    assert len(printed) == len(odd) >= 3
    for texts, one in zip(printed, odd, strict=True):
        percent = 100.0 if one.quantity == "forage_share_of_dm" else 1.0
        figures_of_it = [percent * number for number in (one.value, one.low, one.high)]
        assert [float(text) for text in texts] == pytest.approx(figures_of_it, abs=0.51, rel=0.01)


def test_fresh_cows_that_eat_little_are_no_remark() -> None:
    """14 kg of dry matter: usual soon after calving (texts: 13-15 kg), too little for cows in full
    milk.
    """
    eaten = fed(grass_silage_1st_typical=8.0, barley=4.0, soya_meal_48=2.0)
    later = list(unusual_words("dairy_milking_30_40_l", eaten, 600.0))
    assert "dry matter eaten 14.00 kg" in later[0]
    fresh = unusual_words("dairy_milking_fresh", eaten, 600.0)
    assert not any("dry matter eaten" in words for words in fresh)


@pytest.mark.parametrize("animal", ["dairy_cow_milking", "first_calver_milking"])
@pytest.mark.parametrize(
    ("week", "milk", "band"),
    [
        (4.0, 36.0, "dairy_milking_fresh"),
        (5.0, 36.0, "dairy_milking_30_40_l"),
        (5.0, 24.0, "dairy_milking_28_33_l"),
        (12.0, 32.9, "dairy_milking_28_33_l"),
        (12.0, 27.9, "dairy_milking_18_28_l"),
        (30.0, 17.9, "dairy_milking_8_18_l"),
    ],
)
def test_cows_in_milk_have_a_band_of_their_own_week_and_yield(
    animal: str, week: float, milk: float, band: str
) -> None:
    """Fresh to week 4; then by litres, and in weeks 5 to 10 not below the band of 28 to 33."""
    facts = {"week_of_lactation": week, "milk_kg_per_day": milk}
    assert class_row(animal, facts).believability == band


def test_bands_of_cows_in_milk_overlap() -> None:
    """A cow whose milk falls past the end of a band is no stranger to the next one."""
    bands = ["8_18_l", "18_28_l", "28_33_l", "30_40_l"]
    ranges = [{one.quantity: one for one in believable(f"dairy_milking_{name}")} for name in bands]
    for lower, higher in pairwise(ranges):
        for name, one in lower.items():
            other = higher[name]
            apart = max(one.scaled(600.0).low, other.scaled(600.0).low)
            assert min(one.scaled(600.0).high, other.scaled(600.0).high) > apart


def test_rations_fed_are_checked_too() -> None:
    """`supply` says it of a ration that a farm feeds: cows in milk on straw alone."""
    farm = read_farm(EXAMPLES / "dairy")
    supplied = fed_supply(farm, {"high": {"straw": 10.0}})[0]
    assert any("Unusual for such animals" in text for text in supplied.remarks)


def test_every_class_has_ranges_and_every_range_a_source() -> None:
    """All that classes.csv names is there, with status and source, low below high; only rams have
    none.
    """
    rows = packaged_rows("believability.csv")
    assert all(row["source"] and row["status"] in {"a", "b", "c"} for row in rows)
    assert all(float(row["low"]) <= float(row["high"]) for row in rows)
    assert {row["system"] for row in rows} <= {"", "straw", "hay", "silage", "maize", "roots"}
    named = {row.believability for row in class_rows()} - {""}
    assert named == {row["believability"] for row in rows}


def outside(
    farm: Farm, key: str | None, amounts: tuple[Amount, ...], weight: float | None
) -> set[str]:
    """Quantities of a ration of a farm that are outside."""
    feeds = {offer.id: offer.feed for offer in farm.offers}
    eaten = {one.offer: (feeds[one.offer], one.kg_dm) for one in amounts if one.offer in feeds}
    return {one.quantity for one in unusual(key, eaten, weight)}


@pytest.mark.parametrize("name", ["beef", "calving", "dairy", "few", "hill", "short"])
def test_the_examples_are_believable(name: str) -> None:
    """Rations of the first day and of every period of the winter."""
    farm = read_farm(EXAMPLES / name)
    found: dict[str, set[str]] = {}
    for one in (*solve_rations(farm).groups, *plan_of_example(name).rations):
        names = outside(farm, one.needs.believability, one.amounts, one.needs.live_weight_kg)
        if names:
            found.setdefault(one.group, set()).update(names)
    assert found == {}
