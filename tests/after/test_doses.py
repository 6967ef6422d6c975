"""Urea and minerals: never rounded up, urea never without a mixer, and the check after rounding
covers every limit.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rationlp.farm.feed import Offer
from rationlp.farm.group import Feeding
from rationlp.folders import examples_folder
from rationlp.model.passed import PassedLimit, passed_limits
from rationlp.model.ration import solve_rations
from rationlp.model.rows.block import make_block
from rationlp.needs.calendar import farm_on
from rationlp.quantities import dm_from_fresh, fresh_from_dm
from rationlp.read.farm import read_farm
from rationlp.read.feeds import read_feed_tables
from rationlp.report.sheet import NOTHING_TO_DO, after_rounding
from rationlp.report.tables.sheet import how_given
from rationlp.result import Amount, Rations
from rationlp.yard.loads import dose_kg, make_load
from rationlp.yard.pens import Serving, make_pen
from rationlp.yard.sheets import yard_sheets
from rationlp.yard.words import meal_words

TABLES = read_feed_tables()
WAGON = Feeding(wagon="vertical", tub_m3=14.0)
DOSED = ("feed_urea", "minerals_cattle_general")


def offer(key: str) -> Offer:
    """A bought feed of the tables."""
    return Offer(key, TABLES[key].name, TABLES[key], True, 100.0)


@cache
def rations(name: str) -> Rations:
    """The rations of an example on its first day."""
    return solve_rations(farm_on(read_farm(examples_folder() / name)))


@pytest.mark.parametrize(
    ("kg", "dose"),
    [
        (0.0049, 0.004),
        (0.0999, 0.099),
        (0.1, 0.1),
        (1.199, 1.19),
        (9.999, 9.99),
        (10.0, 10.0),
        (24.99, 24.9),
    ],
)
def test_a_dose_is_rounded_down_to_what_a_hand_scale_has(kg: float, dose: float) -> None:
    """1 g below 100 g, 10 g below 10 kg, 100 g above (common practice, no source); a weight it has
    stays as it is.
    """
    assert dose_kg(kg) == pytest.approx(dose, abs=1e-9)
    assert dose_kg(dose) == pytest.approx(dose, abs=1e-9)


@given(
    urea=st.floats(0.05, 12.0),
    minerals=st.floats(0.05, 60.0),
    silage=st.floats(600.0, 3000.0),
    barley=st.floats(0.0, 400.0),
)
def test_no_load_holds_more_of_a_dose_than_the_ration(
    urea: float, minerals: float, silage: float, barley: float
) -> None:
    """Of urea and minerals neither the weight nor the share of the load is rounded up, with a
    carrier and without.
    """
    kg = {
        "maize_silage_typical": silage,
        "barley": barley,
        "feed_urea": urea,
        "minerals_cattle_general": minerals,
    }
    load = make_load(kg, {key: offer(key) for key in kg}, WAGON)
    total = sum(kg.values())
    for key in DOSED:
        assert load.loads * load.kg_of(key) <= kg[key] + 1e-9
        assert load.kg_of(key) / load.load_kg <= kg[key] / total * (1.0 + 1e-9)


@given(kg_dm=st.floats(0.001, 0.4), head=st.integers(1, 300))
def test_no_pen_gets_more_minerals_than_the_ration(kg_dm: float, head: int) -> None:
    """By hand, over the feed."""
    minerals = offer("minerals_cattle_general")
    pen = make_pen([Serving(minerals, kg_dm)], head, 0.03, None, {})
    wanted = fresh_from_dm(kg_dm, minerals.feed.dm_g_per_kg) * head
    assert pen.kg_of(minerals.id) <= wanted + 1e-9


def with_urea(wagon: bool) -> Rations:
    """The dairy example's dry cows with 60 g of urea in their ration, fed from the wagon or by
    hand.
    """
    found = rations("dairy")
    urea = offer("feed_urea")
    dry = next(one for one in found.groups if one.group == "dry")
    dry = replace(dry, amounts=(*dry.amounts, Amount(urea.id, urea.name, 0.06, 0.06, 0.0, None)))
    farm = replace(found.farm, offers=(*found.farm.offers, urea))
    farm = replace(farm, groups=tuple(replace(one, feeding=None) for one in farm.groups), mixes=())
    return Rations(farm if wagon else replace(farm, feeding=Feeding()), (dry,))


def test_urea_is_fed_through_a_mixer_only() -> None:
    """By hand the sheet refuses it, says why and what to do, and checks the ration without it."""
    [sheet] = yard_sheets(with_urea(wagon=False)).sheets
    assert sheet.pen is not None
    assert sheet.pen.kg_of("feed_urea") == 0.0
    assert "feed_urea" not in {amount.offer for amount in sheet.fed.amounts}
    [note] = [note for note in sheet.notes if "mixer" in note]
    assert "left out of this sheet" in note
    assert "bar it" in note


def test_urea_in_the_wagon_is_weighed() -> None:
    """From the wagon it is in the load, and nothing is refused."""
    [sheet] = yard_sheets(with_urea(wagon=True)).sheets
    assert sheet.mix is not None
    wanted = 0.06 * sheet.head
    assert 0.9 * wanted < sheet.mix.load.loads * sheet.mix.load.kg_of("feed_urea") <= wanted * 1.05
    assert not any("left out of this sheet" in note for note in sheet.notes)


@pytest.mark.parametrize("name", ["dairy", "beef", "hill", "short", "few"])
def test_a_ration_of_the_model_passes_none_of_its_limits(name: str) -> None:
    """What the model kept, the check finds kept: amounts of every example before rounding."""
    found = rations(name)
    for ration in found.groups:
        group = next(one for one in found.farm.groups if one.id == ration.group)
        block = make_block(found.farm, group, ration.needs)
        passed = passed_limits(block, {one.offer: one.kg_dm for one in ration.amounts})
        assert [one for one in passed if one.by > 1e-5] == []


def test_the_check_covers_limits_of_single_feeds_and_of_families() -> None:
    """A third more of the concentrates than the dairy ration has: limits by name, in the sentence
    of the sheet.
    """
    sheet = next(one for one in yard_sheets(rations("dairy")).sheets if one.group == "high")
    found = rations("dairy")
    group = next(one for one in found.farm.groups if one.id == "high")
    block = make_block(found.farm, group, sheet.before.needs)
    kg = {one.offer: one.kg_dm for one in sheet.before.amounts}
    straw = next(one.id for one in found.farm.offers if one.feed.kind == "straw")
    passed = passed_limits(block, {**kg, straw: 6.0})
    assert any("straw" in one.title.lower() for one in passed)
    sentence, good = after_rounding(replace(sheet, passed=passed))
    assert not good
    assert "above its most" in sentence


@pytest.mark.parametrize(("by", "told"), [(0.027, False), (0.11, True)])
def test_a_limit_passed_by_what_nobody_acts_on_is_not_told(by: float, told: bool) -> None:
    """2.7 % above the most of a straight is within what silage differs by from day to day (common
    practice, no source); a tenth and more is told.
    """
    sheet = next(one for one in yard_sheets(rations("dairy")).sheets if one.group == "high")
    passed = (PassedLimit(("limit", "wheat"), "Rolled wheat", "", "above", by, False),)
    sentence, good = after_rounding(replace(sheet, passed=passed))
    assert good is not told
    assert ("Rolled wheat" in sentence) is told
    assert (sentence == NOTHING_TO_DO) is not told


@pytest.mark.parametrize(("by", "told"), [(0.025, False), (0.035, True)])
def test_a_need_missed_by_rounding_is_told_from_three_per_cent(by: float, told: bool) -> None:
    """Energy a little short is weighed no finer; 3.5 % is."""
    sheet = next(one for one in yard_sheets(rations("dairy")).sheets if one.group == "high")
    energy = next(line for line in sheet.before.supply if line.quantity == "me_mj")
    cut = tuple(
        replace(line, supply=(1.0 - by) * (energy.target or 0.0)) if line is energy else line
        for line in sheet.before.supply
    )
    met = tuple(
        replace(line, supply=energy.target or 0.0) if line is energy else line
        for line in sheet.before.supply
    )
    sentence, good = after_rounding(
        replace(
            sheet,
            before=replace(sheet.before, supply=met),
            fed=replace(sheet.fed, supply=cut),
            passed=(),
        )
    )
    assert good is not told
    assert ("ME" in sentence) is told


def test_what_was_short_before_rounding_is_told_as_such() -> None:
    """Energy short in the ration itself: not put down to rounding, and not called kept."""
    sheet = yard_sheets(rations("dairy")).sheets[0]
    cut = tuple(
        replace(line, supply=0.9 * line.supply) if line.quantity == "me_mj" else line
        for line in sheet.before.supply
    )
    short = replace(
        sheet, before=replace(sheet.before, supply=cut), fed=replace(sheet.fed, supply=cut)
    )
    sentence, good = after_rounding(short)
    assert good
    assert "Before rounding already: ME 10" in sentence
    assert "every need" not in sentence


def test_a_limit_for_safety_is_kept_to_the_last_gram() -> None:
    """Half a per cent of urea above its most is told; half a per cent of starch is within what
    weights are aimed at.
    """
    sheet = next(one for one in yard_sheets(rations("dairy")).sheets if one.group == "young")
    urea = next(line for line in sheet.before.supply if line.quantity == "urea_g_per_kg_dm")
    limits = sheet.before.needs.limits
    kept_at = [
        limit.at_most for limit in limits if limit.quantity == urea.quantity and limit.kind == "row"
    ]
    at_most, over = (
        replace(urea, supply=kept_at[0]),
        replace(urea, supply=1.005 * (kept_at[0] or 0.0)),
    )
    kept = tuple(at_most if line is urea else line for line in sheet.before.supply)
    given_ = tuple(over if line is urea else line for line in sheet.before.supply)
    sentence, good = after_rounding(
        replace(
            sheet,
            before=replace(sheet.before, supply=kept),
            fed=replace(sheet.fed, supply=given_),
            passed=(),
        )
    )
    assert not good
    assert "Weigh finer" in sentence


def test_cattle_on_cereals_eat_from_a_hopper() -> None:
    """Barley bulls are not fed four meals a day: their cereal stands in front of them (common
    practice); as silage beef they get it by the meal.
    """
    barley = rations("dairy").farm.offer("barley")
    served = [Serving(barley, dm_from_fresh(7.0, barley.feed.dm_g_per_kg))]
    by_meal = make_pen(served, 20, 0.0, "finishing_cattle", {})
    hopper = make_pen(served, 20, 0.0, "finishing_cattle", {}, hopper=True)
    assert by_meal.meals >= 2
    assert (hopper.meals, hopper.kg_of("barley")) == (1, 140.0)
    assert [how_given(line) for line in hopper.lines] == ["in the hopper"]
    (words,) = meal_words(hopper)
    assert words.startswith("Concentrates: about 7.0 kg a head a day from a hopper")
