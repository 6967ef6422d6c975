"""One settling loop: many blocks without ties cost what each costs alone, and rows say what they
mean.
"""

from __future__ import annotations

from functools import lru_cache

import pytest
from random_groups import random_block

from rationlp.folders import examples_folder
from rationlp.model.block_ration import Optimum, solve_block
from rationlp.model.care import TOGETHER
from rationlp.model.energy import EnergyCurve
from rationlp.model.ration import make_blocks
from rationlp.model.rows import block_rows, build
from rationlp.model.rows.block import Block
from rationlp.model.search import opened
from rationlp.model.settle import SettledModel
from rationlp.read.farm import read_farm


@lru_cache(maxsize=2)
def blocks_of(name: str) -> tuple[Block, ...]:
    """The groups of an example that have an energy requirement."""
    blocks = make_blocks(read_farm(examples_folder() / name))
    return tuple(block for block in blocks if block.needs.energy is not None)


@pytest.mark.parametrize("name", ["dairy", "hill"])
def test_blocks_without_ties_cost_what_each_costs_alone(name: str) -> None:
    """A single ration is the case of one block: together they come to the sum, each at its own D
    and level of feeding.
    """
    alone = [(block, solve_block(block)) for block in blocks_of(name)]
    fed = [(block, answer) for block, answer in alone if isinstance(answer, Optimum)]
    assert len(fed) >= 3
    parts = [opened(block).part for block, _ in fed]
    model = SettledModel(build([block for block, _ in fed]), parts, short_price=100.0)
    model.care = TOGETHER
    for number, part in enumerate(parts):
        assert part.need is not None
        model.hold_level(number, part.need.feeding_level(0.6))
    highest = [0.0 if part.curve is None else part.curve.high for part in parts]
    last = model.settle_levels(highest)[-1]
    assert last.still
    assert last.answer.adequate
    least = sum(answer.objective for _, answer in fed)
    assert last.answer.objective == pytest.approx(least, rel=1e-6)
    for number, (_, answer) in enumerate(fed):
        if answer.held_q is None:
            assert last.answer.dm[number] == pytest.approx(answer.dm_kg, rel=1e-3)


@pytest.mark.parametrize("seed", range(12))
def test_every_row_has_a_family_and_one_owner(seed: int) -> None:
    """Its family is of the register; it belongs to its block and to no other."""
    block, other = random_block(seed), blocks_of("dairy")[0]
    for row in block_rows(block):
        assert row.family
        assert block.owns(row.key)
        assert not other.owns(row.key)
        assert row.words.order in range(2, 8)


def test_a_row_tells_the_need_that_it_is_part_of() -> None:
    """Energy and protein clash as one; an appetite may go short."""
    parts = {row.key[0]: row.words.part_of for row in block_rows(blocks_of("dairy")[0])}
    assert parts["energy"] == "energy"
    assert parts["protein"] == "protein"
    assert parts["appetite"] == "appetite"
    assert parts["intake"] == ""


def test_a_tangent_of_the_ceiling_touches_it_and_never_cuts_below() -> None:
    """E − slope · D is at most its greatest value on the ceiling, which is the one at the touch."""
    block = next(block for block in blocks_of("dairy") if block.needs.energy_ceiling is not None)
    need, multiple = block.needs.energy, block.needs.energy_ceiling
    assert need is not None
    assert multiple is not None
    model = opened(block)
    ceiling = EnergyCurve(need, multiple, 8.0, 13.0)
    model.part.ceiling = ceiling
    assert model.cut_ceiling(model.part, 11.0)
    row = model.live.rows[-1]
    slope = -row.coefs[model.dm]
    assert row.coefs[model.me] == 1.0
    assert row.high == pytest.approx(ceiling.value(11.0) - slope * 11.0, rel=1e-9)
    beyond = [ceiling.value(8.0 + 0.25 * n) - slope * (8.0 + 0.25 * n) for n in range(21)]
    assert max(beyond) == pytest.approx(row.high, rel=1e-9)
