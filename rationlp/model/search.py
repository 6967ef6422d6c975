"""The cheapest ration of one block at a held level of feeding: safe rows moved from pass to pass,
from several starts.

Each pass solves a linear programme in which the energy requirement M*(D) is replaced by a row that
is safe on the interval of D. Where M* is concave that row is the tangent at the last answer's own
D: the last answer stays allowed, so the cost can only fall, and when D stands still the row touches
the true requirement at the answer.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from math import inf

from rationlp.model.energy import ME_DENSITY_MOST, EnergyCurve, LinearRow, energy_curve, least_dm
from rationlp.model.lp import Key, Program, Row
from rationlp.model.rows import build
from rationlp.model.rows.animal import Coefs, protein_coefficients
from rationlp.model.rows.block import Block
from rationlp.model.rows.rumen import rumen_coefficients
from rationlp.model.solve import LiveModel, Solution, Status, unit_of_money
from rationlp.records import dataclass

CEILING_TOLERANCE = 1e-6
"""Relative excess over the energy ceiling at which an answer is accepted [-]."""

_STILL = 1e-9
_MOST_PASSES = 40
_MOST_CUTS = 60
_SHORT_PRICE_FACTOR = 1000.0


@dataclass(frozen=True)
class Found:
    """An answer of a search. dm_kg, me_mj: D and E. short_mj: energy short (0 when adequate).
    costs: by pass.
    """

    objective: float
    dm_kg: float
    me_mj: float
    short_mj: float
    solution: Solution
    costs: tuple[float, ...] = ()

    @property
    def adequate(self) -> bool:
        """The energy row is met without the priced shortage."""
        return self.short_mj <= 1e-9 * max(1.0, self.me_mj)


class BlockModel:
    """A block inside the solver: its energy row, interval of D, protein coefficients and ceiling
    cuts can be moved.

    `infeasible` is True when no ration satisfies the rows even without the energy requirement.
    `levels`: least and greatest level of feeding [-] that a ration could have, once they have been
    asked for. `without`: keys of rows to leave out, for questions about fewer rows than all.
    `need_by_q`: the metabolisability of a ration alone tells what it must bring.
    """

    need_by_q = True

    def __init__(self, block: Block, without: Collection[Key] = ()) -> None:
        self.block = block
        self.need = block.needs.energy
        program = build([block])
        if without:
            program = Program(
                program.columns, tuple(row for row in program.rows if row.key not in without)
            )
        self.live = LiveModel(program, unit_of_money(program))
        self.level: float | None = None
        self.levels: tuple[float, float] | None = None
        self.infeasible = False
        self.dm, self.me = block.key("dm"), block.key("me")
        self.short, self.over = block.key("short_energy"), block.key("over_energy")
        self._cuts = 0
        self.curve: EnergyCurve | None = None
        self.ceiling: EnergyCurve | None = None
        dearest = max((abs(offer.price_per_kg_dm) for offer in block.offers), default=1.0)
        self._short_price = _SHORT_PRICE_FACTOR * (max(dearest, block.over_energy_price) or 1.0)
        self.costs = {
            column.key: column.cost for column in self.live.program.columns if column.cost
        }

    def hold_feeds(self, held: Mapping[str, tuple[float, float]]) -> None:
        """Hold single feeds between bounds [kg DM a head a day] by offer id and set all others
        free.

        The interval of D found before still holds: bounds only take rations away.
        """
        for offer in self.block.offers:
            self.live.set_column_bounds(self.block.feed(offer), *held.get(offer.id, (0.0, inf)))

    def find_interval(self) -> None:
        """The interval of D: from the least D at which the richest feed would suffice to the most
        that can be eaten.

        The protein row is left out of it, so that the interval holds at every level of feeding.
        """
        assert self.need is not None
        protein = self.block.key("protein")
        self.live.set_costs({self.dm: -1.0})
        if self.block.needs.mp_g is not None:
            self.live.set_row_bounds(protein, -inf, inf)
        most = self.live.solve()
        self.live.set_costs(self.costs)
        if self.block.needs.mp_g is not None:
            self.live.set_row_bounds(protein, self.block.needs.mp_wanted_g, inf)
        densest = max(
            (me for _, me in self.block.contents("me_mj_per_kg_dm")), default=ME_DENSITY_MOST
        )
        low = least_dm(self.need, densest) if densest > 0.0 else inf
        if most.status is not Status.OPTIMAL or low >= self.live.value(most, self.dm):
            self.infeasible = True
            return
        high = self.live.value(most, self.dm)
        self.curve = energy_curve(self.need, low, high)
        multiple = self.block.needs.energy_ceiling
        if multiple is not None:
            self.ceiling = EnergyCurve(self.need, multiple, low, high)
            for touch in (low, 0.5 * (low + high), high) if self._cuts == 0 else ():
                self._cut(touch)

    def set_level(
        self, yield_level: float, erdp_level: float | None = None, dup_level: float | None = None
    ) -> None:
        """Hold the level of feeding [-] in the protein rows; three levels make a bounding or a
        guarded set of rows.
        """
        rows = ("microbes_energy", "microbes_nitrogen", "protein")
        levels = (yield_level, erdp_level or yield_level, dup_level or yield_level)
        self.level = yield_level
        if self.block.needs.mp_g is None:
            return
        for row, coefs in zip(rows, protein_coefficients(self.block, *levels), strict=True):
            self._set_coefficients(self.block.key(row), coefs)
        self._set_coefficients(self.block.key("rumen"), rumen_coefficients(self.block, levels[1]))

    def _set_coefficients(self, row: tuple[str, ...], coefs: Coefs) -> None:
        for column, value in coefs.items():
            self.live.set_coefficient(row, column, value)

    def hold(self, row: LinearRow, low: float, high: float) -> None:
        """Set the energy row and the interval of D."""
        self.live.set_coefficient(self.block.key("energy"), self.dm, -row.slope)
        self.live.set_row_bounds(self.block.key("energy"), row.level, inf)
        self.live.set_column_bounds(self.dm, low, high)

    def allow_shortage(self, allowed: bool) -> None:
        """Open or shut the priced shortage of energy."""
        self.live.set_column_bounds(self.short, 0.0, inf if allowed else 0.0)
        self.live.set_costs(
            {**self.costs, self.short: self._short_price} if allowed else self.costs
        )

    def _cut(self, touch: float) -> bool:
        """Add the tangent of the ceiling at `touch`: an outer cut, since M* with the need
        multiplied is concave.
        """
        assert self.ceiling is not None
        value, slope, _ = self.ceiling.at(touch)
        if value == inf:
            return False
        self._cuts += 1
        coefs = {self.me: 1.0, self.dm: -slope}
        if self.block.needs.ceiling_priced:
            coefs[self.over] = -1.0
        multiple = self.block.needs.energy_ceiling or 1.0
        self.live.add_row(
            Row(
                self.block.key("energy_ceiling", str(self._cuts)),
                coefs,
                -inf,
                value - slope * touch,
                "ceiling",
                "MJ",
                "energy ceiling",
                f"at most {100 * multiple:.0f} % of the need (common practice, no source)",
            )
        )
        return True

    def solve(self, cold: bool = False) -> Found | None:
        """Solve as it stands, adding ceiling cuts until the answer keeps to the ceiling; None where
        infeasible.
        """
        for _ in range(_MOST_CUTS):
            solution = self.live.solve(cold)
            if solution.status is not Status.OPTIMAL:
                return None
            dm = self.live.value(solution, self.dm)
            me = self.live.value(solution, self.me)
            if (
                self.ceiling is None
                or self.over_ceiling(solution) <= CEILING_TOLERANCE
                or not self._cut(dm)
            ):
                break
        return Found(solution.objective, dm, me, self.live.value(solution, self.short), solution)

    def over_ceiling(self, solution: Solution) -> float:
        """How far a solution exceeds the energy ceiling, priced excess taken off [share of the
        ceiling].
        """
        if self.ceiling is None:
            return 0.0
        excess = (
            self.live.value(solution, self.over) if self.over in self.live.column_index else 0.0
        )
        limit = self.ceiling.value(self.live.value(solution, self.dm))
        return (self.live.value(solution, self.me) - excess - limit) / limit

    def keeps(self, solution: Solution, tolerance: float) -> bool:
        """A solution keeps, within a relative tolerance, to what only cuts say of it."""
        return self.over_ceiling(solution) <= tolerance

    def settle(
        self, touch: float, low: float, high: float, walked: list[float] | None = None
    ) -> Found | None:
        """Move the safe row to each answer's own D until D stands still. The cheapest adequate
        answer, else the last.

        walked: touches [kg DM] of searches on the same rows; a path that comes upon one of them
        would only repeat the rest.
        """
        assert self.curve is not None
        walked = [] if walked is None else walked
        best: Found | None = None
        costs: list[float] = []
        self.allow_shortage(True)
        for _ in range(_MOST_PASSES):
            touch = min(max(touch, low), high)
            if any(abs(touch - other) <= _STILL * high for other in walked):
                break
            walked.append(touch)
            self.hold(self.curve.safe_row(touch, low, high), low, high)
            found = self.solve()
            if found is None:
                break
            costs.append(found.objective)
            if best is None or found.objective < best.objective:
                best = found
            touch = found.dm_kg
        self.allow_shortage(False)
        return (
            None
            if best is None
            else Found(
                best.objective, best.dm_kg, best.me_mj, best.short_mj, best.solution, tuple(costs)
            )
        )

    def bound(self, low: float, high: float) -> Found | None:
        """The cheapest of the programme that asks no adequate ration for too much; None where it
        has no solution.
        """
        assert self.curve is not None
        self.hold(self.curve.bound_row(low, high), low, high)
        return self.solve()

    def search(self, starts: tuple[float, ...], around: bool = True) -> Found | None:
        """The cheapest settled answer over several starts [kg DM]; with `around`, the lower-bound
        programme's own D is one.
        """
        assert self.curve is not None
        low, high = self.curve.low, self.curve.high
        if around:
            lower = self.bound(low, high)
            if lower is None:
                return None
            starts = (*starts, lower.dm_kg)
        best: Found | None = None
        walked: list[float] = []
        for start in starts:
            if any(abs(start - other) <= 1e-6 * high for other in walked):
                continue
            found = self.settle(start, low, high, walked)
            if found is not None and (best is None or found.objective < best.objective):
                best = found
        return best
