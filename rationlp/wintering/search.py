"""All blocks of a winter in one programme, with the rows that tie them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property

from rationlp.errors import ProofFailed
from rationlp.model.answer import Answer, Part
from rationlp.model.care import TOGETHER
from rationlp.model.lp import Column, Key, Program, Row
from rationlp.model.points import Held, Point
from rationlp.model.rows import block_columns
from rationlp.model.settle import TOUCHING, SettledModel
from rationlp.wintering.alone import Alone, alone_like, run_alone
from rationlp.wintering.collector import collector_paused
from rationlp.wintering.links import Yard, link_columns, link_rows
from rationlp.wintering.parts import Run

LARGE = 1_500
"""Feeds of all runs together from which a winter is large: prices on the rows that tie its blocks
find where to begin (prices.py), and it is solved on from there, not afresh. Measured by
tests/benchmarks/winter.py: at 8 groups x 26 periods x 30 feeds (6,240) the two take the same time.
"""
RunName = tuple[str, str]
"""Part of a group, and the period in which its run begins."""
NONE_LIKE: Mapping[RunName, Alone] = {}
DIGITS = 9
"""Of the D at which rows touch [kg DM] and of levels held [-]: a programme depends on where the
answer before it lies, not on its last digits, in which the way to it shows (presolve).
"""
_SHORT_PRICE = 100.0
"""Price of a MJ short while a search looks for a start [multiple of the dearest kg DM]."""


class WinterModel(SettledModel):
    """All blocks of a winter inside the solver.

    like: runs of a winter like it, by name, each with the start that its plan came to.
    singles: each run alone, for its interval of D and its start. infeasible: runs without any
    ration even when every store is full. lps: programmes solved beside the joint ones. firsts: of
    each run the numbers of its first column and of its first row. least_known: by run, the costs at
    which it was last bounded over boxes, and that bound.
    """

    care = TOGETHER
    presolve = True

    @collector_paused()
    def __init__(self, yard: Yard, like: Mapping[RunName, Alone] = NONE_LIKE) -> None:
        self.yard = yard
        self.runs = yard.runs
        self.singles = self._alone(like)
        self.lps = sum(single.lps for single in self.singles)
        self.infeasible = [n for n, single in enumerate(self.singles) if single.infeasible]
        columns = [
            Column(c.key, c.cost * run.weight * put_out(run, c), c.low, c.high, c.unit, c.title)
            for run, single in zip(self.runs, self.singles, strict=True)
            for c in single.program.columns
        ]
        rows = [row for single in self.singles for row in single.program.rows]
        if _has_many(yard):
            for number, (_, first) in enumerate(self._firsts()):
                self._slope_energy(number, rows, first)
        self.least_known: dict[int, tuple[dict[Key, float], float]] = {}
        self.first_link = len(rows)
        self.firsts = self._firsts()
        program = Program((*columns, *link_columns(yard)), (*rows, *link_rows(yard)))
        dearest = max((abs(offer.price_per_kg_dm) for offer in yard.farm.offers), default=1.0)
        self.short_price = _SHORT_PRICE * max(dearest, 0.05)
        super().__init__(program, self.singles, self.short_price)

    def touch(
        self,
        touches: Sequence[float],
        reach: float | None = None,
        within: tuple[float, float] | None = None,
    ) -> None:
        """Move every safe row to touch M* at its own D, rounded."""
        super().touch([round(touch, DIGITS) for touch in touches], reach, within)

    def hold_level(self, number: int, low: Held, high: Held | None = None) -> None:
        """Hold a run's level of feeding, or what is enough at every level between two, rounded."""
        super().hold_level(number, _rounded(low), None if high is None else _rounded(high))

    def cut_ceiling(self, part: Part, touch: float) -> bool:
        """Add the tangent of a ceiling at a D, rounded."""
        return super().cut_ceiling(part, round(touch, DIGITS))

    @cached_property
    def is_large(self) -> bool:
        """Whether prices on the rows that tie its blocks pay; whole numbers have no prices."""
        return _has_many(self.yard) and not self.live.has_whole_numbers

    def _slope_energy(self, number: int, rows: list[Row], first: int) -> None:
        """Give a run's energy row the slope that it begins with: an entry that is nought is none to
        the solver, and to make room for one later moves all entries that there are.
        """
        single = self.singles[number]
        if single.curve is None or single.by_point:
            return
        for i in range(first, first + len(single.program.rows)):
            row = rows[i]
            if row.key == single.energy:
                slope = single.curve.at(single.start[0])[1]
                rows[i] = replace(row, coefs={**row.coefs, single.dm: -slope})

    def _firsts(self) -> list[tuple[int, int]]:
        """Numbers of the first column and of the first row of each run."""
        firsts, columns, rows = [], 0, 0
        for single in self.singles:
            firsts.append((columns, rows))
            columns += len(single.program.columns)
            rows += len(single.program.rows)
        return firsts

    def is_at_guess(self, dm: Sequence[float]) -> bool:
        """Whether an answer comes to an end of an interval of D that was only guessed."""
        return any(map(Alone.is_at_guess, self.singles, dm))

    def _alone(self, like: Mapping[RunName, Alone]) -> list[Alone]:
        """Every run alone; in a large winter from where the last run of the same animals began."""
        many, known, singles = _has_many(self.yard), dict[str, Alone](), []
        for run in self.runs:
            alike = like.get(run_name(run))
            if alike is not None:
                singles.append(alone_like(run.block, run.weight, alike))
                continue
            near, before = None, known.get(run.block.group.id)
            if many and before is not None and before.start[0] > 0.0:
                near = before.start
            single = run_alone(run.block, run.weight, near)
            known[run.block.group.id] = single
            singles.append(single)
        return singles


def _rounded(level: Held) -> Held:
    return level if isinstance(level, Point) else round(level, DIGITS)


def run_name(run: Run) -> RunName:
    """The name of a run."""
    return (run.block.group.id, run.block.period)


def _has_many(yard: Yard) -> bool:
    return sum(len(run.block.offers) for run in yard.runs) >= LARGE


def put_out(run: Run, column: Column) -> float:
    """What waste at the trough adds to a feed column's cost [-]."""
    if column.key[0] == "feed":
        return run.put_out_of(column.key[1])
    return 1.0


def winter_costs(yard: Yard) -> dict[Key, float]:
    """What each column of a winter costs at the prices of its runs and of its farm [currency]."""
    costs = {
        column.key: column.cost * run.weight * put_out(run, column)
        for run in yard.runs
        for column in block_columns(run.block)
    }
    return {**costs, **{column.key: column.cost for column in link_columns(yard)}}


def begin(model: WinterModel) -> list[float]:
    """Hold every run at the level of its own cheapest ration; the D to begin at [kg DM]."""
    for number, single in enumerate(model.singles):
        model.hold_level(number, single.start[1])
    return [single.start[0] for single in model.singles]


def finish(model: WinterModel, touches: Sequence[float], cold: bool = True) -> Answer:
    """The plan solved, no shortage, rows touching at its own D; afresh by the dual simplex alone,
    so that it is the same to the last digit however it was found. Raises ProofFailed.
    """
    model.allow_shortage(False)
    model.touch(touches, TOUCHING)
    answer = model.solve(cold, presolve=False)
    if answer is None:
        raise ProofFailed("the plan found does not stand when its programme is solved afresh")
    return answer
