"""A winter that cannot be fed: the plan of the least shortage, in which limits stand and the
shortage is marked everywhere.
"""

from __future__ import annotations

import json
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest
from told import told
from winter_farms import BOUGHT, COWS, DAYS, HOME, STORES, steady, stocks, winter_farm

from rationlp.after.winter_facts import winter_facts
from rationlp.farm.farm import Farm
from rationlp.farm.group import Group
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.planned import WinterPlan
from rationlp.report.answers.winter import WinterAnswer
from rationlp.report.json_answer import document, json_text
from rationlp.report.plan_words import plan_proof_line, plan_tidy_line
from rationlp.report.record import record_story
from rationlp.report.results import result_tables
from rationlp.report.stories.winter import winter_story
from rationlp.report.tables.winter_plan import winter_table
from rationlp.wintering.answer import GAP_TARGET
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions
from rationlp.yard.record import record_facts

GRASS = "grass_silage_1st_typical"
LITTLE = {GRASS: 20.0, "hay_average": 6.0, "straw_barley": 10.0}
EWES = Group(
    "ewes",
    "Ewes with twins",
    "ewe_pregnant",
    100,
    "rationed",
    {"live_weight_kg": 70.0, "kept": "housed", "lambs_carried": 2.0, "days_to_lambing": 20.0},
)


def farm_without_straights(*groups: Group) -> Farm:
    """A farm that can buy minerals and nothing else."""
    farm = winter_farm(groups)
    kept = (*HOME, "minerals_suckler_high_mg", "minerals_cattle_general")
    return replace(farm, offers=tuple(offer for offer in farm.offers if offer.id in kept))


@lru_cache(maxsize=1)
def hungry() -> WinterPlan:
    """Cows and store cattle with feed for half the winter."""
    return solve_winter(
        farm_without_straights(COWS, STORES), WinterOptions(faces="off"), stocks(LITTLE)
    )


def test_a_plan_comes_out_and_says_that_none_meets_every_need() -> None:
    """Rations, stores and purchases as of any plan; exit code 3; the status is proved by pricing
    the stores.
    """
    plan = hungry()
    assert (plan.status, plan.exit_code, plan.feeds_all) == ("none_exists", 3, False)
    assert plan.proof is not None
    assert plan.proof.passed
    assert {(one.group, one.period) for one in plan.rations} == {
        (group.id, period.number) for group in (COWS, STORES) for period in plan.periods
    }
    assert all(store.left_t_dm >= -1e-6 for store in plan.stores)
    assert plan.shortfalls


def test_every_limit_stands_all_the_same() -> None:
    """No quantity of a ration is above its upper limit, and no animal eats more than it can."""
    for ration in hungry().rations:
        cap = ration.needs.intake
        assert cap is not None
        assert ration.dm_kg <= cap.cap_kg_dm * 1.5
        for line in ration.supply:
            assert line.high is None or line.supply <= line.high * (1.0 + 1e-6) + 1e-9, (
                ration.group,
                line.quantity,
            )


def test_the_shortage_is_about_the_least_that_the_store_allows() -> None:
    """Hay alone, for one steady group: what its energy suffices for is lost to nobody. By hand: ME
    of the hay over the need at its own q, in head-days. Shares of a shortage are graded, which may
    cost a few parts in a hundred of the least.
    """
    cows = steady(COWS)
    farm = farm_without_straights(cows)
    hay = {"hay_average": 12.0, GRASS: 0.0, "straw_barley": 0.0}
    plan = solve_winter(farm, WinterOptions(faces="off", tidy=False), stocks(hay))
    need = plan.rations[0].needs.energy
    assert need is not None
    me = next(
        offer.feed.value("me_mj_per_kg_dm") for offer in farm.offers if offer.id == "hay_average"
    )
    assert me is not None
    head_days = COWS.head * DAYS
    least = head_days - 12000.0 * me / need.required_mj(me / GE_MJ_PER_KG_DM)
    days = {period.number: period.days for period in plan.periods}
    short = sum(
        one.shortfall.short / one.shortfall.needed * COWS.head * days[one.period]
        for one in plan.shortfalls
        if one.shortfall.need == "metabolisable energy"
    )
    assert short == pytest.approx(least, rel=0.03)


def test_the_shortage_stands_in_every_output() -> None:
    """Text, table, document, workbook tables, page to record on: who, which weeks, how much."""
    plan = hungry()
    text = " ".join(told(winter_story(winter_facts(plan)), 100).split())
    assert "no plan feeds every group" in text
    assert "This plan has the least shortage found." in text
    assert "MJ of metabolisable energy short a head a day" in text
    assert "what to feed, kg fresh a head a day" in text
    table = winter_table(plan)
    assert table.columns[-1].key == "short"
    assert any("metabolisable energy" in str(row[-1]) for row in table.rows)
    read = json.loads(json_text(document("winter", WinterAnswer(winter_facts(plan)))))
    assert read["shortfalls"]
    assert read["rations"]
    assert "plan_shortfalls" in {one.name for one in result_tables(winter_facts(plan))}
    assert "no plan feeds every group" in " ".join(
        told(record_story(record_facts(plan, 8)), 100).split()
    )
    assert "That no plan is less short is not proved." in plan_proof_line(plan)


