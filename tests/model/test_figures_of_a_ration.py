"""What is printed of a ration, worked out again from its kilograms: lines of supply and figures in
sentences.
"""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from test_tidy_and_words import COW, SUCKLER, block, herd

from rationlp.farm.group import FeedLimit
from rationlp.model.lines import Eaten, supply_lines
from rationlp.model.passed import passed_limits
from rationlp.model.ration import eat
from rationlp.model.reserves import _Richness, _within
from rationlp.model.rows.block import Block
from rationlp.model.rows.mineral import mineral_supplies
from rationlp.model.rows.practice import printed_limits
from rationlp.model.words import _is_high, sentences
from rationlp.needs.limits import DietLimit
from rationlp.needs.minerals import CALCIUM, PHOSPHORUS, POTASSIUM
from rationlp.result import SupplyLine
from rationlp.rules.limits import practice_figure

FEEDS = ("grass_silage_2nd", "straw_barley", "barley", "minerals_cattle_general")
DRY = block("suckler_cow_dry", SUCKLER, *FEEDS)
KG = {"grass_silage_2nd": 6.0, "straw_barley": 3.0, "barley": 1.0, "minerals_cattle_general": 0.1}
LATE = block("dairy_cow_milking", COW, "grass_silage_2nd", "barley", "soya_hulls")
FRESH = block("dairy_cow_milking", {**COW, "week_of_lactation": 2.0}, "grass_silage_2nd", "barley")


def lines_of(b: Block, kg: dict[str, float]) -> dict[str, SupplyLine]:
    """The lines of supply by quantity."""
    return {line.quantity: line for line in supply_lines(b, eat(b, kg, {}))}


def summed(b: Block, kg: dict[str, float], quantity: str) -> float:
    """Kilograms times contents of the feeds that have one."""
    return sum(kg[offer.id] * (b.content(offer, quantity) or 0.0) for offer in b.offers)


def said(b: Block, **kg: float) -> str:
    """All sentences on a ration."""
    return " ".join(sentences(b, 0.0, eat(b, kg, {})))


def test_energy_is_needed_at_the_rations_own_q_and_the_margin_comes_on_top() -> None:
    """q is ME over 18.8 · DM; L the need's level there; the need before margin is the target over
    1.05.
    """
    me, dm = summed(DRY, KG, "me_mj_per_kg_dm"), sum(KG.values())
    energy = DRY.needs.energy
    assert energy is not None
    eaten: Eaten = eat(DRY, KG, {})
    assert eaten.level == pytest.approx(energy.feeding_level(me / dm / 18.8))
    line = lines_of(DRY, KG)["me_mj"]
    assert line.supply == pytest.approx(me)
    assert line.target == pytest.approx(energy.required_mj(me / dm / 18.8))
    assert line.need == pytest.approx((line.target or 0.0) / 1.05)


def test_potassium_is_a_mean_and_the_lower_of_two_limits_holds() -> None:
    """Of two limits the lower stands in the line."""
    extra = tuple(
        DietLimit(POTASSIUM, None, most, "g/kg DM", "reported", "c", "test") for most in (30.0, 9.0)
    )
    needs = replace(DRY.needs, limits=(*DRY.needs.limits, *extra))
    line = lines_of(replace(DRY, needs=needs), KG)[POTASSIUM]
    known = [offer for offer in DRY.offers if DRY.content(offer, POTASSIUM) is not None]
    assert len(known) >= 3
    dm = sum(KG[offer.id] for offer in known)
    assert line.supply == pytest.approx(summed(DRY, KG, POTASSIUM) / dm)
    assert line.high == 9.0


def test_calcium_in_the_feed_and_what_it_must_hold() -> None:
    """Absorbed 0.30 of forage, 0.60 of barley and 0.70 of minerals (the shares of the need): the
    mean of this ration turns the need into grams in the feed.
    """
    need = next(need for need in DRY.needs.minerals if need.quantity == CALCIUM)
    grams = {offer.id: KG[offer.id] * (DRY.content(offer, CALCIUM) or 0.0) for offer in DRY.offers}
    absorbed = sum(grams[offer.id] * need.absorption.of(offer.feed) for offer in DRY.offers)
    line = next(line for key, line in lines_of(DRY, KG).items() if key.startswith("ca_g"))
    assert line.supply == pytest.approx(sum(grams.values()))
    share = absorbed / sum(grams.values())
    assert line.target == pytest.approx(need.needed_g(sum(KG.values())) / share)
    assert f"{100 * share:.0f} % absorbed" in line.whose


def test_what_is_short_of_a_mineral_is_the_need_less_what_is_absorbed() -> None:
    """Straw alone is short of phosphorus; with minerals enough nothing is short."""
    poor = {supply.need.quantity: supply for supply in mineral_supplies(DRY, {"straw_barley": 9.0})}
    short = poor[PHOSPHORUS]
    assert short.short_g == pytest.approx(short.needed_g - short.absorbed_g)
    assert 1.0 < short.short_g < short.needed_g
    full = mineral_supplies(DRY, {**KG, "minerals_cattle_general": 0.5})
    assert {one.short_g for one in full if one.need.quantity in (CALCIUM, PHOSPHORUS)} == {0.0}


def test_ndf_beyond_what_a_cow_clears_is_said_with_its_kilograms() -> None:
    """0.014 of 650 kg is 9.1 kg NDF: a ration above is said with its sum, one below is not."""
    kg = {"grass_silage_2nd": 17.0, "barley": 2.0, "soya_hulls": 3.0}
    fibre = summed(LATE, kg, "ndf_g_per_kg_dm") / 1000.0
    assert fibre > 9.2
    assert f"NDF of the whole ration is {fibre:.1f} kg, above 1.4 % of live weight (9.1 kg)" in (
        said(LATE, **kg)
    )
    assert "NDF of the whole ration" not in said(LATE, grass_silage_2nd=10.0, barley=6.0)


