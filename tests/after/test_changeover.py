"""From one ration to the next: each rule shows when it is passed and is silent when it is not; days
to take; the steps.

The thresholds are common practice without a source (c) but for the fortnight that the rumen needs
(a: UK farming press, 1995).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

import pytest

from rationlp.after.changeover import ChangeOver, History, change_figure, change_over, change_overs
from rationlp.csvfile import read_rows
from rationlp.errors import InputError
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed, Offer
from rationlp.folders import examples_folder, feeds_folder
from rationlp.model.ration import solve_rations
from rationlp.needs import group_needs
from rationlp.read.farm import read_farm
from rationlp.read.feeds import read_feed_tables
from rationlp.rules.blanks import complete

PLAIN = read_farm(examples_folder() / "dairy")


def _with_more(farm: Farm, *keys: str) -> Farm:
    """The example farm with more feeds bought, at invented prices."""
    tables = read_feed_tables()
    more = tuple(Offer(key, tables[key].name, complete(tables[key]), True, 50.0) for key in keys)
    return replace(farm, offers=(*farm.offers, *more))


FARM = _with_more(PLAIN, "fodder_beet", "feed_urea", "brewers_grains")
BASE = {"first_cut": 8.0, "maize": 2.0, "barley": 3.0, "soya_meal_48": 1.0}


def change(
    after: Mapping[str, float], past: History | None = None, group: str = "high", **before: float
) -> ChangeOver:
    """The way from BASE (with `before` over it) to BASE with `after` over it."""
    needs = group_needs(next(one for one in FARM.groups if one.id == group), FARM.margins)
    return change_over(FARM, needs, {**BASE, **before}, {**BASE, **after}, past)


def ewes(after: Mapping[str, float]) -> ChangeOver:
    """The same for ewes: their class reads the rows of sheep."""
    cows = group_needs(FARM.groups[0], FARM.margins)
    needs = replace(cows, animal_class="ewe_dry", limits_key="ewe_dry")
    return change_over(FARM, needs, {"hay": 1.0}, {"hay": 1.0, **after})


def said(found: ChangeOver, warned: bool = True) -> set[str]:
    """What is past a rule, or (not warned) only takes its days."""
    return {one.what for one in found.changes if one.warned == warned}


NEW_FORAGE = {"first_cut": 5.0, "hay": 3.0}
OLD = History(days=21.0)


def test_a_forage_that_changes_soon_is_said() -> None:
    """Three of ten kg of forage DM from grass silage to hay, after 20 days."""
    assert said(change(NEW_FORAGE, History(days=20.0))) == {"forage"}


def test_a_forage_may_change_after_three_weeks() -> None:
    """The same after 21 days takes its days and is no fault."""
    found = change(NEW_FORAGE, OLD)
    assert said(found) == set()
    assert said(found, warned=False) == {"clamp"}


def test_a_quarter_of_the_forage_may_change_at_any_time() -> None:
    """2.5 of ten kg of forage DM is a quarter and not more."""
    assert change({"first_cut": 5.5, "maize": 4.5}, History(days=3.0)).changes == ()


def test_days_that_are_not_known_count_as_too_few() -> None:
    """And the sentence says that they are not known."""
    found = change(NEW_FORAGE)
    assert said(found) == {"forage"}
    assert "not known" in found.sentences[0]


def test_cuts_of_one_crop_are_one_forage() -> None:
    """All of the first cut for the second: no switch of forage, but seven to ten days."""
    found = change({"first_cut": 0.0, "second_cut": 8.0}, History(days=3.0))
    assert said(found) == set()
    assert [(one.what, one.days_least, one.days_most) for one in found.changes] == [
        ("clamp", 7, 10)
    ]
    assert found.days == 10


def test_a_little_of_another_cut_is_no_change_of_clamp() -> None:
    """2 of ten kg of forage DM from the second cut can come in at once."""
    assert change({"first_cut": 6.0, "second_cut": 2.0}, History(days=3.0)).changes == ()


def test_less_forage_altogether_is_a_change_of_forage() -> None:
    """Half of the silage taken away is half of the larger forage DM."""
    found = change({"first_cut": 3.0}, History(days=3.0))
    assert next(one.size for one in found.changes if one.what == "forage") == pytest.approx(0.5)


ON = date(2026, 12, 20)


def test_a_second_switch_of_forage_in_four_weeks_is_said() -> None:
    """The first was 27 days ago."""
    assert said(change(NEW_FORAGE, History(27.0, (date(2026, 11, 23),), ON))) == {"switches"}


def test_a_switch_four_weeks_ago_is_past() -> None:
    """28 days ago: one switch within 28 days, which is allowed."""
    assert said(change(NEW_FORAGE, History(28.0, (date(2026, 11, 22),), ON))) == set()


def test_without_a_switch_now_there_is_no_second() -> None:
    """A small change is no switch, however lately the forage was switched."""
    assert (
        change({"first_cut": 7.5, "maize": 2.5}, History(5.0, (date(2026, 12, 15),), ON)).changes
        == ()
    )


def test_concentrates_that_rise_by_more_than_a_step_are_said() -> None:
    """0.6 kg of soya meal as bagged feed at once, for cows."""
    assert said(change({"soya_meal_48": 1.0 + 0.6 * 0.87}, OLD)) == {"concentrate"}


def test_concentrates_that_fall_by_more_than_a_step_are_said() -> None:
    """The sentence says that they fall."""
    found = change({"soya_meal_48": 0.0}, OLD)
    assert said(found) == {"concentrate"}
    assert found.sentences[0].startswith(
        "Concentrates fall by 1.1 kg: take 9 days over it, no more than 0.5 kg in 3 days"
    )


def test_half_a_kilo_of_concentrates_may_come_at_once() -> None:
    """0.5 kg as bagged feed is a step."""
    assert change({"soya_meal_48": 1.0 + 0.5 * 0.87}, OLD).changes == ()


def test_wet_concentrates_count_by_their_dry_matter() -> None:
    """1.6 kg fresh of brewers' grains at 250 g DM/kg is less than a step."""
    assert change({"brewers_grains": 0.4}, OLD).changes == ()


