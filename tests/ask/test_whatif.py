"""What if: scenarios beside the farm as it stands, each equal to the farm solved by itself."""

from __future__ import annotations

import itertools
import pickle
from concurrent.futures import ProcessPoolExecutor
from datetime import timedelta
from multiprocessing import get_context
from pathlib import Path

import pytest
from ask_farm import small_farm

import rationlp
from rationlp.ask.scenarios import Scenario, file_scenarios, stress_scenarios, typed_scenarios
from rationlp.ask.whatif import Question, Scope, WhatIf, answer_question, what_if
from rationlp.errors import InputError
from rationlp.model.ration import solve_rations
from rationlp.needs.calendar import farm_on
from rationlp.read.changed import Begun, ChangedFarm, begin
from rationlp.read.farm import read_farm
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

PRICES = "barley.price_per_t_fresh=150:350:50"


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Begun:
    """The small farm as it stands."""
    return begin(small_farm(tmp_path_factory.mktemp("ask") / "farm"))


@pytest.fixture(scope="module")
def stressed(begun: Begun) -> WhatIf:
    """The ready-made table, one after the other."""
    return what_if(begun, stress_scenarios(begun), Scope(workers=1))


@pytest.mark.parametrize(
    ("text", "old", "new"),
    [
        ("cows.head=24", "head = 16", "head = 24"),
        ("winter.turnout+=21", "2026-12-27", "2027-01-17"),
        ("pit.length_m=6", "length_m = 10", "length_m = 6"),
        ("hay.count-=30", "count = 40", "count = 10"),
    ],
)
def test_a_scenario_costs_what_the_farm_typed_by_hand_costs(
    begun: Begun, tmp_path: Path, text: str, old: str, new: str
) -> None:
    """Cost, bought tonnes and what leaves each store, to the last digits."""
    outcome = what_if(begun, typed_scenarios([text]), Scope(workers=1)).outcomes[0]
    plan = solve_winter(
        read_farm(small_farm(tmp_path / "typed", (old, new))), WinterOptions(tidy=False)
    )
    assert plan.cost is not None
    assert outcome.cost == pytest.approx(plan.cost, rel=1e-9)
    assert {name: outcome.fed[name] for name in outcome.bought & set(outcome.fed)} == pytest.approx(
        {one.offer: sum(one.t_fresh) for one in plan.purchases if sum(one.t_fresh) >= 0.05}
    )


def test_the_ration_of_a_group_is_compared_where_one_is_asked_for(
    begun: Begun, tmp_path: Path
) -> None:
    """A head a day, equal to the ration of the farm typed by hand."""
    outcome = what_if(
        begun, typed_scenarios(["pit.me_mj_per_kg_dm=9.8"]), Scope(("stores",))
    ).outcomes[0]
    folder = small_farm(
        tmp_path / "typed", ('kind = "clamp"', 'analysis = {me_mj_per_kg_dm = 9.8}\nkind = "clamp"')
    )
    ration = solve_rations(farm_on(read_farm(folder)), {"stores"}).groups[0]
    assert (outcome.group, outcome.cost) == ("stores", pytest.approx(ration.feed_cost))
    assert outcome.fed == pytest.approx(
        {one.offer: one.kg_fresh for one in ration.amounts if one.kg_fresh >= 0.005}
    )


def test_a_dearer_feed_never_makes_a_cheaper_winter(begun: Begun) -> None:
    """Least cost rises with a price, and ever more slowly (it is concave), within the proven
    gaps.
    """
    answer = what_if(begun, typed_scenarios([PRICES, "pit.edible_t_dm=2"]))
    costs = [one.cost for one in answer.outcomes]
    assert all(cost is not None for cost in costs)
    known = [cost for cost in costs if cost is not None]
    slack = 1e-3 * known[0]
    assert all(later >= sooner - slack for sooner, later in itertools.pairwise(known))
    rises = [later - sooner for sooner, later in itertools.pairwise(known)]
    assert rises[0] > 0.0
    assert all(later <= sooner + slack for sooner, later in itertools.pairwise(rises))


def test_ranges_multiply(begun: Begun) -> None:
    """Three prices by two heads are six scenarios, named by what moves."""
    found = typed_scenarios(
        ["barley.price_per_t_fresh=200:220:10", "cows.head=10:12:2", "hay.count=5"]
    )
    assert len(found) == 6
    assert found[0].name == "barley.price_per_t_fresh=200, cows.head=10"
    assert all(str(scenario.changes[-1]) == "hay.count=5" for scenario in found)


def test_a_range_of_shares_and_one_downwards() -> None:
    """Steps end at the last figure when they meet it, before it when they do not."""
    shares = typed_scenarios(["barley.price_per_t_fresh+=-10%:10%:10%"])
    assert [scenario.changes[0].text for scenario in shares] == ["-10%", "0%", "10%"]
    down = typed_scenarios(["cows.head=10:3:-3"])
    assert [scenario.changes[0].text for scenario in down] == ["10", "7", "4"]


