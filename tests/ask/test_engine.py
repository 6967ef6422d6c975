"""The engine kept open: warm answers equal cold ones, whatever was asked before."""

from __future__ import annotations

import os
import random
from dataclasses import replace
from math import inf
from pathlib import Path

import pytest
from paper_farm import paper_farm

from rationlp.ask.engine import SURE_GAP, GroupEngine
from rationlp.model.block_ration import Optimum, solve_block
from rationlp.model.bound import GAP_TARGET
from rationlp.model.proof import Certificate
from rationlp.model.ration import make_blocks
from rationlp.model.rows import block_costs
from rationlp.model.rows.block import Block, Pair
from rationlp.needs.calendar import farm_on
from rationlp.read.farm import read_farm

ROOT = Path(__file__).resolve().parents[2]
CHANGES = 100 if os.environ.get("RATIONLP_FULL") == "1" else 6
GROUPS = [
    ("dairy", "high"),
    ("dairy", "late"),
    ("dairy", "dry"),
    ("dairy", "young"),
    ("dairy", "finishers"),
    ("beef", "bulls"),
    ("beef", "autumn_cows"),
    ("hill", "twins"),
    ("hill", "store_lambs"),
    ("short", "weanlings"),
]


def block_of(example: str, group: str) -> Block:
    """A group's block of an example farm on its first day."""
    return make_blocks(farm_on(read_farm(ROOT / "examples" / example)), [group])[0]


@pytest.mark.parametrize(("offer", "price"), [("hay", 4.885), ("wheat", 216.8), ("barley", 208.78)])
def test_what_is_sure_is_no_dearer_than_the_proof(offer: str, price: float) -> None:
    """Where several rations stand still by themselves: within a hundred-thousandth of what is
    proved, at the most.
    """
    block = block_of("dairy", "finishers")
    engine = GroupEngine(block)
    offers = tuple(
        replace(one, price_per_t_fresh=price) if one.id == offer else one for one in block.offers
    )
    cold = solve_block(replace(block, offers=offers))
    assert isinstance(cold, Optimum)
    sure = engine.surely({offer: price})
    assert sure.objective <= cold.objective * (1.0 + SURE_GAP)
    assert sure.objective >= cold.lower_bound * (1.0 - 1e-9)
    assert engine.at({offer: price}).objective <= cold.objective * (1.0 + GAP_TARGET)


NOT_PASSED = Certificate(1.0, 0.0, 0.0, 0.0, 0.0, 0.0, (1.0, 1.0))
NEARBY_GAP = 1e-3
"""A ration settled from the last one alone may be so much dearer than the proved one [share]."""


@pytest.mark.parametrize(
    ("example", "group"), [("dairy", "finishers"), ("beef", "bulls"), ("hill", "store_lambs")]
)
def test_a_ration_settled_nearby_is_hardly_dearer_than_the_proof(example: str, group: str) -> None:
    """Random prices, one after the other, no search elsewhere: adequate, so no cheaper than what is
    proved, and within a thousandth of it.
    """
    block, chance = block_of(example, group), random.Random(group)
    engine = GroupEngine(block)
    for _ in range(8):
        offers = tuple(
            replace(one, price_per_t_fresh=one.price_per_t_fresh * chance.uniform(0.5, 2.0))
            if one.bought and chance.random() < 0.4
            else one
            for one in block.offers
        )
        priced = replace(block, offers=offers)
        near, cold = engine.nearby(block_costs(priced)), solve_block(priced)
        assert isinstance(cold, Optimum)
        assert near is not None
        assert near.objective >= cold.lower_bound * (1.0 - 1e-9)
        assert near.objective <= cold.objective * (1.0 + NEARBY_GAP)


