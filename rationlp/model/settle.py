"""One or more blocks inside the solver, settled; those whose rows move with the whole ration by a
loop of their own (follow.py).

Each pass solves a linear programme in which the energy requirement M*(D) of every block is replaced
by a row that is safe on the interval of its D. Where M* is concave that row is the tangent at the
last answer's own D: the last answer stays allowed, so the cost can only fall, and when every D
stands still the rows touch the true requirements at the answer. Then each block's level of feeding
is taken at its own answer, and all of it is done again until the levels stand still as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import inf

from rationlp.model.answer import Answer, Part, Round
from rationlp.model.care import FROM_ANYWHERE
from rationlp.model.energy import LinearRow
from rationlp.model.follow import hold_point, settle_points
from rationlp.model.lp import Key, Program, Row, Words
from rationlp.model.points import Held, Point, point_at
from rationlp.model.rows.animal import protein_coefficients
from rationlp.model.rows.block import Block
from rationlp.model.rows.rumen import rumen_coefficients
from rationlp.model.solution import Solution, Status
from rationlp.model.solve import LiveModel
from rationlp.needs.energy import GE_MJ_PER_KG_DM

CEILING_TOLERANCE = 1e-6
"""Relative excess over the energy ceiling at which an answer is accepted [-]."""
TOUCHING = 1e-7
"""Reach of a row that touches a bent curve at an answer [share of the interval of D]."""
_MOST_CUTS = 200
_SAME_START = 1e-6
_NARROW_ENOUGH = 1e-4
_PROTEIN_ROWS = ("microbes_energy", "microbes_nitrogen", "protein")
SHORT_OF = {"short_energy": 1.0, "short_protein": 0.1}
"""What a unit short counts for while a search looks for a start: 10 g of protein as a MJ."""
_MOST_LEVELS = 256
"""Levels of feeding whose coefficients a model of one block keeps."""
_Levels = tuple[float, float, float]
_Entries = tuple[int, list[tuple[int, float]]]
"""Number of a row, and its entries: number of the column and coefficient."""


class SettledModel:
    """Blocks in the solver with the rows that tie them; energy rows, levels and ceilings move.

    short_price: what a MJ short costs while a search looks for a start [currency/MJ].

    levels: of feeding held, by block [-]: low and high, between which its protein rows are enough;
    of a block whose rows move with the whole ration, the point where they touch, twice.
    """

    care = FROM_ANYWHERE
    presolve = False
    """Whether its programme is large enough to be made smaller before it is solved afresh."""

    def __init__(
        self,
        program: Program,
        parts: Iterable[Part],
        short_price: float,
        unit: float = 1.0,
        repriced: bool = False,
    ) -> None:
        presolve = self.presolve and not repriced
        self.live = LiveModel(program, unit, presolve=presolve, repriced=repriced)
        self.parts = list(parts)
        self.costs = {column.key: column.cost for column in program.columns if column.cost}
        known = program.column_index
        self.short_costs = {
            key: short_price * part.weight * SHORT_OF[key[0]]
            for part in self.parts
            for key in (part.short, part.short_protein)
            if key in known
        }
        self.levels: list[tuple[Held, Held]] = [(0.0, 0.0)] * len(self.parts)
        self._by_point = any(part.by_point for part in self.parts)
        self._cuts = 0
        self._levels_of_rows: list[_Levels | None] = [None] * len(self.parts)
        self._known_entries: dict[tuple[int, _Levels], list[_Entries]] = {}

    def hold_level(self, number: int, low: Held, high: Held | None = None) -> None:
        """Hold a block's level of feeding; with two, rows enough at every level between. A point is
        held by its own rows.
        """
        if isinstance(low, Point):
            hold_point(self, number, low)
            return
        if self.parts[number].by_point:
            return
        high = low if high is None or isinstance(high, Point) else high
        self.levels[number] = (low, high)
        self.set_levels(number, low, high, low)

    def set_levels(
        self, number: int, yield_level: float, erdp_level: float, dup_level: float
    ) -> None:
        """A block's protein rows at the levels of microbial yield, of ERDP and of DUP."""
        block, levels = self.parts[number].block, (yield_level, erdp_level, dup_level)
        if block.needs.mp_g is None or block.needs.energy is None:
            return
        if self._levels_of_rows[number] == levels:
            return
        self._levels_of_rows[number] = levels
        for row, entries in self._protein_entries(number, levels):
            self.live.set_entries(row, entries)

    def _protein_entries(self, number: int, levels: _Levels) -> list[_Entries]:
        """The entries of a block's protein rows at three levels. A model of one block keeps them: a
        search comes upon the same levels again and again.
        """
        entries = self._known_entries.get((number, levels))
        if entries is None:
            block, index = self.parts[number].block, self.live.column_index
            rows: dict[str, dict[Key, float]] = dict(
                zip(_PROTEIN_ROWS, protein_coefficients(block, *levels), strict=True)
            )
            rows["rumen"] = rumen_coefficients(block, levels[1])
            entries = [
                (self.live.row_index[block.key(name)], [(index[key], v) for key, v in row.items()])
                for name, row in rows.items()
                if row
            ]
            if len(self.parts) == 1:
                if len(self._known_entries) == _MOST_LEVELS:
                    self._known_entries.clear()
                self._known_entries[(number, levels)] = entries
        return entries

    def hold_energy(self, number: int, row: LinearRow, low: float, high: float) -> None:
        """Set a block's energy row and interval of D."""
        part, held = self.parts[number], self.levels[number][0]
        if isinstance(held, Point):
            least, most = held.around()["dm"]
            low, high = max(low, least), min(high, most)
            low = min(low, high)
        self.live.set_coefficient(part.energy, part.dm, -row.slope)
        self.live.set_row_bounds(part.energy, row.level, inf)
        self.live.set_column_bounds(part.dm, low, high)

    def allow_shortage(self, allowed: bool) -> None:
        """Open or shut the priced shortage of energy of every block."""
        for key in self.short_costs:
            self.live.set_column_bounds(key, 0.0, inf if allowed else 0.0)
        self.live.set_costs({**self.costs, **self.short_costs} if allowed else self.costs)

    def touch(
        self,
        touches: Sequence[float],
        reach: float | None = None,
        within: tuple[float, float] | None = None,
    ) -> None:
        """Move every safe row to touch M* at its own D. within: of the only block, an interval of D
        [kg DM] in place of the curve's own.

        A bent curve has no tangent that is safe far away: its row is made for a stretch around.
        """
        reach = self.care.reach if reach is None else reach
        for number, part in enumerate(self.parts):
            curve = part.curve
            if curve is None:
                continue
            low, high = within or (curve.low, curve.high)
            at = min(max(touches[number], low), high)
            if curve.bends:
                width = reach * (curve.high - curve.low)
                low, high = max(low, at - width), min(high, at + width)
            self.hold_energy(number, curve.safe_row(at, low, high), low, high)

    def solve(self, cold: bool = False, presolve: bool = True) -> Answer | None:
        """Solve, adding cuts until the answer keeps to what they say; None where infeasible."""
        for _ in range(_MOST_CUTS):
            solution = self.live.solve(cold, presolve)
            if solution.status is not Status.OPTIMAL:
                return None
            if not self.cut(solution):
                return self._answer(solution)
        # The last cuts came after the last answer: its duals must be those of the rows as they are.
        solution = self.live.solve(cold, presolve)
        if solution.status is Status.OPTIMAL:
            return self._answer(solution)
        return None

    def _answer(self, solution: Solution) -> Answer:
        dm, me, short = [], [], []
        for part in self.parts:
            needs_energy = part.need is not None
            dm.append(self.live.value(solution, part.dm))
            me.append(self.live.value(solution, part.me) if needs_energy else 0.0)
            ways = (key for key in (part.short, part.short_protein) if key in self.short_costs)
            short.append(sum(self.live.value(solution, key) for key in ways))
        return Answer(solution, tuple(dm), tuple(me), tuple(short))

    def cut(self, solution: Solution) -> int:
        """Add the tangents of ceilings that an answer passes; how many were added."""
        return sum(
            self.cut_ceiling(part, self.live.value(solution, part.dm))
            for part in self.parts
            if self.over_ceiling(part, solution) > CEILING_TOLERANCE
        )

    def over_ceiling(self, part: Part, solution: Solution) -> float:
        """How far a solution exceeds a block's ceiling, less priced excess [share of it]."""
        dm = self.live.value(solution, part.dm)
        limit = inf if part.ceiling is None or dm <= 0.0 else part.ceiling.value(dm)
        if limit == inf:
            return 0.0
        over = 0.0
        if part.over in self.live.column_index:
            over = self.live.value(solution, part.over)
        return (self.live.value(solution, part.me) - over - limit) / limit

    def cut_ceiling(self, part: Part, touch: float) -> bool:
        """Add the tangent of a ceiling: an outer cut, since M* times its factor is concave."""
        assert part.ceiling is not None
        value, slope, _ = part.ceiling.at(touch)
        if value == inf:
            return False
        self._cuts += 1
        coefs = {part.me: 1.0, part.dm: -slope}
        if part.over in self.live.column_index:
            coefs[part.over] = -1.0
        key, share = part.block.key("energy_ceiling", str(self._cuts)), _ceiling_share(part.block)
        words = Words(need=f"the ceiling on energy ({share} of the need)", tangent=True)
        high, why = value - slope * touch, ceiling_why(part.block)
        title, kind = "energy ceiling", "ceiling"
        self.live.add_row(Row(key, coefs, -inf, high, kind, "MJ", title, why, words, kind))
        return True

    def take_cut(self, cut: Row) -> None:
        """Add a cut that a model of the same block has."""
        self._cuts += 1
        kind, _, *whose = cut.key
        self.live.add_row(replace(cut, key=(kind, str(self._cuts), *whose)))

    def keeps(self, solution: Solution, tolerance: float) -> bool:
        """A solution keeps, within a relative tolerance, to what only cuts say of it."""
        return all(self.over_ceiling(part, solution) <= tolerance for part in self.parts)

    def settle(
        self,
        touches: Sequence[float],
        walked: list[tuple[float, ...]] | None = None,
        within: tuple[float, float] | None = None,
    ) -> Answer | None:
        """Move every safe row to its answer's own D until all stand still. The cheapest answer met,
        None where the programme has no solution.

        walked: touches [kg DM] of searches on the same rows; a path that comes upon one of them
        would only repeat the rest. within: as of `touch`.
        """
        if self._by_point:
            return settle_points(self, touches, within)
        walked = [] if walked is None else walked
        best: Answer | None = None
        costs: list[float] = []
        reach, at = self.care.reach, self.clamped(touches, within)
        self.allow_shortage(self.care.may_go_short)
        for _ in range(self.care.passes):
            if self._is_narrow(reach) and any(
                self.same(at, other, self.care.dm) for other in walked
            ):
                break
            walked.append(at)
            self.touch(at, reach, within)
            answer = self.solve()
            if answer is None:
                break
            costs.append(answer.objective)
            if best is None or answer.objective < self._as_cheap(best):
                best = answer
            at = self.clamped(answer.dm, within)
            reach *= self.care.narrows
        self.allow_shortage(False)
        if best is None:
            return None
        return Answer(best.solution, best.dm, best.me, best.short, tuple(costs))

    def _as_cheap(self, best: Answer) -> float:
        """Below this an answer counts as no dearer than the best one."""
        return best.objective + self.care.same * abs(best.objective)

    def _is_narrow(self, reach: float) -> bool:
        """Rows of bent curves are not made for smaller stretches any more."""
        bent = any(part.curve is not None and part.curve.bends for part in self.parts)
        return self.care.narrows == 1.0 or reach < _NARROW_ENOUGH or not bent

    def clamped(
        self, touches: Sequence[float], within: tuple[float, float] | None
    ) -> tuple[float, ...]:
        """Touches within each block's interval of D [kg DM]."""
        clamped = []
        for part, touch in zip(self.parts, touches, strict=True):
            if part.curve is not None:
                low, high = within or (part.curve.low, part.curve.high)
                touch = min(max(touch, low), high)
            clamped.append(touch)
        return tuple(clamped)

    def same(self, at: Sequence[float], other: Sequence[float], tolerance: float) -> bool:
        """Whether two sets of touches are the same but for a share of the intervals."""
        return all(
            part.curve is None or abs(a - b) <= tolerance * part.curve.high
            for part, a, b in zip(self.parts, at, other, strict=True)
        )

    def search(self, starts: Sequence[Sequence[float]]) -> Answer | None:
        """The cheapest settled answer over several starts [kg DM]."""
        best: Answer | None = None
        walked: list[tuple[float, ...]] = []
        for start in starts:
            if any(self.same(start, other, _SAME_START) for other in walked):
                continue
            answer = self.settle(start, walked)
            if answer is not None and (best is None or answer.objective < best.objective):
                best = answer
        return best

    def settle_levels(self, touches: Sequence[float]) -> list[Round]:
        """Rounds at levels of feeding that follow the answers' own; the last one stands still, or
        the rounds ended. Empty where the first has no answer.
        """
        rounds: list[Round] = []
        for _ in range(self.care.rounds):
            answer = self.settle(touches)
            if answer is None:
                break
            levels = tuple(self.levels)
            rounds.append(Round(answer, levels, still=not self.follow_levels(answer)))
            if rounds[-1].still:
                break
            touches = answer.dm
        return rounds

    def settled(self, touches: Sequence[float]) -> Answer | None:
        """The last answer of rounds that followed their levels of feeding; None where one has no
        answer or the last goes short of energy.
        """
        rounds = self.settle_levels(touches)
        ended = rounds and (rounds[-1].still or len(rounds) == self.care.rounds)
        if ended and rounds[-1].answer.adequate:
            return rounds[-1].answer
        return None

    def follow_levels(self, answer: Answer) -> bool:
        """Hold every block at its answer's own level of feeding; True where one of them moved."""
        moved = False
        for number, part in enumerate(self.parts):
            own, held = self.own_level(number, answer), self.levels[number][0]
            if isinstance(own, Point) or isinstance(held, Point):
                # Its rows followed every answer on the way.
                continue
            if part.block.needs.mp_g is None or own == inf:
                continue
            if abs(own - held) > self.care.level * max(own, 1.0):
                moved = True
                self.hold_level(number, own)
        return moved

    def own_level(self, number: int, answer: Answer) -> Held:
        """The level of feeding that a block's answer has [-], or its point; as held where it eats
        nothing.
        """
        part, dm = self.parts[number], answer.dm[number]
        need = part.need
        if need is None:
            return 0.0
        if part.by_point:
            return point_at(part.block, self.kg_of(number, answer)) or self.levels[number][0]
        if dm <= 0.0:
            return self.levels[number][0]
        return need.feeding_level(answer.me[number] / dm / GE_MJ_PER_KG_DM)

    def kg_of(self, number: int, answer: Answer) -> list[float]:
        """kg DM of the feeds of a block in an answer, in the order of its offers."""
        index, values = self.live.column_index, answer.solution.values
        return [max(values[index[key]], 0.0) for key in self.parts[number].block.feed_keys]


def ceiling_why(block: Block) -> str:
    """Whose rule the ceiling on energy is."""
    return f"at most {_ceiling_share(block)} of the need (common practice, no source)"


def _ceiling_share(block: Block) -> str:
    return f"{100.0 * (block.needs.energy_ceiling or 1.0):.0f} %"