@pytest.mark.parametrize(("kg", "said_of_it"), [(0.1, set()), (0.11, {"concentrate"})])
def test_a_step_of_sheep_is_a_tenth_of_a_kilo(kg: float, said_of_it: set[str]) -> None:
    """0.1 kg of soya meal as bagged feed may come at once, 0.11 kg may not."""
    assert said(ewes({"soya_meal_48": kg * 0.87})) == said_of_it


def test_starch_that_rises_fast_is_said() -> None:
    """Soya meal for barley, kg for kg: 3.4 kg more barley in 14 kg DM is over 60 g/kg DM."""
    found = change({"barley": 4.0, "soya_meal_48": 0.0}, OLD, barley=0.6, soya_meal_48=3.4)
    assert said(found) == {"starch"}
    assert found.sentences[0].startswith("Starch rises")


def test_starch_that_rises_a_little_is_not_said() -> None:
    """One kg of barley for one of soya meal is 39 g/kg DM."""
    assert change({"barley": 4.0, "soya_meal_48": 0.0}, OLD).changes == ()


def test_starch_without_a_figure_is_not_taken_as_nought() -> None:
    """A feed without starch in its table: the rule is silent and the feed is named."""
    barley = next(offer for offer in FARM.offers if offer.id == "barley")
    kept = {
        key: figure for key, figure in barley.feed.figures.items() if key != "starch_g_per_kg_dm"
    }
    blank = replace(barley, feed=Feed("barley", barley.name, "cereal", kept))
    farm = replace(
        FARM, offers=tuple(blank if offer.id == "barley" else offer for offer in FARM.offers)
    )
    needs = group_needs(FARM.groups[0], FARM.margins)
    found = change_over(farm, needs, {**BASE, "barley": 0.6, "soya_meal_48": 3.4}, BASE, OLD)
    assert found.not_compared == (barley.name,)
    assert said(found) == set()


