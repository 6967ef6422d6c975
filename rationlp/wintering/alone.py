"""Each run of the winter alone, with full stores: its interval of D, its curves, its rows, and
where the joint search begins.

The solver's model of a run is let go once these are known, and made again for its bound: a long
winter has hundreds of them.
"""

from __future__ import annotations

import copy
from math import inf

from rationlp.model.answer import Part
from rationlp.model.block_ration import settle_levels
from rationlp.model.by_point import point_of, search_points
from rationlp.model.energy import EnergyCurve, energy_curve, least_dm
from rationlp.model.points import Held, Point, plain_point
from rationlp.model.rows import build
from rationlp.model.rows.block import Block
from rationlp.model.search import BlockModel, densest, opened

Start = tuple[float, Held]
"""Where a search begins: D and the level of feeding, or the point that its rows touch."""
START_ROUNDS = 3
START_LPS = 12
"""Bounding programmes from whose answers a run that is held at a whole ration is begun."""
GUESS = 1.1
"""How far the interval of a run goes that was not asked how much it can eat [times what a run like
it can eat]."""
_AT_END = 1e-6
MOST_KNOWN = 1024
"""Runs that are remembered; a winter of 40 groups and 26 periods has as many."""


class Alone(Part):
    """One run alone. program: its own part of the joint programme. start: (D, L) of its
    cheapest ration with full stores, (0, 0) without an energy need. infeasible: no ration even so.
    lps: programmes solved. asked_most: the most that can be eaten, as it was asked for; guessed:
    the end of its interval of D where that was not asked for, else None [kg DM].
    """

    guessed: float | None = None

    def __init__(self, block: Block, weight: float, near: Start | None = None) -> None:
        super().__init__(block, weight)
        model = opened(block)
        self.curve, self.ceiling = model.part.curve, model.part.ceiling
        self.near = near
        self.start: Start = (0.0, 0.0)
        if self.curve is not None and self.by_point:
            self.start = _point_to_begin_at(model)
        elif self.curve is not None:
            self.start = _start_near(near, self.curve) or _start(model)
        self.asked_most = 0.0 if self.curve is None else self.curve.high
        self.program = model.live.program
        self.infeasible, self.lps = model.infeasible, model.live.solves

    def is_at_guess(self, dm_kg: float) -> bool:
        """Whether an amount eaten [kg DM] comes to an end of the interval that was only guessed."""
        return self.guessed is not None and dm_kg >= self.guessed * (1.0 - _AT_END)

    def again(self) -> BlockModel:
        """The run inside the solver again, with the interval of D that was found."""
        model = BlockModel(self.block, program=self.program)
        if self.curve is not None:
            model.take_interval(self.curve, self.ceiling)
        return model


def alone_like(block: Block, weight: float, like: Alone) -> Alone:
    """One run alone that begins where one like it did: no place is searched.

    Its interval of D goes by its rows, need and richest feed, and not by what feeds cost: where
    these are the same it is that of the other. Else its upper end is taken a little further than
    the other's, and whoever comes to it has to ask (`is_at_guess`).
    """
    own = copy.copy(like)
    own.weight = weight
    if block == like.block:
        return own
    Part.__init__(own, block, weight)
    own.program, own.lps = build([block]), 0
    if own.need is None or _same_interval(own, like):
        own.curve, own.ceiling = like.curve, like.ceiling
        return own
    low, own.guessed = least_dm(own.need, densest(block)), GUESS * like.asked_most
    own.infeasible = low >= own.guessed
    if not own.infeasible:
        own.curve = energy_curve(own.need, low, own.guessed)
        if block.needs.energy_ceiling is not None:
            own.ceiling = EnergyCurve(own.need, block.needs.energy_ceiling, low, own.guessed)
    return own


def _same_interval(one: Alone, other: Alone) -> bool:
    """Whether two runs have the same interval of D and the same curves on it."""
    block, before = one.block, other.block
    asked = (block.needs.energy, block.needs.energy_ceiling, densest(block))
    bounds, bounds_before = (
        [(column.key, column.low, column.high) for column in each.program.columns]
        for each in (one, other)
    )
    return (
        asked == (before.needs.energy, before.needs.energy_ceiling, densest(before))
        and bounds == bounds_before
        and one.program.rows == other.program.rows
    )


def _point_to_begin_at(model: BlockModel) -> Start:
    """(D, point) of the cheapest ration that a short search comes upon, or of a middling one."""
    assert model.curve is not None
    search_points(model, inf, START_LPS)
    point = point_of(model) or plain_point(model.block, 0.9 * model.curve.high)
    return point.totals.dm_kg, point


def _start(model: BlockModel) -> Start:
    """The cheapest ration with full stores, searched from several places."""
    assert model.curve is not None
    state = settle_levels(model, ties=False, rounds=START_ROUNDS)
    dm = 0.9 * model.curve.high if state.answer is None else state.answer.dm_kg
    return dm, state.level


def _start_near(near: Start | None, curve: EnergyCurve) -> Start | None:
    """Where the run before of the same animals began: the joint search moves it on. None without
    one.
    """
    if near is None or isinstance(near[1], Point):
        return None
    return min(max(near[0], curve.low), curve.high), near[1]


_known: dict[tuple[str, str], Alone] = {}


def run_alone(block: Block, weight: float, near: Start | None = None) -> Alone:
    """One run alone. Where the last of its name was the same to the last figure, what is known of
    it serves again: a command comes upon the same runs several times. near: in a large winter,
    where the run before of the same animals begins.
    """
    name = (block.group.id, block.period)
    known = _known.get(name)
    if known is None or known.near != near or known.block != block:
        if len(_known) >= MOST_KNOWN:
            _known.clear()
        known = _known[name] = Alone(block, weight, near)
    own = copy.copy(known)
    own.weight = weight
    return own