def test_what_fails_its_own_check_is_no_ration_nearby(monkeypatch: pytest.MonkeyPatch) -> None:
    """An answer that is not certified, or misses the need, is not told."""
    block = block_of("dairy", "finishers")
    engine = GroupEngine(block)
    costs = block_costs(block)
    assert engine.nearby(costs) is not None
    monkeypatch.setattr("rationlp.ask.engine.excess", lambda *_: (None, None, False))
    assert engine.nearby(costs) is None
    monkeypatch.undo()
    monkeypatch.setattr("rationlp.ask.engine.certify", lambda *_: NOT_PASSED)
    assert engine.nearby(costs) is None


def test_nothing_is_sure_without_a_ration() -> None:
    """With every feed held at nothing there is none."""
    engine = GroupEngine(block_of("dairy", "finishers"))
    engine.hold({offer.id: (0.0, 0.0) for offer in engine.block.offers})
    assert not engine.surely({}).exists


@pytest.mark.parametrize(("example", "group"), GROUPS)
def test_warm_cost_is_cold_cost(example: str, group: str) -> None:
    """Random prices, half of them changed by up to 30 %: the same cost as solved afresh, to 1e-6 of
    it.
    """
    block = block_of(example, group)
    engine = GroupEngine(block)
    chance = random.Random(f"{example} {group}")
    for _ in range(CHANGES):
        prices = {
            offer.id: offer.price_per_t_fresh * chance.uniform(0.7, 1.3)
            for offer in block.offers
            if chance.random() < 0.5
        }
        offers = tuple(
            replace(offer, price_per_t_fresh=prices.get(offer.id, offer.price_per_t_fresh))
            for offer in block.offers
        )
        cold = solve_block(replace(block, offers=offers))
        assert isinstance(cold, Optimum)
        assert engine.cost(prices)[0] == pytest.approx(cold.objective, rel=1e-6)


def test_an_answer_does_not_depend_on_what_was_asked_before() -> None:
    """The farm's own prices give the proven cost again after wild ones."""
    engine = GroupEngine(block_of("dairy", "high"))
    assert engine.proven is not None
    engine.cost({"maize": 500.0, "soya_meal_48": 20.0})
    assert engine.cost({})[0] == pytest.approx(engine.proven.objective, rel=1e-9)


def test_a_feed_held_out_is_not_eaten() -> None:
    """Held at nought it is gone; let go it comes back."""
    engine = GroupEngine(block_of("dairy", "high"))
    before = engine.cost({})[1]["maize"]
    engine.hold({"maize": (0.0, 0.0)})
    assert engine.cost({})[1]["maize"] == 0.0
    engine.hold({})
    assert engine.cost({})[1]["maize"] == pytest.approx(before, rel=1e-6)
    assert before > 1.0


def test_the_bound_of_an_answer_is_the_proven_one() -> None:
    """What the engine bounds at its own answer agrees with the proof of the ration."""
    engine = GroupEngine(block_of("dairy", "finishers"))
    assert engine.proven is not None
    cost = engine.cost({})[0]
    assert cost - engine.lower_bound() == pytest.approx(
        engine.proven.objective - engine.proven.lower_bound, abs=1e-6
    )


def test_a_group_without_a_ration_says_so(tmp_path: Path) -> None:
    """Ten kg at most and more protein than the meal holds: no answer, an infinite cost, no
    bound.
    """
    more = (
        '[[groups.quantity_limits]]\nquantity = "cp_g_per_kg_dm"\nper = "kg_dm"\nat_least = 500\n'
    )
    block = make_blocks(read_farm(paper_farm(tmp_path / "farm", more=more)))[0]
    engine = GroupEngine(block)
    assert engine.proven is None
    assert engine.cost({}) == (inf, {})
    assert engine.lower_bound() == -inf


def test_a_share_is_kept(tmp_path: Path) -> None:
    """Held at a quarter, the second forage is a quarter of both."""
    block = make_blocks(read_farm(paper_farm(tmp_path / "farm")))[0]
    engine = GroupEngine(replace(block, pair=Pair("grass", "maize", 0.5)))
    engine.share(0.25)
    amounts = engine.again().amounts
    assert amounts["maize"] == pytest.approx(0.25 * (amounts["maize"] + amounts["grass"]))
    assert amounts["maize"] == pytest.approx(2.5)
