"""Where a large winter begins: prices on the rows that tie its blocks, found block by block.

    min Σ_g c_g·x_g + c_0·x_0,   x_g ∈ X_g (a block's own rows),   l ≤ Σ_g A_g x_g + A_0 x_0 ≤ u

with few tying rows (stores, what is bought, outlets) and many blocks. At marginal values y of those
rows (≥ 0 where l presses, ≤ 0 where u does) every block stands alone:

    θ_g(y) = min over X_g of (c_g − A_gᵀy)·x_g
    L(y) = Σ_g θ_g(y) + Σ_i y_i·(l_i or u_i) ≤ the cost of every plan

where no column beside the blocks would gain at y. A small master programme mixes the answers x_gj
seen so far, each with its cost and its use of the tying rows, and its duals are the next y:

    min Σ cost_gj λ_gj + c_0·x_0 + high·p − low·m
    l ≤ Σ use_gj λ_gj + A_0 x_0 + p − m ≤ u,   Σ_j λ_gj = 1,   λ, p, m ≥ 0

The columns p and m hold y within a box [low, high] around the best prices so far: wider where the
bound rose, narrower where it did not (box step, stabilised column generation). An answer is taken
apart into pieces, the runs that no row inside the block ties: so no more than one piece a pressing
row is a true mixture in the end.

Energy rows and levels of feeding are held meanwhile. At the first good prices each block settles
its own (model/settle.py), and the prices are found once more, exactly; what is left to move the
joint programme moves, as in a winter of any size.

The outcome is no plan but a basis: of every piece where it stands in the answer that it is, and of
the few pieces that are mixed, of the tying rows and of the columns beside where they stand when
the other pieces are held (priced_blocks.py). It is an optimum of the joint programme, which goes
on from there, so a plan, its certificate and its marginal values are the joint programme's own and
the proof (wintering/bound.py) is that of any plan.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from math import inf
from operator import mul

from rationlp.errors import SolverTrouble
from rationlp.model.lp import Column, Key, Program, Row
from rationlp.model.solution import Status
from rationlp.model.solve import BASIC, Basis, LiveModel
from rationlp.wintering.collector import collector_paused
from rationlp.wintering.links import KG_PER_T
from rationlp.wintering.priced_blocks import Block, Piece, Seen, Tied, stand_of_mixed, take_apart
from rationlp.wintering.search import WinterModel

MOST_PASSES = 60
"""Prices not found by then are left to the joint programme."""
GAP, WIDE_GAP, ROUGH_GAP = 1e-9, 1e-6, 1e-4
"""Between mixture and bound: at which prices stand, at which they serve after the last pass, and at
which blocks are settled [share of the cost]. At the first the basis found is the optimum itself; at
the second the joint programme takes hundreds of steps from it.
"""
WARM_BOX = 0.05
"""The box around prices found before [share of that around none]."""
WIDER, NARROWER, MUCH_WIDER = 1.5, 0.7, 4.0
_AGREES = 1e-7
_WITHIN = 1e-9


class Master:
    """The answers seen, the columns beside the blocks, and the box in which prices are sought.

    best: the best bound yet, at the prices `centre`; radius: of the box around them [currency a
    unit of each tying row].
    """

    def __init__(
        self, model: WinterModel, tied: Tied, radius: float, centre: Sequence[float] | None = None
    ) -> None:
        program = model.live.program
        beside = tuple(program.columns[j] for j in tied.beside)
        known = {column.key for column in beside}
        rows = [program.rows[i] for i in tied.tying]
        alone = [
            Row(row.key, {k: v for k, v in row.coefs.items() if k in known}, row.low, row.high)
            for row in rows
        ]
        alone += [Row(("piece", str(number)), {}, 1.0, 1.0) for number in range(tied.pieces)]
        self.live = LiveModel(Program(beside, tuple(alone)), repriced=True)
        self.best, self.radius = -inf, radius
        self.centre = [0.0] * len(rows) if centre is None else list(centre)
        self.seen: list[Seen] = []
        self.shares: list[float] = []
        self.prices: list[float] = []
        self._known: set[tuple[int, tuple[float, ...]]] = set()
        self._tying, self._beside = len(rows), len(beside)
        self._boxes: list[tuple[Key, Key]] = []
        self._costs: dict[Key, float] = {column.key: column.cost for column in beside}
        for place in range(self._tying):
            keys = ("plus", str(place)), ("minus", str(place))
            for key, sign in zip(keys, (1.0, -1.0), strict=True):
                self.live.add_column(Column(key), {place: sign})
            self._boxes.append(keys)
        self.first = self._beside + 2 * self._tying

    def is_new(self, piece: int, values: tuple[float, ...]) -> bool:
        """Whether a piece of an answer was not seen before; it counts as seen from now on."""
        known = len(self._known)
        self._known.add((piece, values))
        return len(self._known) > known

    def add(self, seen: Seen, cost: float, use: Mapping[int, float]) -> None:
        """Add a piece of an answer. use: of tying rows by place."""
        key = ("seen", str(len(self.seen)))
        self.live.add_column(Column(key, cost), {**use, self._tying + seen.piece: 1.0})
        self._costs[key] = cost
        self.seen.append(seen)

    def bound(self, total: float, prices: Sequence[float]) -> float:
        """L at these prices; total: Σ θ of the blocks. −inf where a column beside would gain."""
        live = self.live
        reduced = [column.cost for column in live.program.columns]
        for place, price in enumerate(prices):
            side = live.row_low[place] if price > 0.0 else live.row_high[place]
            if price:
                total += price * side
            for j in range(self._beside):
                reduced[j] -= price * live.coefs[place].get(j, 0.0)
        for j, cost in enumerate(reduced):
            side = live.col_low[j] if cost > 0.0 else live.col_high[j]
            if abs(cost) > _WITHIN * max(1.0, abs(live.cost[j])):
                total += cost * side
        return total

    def move(self, bound: float, prices: Sequence[float]) -> None:
        """A bound at new prices: the box goes along and widens, or it narrows."""
        if bound > self.best:
            self.best, self.centre = bound, list(prices)
            self.radius *= WIDER
        elif self.best > -inf:
            self.radius *= NARROWER

    def mix(self) -> tuple[list[float], float, float] | None:
        """(next prices, cost of the best mixture of answers, inf where it breaks a tying row, and
        the same with the box's own columns); None where the box shuts every price out.
        """
        for (plus, minus), price in zip(self._boxes, self.centre, strict=True):
            self._costs[plus], self._costs[minus] = self.radius + price, self.radius - price
        live = self.live
        live.set_costs(self._costs)
        solution = live.solve()
        if solution.status is not Status.OPTIMAL:
            return None
        values = list(solution.values)
        values[self._beside : self.first] = [0.0] * (2 * self._tying)
        cost = sum(map(mul, live.cost, values))
        for place in range(self._tying):
            entries = [values[j] * value for j, value in live.coefs[place].items()]
            reach = _WITHIN * (1.0 + sum(map(abs, entries)))
            low, high = live.row_low[place] - reach, live.row_high[place] + reach
            if not low <= sum(entries) <= high:
                cost = inf
        self.shares = values[self.first :]
        self.prices = list(solution.row_duals[: self._tying])
        return self.prices, cost, solution.objective

    def at_edge(self, prices: Sequence[float]) -> bool:
        """Whether a price stands on the edge of the box."""
        pairs = zip(prices, self.centre, strict=True)
        return any(abs(price - centre) >= self.radius * (1.0 - _WITHIN) for price, centre in pairs)

    def most(self) -> dict[int, Seen]:
        """The answer that most of each piece is, by piece."""
        most: dict[int, tuple[float, Seen]] = {}
        for seen, share in zip(self.seen, self.shares, strict=True):
            if seen.piece not in most or share > most[seen.piece][0]:
                most[seen.piece] = (share, seen)
        return {piece: seen for piece, (_, seen) in sorted(most.items())}

    def mixed(self) -> set[int]:
        """Pieces that more than one answer is basic for."""
        columns = self.live.basis()[0][self.first :]
        pairs = zip(self.seen, columns, strict=True)
        count = Counter(seen.piece for seen, status in pairs if status == BASIC)
        return {piece for piece, basic in count.items() if basic > 1}


@collector_paused()
def start_by_prices(model: WinterModel, touches: Sequence[float]) -> list[float]:
    """Put a winter at the optimum of its programme with energy rows and levels of feeding that the
    blocks settled at good prices; the D at which the rows touch [kg DM]. Where no prices are found
    the joint programme begins from nothing.
    """
    tied, at, usual = take_apart(model), list(touches), _usual_price(model)
    blocks = [Block(model, tied, number, at) for number in range(len(tied.blocks))]
    first = Master(model, tied, usual)
    try:
        if not _find_prices(blocks, first, ROUGH_GAP):
            return at
        for block in blocks:
            block.settle(first.centre)
            for part, run in enumerate(block.runs):
                at[run] = block.touches[part]
                model.hold_level(run, *block.model.levels[part])
        # Answers seen before keep to other rows: they go, and the prices stay.
        master = Master(model, tied, usual * WARM_BOX, first.centre)
        if _find_prices(blocks, master, GAP):
            basis = _joint_basis(model, tied, blocks, master)
            if basis is not None:
                model.live.begin_at(basis)
    except SolverTrouble:
        # A place to begin is a help, not a need: the joint programme begins from nothing.
        return at
    return at


def _usual_price(model: WinterModel) -> float:
    """What a tonne costs or fetches at most [currency]: the box to begin with holds every price."""
    offers = [abs(offer.price_per_kg_dm) * KG_PER_T for offer in model.yard.farm.offers]
    outlets = [
        abs(outlet.price_per_t_dm or outlet.price_per_t_fresh or 0.0)
        for outlet in model.yard.farm.outlets
    ]
    return max(*offers, *outlets, 1.0)


def _find_prices(blocks: Sequence[Block], master: Master, gap: float) -> bool:
    """Passes until mixture and bound agree to a gap [share of the cost]; whether they do, or after
    the last pass nearly do.
    """
    prices, close = master.centre, False
    for _ in range(MOST_PASSES):
        total = 0.0
        for block in blocks:
            total += block.solve(prices)
            if total == inf:
                return False
            block.show(master)
        master.move(master.bound(total, prices), prices)
        mixture = master.mix()
        if mixture is None:
            master.radius *= MUCH_WIDER
            continue
        prices, cost, value = mixture
        close = cost < inf and cost - master.best <= WIDE_GAP * abs(cost)
        if cost < inf and cost - master.best <= gap * abs(cost):
            return True
        agrees = value - master.best <= _AGREES * abs(value)
        if agrees and (cost == inf or master.at_edge(prices)):
            master.radius *= MUCH_WIDER
    return close


def _joint_basis(
    model: WinterModel, tied: Tied, blocks: Sequence[Block], master: Master
) -> Basis | None:
    """The basis of each piece where the answer that it is stands; of mixed pieces, of the tying
    rows and of the columns beside where they stand with the others held. None where that has no
    answer.
    """
    live, most, mixed = model.live, master.most(), master.mixed()
    columns, rows, values = [0] * len(live.cost), [BASIC] * len(live.rows), [0.0] * len(live.cost)
    pieces: list[Piece] = []
    for block in blocks:
        block.stand_at(most, master.prices)
        of_columns, of_rows = block.model.live.basis()
        for n, j in enumerate(block.columns):
            columns[j], values[j] = of_columns[n], block.values[n]
        for i, status in zip(block.rows, of_rows[: len(block.rows)], strict=True):
            rows[i] = status
        pieces += (block.piece(number) for number in sorted(block.pieces & mixed))
        # Tangents of energy ceilings that press in a block are rows of the joint programme too.
        for cut, status in zip(block.cuts(), of_rows[len(block.rows) :], strict=True):
            if status != BASIC:
                model.take_cut(cut)
                rows.append(status)
    stands = stand_of_mixed(model, tied, pieces, values)
    if stands is None:
        return None
    for side, index in ((columns, live.column_index), (rows, live.row_index)):
        for key in stands.keys() & index.keys():
            side[index[key]] = stands[key]
    return columns, rows
