"""The winter's plan and how long stores last, as tables, text and JSON, from a plan made by
hand.
"""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from math import inf

import pytest
from schema_check import against_schema
from told import told
from winter_plans import TURNOUT, made_farm, made_plan, made_stock, without_plan

from rationlp.after.cautions import store_cautions
from rationlp.after.money import buying_list, money
from rationlp.after.stock import Spring, each_lasting, fixed_uses, plan_uses, spring_of, springs
from rationlp.after.winter_facts import winter_facts
from rationlp.ask.why_short import ShortAlone, why_short
from rationlp.ask.why_winter import WinterNear, why_winter
from rationlp.folders import examples_folder
from rationlp.model.ration import solve_rations
from rationlp.planned import PlanShortfall, Purchase
from rationlp.read.farm import read_farm
from rationlp.report.answers.winter import LastAnswer, WinterAnswer
from rationlp.report.json_answer import document, json_text
from rationlp.report.plan_words import (
    lasting_line,
    plan_proof_line,
    plan_tidy_line,
    ration_remarks,
    shortfall_lines,
)
from rationlp.report.stories.stores import last_story
from rationlp.report.stories.winter import winter_story
from rationlp.report.tables.stock import (
    balance_table,
    lasting_table,
    run_down_table,
    run_out_table,
    run_out_words,
    springs_table,
)
from rationlp.report.tables.winter_plan import (
    buying_table,
    money_table,
    part_tables,
    plan_shortfalls_table,
    sales_table,
    winter_table,
)
from rationlp.report.why import near_words, short_lines
from rationlp.wintering.plan import solve_winter


def test_who_eats_what_and_when() -> None:
    """A table a group, a row a period, kg fresh of each feed; alike periods in one row."""
    cows, stores = part_tables(made_plan())
    assert [column.title for column in cows.columns] == [
        "From",
        "Until",
        "Head",
        "Cost",
        "The clamp",
        "Meal",
    ]
    assert cows.cells() == [
        ["2026-11-01", "2026-12-01", "20", "1.60", "36.0", "2.0"],
        ["2026-12-01", "2026-12-31", "20", "2.20", "36.0", "4.0"],
    ]
    assert stores.cells() == [["2026-11-01", "2026-12-31", "10", "0.50", "18.0"]]


def test_the_long_table_holds_every_ration() -> None:
    """A line a part, period and feed, unrounded."""
    rows = winter_table(made_plan()).rows
    assert len(rows) == 6
    assert rows[1] == (
        "cows",
        "Milkers",
        "2026-11-01",
        "2026-12-01",
        20,
        "meal",
        "Meal",
        2.0,
        1.6,
        pytest.approx(0.6),
        None,
    )


def test_the_buying_list_of_the_screen() -> None:
    """Tonnes by month and in all, loads below, cost, and the price not to be passed."""
    table = buying_table(made_plan(), buying_list(made_plan()))
    assert [column.title for column in table.columns] == [
        "Feed",
        "Unit",
        "2026-11",
        "2026-12",
        "In all",
        "Cost",
        "Stop above",
    ]
    assert table.cells() == [
        ["Meal", "t", "1.20", "2.40", "3.60", "1,080", "350"],
        ["  by loads of 2 t", "loads", "1", "1", "2", "", ""],
    ]
    loads_only = replace(
        made_plan(), purchases=(Purchase("meal", "Meal", (1.2, 2.4), 1080.0, (1, 1)),)
    )
    plain = buying_table(loads_only, buying_list(loads_only))
    assert "Stop above" not in [column.title for column in plain.columns]
    assert plain.cells()[1][2:5] == ["1", "1", "2"]


def test_the_balance_closes_to_the_kilogram() -> None:
    """25 t held: eaten 12.825, left at the trough 1.425, sold 5, left 5.75."""
    (row,) = balance_table(made_plan()).cells()
    assert row == ["The clamp", "25,000", "12,825", "1,425", "0", "5,000", "0", "5,750", "0", "0"]
    figures = [float(cell.replace(",", "")) for cell in row[1:8]]
    assert sum(figures[1:]) == figures[0]