def test_the_page_has_plan_and_shortage() -> None:
    """The first page says who is short; the rations are there as well."""
    pytest.importorskip("jinja2")
    from rationlp.report.page import story_page
    from rationlp.report.stories.report import Extras, report_story

    plan = hungry()
    page = story_page(report_story(winter_facts(plan), Extras(plan.periods[0].first)))
    assert "Not every need can be met" in page
    assert "What cannot be met, a head a day" in page
    assert "Each group through the winter" in page


@pytest.mark.parametrize("grass", [0.0, 5.0])
def test_ewes_with_twins_near_lambing_get_no_amounts_while_short(grass: float) -> None:
    """Twenty days before lambing: shortage and advice, no kilograms, whether a ration could be made
    or not. Ninety days before
    lambing: amounts, where there are any.
    """
    little = {"hay_average": 0.0, GRASS: grass, "straw_barley": 4.0}
    for days, near in ((20.0, True), (90.0, False)):
        ewes = replace(EWES, facts={**EWES.facts, "days_to_lambing": days})
        plan = solve_winter(
            farm_without_straights(ewes), WinterOptions(faces="off", tidy=False), stocks(little)
        )
        assert plan.exit_code == 3
        assert plan.shortfalls
        assert any(ration.amounts for ration in plan.rations) == (not near and grass > 0.0)
        assert (
            "must not be fed short of energy"
            in " ".join(told(winter_story(winter_facts(plan)), 100).split())
        ) == near


def test_a_group_with_enough_is_not_made_short_by_another() -> None:
    """Hay kept for the cows suffices for them: the store cattle alone are short."""
    farm = farm_without_straights(COWS, STORES)
    kept = tuple(
        replace(one, kept_for=("cows",)) if one.id != "straw_barley" else one for one in farm.stores
    )
    plenty = {GRASS: 60.0, "hay_average": 30.0, "straw_barley": 8.0}
    plan = solve_winter(
        replace(farm, stores=kept), WinterOptions(faces="off", tidy=False), stocks(plenty)
    )
    assert {one.group for one in plan.shortfalls} == {"stores"}


def test_without_the_wish_for_it_there_is_no_plan_of_shortage() -> None:
    """Questions that only ask whether a winter can be fed are answered without one."""
    farm = farm_without_straights(COWS, STORES)
    plan = solve_winter(farm, WinterOptions(faces="off", shortage=False), stocks(LITTLE))
    assert (plan.proof, plan.rations, plan.exit_code) == (None, (), 3)


def test_a_plan_that_fails_its_check_has_exit_code_four() -> None:
    """Whether it is the cheapest or the tidied one that failed; a plan that passed has 0."""
    farm = winter_farm()
    held = stocks({GRASS: 60.0, "hay_average": 40.0, "straw_barley": 30.0})
    plan = solve_winter(farm, WinterOptions(faces="off"), held)
    assert plan.proof is not None
    assert plan.exit_code == 0
    failed = replace(
        plan,
        proof=replace(plan.proof, passed=False, verdict="the plan does not pass its own check"),
    )
    assert failed.exit_code == 4
    assert "failed its own check" in plan_proof_line(failed)
    assert plan.tidy is not None
    assert replace(plan, tidy=replace(plan.tidy, passed=False)).exit_code == 4
    assert plan.proof.gap_relative <= GAP_TARGET


def test_a_plan_with_nothing_to_mend_says_no_empty_list() -> None:
    """Rations kept steady and no amount dropped or brought up."""
    plan = hungry()
    assert plan.tidy is not None
    line = plan_tidy_line(replace(plan, tidy=replace(plan.tidy, dropped=0, raised=0, left=0)))
    assert line.startswith("Rations are kept steady from period to period. That costs")
    assert ": ." not in line


def test_minerals_are_bought_in_a_short_winter_too() -> None:
    """What is not short of feed is as in any plan: the printed rate of the minerals goes in."""
    names = {amount.offer for ration in hungry().rations for amount in ration.amounts}
    assert names & set(BOUGHT)


def test_a_winter_with_nothing_at_all_is_told_without_rations(tmp_path: Path) -> None:
    """No store holds anything and only minerals are sold: nobody is fed, everybody is named."""
    nothing = dict.fromkeys(LITTLE, 0.0)
    plan = solve_winter(farm_without_straights(COWS), WinterOptions(faces="off"), stocks(nothing))
    assert plan.status == "none_exists"
    assert plan.exit_code == 3
    assert {one.group for one in plan.shortfalls} == {"cows"}
    assert not any(ration.amounts for ration in plan.rations)
