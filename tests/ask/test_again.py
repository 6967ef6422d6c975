"""A winter kept open answers like one planned from the beginning, or not at all."""

from __future__ import annotations

import random
import sys
from dataclasses import replace
from math import inf
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "model"))

from ask_farm import small_farm
from random_winters import random_winter

from rationlp.ask import whatif
from rationlp.ask.again import CLOSE, PLAIN, WarmWinter, alike
from rationlp.ask.scenarios import typed_scenarios
from rationlp.ask.whatif import Scope, what_if
from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.model.proof import certify
from rationlp.model.solution import Solution
from rationlp.read.changed import Begun, ChangedFarm, begin, changed, held, parse_change
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.search import WinterModel
from rationlp.wintering.yard import make_yard

PLAIN_SEEDS, LONG_SEEDS = 2, 60
TOLD = 1e-3
"""Gap within which a plan counts as proven [share of its cost]."""


def moved(farm: Farm, stocks: dict[str, StoreStock], seed: int) -> list[ChangedFarm]:
    """The farm with a store larger or smaller, with a price changed, and with both."""
    rng = random.Random(seed)
    store = rng.choice(farm.stores).id
    t_dm = stocks[store].edible_t_dm.typical * rng.choice((0.9, 0.97, 1.05))
    other_stocks = {**stocks, store: held(stocks[store], t_dm)}
    offer = rng.choice(farm.offers)
    price = offer.price_per_t_fresh * rng.choice((0.9, 1.04, 1.2))
    other_farm = farm.with_offer(replace(offer, price_per_t_fresh=price))
    return [
        ChangedFarm(farm, other_stocks),
        ChangedFarm(other_farm, stocks),
        ChangedFarm(other_farm, other_stocks),
    ]


def compare(farm: Farm, stocks: dict[str, StoreStock], seed: int) -> int:
    """How many changes the open winter of a farm answered; each answer is held against a plan from
    the beginning.
    """
    winter, answered = WarmWinter(farm, stocks), 0
    for change in moved(farm, stocks, seed) if winter.is_open else []:
        again = winter.after(change)
        if again is None:
            continue
        answered += 1
        cold = solve_winter(change.farm, PLAIN, change.stocks)
        assert cold.feeds_all, seed
        assert again.proof is not None
        assert cold.proof is not None
        size = abs(cold.proof.cost)
        assert again.exit_code == 0
        assert again.status == "proven"
        assert again.proof.gap <= CLOSE * abs(again.proof.cost) * (1.0 + 1e-9)
        # Neither plan is cheaper than what is proved of the other.
        assert again.proof.lower_bound <= cold.proof.cost + 1e-9 * size, seed
        assert cold.proof.cost <= again.proof.cost + TOLD * size, seed
    return answered


@pytest.mark.parametrize("kind", ["cattle", "sheep", "mixed"])
def test_random_winters_again(kind: str) -> None:
    """Costs within the gaps of both, whatever was changed."""
    answered = 0
    for seed in range(PLAIN_SEEDS):
        answered += compare(*random_winter(seed, kind), seed)
    assert answered > 0


@pytest.mark.long
@pytest.mark.parametrize("kind", ["cattle", "sheep", "mixed"])
def test_many_random_winters_again(kind: str) -> None:
    """The same for many more; most changes are answered."""
    answered = 0
    for seed in range(PLAIN_SEEDS, LONG_SEEDS):
        answered += compare(*random_winter(seed, kind), seed)
    assert answered > LONG_SEEDS


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Begun:
    return begin(small_farm(tmp_path_factory.mktemp("again")))