def test_run_out_and_run_down() -> None:
    """19.25 of 25 t go; with 12 t it is gone on 29 November; what is left stands by date, t DM and
    t fresh.
    """
    stores = each_lasting(plan_uses(made_plan()))
    (row,) = run_out_table(stores).cells()
    assert row[:4] == ["The clamp", "25.0", "5.8", "2.0"]
    assert row[4:7] == ["2026-11-29", "lasts (2027-01-25)", "lasts (2027-02-16)"]
    assert run_down_table(stores).cells() == [
        ["2026-11-01", "25.0", "100.0"],
        ["2026-12-01", "12.5", "50.0"],
        ["2026-12-31", "5.8", "23.0"],
    ]
    assert [row[:2] for row in lasting_table(stores).rows] == [
        ("clamp", "2026-11-01"),
        ("clamp", "2026-12-01"),
        ("clamp", "2026-12-31"),
    ]


def test_days_in_words() -> None:
    """Before turnout the day, from turnout on that it lasts, and none where none is known."""
    assert run_out_words(date(2026, 12, 1), TURNOUT) == "2026-12-01"
    assert run_out_words(TURNOUT, TURNOUT) == "lasts (2026-12-31)"
    assert run_out_words(None, TURNOUT) == "not used up"


def test_sales_and_money() -> None:
    """What is sold; columns of money that say nothing are left out."""
    assert sales_table(made_plan()).cells() == [["A neighbour", "The clamp", "20.0", "5.0", "600"]]
    cells = money_table(money(made_plan()), "GBP").cells()
    assert cells[0] == [
        "Milkers",
        "2,280",
        "1,080",
        "1.90",
        "0.095",
        "",
        "8,520",
        "7,320",
        "79",
        "75",
    ]
    dry = replace(made_plan(), farm=replace(made_farm(), milk_price_per_litre=None))
    assert "margin_over_feed" not in [
        column.key for column in money_table(money(dry), "GBP").columns
    ]


def test_the_answer_comes_first() -> None:
    """Cost with its parts, what to buy, how long the clamp lasts; then tables; then the proof."""
    text = " ".join(told(winter_story(winter_facts(made_plan())), 100).split())
    assert text.startswith(
        "Invented Farm, 1 November 2026 to 31 December 2026: GBP 1,905 in all (bought feed 1,080,"
        " home-grown feed at what it cost 1,425, less 600 for what is sold). Buy: 3.6 t Meal. Runs"
        " out before turnout (31 December): no store. Lasts: The clamp. Feed from 1 November, kg"
        " fresh a head a day (every feed and later period: tables below):"
    )
    assert (
        text.index("Milkers: what to feed")
        < text.index("What to buy")
        < text.index("proved cheapest")
    )
    assert text.count("A remark on 10 things.") == 1
    assert "A remark on 11 things." not in text
    assert text.endswith("local rules come first.")


def test_what_is_remarked_of_several_groups_in_the_same_words_is_said_once() -> None:
    """Both groups from the first day: one sentence with both names; a group's own remark keeps its
    own.
    """
    plan = made_plan()
    rations = tuple(replace(one, remarks=("Salt is left out.",)) for one in plan.rations)
    rations = (
        replace(rations[0], remarks=("Salt is left out.", "Of milkers alone.")),
        *rations[1:],
    )
    assert list(ration_remarks(replace(plan, rations=rations))) == [
        "Milkers; Stores (from 1 November): Salt is left out.",
        "Milkers (from 1 November): Of milkers alone.",
    ]


