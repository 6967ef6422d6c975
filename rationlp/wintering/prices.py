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

Energy rows and levels of feeding are held meanwhile; they are moved by the joint programme, as in
a winter of any size (model/settle.py).

The outcome is no plan but a basis: of every block at the best prices, of the tying rows in the
master, and of each mixed piece as many further columns or rows as it mixes answers. The joint
programme goes on from there, a few steps from its optimum, so a plan, its certificate and its
marginal values are the joint programme's own and the proof (wintering/bound.py) stays as it is.
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
from rationlp.records import dataclass
from rationlp.wintering.collector import collector_paused
from rationlp.wintering.links import KG_PER_T
from rationlp.wintering.search import WinterModel
from rationlp.wintering.tied import Tied, block_model, take_apart

MOST_PASSES = 60
"""Prices not found by then are left to the joint programme."""
GAP = 1e-6
"""Between mixture and bound, at which prices stand [share of the cost]."""
WIDER, NARROWER, MUCH_WIDER = 1.5, 0.7, 4.0
_AGREES = 1e-7
_WITHIN = 1e-9
_INSIDE = 1e-7


class Block:
    """A block alone in the solver, at prices. columns, rows: by number in the joint programme."""

    def __init__(
        self, model: WinterModel, tied: Tied, number: int, touches: Sequence[float]
    ) -> None:
        live = model.live
        self.model = block_model(model, tied, number)
        self.runs, self.columns = tied.blocks[number], tied.columns[number]
        self.rows = tied.rows[number]
        self.model.allow_shortage(True)
        for part, run in enumerate(self.runs):
            self.model.hold_level(part, *model.levels[run])
        self.model.touch([touches[run] for run in self.runs])
        self.values: tuple[float, ...] = ()
        keys = {j: live.program.columns[j].key for j in self.columns}
        uses: dict[int, list[tuple[int, float]]] = {}
        for place, i in enumerate(tied.tying):
            for j in keys.keys() & live.coefs[i].keys():
                uses.setdefault(j, []).append((place, live.coefs[i][j]))
        self._uses: list[tuple[Key, list[tuple[int, float]]]] = [
            (keys[j], uses[j]) for j in sorted(uses)
        ]
        self._pieces: dict[int, list[int]] = {}
        for n, j in enumerate(self.columns):
            self._pieces.setdefault(tied.piece_of[j] or 0, []).append(n)
        self._use = [uses.get(j, []) for j in self.columns]
        costs = {**self.model.costs, **self.model.short_costs}
        self._cost = [costs.get(keys[j], 0.0) for j in self.columns]

    def solve(self, prices: Sequence[float]) -> float:
        """θ at these prices [currency]; inf where the block has no answer at all."""
        costs = {**self.model.costs, **self.model.short_costs}
        for key, uses in self._uses:
            charged = sum(prices[place] * value for place, value in uses)
            costs[key] = costs.get(key, 0.0) - charged
        self.model.live.set_costs(costs)
        answer = self.model.solve()
        if answer is None:
            return inf
        self.values = answer.solution.values
        return answer.objective

    def show(self, master: Master) -> None:
        """Add the pieces of the last answer to the master."""
        for piece, places in self._pieces.items():
            values = tuple([self.values[n] for n in places])
            cost, use = 0.0, dict[int, float]()
            for n, value in zip(places, values, strict=True):
                if value:
                    cost += self._cost[n] * value
                    for place, per in self._use[n]:
                        use[place] = use.get(place, 0.0) + per * value
            master.add(Seen(piece, tuple([self.columns[n] for n in places]), values), cost, use)


@dataclass(frozen=True)
class Seen:
    """A piece of an answer: its number, its columns of the joint programme and their values."""

    piece: int
    columns: tuple[int, ...]
    values: tuple[float, ...]


class Master:
    """The answers seen, the columns beside the blocks, and the box in which prices are sought.

    best: the best bound yet, at the prices `centre`; radius: of the box around them [currency a
    unit of each tying row].
    """

    def __init__(self, model: WinterModel, tied: Tied, radius: float) -> None:
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
        self.best, self.centre, self.radius = -inf, [0.0] * len(rows), radius
        self.seen: list[Seen] = []
        self.shares: list[float] = []
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

    def add(self, seen: Seen, cost: float, use: Mapping[int, float]) -> None:
        """Add a piece of an answer unless the same was seen. use: of tying rows by place."""
        mark = (seen.piece, seen.values)
        if mark in self._known:
            return
        self._known.add(mark)
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
        return list(solution.row_duals[: self._tying]), cost, solution.objective

    def at_edge(self, prices: Sequence[float]) -> bool:
        """Whether a price stands on the edge of the box."""
        pairs = zip(prices, self.centre, strict=True)
        return any(abs(price - centre) >= self.radius * (1.0 - _WITHIN) for price, centre in pairs)

    def mixed(self) -> dict[int, int]:
        """Pieces that more than one answer is basic for, and how many more."""
        columns = self.live.basis()[0][self.first :]
        basic = [
            one.piece for one, status in zip(self.seen, columns, strict=True) if status == BASIC
        ]
        return {piece: count - 1 for piece, count in Counter(basic).items() if count > 1}