def test_roots_are_built_up_over_three_weeks() -> None:
    """Beet that was not fed before: ten to 21 days."""
    found = change({"fodder_beet": 0.5}, OLD)
    assert [(one.what, one.days_least, one.days_most) for one in found.changes] == [
        ("root", 10, 21)
    ]
    assert found.days == 21


def test_roots_that_were_fed_before_are_nothing_new() -> None:
    """A little more beet than before."""
    assert change({"fodder_beet": 1.0}, OLD, fodder_beet=0.8).changes == ()


def test_urea_is_brought_in_over_days() -> None:
    """New urea, however little."""
    assert [(one.what, one.days_most) for one in change({"feed_urea": 0.05}, OLD).changes] == [
        ("urea", 10)
    ]


def test_cereals_ad_lib_take_three_weeks() -> None:
    """From 78 to 86 % concentrates of the dry matter."""
    needs = group_needs(next(one for one in FARM.groups if one.id == "finishers"), FARM.margins)
    found = change_over(
        FARM, needs, {"straw": 2.0, "barley": 7.0}, {"straw": 1.2, "barley": 7.4}, OLD
    )
    assert next(
        (one.days_least, one.days_most) for one in found.changes if one.what == "cereal"
    ) == (14, 21)
    assert found.days == 21


def test_cereals_that_were_ad_lib_before_need_no_days() -> None:
    """From 84 to 86 %."""
    needs = group_needs(next(one for one in FARM.groups if one.id == "finishers"), FARM.margins)
    found = change_over(
        FARM, needs, {"straw": 1.4, "barley": 7.4}, {"straw": 1.2, "barley": 7.4}, OLD
    )
    assert found.changes == ()


def test_anything_else_takes_about_a_fortnight() -> None:
    """A kg more of concentrates would keep its step in six days; the rumen takes 14."""
    assert change({"soya_meal_48": 1.87}, OLD).days == 14


def test_a_large_change_of_concentrates_takes_as_many_days_as_its_steps() -> None:
    """5 kg as bagged feed in steps of 0.5 kg, three days each."""
    assert change({"soya_meal_48": 1.0 + 5.0 * 0.87}, OLD).days == 30


def test_the_longest_of_what_applies_is_taken() -> None:
    """A change of clamp and new beet: the days of the beet."""
    assert change({"first_cut": 0.0, "second_cut": 8.0, "fodder_beet": 0.5}, OLD).days == 21


LARGE = change({"first_cut": 4.0, "second_cut": 5.0, "barley": 6.0, "minerals": 0.2}, OLD)


def test_the_ramp_begins_with_what_is_fed_and_ends_with_the_new_ration() -> None:
    """Both exactly, a feed that is in one of them only at 0 in the other."""
    assert LARGE.steps[0].kg_dm == {**BASE, "second_cut": 0.0, "minerals": 0.0}
    assert LARGE.steps[-1].kg_dm == {
        **BASE,
        "first_cut": 4.0,
        "second_cut": 5.0,
        "barley": 6.0,
        "minerals": 0.2,
    }
    assert (LARGE.steps[0].day, LARGE.steps[-1].day) == (0, LARGE.days)


def test_the_total_moves_in_a_straight_line() -> None:
    """kg DM on every day of the table, from 14 to 18.2 kg."""
    for step in LARGE.steps:
        assert sum(step.kg_dm.values()) == pytest.approx(
            14.0 + 4.2 * step.day / LARGE.days, abs=1e-12
        )


def test_no_step_of_concentrates_is_too_large() -> None:
    """Nowhere more than 0.5 kg as bagged feed from one row to the next, and rows are three days
    apart at most.
    """
    for one, two in zip(LARGE.steps, LARGE.steps[1:], strict=False):
        rise = sum(two.kg_dm[key] - one.kg_dm[key] for key in ("barley", "soya_meal_48")) / 0.87
        assert rise <= 0.5 + 1e-9
        assert 0 < two.day - one.day <= 3