def test_what_is_proved_is_said_with_the_gap_rounded_up() -> None:
    """A proven plan, one that is not, one that was not bounded and one that failed."""
    plan = made_plan()
    proof = plan.proof
    assert proof is not None
    assert plan_proof_line(plan).startswith(
        "At the plan's own levels of feeding, proved cheapest to within GBP 1.00 over the winter"
        " (0.034 %)"
    )
    assert plan_proof_line(plan).endswith("Every store's balance closes to 0.001 kg DM.")
    assert "GBP 1.50 put on energy above need" in plan_proof_line(plan)
    assert "at most GBP 1.00 over the winter cheaper is not ruled out" in plan_proof_line(
        replace(plan, status="open")
    )
    unbounded = replace(
        plan, proof=replace(proof, gap=inf, lower_bound=-inf, gap_relative=inf), status="open"
    )
    assert "was not worked out" in plan_proof_line(unbounded)
    failed = replace(plan, proof=replace(proof, passed=False, verdict="it is not"))
    assert plan_proof_line(failed).startswith("This plan failed its own check: it is not.")
    whole = replace(plan, proof=replace(proof, whole_numbers=True))
    assert "no tonne has a value of its own" in plan_proof_line(whole)


def test_what_was_done_to_make_it_fit_to_mix() -> None:
    """Counts that are not nought, and what it costs; nothing where nothing was done."""
    said = plan_tidy_line(made_plan())
    assert "2 tiny amounts dropped, 1 raised to a useful amount. That costs GBP 3.25 more" in said
    assert "although small" not in said
    assert plan_tidy_line(replace(made_plan(), tidy=None)) == ""


def test_a_winter_that_cannot_be_fed() -> None:
    """Who, from when until when, of what, how much and how many tonnes; the table by period
    below.
    """
    plan = without_plan()
    assert shortfall_lines(plan) == [
        "Milkers, 1 November to 31 December: up to 12.00 MJ of metabolisable energy short a head a"
        " day; 3.5 t DM would do."
    ]
    text = told(winter_story(winter_facts(plan)), 100)
    assert "no plan feeds every group with these stores" in " ".join(text.split())
    assert len(plan_shortfalls_table(plan).rows) == 2
    assert "no plan was found" in " ".join(
        told(winter_story(winter_facts(replace(plan, status="none_found"))), 100).split()
    )


def test_beside_energy_only_protein_is_told() -> None:
    """Protein that is short by more than a hair stands in the line of the energy, appetite and
    diet limits do not; where energy is enough, each need that is short is told.
    """
    plan = without_plan()
    energy = plan.shortfalls[0]

    def lack(need: str, short: float, unit: str) -> PlanShortfall:
        fallen = replace(energy.shortfall, need=need, short=short, needed=800.0, unit=unit)
        return replace(energy, shortfall=fallen)

    much, hair = (lack("metabolisable protein", grams, "g") for grams in (40.0, 4.0))
    appetite = lack("appetite", 2.0, "kg DM")
    (line,) = shortfall_lines(replace(plan, shortfalls=(energy, appetite, much)))
    assert "12.00 MJ of metabolisable energy and 40.00 g of metabolisable protein short" in line
    assert "appetite" not in line
    (line,) = shortfall_lines(replace(plan, shortfalls=(energy, hair)))
    assert "protein" not in line
    (line,) = shortfall_lines(replace(plan, shortfalls=(appetite, hair)))
    assert "2.00 kg DM of appetite and 4.00 g of metabolisable protein short" in line


def test_a_store_that_runs_out() -> None:
    """Day, tonnes and head-days of those that go without, under rations that stay as they are."""
    (clamp,) = each_lasting(fixed_uses(made_farm(), {"cows": {"clamp": 90.0}}, made_stock()))
    assert (
        lasting_line(clamp)
        == "The clamp: runs out on 16 December, 30.0 t DM short to turnout, 300 head-days"
        " without it."
    )


def test_how_long_stores_last_with_three_turnouts() -> None:
    """A sentence a store, the tables, and every turnout; a turnout without a plan says so."""
    found = springs(made_farm(), lambda farm: spring_of(replace(made_plan(), farm=farm)))
    found = (*found[:2], Spring(21, found[2].turnout, ()))
    text = told(last_story(made_farm(), found, (), ["A remark."]), 100)
    assert text.startswith("Runs out before turnout (31 December): no store. Lasts: The clamp.")
    assert "The clamp: lasts to turnout" in text
    assert "A remark." in text
    rows = springs_table(found, "GBP").cells()
    assert [row[0] for row in rows] == ["2026-12-10", "2026-12-31", "2027-01-21"]
    assert rows[-1][1] == "no plan feeds every group"
    nothing = [Spring(0, TURNOUT, ())]
    assert told(last_story(made_farm(), nothing, (), []), 100).startswith(
        "This farm has nothing in store."
    )


