"""What `sure` says where nothing varies, and when a solution keeps to a cone: without a search."""

from __future__ import annotations

import pytest

from rationlp.folders import examples_folder
from rationlp.model.block_ration import NoOptimum, solve_block
from rationlp.model.ration import make_blocks
from rationlp.model.rows.block import Block
from rationlp.model.search import BlockModel
from rationlp.model.solution import Solution, Status
from rationlp.model.sure import SureModel, chances
from rationlp.needs.calendar import farm_on
from rationlp.read.farm import read_farm


@pytest.fixture(scope="module")
def high() -> Block:
    """The dairy example's high yielders: energy and protein both bind."""
    return make_blocks(farm_on(read_farm(examples_folder() / "dairy")), {"high"})[0]


def test_analyses_that_are_certain_leave_no_chance(high: Block) -> None:
    """A hundredth more than the cheapest ration meets the need, a hundredth less does not."""
    answer = solve_block(high)
    assert not isinstance(answer, NoOptimum)
    met, missed = (
        chances(high, {name: share * kg for name, kg in answer.values.items()}, {})
        for share in (1.01, 0.99)
    )
    assert (met.energy, met.protein, met.energy_sd) == (1.0, 1.0, 0.0)
    assert (missed.energy, missed.protein) == (0.0, 0.0)


def test_a_solution_keeps_to_a_cone_within_the_tolerance(
    monkeypatch: pytest.MonkeyPatch, high: Block
) -> None:
    """9.99 where 10 is asked for: kept within a hundredth, not within a ten-thousandth."""
    model = SureModel(high, {}, 0.9)
    assert model.cones
    monkeypatch.setattr(model, "_unsure", lambda cone, solution: (10.0, {}))
    monkeypatch.setattr(model.live, "value", lambda solution, key: 9.99)
    monkeypatch.setattr(BlockModel, "keeps", lambda model, solution, tolerance: True)
    solution = Solution(Status.OPTIMAL, 0.0)
    assert model.keeps(solution, 0.01)
    assert not model.keeps(solution, 1e-4)