def test_the_programme_is_that_of_the_changed_farm(begun: Begun) -> None:
    """Costs and limits moved in the open model are those of a model built from the changed farm:
    penalties that follow prices too.
    """
    changes = [parse_change(text) for text in ("barley.price_per_t_fresh=301", "hay.count=33")]
    other = changed(begun, changes)
    winter = WarmWinter(begun.farm, begun.stocks)
    assert winter.after(other) is not None
    built = WinterModel(make_yard(other.farm, PLAIN, other.stocks)).live
    own = winter._model.live
    assert own.cost == built.cost
    assert list(own.column_index) == list(built.column_index)
    stores = [key for key in built.row_index if key[0] == "store"]
    assert stores
    for key in stores:
        i, j = own.row_index[key], built.row_index[key]
        assert own.row_high[i] == built.row_high[j]
        assert own.coefs[i] == built.coefs[j]


def test_the_bound_kept_holds_without_another_programme(begun: Begun) -> None:
    """More or less in a store moves a limit alone: the bound at the prices of before needs no
    solve, and bounds the plan of the changed store.
    """
    winter = WarmWinter(begun.farm, begun.stocks)
    first = winter.after(ChangedFarm(begun.farm, begun.stocks))
    assert first is not None
    solved = winter._bound.lps
    for share in (0.98, 1.02):
        t_dm = begun.stocks["hay"].edible_t_dm.typical * share
        stocks = {**begun.stocks, "hay": held(begun.stocks["hay"], t_dm)}
        again = winter.after(ChangedFarm(begun.farm, stocks))
        assert again is not None
        assert again.proof is not None
        at_once = winter._bound.at_once()
        assert at_once <= again.proof.cost * (1.0 + 1e-9)
        assert at_once > -inf
        assert solved_again(winter).objective == pytest.approx(again.proof.cost, rel=1e-9)
    assert winter._bound.lps == solved


def solved_again(winter: WarmWinter) -> Solution:
    """The programme as it stands, solved; its optimum is certified."""
    answer = winter._model.solve()
    assert answer is not None
    assert certify(winter._model.live.numbers_now(), answer.solution).passed
    return answer.solution


@pytest.mark.parametrize(
    "text",
    ["winter.turnout+=7", "cows.head+=3", "barley.me_mj_per_kg_dm+=0.3", "margins.me=1.02"],
)
def test_another_winter_is_no_answer(begun: Begun, text: str) -> None:
    """Animals, analyses, dates and rules make another winter, which is planned anew."""
    other = changed(begun, [parse_change(text)])
    assert not alike(ChangedFarm(begun.farm, begun.stocks), other)
    assert WarmWinter(begun.farm, begun.stocks).after(other) is None


def test_what_if_is_told_alike_by_both_ways(begun: Begun) -> None:
    """The winter as it stands and changed stores, beside each scenario planned by itself."""
    texts = ["pit.edible_t_dm+=-4%", "soya_meal_48.price_per_t_fresh+=12%", "cows.head-=2"]
    scenarios = [scenario for text in texts for scenario in typed_scenarios([text])]
    answer = what_if(begun, scenarios, Scope(workers=1))
    farms = [ChangedFarm(begun.farm, begun.stocks)]
    farms += [changed(begun, [parse_change(text)]) for text in texts]
    for outcome, other in zip((*answer.now, *answer.outcomes), farms, strict=True):
        plan = solve_winter(other.farm, PLAIN, other.stocks)
        assert outcome.status == plan.status
        assert outcome.cost == pytest.approx(plan.cost, rel=CLOSE)


def test_many_questions_are_shared_out_alike_on_one_core_and_two(
    begun: Begun, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Winters kept open side by side, two questions each: the same bytes in one process and in two,
    and as many answers told as there are questions.
    """
    monkeypatch.setattr(whatif, "A_WINTER", 2)
    texts = [f"pit.edible_t_dm+=-{number}%" for number in range(1, 5)]
    scenarios = [scenario for text in texts for scenario in typed_scenarios([text])]
    told: list[tuple[int, int]] = []
    alone = what_if(begun, scenarios, Scope(workers=1, said=lambda *one: told.append(one)))
    side_by_side = what_if(begun, scenarios, Scope(workers=2))
    assert repr(alone) == repr(side_by_side)
    assert all(outcome.cost is not None for outcome in alone.outcomes)
    assert told == sorted(told)
    assert told[-1][0] <= told[-1][1] == len(texts) + 1