def test_fresh_amounts_follow_the_dry_matter() -> None:
    """312 g DM in a kg of the first cut."""
    assert LARGE.steps[1].kg_fresh["first_cut"] == pytest.approx(
        LARGE.steps[1].kg_dm["first_cut"] / 0.312
    )


def test_a_small_change_is_made_at_once() -> None:
    """What is fed now, then the new ration the day after."""
    found = change({"maize": 2.5}, OLD)
    assert found.days == 0
    assert [(step.day, step.kg_dm["maize"]) for step in found.steps] == [(0, 2.0), (1, 2.5)]


def test_costs_are_at_todays_prices() -> None:
    """One kg DM more of soya meal at 385 a tonne fresh."""
    found = change({"soya_meal_48": 2.0}, OLD)
    price = next(offer.price_per_kg_dm for offer in FARM.offers if offer.id == "soya_meal_48")
    assert found.cost_after - found.cost_before == pytest.approx(price)


def test_a_class_of_no_known_kind_keeps_the_rules_that_hold_for_all() -> None:
    """Stated needs: forage is judged, concentrates have no step."""
    needs = replace(group_needs(FARM.groups[0], FARM.margins), limits_key=None)
    after = {**BASE, **NEW_FORAGE, "soya_meal_48": 3.0}
    found = change_over(FARM, needs, BASE, after, History(days=3.0))
    assert said(found) == {"forage"}
    assert found.days == 10


RATIONS = solve_rations(PLAIN, ["dry"])


def test_only_groups_that_are_fed_now_are_changed_over() -> None:
    """The answer has the dry cows; what is fed to others says nothing of them."""
    assert set(change_overs(RATIONS, {"dry": {"straw": 8.0}, "late": {"maize": 1.0}})) == {"dry"}
    assert change_overs(RATIONS, {"late": {"maize": 1.0}}) == {}


def test_the_last_step_is_the_answer() -> None:
    """Every feed of the proven ration, to the last digit."""
    found = change_overs(RATIONS, {"dry": {"straw": 8.0}})["dry"]
    assert found.steps[-1].kg_dm == {
        amount.offer: amount.kg_dm for amount in RATIONS.groups[0].amounts
    }
    assert found.cost_after == pytest.approx(RATIONS.groups[0].feed_cost)


def test_a_part_of_a_group_was_fed_as_the_group() -> None:
    """Cows that have calved stand under an id of their own; the file knows the group only."""
    cows = next(group for group in PLAIN.groups if group.id == "dry")
    farm = replace(PLAIN, groups=(replace(cows, origin="all_cows"),))
    assert set(change_overs(replace(RATIONS, farm=farm), {"all_cows": {"straw": 8.0}})) == {"dry"}
    assert set(change_overs(replace(RATIONS, farm=farm), {"other_cows": {"straw": 8.0}})) == set()


def test_a_group_fed_nothing_is_refused() -> None:
    """As `supply` refuses it."""
    with pytest.raises(InputError) as trouble:
        change_overs(RATIONS, {"dry": {"straw": 0.0}})
    assert [finding.code for finding in trouble.value.findings] == ["IN502"]


def test_every_figure_has_a_status_and_a_source() -> None:
    """feeds/change-over.csv: status a, b or c, a source in words, no figure twice."""
    rows = [row.cells for row in read_rows(feeds_folder() / "change-over.csv").rows]
    assert all(row["status"] in {"a", "b", "c"} and row["source"] and row["unit"] for row in rows)
    assert len({(row["animals"], row["figure"]) for row in rows}) == len(rows)


@pytest.mark.parametrize(("animals", "value"), [("cattle", 0.5), ("sheep", 0.1), ("all", None)])
def test_a_figure_of_its_own_kind_comes_before_that_of_all(
    animals: str, value: float | None
) -> None:
    """The step of concentrates differs by kind; where no kind is known there is none."""
    found = change_figure(animals, "concentrate_step_most")
    assert (None if found is None else found.value) == value
