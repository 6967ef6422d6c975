"""Blocks whose rows move with the whole ration (NRC 2001) inside the loop that settles a model.

Each pass lets the rows of such a block touch at its last answer's own ration. A block that does not
come to rest may move half as far in each pass, so that it comes to rest somewhere.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from math import inf
from typing import TYPE_CHECKING

from rationlp.model.answer import Answer
from rationlp.model.points import Point, point_rows

if TYPE_CHECKING:
    from rationlp.model.settle import SettledModel

PASSES, STILL, SLOWS = 40, 1e-8, 0.5
"""Most passes; a ration that moves by less stands still, and one that moves by more than this share
of its last step is held back [share of D].
"""


def hold_point(model: SettledModel, number: int, point: Point) -> None:
    """The rows of a block as they stand at a ration, and how far others may lie from it."""
    live, block = model.live, model.parts[number].block
    if model.levels[number][0] == point:
        return
    model.levels[number] = (point, point)
    for row in point_rows(block, point):
        if row.key in live.row_index:
            live.set_coefficients(row.key, row.coefs)
            live.set_row_bounds(row.key, row.low, row.high)
    for name, bounds in point.around().items():
        if name != "dm" or model.parts[number].curve is None:
            live.set_column_bounds(block.key(name), *bounds)


def settle_points(
    model: SettledModel, touches: Sequence[float], within: tuple[float, float] | None
) -> Answer | None:
    """Settle a model with such blocks: the last answer, since one before it may have been short;
    None where a programme has no solution.
    """
    at, answer = model.clamped(touches, within), None
    moved = [inf] * len(model.parts)
    costs: list[float] = []
    model.allow_shortage(model.care.may_go_short)
    for _ in range(PASSES):
        model.touch(at, model.care.reach, within)
        latest = model.solve()
        if latest is None:
            break
        answer, before = latest, at
        costs.append(answer.objective)
        at = model.clamped(answer.dm, within)
        if not _follow(model, answer, moved) and model.same(at, before, model.care.dm):
            break
    model.allow_shortage(False)
    if answer is None:
        return None
    return dataclasses.replace(answer, costs=tuple(costs))


def _follow(model: SettledModel, answer: Answer, moved: list[float]) -> bool:
    """Let the rows of blocks touch at their answers' own rations; True where one has moved."""
    any_moved = False
    for number, part in enumerate(model.parts):
        held, own = model.levels[number][0], model.own_level(number, answer)
        if not part.by_point or not isinstance(own, Point) or own == held:
            continue
        away, reach = inf, inf
        if isinstance(held, Point):
            away, reach = own.away(held), held.reach
        if away <= STILL:
            continue
        any_moved = True
        if away > SLOWS * moved[number]:
            reach = SLOWS * min(reach, away)
        moved[number] = away
        model.hold_level(number, dataclasses.replace(own, reach=reach))
    return any_moved
