"""One group's model kept open: changed prices, bounds and shares go in, a warm solve comes out.

Every answer here is settled (its energy row touches the requirement at its own dry matter, its
level of feeding stands still) but not proven: it goes on from its neighbour and a short search, and
could still miss a slightly cheaper ration. What is told to a person as a figure of its own is
solved afresh with its proof by `solve_block`.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import inf

from rationlp.model.block_ration import NoOptimum, Optimum, solve_block
from rationlp.model.bound import GAP_TARGET
from rationlp.model.levels import MOST_LPS, AtQ, at_q, free_q, polish, q_of, search_levels
from rationlp.model.proof import dual_bound
from rationlp.model.rows.asked import SHARE_ROW, pair_coefficients
from rationlp.model.rows.block import Block, Pair
from rationlp.model.search import BlockModel, Found
from rationlp.model.solve import Solution, Status
from rationlp.needs.energy import GE_MJ_PER_KG_DM
from rationlp.quantities import price_per_kg_dm
from rationlp.records import dataclass

STILL = 1e-9
LEVEL_TOLERANCE = 1e-10
BOUND = 1e-7
"""Amounts [kg DM] and duals below which a feed counts as out and a row as slack."""
_MOST_PASSES = 12
_MOST_ROUNDS = 12
_REACH = 0.15
_FEW_LPS = 24
"""Programmes of a short search over every level of feeding."""
SURE_GAP = 1e-6
"""What is sure is proved to this share of the cost [-]."""
_SAME = 1e-7
"""A bound this close leaves nothing to look for [share of the cost]."""


@dataclass(frozen=True)
class Settled:
    """A settled ration. objective: currency a head a day, priced penalties included (inf: none).
    amounts: kg DM by offer id.
    duals: by row number of the live model; dm_kg: D; level: L.
    """

    objective: float
    amounts: dict[str, float]
    duals: tuple[float, ...] = ()
    dm_kg: float = 0.0
    level: float = 0.0

    @property
    def exists(self) -> bool:
        """Whether there is a ration."""
        return self.objective < inf


NONE = Settled(inf, {})


class GroupEngine:
    """A group's model in the solver, warm. `proven`: the answer at the farm's own prices with its
    proof, None without a ration.

    One engine is one thread's. Raises SolverTrouble and ProofFailed where the first answer does.
    """

    def __init__(self, block: Block) -> None:
        self.block = block
        answer = solve_block(block)
        self.proven: Optimum | None = None if isinstance(answer, NoOptimum) else answer
        self.model: BlockModel = answer.model if isinstance(answer, Optimum) else _opened(block)
        self._own_costs = dict(self.model.costs)
        self._offers = {offer.id: offer for offer in block.offers}
        self._dm, self._level = 0.0, 0.0
        self._last: Found | None = None
        self.back()

    def back(self) -> None:
        """Begin again from the proven answer; forgets what was found on the way, keeps prices,
        bounds and shares.
        """
        if self.model.curve is None:
            return
        self._dm = self.model.curve.high if self.proven is None else self.proven.dm_kg
        level = self.model.need.feeding_level(0.58) if self.model.need is not None else 1.0
        self._level = (
            level if self.proven is None or self.proven.level is None else self.proven.level
        )
        self.model.allow_shortage(False)
        self.model.set_level(self._level)

    def cost(self, prices: Mapping[str, float]) -> tuple[float, dict[str, float]]:
        """Least cost [currency a head a day, priced penalties included; inf without a ration] and
        kg DM by offer id.

        prices: currency/t fresh by offer id; all others stand at the farm's own.
        """
        found = self.at(prices)
        return found.objective, found.amounts

    def at(self, prices: Mapping[str, float]) -> Settled:
        """The settled ration at these prices [currency/t fresh], all others at the farm's own."""
        costs = dict(self._own_costs)
        for name, price in prices.items():
            offer = self._offers[name]
            costs[self.block.feed(offer)] = price_per_kg_dm(price, offer.feed.dm_g_per_kg)
        self.model.costs = costs
        self.model.live.set_costs(costs)
        return self.again()

    def hold(self, amounts: Mapping[str, tuple[float, float]]) -> None:
        """Hold feeds between bounds [kg DM a head a day] by offer id from now on; all others are
        free.
        """
        self.model.hold_feeds(amounts)

    def share(self, share: float) -> None:
        """Hold the pair of the block at another share [-]."""
        pair = self.block.pair
        assert pair is not None
        held = Pair(pair.first, pair.second, share)
        for column, value in pair_coefficients(self.block, held).items():
            self.model.live.set_coefficient(self.block.key(SHARE_ROW), column, value)

    def again(self) -> Settled:
        """Solve as it stands, going on from the last answer; from the proven one where that
        fails.
        """
        found = self._settle()
        if found is None and self.model.curve is not None:
            self.back()
            found = self._settle() or self._searched()
        elif found is not None and self.model.curve is not None:
            found = self._elsewhere(found)
        self._last = found
        return NONE if found is None else self._answer(found.solution, found.dm_kg)

    def surely(self, prices: Mapping[str, float]) -> Settled:
        """The ration at these prices, where nothing is cheaper by more than `SURE_GAP` at any level
        of feeding.
        """
        self.at(prices)
        if self._last is None or self.model.curve is None:
            return (
                NONE if self._last is None else self._answer(self._last.solution, self._last.dm_kg)
            )
        self._last = self._cheaper(self._last, MOST_LPS, SURE_GAP)
        return self._answer(self._last.solution, self._last.dm_kg)

    def _elsewhere(self, found: Found) -> Found:
        """The same answer, or a cheaper one that a short search over every level of feeding comes
        upon.
        """
        curve = self.model.curve
        assert curve is not None
        lower = self.model.bound(curve.low, curve.high)
        if lower is None or lower.objective >= found.objective - _SAME * abs(found.objective):
            return found
        return self._cheaper(found, _FEW_LPS, GAP_TARGET)

    def _cheaper(self, found: Found, most_lps: int, gap: float) -> Found:
        """The same answer, or a cheaper one of a search over every level of feeding: settled, or
        held at its own q.
        """
        best = search_levels(self.model, found.objective, q_of(found), most_lps, gap).best
        if best is None:
            self.model.set_level(self._level)
            return found
        self._take(best)
        settled = self._settle()
        if settled is not None and settled.objective <= best.found.objective:
            return settled
        best = polish(self.model, best)
        self._take(best)
        return best.found

    def _take(self, best: AtQ) -> None:
        """Go on from a ration of a metabolisability: its dry matter and its level of feeding."""
        assert self.model.need is not None
        self._dm, self._level = best.found.dm_kg, self.model.need.feeding_level(best.q)
        self.model.set_level(self._level)

    def lower_bound(self) -> float:
        """No ration costs less, at any level of feeding, as things are held [currency a head a
        day].

        −inf where the last question had no answer. A bound from our own numbers (model/levels.py,
        model/proof.py).
        """
        if self._last is None:
            return -inf
        if self.model.curve is None:
            return dual_bound(self.model.live.numbers(), self._last.solution.row_duals)
        last = self._last
        bound = search_levels(self.model, last.objective, q_of(last)).lower_bound
        self.model.set_level(self._level)
        return min(bound, last.objective)

    def _answer(self, solution: Solution, dm: float) -> Settled:
        amounts = {
            offer.id: max(solution.values[n], 0.0) for n, offer in enumerate(self.block.offers)
        }
        return Settled(solution.objective, amounts, solution.row_duals, dm, self._level)

    def _settle(self) -> Found | None:
        """The settled answer; where the proven one was held at its own metabolisability, one held
        there if it is cheaper.
        """
        found = self._still()
        if self.proven is None or self.proven.held_q is None:
            return found
        held = at_q(self.model, self.proven.held_q)
        if held is not None:
            held = polish(self.model, AtQ(self.proven.held_q, held)).found
        free_q(self.model)
        if held is not None and (found is None or held.objective < found.objective):
            assert self.model.need is not None
            self._dm, self._level = held.dm_kg, self.model.need.feeding_level(q_of(held))
            found = held
        self.model.set_level(self._level)
        return found

    def _still(self) -> Found | None:
        """The answer whose energy row touches at its own D and whose level of feeding is its own;
        None without one.
        """
        if self.model.need is None:
            solution = self.model.live.solve()
            if solution.status is not Status.OPTIMAL:
                return None
            return Found(
                solution.objective,
                self.model.live.value(solution, self.model.dm),
                0.0,
                0.0,
                solution,
            )
        if self.model.curve is None:
            return None
        found = None
        for _ in range(_MOST_ROUNDS):
            found = self._touching()
            if found is None or self.block.needs.mp_g is None:
                break
            own = self.model.need.feeding_level(found.me_mj / found.dm_kg / GE_MJ_PER_KG_DM)
            if abs(own - self._level) <= LEVEL_TOLERANCE * self._level:
                break
            self._level = own
            self.model.set_level(own)
        return found

    def _touching(self) -> Found | None:
        """Move the energy row to each answer's own D until it stands still."""
        curve = self.model.curve
        assert curve is not None
        reach = _REACH
        found = None
        for _ in range(_MOST_PASSES):
            low, high = curve.low, curve.high
            if curve.bends:
                # A bent curve has no tangent that is safe far away: its row is made for a stretch
                # that narrows to the answer.
                width = reach * (curve.high - curve.low)
                low, high = max(low, self._dm - width), min(high, self._dm + width)
                reach *= 0.3
            self.model.hold(curve.safe_row(self._dm, low, high), low, high)
            found = self.model.solve()
            if found is None:
                return None
            moved = abs(found.dm_kg - self._dm)
            self._dm = found.dm_kg
            if moved <= STILL * curve.high and (not curve.bends or reach < 1e-4):
                break
        return found

    def _searched(self) -> Found | None:
        """From several starts, with the shortage open; where that finds a ration it is settled at
        its own D.
        """
        curve = self.model.curve
        assert curve is not None
        found = self.model.search((curve.high, 0.5 * (curve.low + curve.high)))
        self.model.allow_shortage(False)
        if found is None or not found.adequate:
            return None
        self._dm = found.dm_kg
        return self._settle()


def _opened(block: Block) -> BlockModel:
    """A block without a ration, in the solver all the same: something may yet be changed."""
    model = BlockModel(block)
    if block.needs.energy is not None:
        model.find_interval()
    return model
