"""Loads, pens and sheets: rounding that keeps the total, what a scale can weigh, today's dry matter
and head, checked again.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rationlp.errors import InputError
from rationlp.farm.farm import Farm, Mix
from rationlp.farm.feed import Figure, Offer
from rationlp.farm.group import Feeding
from rationlp.folders import examples_folder
from rationlp.model.ration import solve_rations
from rationlp.needs.calendar import farm_on
from rationlp.quantities import fresh_from_dm
from rationlp.read.farm import read_farm
from rationlp.read.feeds import read_feed_tables
from rationlp.read.loading import loading_figures
from rationlp.result import Rations
from rationlp.rules.bales import bale_weights
from rationlp.stock.density import bale_density
from rationlp.yard.loads import BY_HAND, BY_SCALE, keep_total, make_load, place_in_load
from rationlp.yard.pens import Serving, make_pen, whole_bales
from rationlp.yard.sheets import DayFigures, YardSheets, yard_sheets

TABLES = read_feed_tables()
WEIGHTS = st.lists(st.floats(25.0, 3000.0), min_size=1, max_size=8)


@cache
def rations(name: str) -> Rations:
    """The rations of an example on its first day."""
    return solve_rations(farm_on(read_farm(examples_folder() / name)))


def with_feeding(name: str, feeding: Feeding, mixes: tuple[Mix, ...] = ()) -> Rations:
    """An example's rations, fed another way."""
    found = rations(name)
    return replace(found, farm=replace(found.farm, feeding=feeding, mixes=mixes))


def sheets(today: DayFigures | None = None) -> YardSheets:
    """The dairy example's sheets."""
    return yard_sheets(rations("dairy"), today)


def offer(key: str, kg_percent_dm: float | None = None) -> Offer:
    """A feed of the tables as an offer, with another dry matter if given [%]."""
    feed = TABLES[key]
    if kg_percent_dm is not None:
        feed = replace(
            feed,
            figures={**feed.figures, "dm_g_per_kg": Figure(10.0 * kg_percent_dm, "farm", "test")},
        )
    return Offer(key, feed.name, feed, True, 100.0)


def test_the_same_dry_matter_of_wetter_silage_weighs_more() -> None:
    """3,000 kg at 32 % are 960 kg DM, 3,429 kg at 28 % (own arithmetic, c)."""
    assert fresh_from_dm(0.32 * 3000.0, 280.0) == pytest.approx(3428.571, abs=1e-3)


def test_with_one_step_the_largest_remainders_are_raised() -> None:
    """By hand: 104, 102, 107 and 87 kg in tens make 400; floors make 380, and 107 and 87 have the
    largest remainders.
    """
    assert keep_total([104.0, 102.0, 107.0, 87.0], [10.0] * 4) == (100.0, 100.0, 110.0, 90.0)


@given(WEIGHTS, st.sampled_from([1.0, 2.0, 5.0, 10.0, 20.0]))
def test_rounding_with_one_step_keeps_the_total(wanted: list[float], step: float) -> None:
    """Whole steps, none moved by a step or more, the total within half a step."""
    rounded = keep_total(wanted, [step] * len(wanted))
    assert all(abs(kg / step - round(kg / step)) < 1e-6 for kg in rounded)
    assert all(abs(kg - want) < step + 1e-6 for kg, want in zip(rounded, wanted, strict=True))
    assert abs(sum(rounded) - sum(wanted)) <= step / 2.0 + 1e-6


