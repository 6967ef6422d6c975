"""Each run of the winter alone, with full stores: its interval of D, its curves, its rows, and
where the joint search begins.

The solver's model of a run is let go once these are known, and made again for its bound: a long
winter has hundreds of them.
"""

from __future__ import annotations

from rationlp.model.block_ration import settle_levels
from rationlp.model.energy import EnergyCurve
from rationlp.model.lp import Column, Key, Row
from rationlp.model.rows.block import Block
from rationlp.model.search import BlockModel
from rationlp.needs.energy import EnergyNeed
from rationlp.records import dataclass

START_ROUNDS = 3


@dataclass(frozen=True)
class Alone:
    """One run alone. dm, me, short, over: keys of its sums. columns, rows: its own part of the
    joint programme. start: (D, L) of its cheapest ration with full stores, (0, 0) without an energy
    need. infeasible: no ration even so. lps: programmes solved.
    """

    block: Block
    need: EnergyNeed | None
    curve: EnergyCurve | None
    ceiling: EnergyCurve | None
    dm: Key
    me: Key
    short: Key
    over: Key
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    start: tuple[float, float]
    infeasible: bool
    lps: int


def alone(block: Block) -> Alone:
    """What the joint search must know of a run."""
    model = BlockModel(block)
    start = (0.0, 0.0)
    if model.need is not None:
        model.find_interval()
        if model.curve is not None:
            state = settle_levels(model, break_ties=False, rounds=START_ROUNDS)
            start = (
                0.9 * model.curve.high if state.found is None else state.found.dm_kg,
                state.level,
            )
    program = model.live.program
    return Alone(
        block, model.need, model.curve, model.ceiling, model.dm, model.me, model.short, model.over,
        program.columns, program.rows, start, model.infeasible, model.live.solves,
    )  # fmt: skip


def again(one: Alone) -> BlockModel:
    """The solver's model of a run made anew, with its interval of D."""
    model = BlockModel(one.block)
    if one.need is not None:
        model.find_interval()
    return model