def test_a_scenario_without_a_plan_is_a_row(begun: Begun) -> None:
    """It says who is short, and the others are answered."""
    answer = what_if(
        begun,
        typed_scenarios(["cows.head=10:1010:1000", "soya_meal_48.barred=true", "barley.most_t=9"]),
    )
    assert [one.cost is None for one in answer.outcomes] == [False, True]
    assert answer.outcomes[1].status in ("none_exists", "none_found")
    assert "short of" in answer.outcomes[1].short


def test_feeds_that_come_in_and_go_out_are_told(begun: Begun) -> None:
    """Without the pit and with a ration of hay, the pit goes out."""
    answer = what_if(begun, typed_scenarios(["pit.barred=true"]), Scope(workers=1))
    assert answer.outcomes[0].went_out(answer.now[0]) == ("pit",)
    assert "pit" not in answer.outcomes[0].fed


def test_the_ready_made_table_moves_both_ways(stressed: WhatIf, begun: Begun) -> None:
    """A longer winter, thinner stores and more head cost more, the other way round less; each is
    proven.
    """
    costs = {one.name: one.cost for one in stressed.outcomes}
    now = stressed.now[0].cost
    assert now is not None
    slack = 1e-3 * now
    for dear, cheap in (
        ("turnout 21 days later", "turnout 21 days earlier"),
        ("density of clamps and bags 12 % less", "density of clamps and bags 12 % more"),
        ("head of every group 5 % more", "head of every group 5 % less"),
        ("price of barley 20 % more", "price of barley 20 % less"),
        ("price of soya 20 % more", "price of soya 20 % less"),
    ):
        more, less = costs[dear], costs[cheap]
        assert more is not None
        assert less is not None
        assert less - slack <= now <= more + slack, dear
    assert [one.status for one in stressed.outcomes] == ["proven"] * len(stressed.outcomes)
    turnout = begun.farm.turnout
    assert [one.turnout for one in stressed.outcomes[:2] if one.turnout] == [
        turnout + timedelta(21),
        turnout - timedelta(21),
    ]


def test_a_ready_made_scenario_that_the_farm_cannot_hold_is_a_row(tmp_path: Path) -> None:
    """A winter of ten days has no turnout three weeks earlier; one typed like it is refused."""
    short = begin(small_farm(tmp_path / "farm", ("2026-12-27", "2026-11-11")))
    early = [
        scenario
        for scenario in stress_scenarios(short)
        if scenario.name == "turnout 21 days earlier"
    ]
    assert what_if(short, early).outcomes[0].status == "refused"
    with pytest.raises(InputError, match="IN130"):
        what_if(short, [Scenario("typed", early[0].changes)])


def test_all_cores_give_the_answer_of_one(begun: Begun, stressed: WhatIf) -> None:
    """Bit for bit, in the same order, and what is told on the way counts up."""
    told: list[tuple[int, int]] = []
    many = what_if(
        begun,
        stress_scenarios(begun),
        Scope(workers=2, said=lambda done, count: told.append((done, count))),
    )
    assert many == stressed
    assert told == [
        (number + 1, len(stressed.outcomes) + 1) for number in range(len(stressed.outcomes) + 1)
    ]


def test_a_scenario_file_is_the_same_as_typing_it(begun: Begun, tmp_path: Path) -> None:
    """Names of its own, ranges with their steps behind the name."""
    path = tmp_path / "mine.toml"
    path.write_text(
        "[[scenarios]]\nname = 'late'\nset = ['winter.turnout+=7', 'cows.head+=1']\n\n"
        "[[scenarios]]\nname = 'dear'\nset = ['barley.price_per_t_fresh=300:310:10']\n",
        encoding="utf-8",
    )
    late, *dear = file_scenarios(path)
    assert (late.name, [one.name for one in dear]) == (
        "late",
        ["dear: barley.price_per_t_fresh=300", "dear: barley.price_per_t_fresh=310"],
    )
    typed = typed_scenarios(["winter.turnout+=7", "cows.head+=1"])[0]
    assert late.changes == typed.changes


def test_questions_and_answers_can_be_sent_to_another_process(begun: Begun) -> None:
    """Picklable both ways, and the answer to the copy is the answer."""
    question = Question("now", ChangedFarm(begun.farm, begun.stocks), None, None)
    answer = answer_question(question)
    assert (
        pickle.loads(pickle.dumps(answer_question(pickle.loads(pickle.dumps(question))))) == answer
    )


def test_one_function_of_one_farm_can_be_mapped_over_many(tmp_path: Path) -> None:
    """Two farms in two processes: as each by itself."""
    folders = [
        small_farm(tmp_path / "one"),
        small_farm(tmp_path / "two", ("head = 16", "head = 20")),
    ]
    changes = [["cows.head+=2"]] * 2
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        mapped = list(pool.map(rationlp.what_if, folders, changes))
    assert mapped == [rationlp.what_if(folder, changes[0]) for folder in folders]
    assert mapped[0].now[0].cost != mapped[1].now[0].cost
