"""The cheapest plan at held levels of feeding: one programme of all blocks, each with its own safe
row that moves with its own D.

As for one group, but every block moves at once: where M* is concave the rows are tangents at the
last answer's own D, so the cost can only fall. When every D stands still, each block's level of
feeding is taken at its own answer and the programme is solved again, until they stand still as
well.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

from rationlp.errors import ProofFailed
from rationlp.model.energy import LinearRow
from rationlp.model.lp import Column, Key, Program, Row
from rationlp.model.rows.animal import protein_coefficients
from rationlp.model.rows.rumen import rumen_coefficients
from rationlp.model.search import CEILING_TOLERANCE
from rationlp.model.solve import LiveModel, Solution, Status
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.winter.alone import alone
from rationlp.winter.links import Yard, link_columns, link_rows
from rationlp.winter.parts import Run

MOST_PASSES = 30
MOST_ROUNDS = 8
STILL = 1e-9
LEVEL_TOLERANCE = 1e-7
_SHORT_PRICE = 100.0
"""Price of a MJ short while a search looks for a start, as a multiple of the dearest feed's price a
kg DM.
"""


class WinterModel:
    """All blocks of a winter inside the solver, with the rows that tie them; energy rows, levels
    and ceilings can be moved.

    singles: each run alone, for its interval of D and its start. infeasible: runs without any
    ration even when every store is full. lps: programmes solved beside the joint ones.
    """

    def __init__(self, yard: Yard) -> None:
        self.yard = yard
        self.runs = yard.runs
        self.singles = [alone(run.block) for run in self.runs]
        self.lps = sum(single.lps for single in self.singles)
        self.infeasible = [
            number for number, single in enumerate(self.singles) if single.infeasible
        ]
        columns = [
            Column(c.key, c.cost * run.weight * _put_out(run, c), c.low, c.high, c.unit, c.title)
            for run, single in zip(self.runs, self.singles, strict=True)
            for c in single.columns
        ]
        rows = [row for single in self.singles for row in single.rows]
        self.first_link = len(rows)
        self.live = LiveModel(Program((*columns, *link_columns(yard)), (*rows, *link_rows(yard))))
        self.costs = {
            column.key: column.cost for column in self.live.program.columns if column.cost
        }
        dearest = max((abs(offer.price_per_kg_dm) for offer in yard.farm.offers), default=1.0)
        short = _SHORT_PRICE * max(dearest, 0.05)
        self.short_costs = {
            single.short: short * run.weight
            for run, single in zip(self.runs, self.singles, strict=True)
            if single.need is not None
        }
        self.levels = [0.0] * len(self.runs)
        self.guards: dict[int, tuple[float, float]] = {}
        self._cuts = 0

    def set_level(self, number: int, level: float) -> None:
        """Hold a run's level of feeding in its protein rows."""
        self.levels[number] = level
        self.guards.pop(number, None)
        self.set_levels(number, level, level, level)

    def guard(self, number: int, low: float, high: float) -> None:
        """Protein rows of a run that are enough at every level of feeding from low to high."""
        self.levels[number] = low
        self.guards[number] = (low, high)
        self.set_levels(number, low, high, low)

    def set_levels(
        self, number: int, yield_level: float, erdp_level: float, dup_level: float
    ) -> None:
        """A run's protein rows at three levels of feeding: of microbial yield, of ERDP and of
        DUP.
        """
        block = self.runs[number].block
        if block.needs.mp_g is None or block.needs.energy is None:
            return
        names = ("microbes_energy", "microbes_nitrogen", "protein")
        for name, coefs in zip(
            names, protein_coefficients(block, yield_level, erdp_level, dup_level), strict=True
        ):
            for column, value in coefs.items():
                self.live.set_coefficient(block.key(name), column, value)
        for column, value in rumen_coefficients(block, erdp_level).items():
            self.live.set_coefficient(block.key("rumen"), column, value)

    def hold(self, number: int, row: LinearRow, low: float, high: float) -> None:
        """Set a run's energy row and interval of D."""
        single = self.singles[number]
        key = single.block.key("energy")
        self.live.set_coefficient(key, single.dm, -row.slope)
        self.live.set_row_bounds(key, row.level, inf)
        self.live.set_column_bounds(single.dm, low, high)

    def allow_shortage(self, allowed: bool) -> None:
        """Open or shut the priced shortage of energy of every run."""
        for key in self.short_costs:
            self.live.set_column_bounds(key, 0.0, inf if allowed else 0.0)
        self.live.set_costs({**self.costs, **self.short_costs} if allowed else self.costs)

    def solve(self, cold: bool = False) -> Solution | None:
        """Solve as it stands, adding ceiling cuts until every answer keeps to its ceiling; None
        where infeasible.
        """
        for _ in range(MOST_PASSES):
            solution = self.live.solve(cold)
            if solution.status is not Status.OPTIMAL:
                return None
            if not sum(self._cut(number, solution) for number in range(len(self.runs))):
                return solution
        # The last cuts came after the last answer: its duals must be those of the rows as they
        # stand now.
        solution = self.live.solve(cold)
        return solution if solution.status is Status.OPTIMAL else None

    def _cut(self, number: int, solution: Solution) -> bool:
        """Add the tangent of a ceiling that an answer passes; True when one was added."""
        single = self.singles[number]
        if single.ceiling is None:
            return False
        dm, me = self.live.value(solution, single.dm), self.live.value(solution, single.me)
        priced = single.over in self.live.column_index
        over = self.live.value(solution, single.over) if priced else 0.0
        most, slope, _ = single.ceiling.at(dm) if dm > 0.0 else (inf, 0.0, 0.0)
        if most == inf or (me - over - most) <= CEILING_TOLERANCE * most:
            return False
        self._cuts += 1
        coefs: dict[Key, float] = {single.me: 1.0, single.dm: -slope}
        if priced:
            coefs[single.over] = -1.0
        mark = single.block.key("energy_ceiling", str(self._cuts))
        self.live.add_row(
            Row(mark, coefs, -inf, most - slope * dm, "ceiling", "MJ", "energy ceiling")
        )
        return True

    def touch(self, touches: Sequence[float]) -> None:
        """Move every run's safe row to touch M* at its own D."""
        for number, single in enumerate(self.singles):
            curve = single.curve
            if curve is None:
                continue
            at = min(max(touches[number], curve.low), curve.high)
            low, high = curve.low, curve.high
            if curve.bends:
                # A bent curve has no tangent that is safe far away: its row is made for a stretch
                # around the touch.
                reach = 0.15 * (high - low)
                low, high = max(low, at - reach), min(high, at + reach)
            self.hold(number, curve.safe_row(at, low, high), low, high)

    def dms(self, solution: Solution) -> list[float]:
        """D of every run [kg DM a head a day]."""
        return [self.live.value(solution, single.dm) for single in self.singles]

    def settle(self, touches: Sequence[float]) -> tuple[Solution, list[float]] | None:
        """Move all safe rows to the answers' own D until they stand still; None where the programme
        has no solution.
        """
        self.allow_shortage(True)
        at = list(touches)
        solution: Solution | None = None
        for _ in range(MOST_PASSES):
            self.touch(at)
            solution = self.solve()
            if solution is None:
                return None
            found = self.dms(solution)
            moved = max(
                (abs(a - b) / max(b, 1e-9) for a, b in zip(at, found, strict=True) if b > 0.0),
                default=0.0,
            )
            at = found
            if moved <= STILL:
                break
        assert solution is not None
        return solution, at

    def own_level(self, number: int, solution: Solution) -> float:
        """The level of feeding that a run's answer has."""
        single = self.singles[number]
        if single.need is None:
            return 0.0
        dm, me = self.live.value(solution, single.dm), self.live.value(solution, single.me)
        return (
            single.need.feeding_level(me / dm / GE_MJ_PER_KG_DM)
            if dm > 0.0
            else self.levels[number]
        )

    def short(self, solution: Solution) -> list[tuple[int, float]]:
        """(run, MJ short a head a day) of every run whose energy need is not met."""
        found = []
        for number, single in enumerate(self.singles):
            if single.need is not None:
                missing = self.live.value(solution, single.short)
                if missing > 1e-7 * max(1.0, self.live.value(solution, single.me)):
                    found.append((number, missing))
        return found


