"""One group's model kept open: changed prices, bounds and shares go in, a warm solve comes out.

Every answer here is settled (its energy row touches the requirement at its own dry matter, its
level of feeding stands still) but not proven: it goes on from its neighbour and a short search, and
could still miss a slightly cheaper ration. What is told to a person as a figure of its own is
solved afresh with its proof by `solve_block`.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import inf

from rationlp.model.answer import Answer
from rationlp.model.block_ration import optimum_of
from rationlp.model.bound import GAP_TARGET
from rationlp.model.care import FROM_ANYWHERE, FROM_NEARBY
from rationlp.model.cheapest import AtQ
from rationlp.model.levels import MOST_LPS, at_q, free_q, polish, q_of, search_levels
from rationlp.model.lp import Key
from rationlp.model.points import Held, Point, number_held, plain_point
from rationlp.model.proof import certify, dual_bound
from rationlp.model.ration import NOTHING_KG, eat, excess
from rationlp.model.rows.asked import SHARE_ROW, pair_coefficients
from rationlp.model.rows.block import Block, Pair
from rationlp.model.search import opened
from rationlp.quantities import price_per_kg_dm
from rationlp.records import dataclass

BOUND = 1e-7
"""Amounts [kg DM] and duals below which a feed counts as out and a row as slack."""
_FEW_LPS = 24
"""Programmes of a short search over every level of feeding."""
SURE_GAP = 1e-6
"""What is sure is proved to this share of the cost [-]."""
_SAME = 1e-7
"""A bound this close leaves nothing to look for [share of the cost]."""


@dataclass(frozen=True)
class SettledRation:
    """A settled ration. objective: currency a head a day, priced penalties included (inf: none).
    amounts: kg DM by offer id. duals: by row number of the live model; dm_kg: D; level: L.
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


NONE = SettledRation(inf, {})