@pytest.mark.parametrize(("silage", "barley", "shown"), [(8.0, 10.0, True), (9.0, 9.0, False)])
def test_too_little_forage_of_a_fresh_cow_is_said(
    silage: float, barley: float, shown: bool
) -> None:
    """Below 45 % of the dry matter in the first weeks, and only there."""
    words = "Forage is 44.4 % of the dry matter so soon after calving: below 45 %"
    assert (words in said(FRESH, grass_silage_2nd=silage, barley=barley)) == shown
    assert "so soon after calving" not in said(LATE, grass_silage_2nd=silage, barley=barley)


def test_a_printed_limit_that_is_passed_is_said_in_kilograms_and_per_cent() -> None:
    """The farm's own 20 kg of barley over what is printed: fresh kilograms, and the share of the
    dry matter.
    """
    own = (FeedLimit("barley", max_kg_fresh=20.0, max_share_of_dm=0.9),)
    b = block("dairy_cow_milking", COW, "grass_silage_2nd", "barley", feed_limits=own)
    words = said(b, grass_silage_2nd=9.0, barley=11.0)
    passed = re.findall(r"Barley[^:]*: ([\d.]+) (kg fresh|% of the dry matter) passes", words)
    dm_g = next(offer.feed.dm_g_per_kg for offer in b.offers if offer.id == "barley")
    assert {unit: float(number) for number, unit in passed} == pytest.approx(
        {"kg fresh": 11000.0 / dm_g, "% of the dry matter": 55.0}, abs=0.05
    )
    share = next(limit.max_share for o, limit in printed_limits(b) if o.id == "barley")
    assert f"passes the printed limit of {100 * (share or 0.0):.0f} %" in words
    assert "passes the printed limit" not in said(b, grass_silage_2nd=15.0)


def test_a_gain_with_more_maintenance_is_said_with_the_per_cent() -> None:
    """Lambs: 15 % more maintenance carries less gain."""
    lamb = {"live_weight_kg": 36.0, "gain_kg_per_day": 0.15, "sex": "castrate"}
    words = said(block("lamb", lamb, "hay_good", "barley"), hay_good=0.5, barley=0.7)
    gain = re.search(r"carry: ([\d.]+) kg a day by .*?, ([\d.]+) with maintenance 15 %", words)
    assert gain is not None
    assert 0.1 < float(gain[2]) < float(gain[1]) < 0.4


def test_limits_passed_are_measured_as_shares_of_themselves() -> None:
    """Above: what is fed over what is allowed, less one; below: what is missing of the least;
    amounts within every limit pass none.
    """
    b = block("dairy_cow_milking", COW, "grass_silage_2nd", "straw_barley", "barley")
    assert passed_limits(b, {"grass_silage_2nd": 12.0, "straw_barley": 0.1, "barley": 3.0}) == ()
    passed = passed_limits(b, {"grass_silage_2nd": 2.0, "straw_barley": 1.0, "barley": 16.0})
    by = {one.key[0]: (one.side, one.by) for one in passed}
    fresh = 16.0 / next(o.feed.dm_g_per_kg for o in b.offers if o.id == "barley") * 1000.0
    printed = next(limit for offer, limit in printed_limits(b) if offer.id == "barley")
    assert by["practice_kg"] == ("above", pytest.approx(fresh / (printed.max_kg_fresh or 0.0) - 1))
    share = 16.0 / 19.0 / (printed.max_share or 0.0)
    assert by["practice_share"] == ("above", pytest.approx(share - 1.0))
    least = practice_figure(b.needs.limits_key, "forage_share_least") or 0.0
    # The row sets (1 − least) of each kg of forage against least of each kg of the rest.
    assert by["forage_floor"] == (
        "below",
        pytest.approx(1.0 - 3.0 * (1.0 - least) / (16.0 * least)),
    )


def test_an_ordinary_ration_is_hardly_richer_than_that_with_most_from_her_back() -> None:
    """Above what is usual by 5 g crude protein, 0.1 MJ or 0.01 kg of fat at most (c)."""
    most = _Richness(300.0, 14.0, 0.5, 0.5, "silage")
    plain = replace(most, cp=305.0, me=14.1, fat=0.51)
    assert _within(plain, LATE, most)
    for richer in ({"cp": 305.1}, {"me": 14.105}, {"fat": 0.511}):
        assert not _within(replace(plain, **richer), LATE, most)


@pytest.mark.parametrize(("milk", "high"), [(25.7, False), (25.8, True)])
def test_cows_above_25_litres_come_first_at_the_better_forage(milk: float, high: bool) -> None:
    """25 litres are 25.75 kg."""
    farm = herd("grass_silage_1st_early", "grass_silage_1st_typical")
    cows = next(group for group in farm.groups if group.animal_class == "dairy_cow_milking")
    changed = replace(cows, facts={**cows.facts, "milk_kg_per_day": milk})
    assert _is_high(replace(farm, groups=(changed,)), cows.id) == high


def test_energy_above_the_ceiling_is_said_with_its_per_cent() -> None:
    """1.10 of the need is 110 %."""
    words = " ".join(sentences(DRY, 5.0, eat(DRY, KG, {})))
    assert "Energy is 5.0 MJ a head a day above 110 % of the need" in words
    assert "of the need: fed to appetite" not in said(DRY, **KG)