@given(
    st.lists(
        st.tuples(st.floats(25.0, 900.0), st.sampled_from([5.0, 10.0])), min_size=1, max_size=6
    )
)
def test_no_other_way_of_rounding_comes_nearer(parts: list[tuple[float, float]]) -> None:
    """All ways up and down are tried: none has a total nearer, none as near moves weights less for
    their step.
    """
    wanted, steps = [kg for kg, _ in parts], [step for _, step in parts]

    def badness(kg: tuple[float, ...]) -> tuple[float, float]:
        off = abs(sum(kg) - sum(wanted))
        return round(off, 5), sum(
            ((a - b) / step) ** 2 for a, b, step in zip(kg, wanted, steps, strict=True)
        )

    ways = product(*((kg // step * step, kg // step * step + step) for kg, step in parts))
    best = min(badness(way) for way in ways)
    mine = badness(keep_total(wanted, steps))
    assert mine[0] == best[0]
    assert mine[1] == pytest.approx(best[1], abs=1e-6)


@pytest.mark.parametrize(
    ("key", "place"),
    [
        ("straw_barley", "dry forage"),
        ("hay_good", "dry forage"),
        ("grass_silage_big_bale", "dry forage"),
        ("barley", "straight"),
        ("limestone", "straight"),
        ("maize_silage_typical", "wet"),
        ("draff", "wet"),
        ("fodder_beet", "wet"),
        ("molasses_cane", "liquid"),
    ],
)
def test_where_a_feed_goes_in_the_load(key: str, place: str) -> None:
    """Long forage, dry straights, wet or dense feeds, liquids."""
    assert place_in_load(TABLES[key]) == place


MIXED = {
    "straw_barley": 100.0,
    "barley": 150.0,
    "minerals_cattle_general": 6.0,
    "maize_silage_typical": 900.0,
}
LOAD_OFFERS = {key: offer(key) for key in (*MIXED, "molasses_cane", "rapeseed_meal_extracted")}


def load_order(wagon: str) -> list[str]:
    """Names by loading order of a load with everything in it."""
    kg = {**MIXED, "molasses_cane": 40.0}
    return [
        line.offer or line.name for line in make_load(kg, LOAD_OFFERS, Feeding(wagon, 20.0)).lines
    ]


def test_a_vertical_tub_is_loaded_dry_forage_first_and_liquids_last() -> None:
    """Long dry forage, dry straights and premix, wet forage, liquids (US cattle magazine on loading
    mixer wagons, a).
    """
    assert load_order("vertical") == [
        "straw_barley",
        "barley",
        "Premix",
        "maize_silage_typical",
        "molasses_cane",
    ]


def test_a_horizontal_tub_is_loaded_grain_first() -> None:
    """Grain first is usual (US cattle magazine on loading mixer wagons, a)."""
    assert load_order("horizontal") == [
        "barley",
        "Premix",
        "straw_barley",
        "maize_silage_typical",
        "molasses_cane",
    ]


def test_the_scale_shows_the_running_total() -> None:
    """Each reading is the sum of all weights so far, the last the whole load."""
    load = make_load(MIXED, LOAD_OFFERS, Feeding("vertical", 20.0))
    shown = 0.0
    for line in load.lines:
        shown += line.kg
        assert line.scale_kg == pytest.approx(shown)
    assert load.lines[-1].scale_kg == load.load_kg


def test_what_the_scale_cannot_weigh_goes_into_a_premix_that_it_can() -> None:
    """6 kg of minerals, 10 g less as the load is 1 kg lighter, get 19 kg of barley with them: five
    divisions of 5 kg together.
    """
    load = make_load(MIXED, LOAD_OFFERS, Feeding("vertical", 20.0))
    assert [(line.offer, line.kg, line.carrier) for line in load.premix] == [
        ("barley", 19.01, True),
        ("minerals_cattle_general", 5.99, False),
    ]
    assert load.kg_of("barley") == pytest.approx(149.01)
    assert load.premix[1].bag_loads == pytest.approx(25.0 / 5.99)
    assert all(line.kg >= load.least_kg for line in load.lines if line.by == BY_SCALE)


@pytest.mark.parametrize(("division", "least"), [(1.0, 20.0), (5.0, 25.0), (10.0, 50.0)])
def test_the_least_weighed_is_five_divisions_or_twenty_kg(division: float, least: float) -> None:
    """Whichever is more (common practice, c)."""
    assert make_load(MIXED, LOAD_OFFERS, Feeding("vertical", 20.0, division)).least_kg == least


def test_every_weight_is_a_whole_number_of_divisions() -> None:
    """A scale that counts in 4 kg gets forage in 12 and straights in 8, the next whole divisions
    above 10 and 5.
    """
    load = make_load(MIXED, LOAD_OFFERS, Feeding("vertical", 20.0, 4.0))
    kg = {line.offer: line.kg for line in load.lines}
    assert kg["maize_silage_typical"] % 12.0 == 0.0
    assert kg["straw_barley"] % 12.0 == 0.0
    assert kg["barley"] % 8.0 == 0.0


def test_without_a_dry_straight_minerals_are_weighed_by_hand() -> None:
    """Silage carries no premix."""
    kg = {"maize_silage_typical": 900.0, "minerals_cattle_general": 6.0}
    load = make_load(kg, LOAD_OFFERS, Feeding("vertical", 20.0))
    assert load.premix == ()
    assert [(line.offer, line.by) for line in load.lines] == [
        ("minerals_cattle_general", BY_HAND),
        ("maize_silage_typical", BY_SCALE),
    ]


def test_a_straight_that_is_all_carrier_has_no_line_of_its_own() -> None:
    """28 kg of meal carry 4 kg of minerals; 3 kg that would be left are no weighing."""
    kg = {
        "maize_silage_typical": 900.0,
        "rapeseed_meal_extracted": 28.0,
        "minerals_cattle_general": 4.0,
    }
    load = make_load(kg, LOAD_OFFERS, Feeding("vertical", 20.0))
    assert [line.offer for line in load.lines] == ["", "maize_silage_typical"]
    assert load.kg_of("rapeseed_meal_extracted") == pytest.approx(26.01)


@pytest.mark.parametrize(
    ("tub", "asked", "loads"),
    # 1156 kg at 300 kg/m3 are 3.85 m3; 87.5 % of the tub is used (common practice, c).
    [(4.5, None, 1), (4.3, None, 2), (2.0, None, 3), (20.0, 3, 3), (2.0, 1, 3)],
)
def test_as_many_loads_as_the_tub_needs_or_the_farm_wants(
    tub: float, asked: int | None, loads: int
) -> None:
    """By hand: 3.85/(0.875 tub), the next whole number, never fewer than asked for."""
    load = make_load(MIXED, LOAD_OFFERS, Feeding("vertical", tub, loads_per_day=asked))
    assert load.loads == loads


@pytest.mark.parametrize(
    ("kg", "density"),
    [
        ({"straw_barley": 300.0, "maize_silage_typical": 900.0}, 200.0),
        ({"maize_silage_low_dm": 900.0}, 300.0),
        ({"wettest": 900.0}, 400.0),
    ],
)
def test_the_mix_weighs_what_is_in_it(kg: dict[str, float], density: float) -> None:
    """Rich in straw 200, wet silage 400, else 300 kg/m3 (common practice, c)."""
    offers = {
        **LOAD_OFFERS,
        "maize_silage_low_dm": offer("maize_silage_low_dm"),
        "wettest": offer("grass_silage_3rd", 20),
    }
    assert make_load(kg, offers, Feeding("vertical", 20.0)).kg_per_m3 == density


def test_the_farms_own_density_counts() -> None:
    """A measured one takes the place of common practice."""
    assert (
        make_load(MIXED, LOAD_OFFERS, Feeding("vertical", 20.0, mix_kg_per_m3=275.0)).kg_per_m3
        == 275.0
    )


@pytest.mark.parametrize("group", ["high", "late", "dry", "young", "finishers"])
def test_the_loads_of_a_day_are_the_heads_ration_with_refusals(group: str) -> None:
    """Re-added from the ration: head times kg fresh times 1.02, the parlour left out; within a step
    of the scale a load, half of it for the premix (which doses bind, so that it is never rounded
    up) and half for the last feed in.
    """
    sheet = next(sheet for sheet in sheets().sheets if sheet.group == group)
    assert sheet.mix is not None
    parlour_feed = {"late": "dairy_nuts"}.get(group)
    day = (
        sum(a.kg_fresh for a in sheet.before.amounts if a.offer != parlour_feed) * sheet.head * 1.02
    )
    assert sheet.mix.load.load_kg * sheet.mix.load.loads == pytest.approx(
        day, abs=10.0 * sheet.mix.load.loads
    )


def test_what_is_given_is_what_was_loaded() -> None:
    """kg DM eaten of each feed, from the load's own weights, is what the check was made with."""
    for sheet in sheets().sheets:
        assert sheet.mix is not None
        load = sheet.mix.load
        for amount in sheet.fed.amounts:
            if amount.offer != "dairy_nuts":
                eaten = load.kg_of(amount.offer) * load.loads / sheet.head / 1.02
                assert amount.kg_fresh == pytest.approx(eaten, abs=1e-9)


def test_todays_dry_matter_changes_the_fresh_weight_and_not_the_dry() -> None:
    """First cut at 25 % instead of what the ration has: kg fresh times old over new, kg DM as
    before.
    """
    before, after = sheets().sheets[0], sheets(DayFigures({"first_cut": 25.0})).sheets[0]
    then = next(o for o in rations("dairy").farm.offers if o.id == "first_cut").feed.dm_g_per_kg
    assert after.kg_fresh["first_cut"] == pytest.approx(before.kg_fresh["first_cut"] * then / 250.0)
    assert after.kg_fresh["barley"] == before.kg_fresh["barley"]
    assert after.fed.dm_kg == pytest.approx(before.fed.dm_kg, rel=0.01)
    assert any("25.0 % dry matter today" in note for note in after.notes)


def test_todays_head_changes_the_load_and_not_the_ration() -> None:
    """66 instead of 62 animals: 66/62 of the load, the same a head."""
    before, after = sheets().sheets[0], sheets(DayFigures(head={"high": 66})).sheets[0]
    assert before.mix is not None
    assert after.mix is not None
    ratio = (
        after.mix.load.wanted_kg
        * after.mix.load.loads
        / (before.mix.load.wanted_kg * before.mix.load.loads)
    )
    assert ratio == pytest.approx(66.0 / 62.0)
    assert after.kg_fresh == before.kg_fresh
    assert "66 animals today instead of 62." in after.notes


@pytest.mark.parametrize(
    ("today", "code"),
    [
        (DayFigures({"nothing": 30.0}), "IN124"),
        (DayFigures({"maize": 3.0}), "IN520"),
        (DayFigures({"maize": 300.0}), "IN520"),
        (DayFigures(head={"nobody": 5}), "IN501"),
        (DayFigures(head={"high": 0}), "IN520"),
    ],
)
def test_a_correction_that_cannot_be_is_refused(today: DayFigures, code: str) -> None:
    """Unknown ids and figures out of range, by code."""
    with pytest.raises(InputError) as trouble:
        sheets(today)
    assert [finding.code for finding in trouble.value.findings] == [code]


def test_an_old_sample_is_said_and_a_fresh_one_is_not() -> None:
    """More than a fortnight before the day (common practice, c)."""
    found = rations("dairy")
    cut = next(o for o in found.farm.offers if o.id == "first_cut")
    sampled = date.fromisoformat(cut.feed.figures["dm_g_per_kg"].sampled)
    for days, said in ((14, False), (15, True)):
        day = date.fromordinal(sampled.toordinal() + days)
        yard = yard_sheets(replace(found, farm=replace(found.farm, day=day)))
        assert any("last tested: First-cut clamp" in note for note in yard.sheets[0].notes) is said


def test_one_mix_for_several_groups_is_shared_out_and_each_is_checked() -> None:
    """High gets 1, late 0.8 of it a head: shared out by heads times portion, together the load."""
    mix = Mix("milking", {"high": 1.0, "late": 0.8}, frozenset())
    yard = yard_sheets(with_feeding("dairy", Feeding("vertical", 14.0, 5.0, 0.02), (mix,)))
    high, late = yard.sheets[:2]
    assert high.mix is not None
    assert high.mix == late.mix
    shared_out = {drop.group: drop.kg for drop in high.mix.shared_out}
    assert sum(shared_out.values()) == pytest.approx(high.mix.load.load_kg, abs=5.0)
    assert shared_out["late"] / shared_out["high"] == pytest.approx(70 * 0.8 / 62, rel=0.02)
    dm = {
        sheet.group: sum(a.kg_dm for a in sheet.fed.amounts if a.offer != "dairy_nuts")
        for sheet in (high, late)
    }
    assert dm["late"] / dm["high"] == pytest.approx(0.8, rel=0.01)
    assert any("One mix for High yielders, Late lactation" in note for note in late.notes)


def test_what_tops_up_a_mix_is_fed_beside_it() -> None:
    """Wheat named as top-up is in no load, and stands with the pen of the group that gets it."""
    mix = Mix("milking", {"high": 1.0, "late": 0.8}, frozenset({"wheat"}))
    yard = yard_sheets(with_feeding("dairy", Feeding("vertical", 14.0), (mix,)))
    high = yard.sheets[0]
    assert high.mix is not None
    assert high.pen is not None
    assert high.mix.load.kg_of("wheat") == 0.0
    assert high.pen.kg_of("wheat") == pytest.approx(high.kg_fresh["wheat"] * 62, rel=0.01)


@pytest.mark.parametrize(
    ("a_day", "bales", "days"),
    [(1.0, 1, 1), (2.01, 2, 1), (1.294, 9, 7), (0.5, 1, 2), (0.04, 1, 25), (3.5, 7, 2)],
)
def test_bales_are_whole_and_the_days_few(a_day: float, bales: int, days: int) -> None:
    """By hand: 9 bales in 7 days are 1.286 a day, 0.6 % off 1.294; fewer days come no nearer than 2
    %.
    """
    assert whole_bales(a_day) == (bales, days)


@given(st.floats(0.08, 60.0))
def test_bales_are_never_far_from_what_is_wanted(a_day: float) -> None:
    """At worst a bale in a fortnight is 14 % off, and from one bale in six days on 4.8 %."""
    bales, days = whole_bales(a_day)
    assert abs(bales / days / a_day - 1.0) <= (0.048 if a_day >= 1.0 / 6.0 else 0.25)


@pytest.mark.parametrize(
    ("kg", "key", "meals"),
    [(2.5, "finishing_cattle", 1), (2.6, "finishing_cattle", 2), (5.1, "finishing_cattle", 3)],
)
def test_meals_are_as_many_as_keep_each_within_the_class(kg: float, key: str, meals: int) -> None:
    """2.5 kg a meal for cattle (common practice, c)."""
    barley = offer("barley")
    pen = make_pen([Serving(barley, kg * barley.feed.dm_g_per_kg / 1000.0)], 20, 0.0, key, {})
    assert pen.meals == meals
    assert pen.concentrate_kg / pen.meals <= 2.5 + 1e-9
    assert pen.kg_of("barley") == pytest.approx(20 * kg, abs=0.25 * meals)


def test_the_meals_of_a_pen_keep_their_total() -> None:
    """Two straights of 3.33 kg each in 0.5 kg steps for nine head: the sum is what it was to within
    half a step a meal.
    """
    served = [
        Serving(offer(key), 3.33 * offer(key).feed.dm_g_per_kg / 1000.0)
        for key in ("barley", "rapeseed_meal_extracted")
    ]
    pen = make_pen(served, 9, 0.0, "finishing_cattle", {})
    assert pen.meals == 3
    assert sum(line.kg for line in pen.lines) == pytest.approx(9 * 6.66, abs=0.25 * 3)


def test_refusals_are_put_out_with_forage_and_never_with_meals() -> None:
    """Five in a hundred more silage, as much barley as before."""
    served = [Serving(offer("maize_silage_typical"), 8.0), Serving(offer("barley"), 1.72)]
    pen = make_pen(served, 40, 0.05, "finishing_cattle", {})
    silage = 8.0 / TABLES["maize_silage_typical"].dm_g_per_kg * 1000.0
    assert pen.lines[0].wanted_kg == pytest.approx(40 * silage * 1.05)
    assert pen.kg_of("barley") == pytest.approx(40 * 2.0)


@pytest.mark.parametrize("name", ["beef", "hill"])
def test_without_a_wagon_everything_is_by_the_pen(name: str) -> None:
    """No load; what the pen gets is what the check was made with."""
    for sheet in yard_sheets(rations(name)).sheets:
        assert sheet.mix is None
        assert sheet.pen is not None
        for amount in sheet.fed.amounts:
            assert amount.kg_fresh == pytest.approx(sheet.pen.kg_of(amount.offer) / sheet.head)


def test_bales_of_no_weight_are_weighed_by_their_size() -> None:
    """By hand: a round bale 1.2 m across and wide holds 1.357 m3, times the density of hay in
    bales, over its dry matter.
    """
    found = rations("beef").farm
    size = {"count": 50.0, "shape": "round", "bale_diameter_m": 1.2, "bale_width_m": 1.2}
    stores = tuple(replace(s, size=size) if s.id == "hay" else s for s in found.stores)
    hay = next(offer.feed for offer in found.offers if offer.id == "hay")
    density = bale_density(hay)
    assert density is not None
    by_hand = 3.14159 / 4.0 * 1.2**2 * 1.2 * density.spread.typical / (hay.dm_g_per_kg / 1000.0)
    assert bale_weights(replace(found, stores=stores))["hay"] == pytest.approx(by_hand, rel=1e-4)
    assert bale_weights(found)["hay"] == 230.0


def test_the_pen_of_a_group_with_a_way_of_its_own() -> None:
    """The dairy farm's dry cows without the wagon; the others keep it."""
    found = rations("dairy")
    groups = tuple(replace(g, feeding=Feeding()) if g.id == "dry" else g for g in found.farm.groups)
    yard = yard_sheets(replace(found, farm=replace(found.farm, groups=groups)))
    assert [sheet.group for sheet in yard.sheets if sheet.mix is None] == ["dry"]


def test_a_group_without_a_ration_has_no_sheet_and_the_others_have() -> None:
    """It is named, and the exit code is 3."""
    found = rations("beef")
    first = replace(
        found.groups[0], amounts=(), supply=(), proof=None, feed_cost=None, status="none_exists"
    )
    yard = yard_sheets(replace(found, groups=(first, *found.groups[1:])))
    assert [one.group for one in yard.without] == [first.group]
    assert len(yard.sheets) == len(found.groups) - 1
    assert yard.exit_code == 3


def test_every_loading_figure_has_a_status_and_a_source() -> None:
    """a, b or c, and words for it."""
    assert {figure.status for figure in loading_figures().values()} <= {"a", "b", "c"}
    assert all(figure.source and figure.unit for figure in loading_figures().values())


def test_a_farm_that_is_given_whole_is_not_changed() -> None:
    """The corrections make a farm of their own."""
    farm: Farm = rations("dairy").farm
    before = farm.offers
    sheets(DayFigures({"first_cut": 20.0}))
    assert farm.offers == before