def test_reasons_keep_to_the_schema() -> None:
    """Changes of a plan, why it is what it is, and who is short by itself: none of them empty."""
    farm = read_farm(examples_folder() / "dairy")
    plan = solve_winter(farm)
    groups = tuple(
        (
            replace(group, facts={**group.facts, "milk_kg_per_day": 60.0}, intake_kg_dm=20.0)
            if group.id == "late"
            else group
        )
        for group in farm.groups
    )
    short = solve_winter(replace(farm, groups=groups))
    changed = solve_winter(read_farm(examples_folder() / "few"))
    documents = [
        document("winter", WinterAnswer(winter_facts(plan), why=why_winter(plan))),
        document("winter", WinterAnswer(winter_facts(short), short_alone=tuple(why_short(short)))),
        document("winter", WinterAnswer(winter_facts(changed))),
    ]
    assert documents[2]["changes"]
    assert documents[0]["why"]["binding"]
    assert documents[1]["short_alone"]
    assert [fault for one in documents for fault in against_schema(one)] == []


def test_a_feed_near_its_price_is_told_in_a_sentence() -> None:
    """Only just in, only just out, and only just out by an estimate."""
    words = [
        near_words(WinterNear("a", "Barley", within, change, checked))
        for within, change, checked in (
            (True, 0.013, True),
            (False, -0.013, True),
            (False, -0.013, False),
        )
    ]
    assert words == [
        "Barley is only just bought: with its price 1.3 % higher none of it would be.",
        "Barley is only just out: it is bought when its price falls by 1.3 %.",
        (
            "Barley is only just out: it is bought when its price falls by 1.3 %, if not before (an"
            " estimate, not found again by solving)."
        ),
    ]


def test_a_group_fed_by_itself_is_told_so() -> None:
    """What is short is then in the stores."""
    plan = without_plan()
    ration = solve_rations(read_farm(examples_folder() / "dairy"), ["dry"]).groups[0]
    one = ShortAlone("cows", "Milkers", plan.periods[0].first, plan.periods[0].last, ration)
    [line] = short_lines(one)
    assert line.endswith("it has a ration; what is short is in the stores, or goes to others.")


def test_documents_keep_to_the_schema() -> None:
    """A plan, a winter without one, and how long stores last: every key known, dates as text."""
    farm, remarks = made_farm(), ("A remark.",)
    found = springs(farm, lambda farm: spring_of(replace(made_plan(), farm=farm)))
    cautions, nothing = store_cautions(farm), (Spring(0, TURNOUT, ()),)
    documents = [
        document("winter", WinterAnswer(winter_facts(made_plan()))),
        document("winter", WinterAnswer(winter_facts(without_plan()))),
        document("last", LastAnswer(farm, "plan", tuple(found), (), None, cautions)),
        document("last", LastAnswer(farm, "fed", nothing, remarks, None, cautions)),
    ]
    assert [fault for one in documents for fault in against_schema(one)] == []


def test_the_document_says_what_the_tables_say() -> None:
    """Periods, uses and purchases at full precision."""
    read = json.loads(json_text(document("winter", WinterAnswer(winter_facts(made_plan())))))
    assert read["periods"][1] == {
        "number": 1,
        "first": "2026-12-01",
        "last": "2026-12-31",
        "days": 30,
    }
    assert read["stores"][0]["used_t_dm"] == [12.5, 6.75]
    prices = {offer["id"]: offer["price_per_t_fresh"] for offer in read["offers"]}
    assert prices[read["purchases"][0]["offer"]] == 300.0
    assert read["rations"][0]["animal_class"] == "dairy_cow_milking"
    assert read["lasting"][0]["runs_out"]["low"] == "2026-11-29"
