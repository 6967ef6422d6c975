"""A block of a large winter alone in the solver, at prices on the rows that tie it to others, and
what it shows of its answers (prices.py says what for).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import inf
from typing import Protocol

from rationlp.model.care import TOGETHER
from rationlp.model.lp import Key, Row
from rationlp.model.solve import BASIC, Basis
from rationlp.records import dataclass
from rationlp.wintering.mixed import Piece
from rationlp.wintering.search import WinterModel
from rationlp.wintering.tied import Tied, block_model

SETTLINGS = 3
"""How often a block moves its energy rows and levels of feeding at prices."""


@dataclass(frozen=True)
class Seen:
    """A piece of an answer: its number, its columns of the joint programme and their values, where
    its columns and rows stand, and which tangents of ceilings press, by number in its block.
    """

    piece: int
    columns: tuple[int, ...]
    values: tuple[float, ...]
    stands: tuple[bytes, bytes]
    cuts: tuple[tuple[int, int], ...]


class Shown(Protocol):
    """Where a block shows the pieces of its answers."""

    def is_new(self, piece: int, values: tuple[float, ...]) -> bool:
        """Whether a piece of an answer was not seen before; it counts as seen from now on."""

    def add(self, seen: Seen, cost: float, use: Mapping[int, float]) -> None:
        """Add a piece of an answer, its cost [currency] and its use of the tying rows by place."""


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
        self.touches: tuple[float, ...] = tuple([touches[run] for run in self.runs])
        self.model.touch(self.touches, TOGETHER.reach)
        self.values: tuple[float, ...] = ()
        self._eaten = self.touches
        keys = {j: live.program.columns[j].key for j in self.columns}
        uses: dict[int, list[tuple[int, float]]] = {}
        for place, i in enumerate(tied.tying):
            for j in keys.keys() & live.coefs[i].keys():
                uses.setdefault(j, []).append((place, live.coefs[i][j]))
        self._uses: list[tuple[Key, list[tuple[int, float]]]] = [
            (keys[j], uses[j]) for j in sorted(uses)
        ]
        self._pieces: dict[int, tuple[list[int], list[int]]] = {}
        for n, j in enumerate(self.columns):
            self._pieces.setdefault(tied.piece_of[j] or 0, ([], []))[0].append(n)
        for n, i in enumerate(self.rows):
            self._pieces[tied.piece_of_row[i]][1].append(n)
        self._runs_of: dict[int, set[Key]] = {piece: set() for piece in self._pieces}
        for run in self.runs:
            dm = model.singles[run].dm
            self._runs_of[tied.piece_of[live.column_index[dm]] or 0].add(dm[-2:])
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
        self._eaten = answer.dm
        return answer.objective

    def settle(self, prices: Sequence[float]) -> None:
        """Move energy rows and levels of feeding to the answers at prices, a few times; the joint
        programme does the rest.
        """
        self.solve(prices)
        for _ in range(SETTLINGS):
            self.touches = self._eaten
            self.model.touch(self.touches, TOGETHER.reach)
            answer = self.model.solve()
            if answer is None:
                return
            self._eaten = answer.dm
            if answer.adequate:
                self.model.follow_levels(answer)

    def show(self, master: Shown) -> None:
        """Add the pieces of the last answer to the master, each with where it stands."""
        basis: Basis | None = None
        for piece, (places, _) in self._pieces.items():
            values = tuple([self.values[n] for n in places])
            if not master.is_new(piece, values):
                continue
            if basis is None:
                basis = self.model.live.basis()
            cost, use = 0.0, dict[int, float]()
            for n, value in zip(places, values, strict=True):
                if value:
                    cost += self._cost[n] * value
                    for place, per in self._use[n]:
                        use[place] = use.get(place, 0.0) + per * value
            master.add(self._seen(piece, values, basis), cost, use)

    def _seen(self, piece: int, values: tuple[float, ...], basis: Basis) -> Seen:
        places, rows = self._pieces[piece]
        of_columns, of_rows = basis
        stands = bytes([of_columns[n] for n in places]), bytes([of_rows[n] for n in rows])
        first, runs = len(self.rows), self._runs_of[piece]
        cuts = [
            (i, of_rows[i])
            for i in range(first, len(of_rows))
            if of_rows[i] != BASIC and self.model.live.rows[i].key[-2:] in runs
        ]
        columns = tuple([self.columns[n] for n in places])
        return Seen(piece, columns, values, stands, tuple(cuts))

    def stand_at(self, most: Mapping[int, Seen], prices: Sequence[float]) -> None:
        """Stand where answers seen before stood, and go on to an optimum at these prices."""
        columns, rows = [0] * len(self.columns), [BASIC] * len(self.model.live.rows)
        for piece, (places, own) in self._pieces.items():
            seen = most[piece]
            for n, status in zip(places, seen.stands[0], strict=True):
                columns[n] = status
            for n, status in zip(own, seen.stands[1], strict=True):
                rows[n] = status
            for i, status in seen.cuts:
                rows[i] = status
        self.model.live.begin_at((columns, rows))
        self.solve(prices)

    @property
    def pieces(self) -> set[int]:
        """The numbers of its pieces."""
        return set(self._pieces)

    def cuts(self) -> list[Row]:
        """The tangents of energy ceilings that it has."""
        return self.model.live.rows[len(self.rows) :]

    def piece(self, number: int) -> Piece:
        """One of its pieces as it stands in the solver."""
        places, rows = self._pieces[number]
        first, runs = len(self.rows), self._runs_of[number]
        cuts = [first + n for n, cut in enumerate(self.cuts()) if cut.key[-2:] in runs]
        costs = {**self.model.costs, **self.model.short_costs}
        return Piece(self.model.live, tuple(places), (*rows, *cuts), costs)