class GroupEngine:
    """A group's model in the solver, warm. `proven`: the answer at the farm's own prices with its
    proof, None without a ration.

    One engine is one thread's. Raises SolverTrouble and ProofFailed where the first answer does.
    """

    def __init__(self, block: Block) -> None:
        self.block = block
        self.proven = optimum_of(block)
        if self.proven is None:
            self.model = opened(block)
        else:
            self.model = self.proven.model
        self.model.care = FROM_NEARBY
        self._own_costs = dict(self.model.costs)
        self._offers = {offer.id: offer for offer in block.offers}
        self._dm = 0.0
        self._last: Answer | None = None
        self.back()

    @property
    def _level(self) -> Held:
        return self.model.levels[0][0]

    def back(self) -> None:
        """Begin again from the proven answer; prices, bounds and shares stay."""
        model, proven = self.model, self.proven
        if model.curve is None:
            return
        self._dm, level = model.curve.high, None
        if proven is not None:
            self._dm, level = proven.dm_kg, proven.level
        model.allow_shortage(False)
        if model.part.by_point:
            point = None if proven is None else proven.point
            model.hold_level(0, point or plain_point(self.block, 0.9 * model.curve.high))
            return
        if level is None:
            level = 1.0
            if model.need is not None:
                level = model.need.feeding_level(0.58)
        model.set_level(level)

    def cost(self, prices: Mapping[str, float]) -> tuple[float, dict[str, float]]:
        """Least cost [currency a head a day, priced penalties included; inf without a ration] and
        kg DM by offer id.

        prices: currency/t fresh by offer id; all others stand at the farm's own.
        """
        settled = self.at(prices)
        return settled.objective, settled.amounts

    def at(self, prices: Mapping[str, float]) -> SettledRation:
        """The settled ration at these prices [currency/t fresh], all others at the farm's own."""
        costs = dict(self._own_costs)
        for name, price in prices.items():
            offer = self._offers[name]
            costs[self.block.feed(offer)] = price_per_kg_dm(price, offer.feed.dm_g_per_kg)
        return self.at_costs(costs)

    def at_costs(self, costs: Mapping[Key, float]) -> SettledRation:
        """The settled ration at these costs of columns; those not named cost nothing."""
        self.model.costs = dict(costs)
        self.model.live.set_costs(self.model.costs)
        return self.again()

    def nearby(self, costs: Mapping[Key, float]) -> SettledRation | None:
        """The ration at these costs of columns, settled from the last answer alone, certified from
        the model's own numbers and adequate from its own kilograms; None where that gives none.
        """
        self.model.costs = dict(costs)
        self.model.live.set_costs(self.model.costs)
        answer = self._settle()
        if answer is None or not answer.adequate or not self._passes(answer):
            return None
        self._last = answer
        return self._told()

    def _passes(self, answer: Answer) -> bool:
        """Whether an answer is an optimum of its programme and meets its need as a ration."""
        if not certify(self.model.live.numbers_now(), answer.solution).passed:
            return False
        kg = self.model.amounts(answer)
        fed = {name: amount for name, amount in kg.items() if amount > NOTHING_KG}
        return excess(self.block, eat(self.block, fed, {}))[2]

    def hold(self, amounts: Mapping[str, tuple[float, float]]) -> None:
        """Hold feeds between bounds [kg DM a head a day] by offer id; all others are free."""
        self.model.hold_feeds(amounts)

    def share(self, share: float) -> None:
        """Hold the pair of the block at another share [-]."""
        pair = self.block.pair
        assert pair is not None
        pair_at = Pair(pair.first, pair.second, share)
        for column, value in pair_coefficients(self.block, pair_at).items():
            self.model.live.set_coefficient(self.block.key(SHARE_ROW), column, value)

    def again(self) -> SettledRation:
        """Solve as it stands, from the last answer; from the proven one where that fails."""
        answer = self._settle()
        if self.model.curve is not None:
            if answer is None:
                self.back()
                answer = self._settle() or self._searched()
            else:
                answer = self._elsewhere(answer)
        self._last = answer
        return self._told()

    def surely(self, prices: Mapping[str, float]) -> SettledRation:
        """The ration at these prices; nothing is cheaper by `SURE_GAP` at any level of feeding."""
        self.at(prices)
        if self._last is not None and self.model.curve is not None:
            self._last = self._cheaper(self._last, MOST_LPS, SURE_GAP)
        return self._told()

    def _elsewhere(self, answer: Answer) -> Answer:
        """The same answer, or a cheaper one of a short search over every level of feeding."""
        curve = self.model.curve
        assert curve is not None
        if self.model.part.by_point:
            return answer
        lower = self.model.bound(curve.low, curve.high)
        if lower is None or lower.objective >= answer.objective - _SAME * abs(answer.objective):
            return answer
        return self._cheaper(answer, _FEW_LPS, GAP_TARGET)

    def _cheaper(self, answer: Answer, most_lps: int, gap: float) -> Answer:
        """The same answer, or a cheaper one of a search over every level of feeding."""
        level = self._level
        best = search_levels(self.model, answer.objective, q_of(answer), most_lps, gap).best
        if best is None:
            self._hold(level)
            return answer
        self._take(best)
        if best.point is not None:
            return best.answer
        settled = self._settle()
        if settled is not None and settled.objective <= best.answer.objective:
            return settled
        best = polish(self.model, best)
        self._take(best)
        return best.answer

    def _take(self, best: AtQ) -> None:
        """Go on from a ration of a metabolisability: its dry matter and its level of feeding."""
        assert self.model.need is not None
        self._dm = best.answer.dm_kg
        if best.point is not None:
            self.model.hold_level(0, best.point)
            return
        self.model.set_level(self.model.need.feeding_level(best.q))

    def lower_bound(self) -> float:
        """No ration costs less, at any level of feeding, as things are held [currency a head a
        day].

        −inf where the last question had no answer. A bound from our own numbers (model/levels.py,
        model/proof.py).
        """
        last, level = self._last, self._level
        if last is None:
            return -inf
        if self.model.curve is None:
            return dual_bound(self.model.live.numbers(), last.solution.row_duals)
        bound = search_levels(self.model, last.objective, q_of(last)).lower_bound
        self._hold(level)
        return min(bound, last.objective)

    def _hold(self, level: Held) -> None:
        """Hold what the rows were held at before."""
        if isinstance(level, Point):
            self.model.hold_level(0, level)
        else:
            self.model.set_level(level)

    def _told(self) -> SettledRation:
        """The last answer, as those who ask are told it."""
        last = self._last
        if last is None:
            return NONE
        duals = last.solution.row_duals
        return SettledRation(
            last.objective, self.model.amounts(last), duals, last.dm_kg, number_held(self._level)
        )

    def _settle(self) -> Answer | None:
        """The settled answer, or a cheaper one held at the proven one's metabolisability."""
        model = self.model
        if model.need is not None and model.curve is None:
            return None
        answer = model.settled((self._dm,))
        if answer is not None:
            self._dm = answer.dm_kg
        if self.proven is None or self.proven.held_q is None or model.need is None:
            return answer
        level = number_held(self._level)
        at_held_q = at_q(model, self.proven.held_q)
        if at_held_q is not None:
            at_held_q = polish(model, AtQ(self.proven.held_q, at_held_q)).answer
        free_q(model)
        if at_held_q is not None and (answer is None or at_held_q.objective < answer.objective):
            self._dm, level, answer = (
                at_held_q.dm_kg,
                model.need.feeding_level(q_of(at_held_q)),
                at_held_q,
            )
        model.set_level(level)
        return answer

    def _searched(self) -> Answer | None:
        """From several starts, with the shortage open, then settled at its own D."""
        self.model.care = FROM_ANYWHERE
        if self.model.part.by_point:
            best = search_levels(self.model, inf, None).best
            self.model.care = FROM_NEARBY
            if best is None:
                return None
            self._take(best)
            return best.answer
        answer = self.model.search_from()
        self.model.care = FROM_NEARBY
        if answer is None or not answer.adequate:
            return None
        self._dm = answer.dm_kg
        return self._settle()