def _put_out(run: Run, column: Column) -> float:
    """What waste at the trough adds to a feed column's cost [-]."""
    return 1.0 / (1.0 - run.waste.get(column.key[1], 0.0)) if column.key[0] == "feed" else 1.0


def begin(model: WinterModel) -> list[float]:
    """Hold every run at the level of feeding of its own cheapest ration; the D to begin at [kg DM a
    head a day].
    """
    for number, single in enumerate(model.singles):
        model.set_level(number, single.start[1])
    return [single.start[0] for single in model.singles]


def finish(model: WinterModel, touches: Sequence[float]) -> Solution:
    """The plan solved cold without any shortage, its safe rows touching at its own D. Raises
    ProofFailed where it fails.
    """
    model.allow_shortage(False)
    for number, single in enumerate(model.singles):
        curve = single.curve
        if curve is None:
            continue
        low, high = curve.low, curve.high
        if curve.bends:
            width = 1e-7 * high
            low, high = max(low, touches[number] - width), min(high, touches[number] + width)
        model.hold(
            number,
            curve.safe_row(min(max(touches[number], curve.low), curve.high), low, high),
            low,
            high,
        )
    solution = model.solve(cold=True)
    if solution is None:
        raise ProofFailed("the plan found does not stand when its programme is solved afresh")
    return solution