@collector_paused()
def start_by_prices(model: WinterModel, touches: Sequence[float]) -> None:
    """Put a winter at a basis a few steps from its optimum with energy rows that touch at these D
    [kg DM]. Where no prices are found nothing is changed.
    """
    tied = take_apart(model)
    blocks = [Block(model, tied, number, touches) for number in range(len(tied.blocks))]
    master = Master(model, tied, _usual_price(model))
    try:
        if _find_prices(blocks, master):
            model.live.begin_at(_joint_basis(model, tied, blocks, master))
    except SolverTrouble:
        # A place to begin is a help, not a need: the joint programme begins from nothing.
        return


def _usual_price(model: WinterModel) -> float:
    """What a tonne costs or fetches at most [currency]: the box to begin with holds every price."""
    offers = [abs(offer.price_per_kg_dm) * KG_PER_T for offer in model.yard.farm.offers]
    outlets = [
        abs(outlet.price_per_t_dm or outlet.price_per_t_fresh or 0.0)
        for outlet in model.yard.farm.outlets
    ]
    return max(*offers, *outlets, 1.0)


def _find_prices(blocks: Sequence[Block], master: Master) -> bool:
    """Passes until mixture and bound agree; whether they do. The blocks then stand at the best
    prices.
    """
    prices = master.centre
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
        if cost - master.best <= GAP * abs(cost) and cost < inf:
            for block in blocks:
                block.solve(master.centre)
            return True
        agrees = value - master.best <= _AGREES * abs(value)
        if agrees and (cost == inf or master.at_edge(prices)):
            master.radius *= MUCH_WIDER
    return False


def _mixture(model: WinterModel, master: Master) -> list[float]:
    """Values of the joint programme's columns in the best mixture."""
    values = [0.0] * len(model.live.cost)
    for seen, share in zip(master.seen, master.shares, strict=True):
        if share > 0.0:
            for j, value in zip(seen.columns, seen.values, strict=True):
                values[j] += share * value
    return values


def _joint_basis(
    model: WinterModel,
    tied: Tied,
    blocks: Sequence[Block],
    master: Master,
) -> Basis:
    """The basis of all blocks, of the tying rows and the columns beside; of a mixed piece what lies
    between its bounds in the mixture comes in, as many as it mixes answers.
    """
    live, values = model.live, _mixture(model, master)
    columns, rows = [0] * len(live.cost), [BASIC] * len(live.rows)
    for block in blocks:
        of_columns, of_rows = block.model.live.basis()
        for j, status in zip(block.columns, of_columns, strict=True):
            columns[j] = status
        own = len(block.rows)
        for i, status in zip(block.rows, of_rows[:own], strict=True):
            rows[i] = status
        # Tangents of energy ceilings that press in a block are rows of the joint programme too.
        for cut, status in zip(block.model.live.rows[own:], of_rows[own:], strict=True):
            if status != BASIC:
                model.take_cut(cut)
                rows.append(status)
    of_columns, of_rows = master.live.basis()
    for j, status in zip(tied.beside, of_columns[: len(tied.beside)], strict=True):
        columns[j] = status
    for i, status in zip(tied.tying, of_rows[: len(tied.tying)], strict=True):
        rows[i] = status
    for piece, more in master.mixed().items():
        inside = _between(model, tied, piece, values, (columns, rows))
        for side, number in inside[:more]:
            side[number] = BASIC
    return columns, rows


def _between(
    model: WinterModel, tied: Tied, piece: int, values: Sequence[float], basis: Basis
) -> list[tuple[list[int], int]]:
    """Columns, then rows of a piece that are not basic and yet strictly between their bounds."""
    live = model.live
    own = {j for j, owner in enumerate(tied.piece_of) if owner == piece}
    columns, rows = [], []
    for j in own:
        if basis[0][j] != BASIC:
            room = min(values[j] - live.col_low[j], live.col_high[j] - values[j])
            columns.append((-room, j))
    for i, entries in enumerate(live.coefs):
        if basis[1][i] != BASIC and not own.isdisjoint(entries):
            activity = sum(value * values[j] for j, value in entries.items())
            rows.append((-min(activity - live.row_low[i], live.row_high[i] - activity), i))
    inside = [(basis[0], j) for room, j in sorted(columns) if room < -_INSIDE]
    return inside + [(basis[1], i) for room, i in sorted(rows) if room < -_INSIDE]
