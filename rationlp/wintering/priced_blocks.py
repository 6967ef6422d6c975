"""The blocks of a large winter: taken apart, each alone at prices, and where those that are mixed
stand in the joint programme. What for, and by which formulas: prices.py.

A row over at most two runs (one mix for two groups, the concentrate of ewes in lamb) lies inside a
block; what is shared by more (stores, what is bought, outlets) ties the blocks. A block is a group,
or the groups of one mix; a piece of it is a run, or the runs that rows inside the block tie.

A basis of the joint programme has as many further basic columns or rows among the pieces as tying
rows press. Which they are is not told by the answers that are mixed. With every other piece held at
the answer that it is, the mixed pieces and the columns beside are a programme of a few hundred
rows, and where that stands they stand:

    min Σ_mixed c_g·x_g + c_0·x_0,   x_g ∈ X_g,
    l ≤ Σ_mixed A_g x_g + A_0 x_0 + Σ_others A_g x_g ≤ u   (the last sum held)
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import inf
from typing import Protocol

from rationlp.model.care import TOGETHER
from rationlp.model.lp import Column, Key, Program, Row
from rationlp.model.settle import SettledModel
from rationlp.model.solution import Status
from rationlp.model.solve import BASIC, Basis, LiveModel
from rationlp.records import dataclass
from rationlp.wintering.search import WinterModel

SETTLINGS = 3
"""How often a block moves its energy rows and levels of feeding at prices."""


@dataclass(frozen=True)
class Tied:
    """blocks: the runs of each. pieces: the piece of each run. columns, rows: of every block, by
    number in the joint programme. piece_of: of every column, None where it is no block's.
    piece_of_row: of the rows of blocks. tying: rows that tie blocks; beside: columns that are no
    block's.
    """

    blocks: tuple[tuple[int, ...], ...]
    columns: tuple[tuple[int, ...], ...]
    rows: tuple[tuple[int, ...], ...]
    piece_of: tuple[int | None, ...]
    piece_of_row: Mapping[int, int]
    pieces: int
    tying: tuple[int, ...]
    beside: tuple[int, ...]


class _Groups:
    """Runs that belong together, by the first of them."""

    def __init__(self, count: int) -> None:
        self._before = list(range(count))

    def first(self, number: int) -> int:
        while self._before[number] != number:
            number = self._before[number]
        return number

    def join(self, numbers: Iterable[int]) -> None:
        firsts = sorted({self.first(number) for number in numbers})
        for number in firsts[1:]:
            self._before[number] = firsts[0]


def take_apart(model: WinterModel) -> Tied:
    """The blocks of a winter and what ties them."""
    live = model.live
    run_of: list[int | None] = [None] * len(live.cost)
    rows_of: list[int] = []
    for number, single in enumerate(model.singles):
        for column in single.program.columns:
            run_of[live.column_index[column.key]] = number
        rows_of += [number] * len(single.program.rows)
    links = range(model.first_link, len(live.program.rows))
    tying = _tying(model, run_of, links)
    pieces, blocks = _Groups(len(model.runs)), _Groups(len(model.runs))
    named: dict[str, int] = {}
    for number, run in enumerate(model.runs):
        blocks.join((named.setdefault(run.block.group.id, number), number))
    inside: dict[int, int] = {}
    for i in links:
        runs = _runs(model, run_of, i)
        if i not in tying:
            pieces.join(runs)
            blocks.join(runs)
            inside[i] = min(runs)
            for j in live.coefs[i]:
                if run_of[j] is None:
                    run_of[j] = min(runs)
    return _sorted_out(pieces, blocks, run_of, (rows_of, inside), tying)


def _runs(model: WinterModel, run_of: list[int | None], row: int) -> set[int]:
    owners = (run_of[j] for j in model.live.coefs[row])
    return {number for number in owners if number is not None}


def _tying(model: WinterModel, run_of: list[int | None], links: range) -> set[int]:
    """Rows over more than two runs or none, and those that share a column of no run with one."""
    coefs = model.live.coefs
    tying = {i for i in links if len(_runs(model, run_of, i)) not in (1, 2)}
    while True:
        shared = {j for i in tying for j in coefs[i] if run_of[j] is None}
        more = {i for i in links if i not in tying and not shared.isdisjoint(coefs[i])}
        if not more:
            return tying
        tying |= more


def _sorted_out(
    pieces: _Groups,
    blocks: _Groups,
    run_of: list[int | None],
    rows: tuple[list[int], dict[int, int]],
    tying: set[int],
) -> Tied:
    order: dict[int, list[int]] = {}
    number_of: dict[int, int] = {}
    rows_of, inside = rows
    for number in range(len(pieces._before)):
        order.setdefault(blocks.first(number), []).append(number)
        number_of.setdefault(pieces.first(number), len(number_of))
    columns: dict[int, list[int]] = {first: [] for first in order}
    of_block: dict[int, list[int]] = {first: [] for first in order}
    piece_of: list[int | None] = []
    beside: list[int] = []
    for j, owner in enumerate(run_of):
        if owner is None:
            piece_of.append(None)
            beside.append(j)
        else:
            piece_of.append(number_of[pieces.first(owner)])
            columns[blocks.first(owner)].append(j)
    piece_of_row: dict[int, int] = {}
    for i, number in [*enumerate(rows_of), *inside.items()]:
        of_block[blocks.first(number)].append(i)
        piece_of_row[i] = number_of[pieces.first(number)]
    return Tied(
        tuple(map(tuple, order.values())),
        tuple(map(tuple, columns.values())),
        tuple(map(tuple, of_block.values())),
        tuple(piece_of),
        piece_of_row,
        len(number_of),
        tuple(sorted(tying)),
        tuple(beside),
    )


def block_model(model: WinterModel, tied: Tied, number: int) -> SettledModel:
    """A block in the solver by itself; its costs are what changes."""
    program = model.live.program
    columns = tuple(program.columns[j] for j in tied.columns[number])
    rows = tuple(program.rows[i] for i in tied.rows[number])
    parts = [model.singles[run] for run in tied.blocks[number]]
    return SettledModel(
        Program(columns, rows, checked=True), parts, model.short_price, repriced=True
    )


@dataclass(frozen=True)
class Piece:
    """A piece as it stands in its block: columns and rows by number there, with those of the
    ceilings of its runs.
    """

    live: LiveModel
    columns: tuple[int, ...]
    rows: tuple[int, ...]
    costs: Mapping[Key, float]


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


def stand_of_mixed(
    model: WinterModel, tied: Tied, pieces: Iterable[Piece], values: Sequence[float]
) -> dict[Key, int] | None:
    """Where the columns and rows of mixed pieces, the columns beside and the tying rows stand, by
    key; None where that has no answer. values: of all columns of the joint programme, the other
    pieces at the answers that they are.
    """
    whole = model.live
    columns = [whole.program.columns[j] for j in tied.beside]
    rows: list[Row] = []
    for piece in pieces:
        live = piece.live
        keys = [column.key for column in live.program.columns]
        for n in piece.columns:
            cost = piece.costs.get(keys[n], 0.0)
            columns.append(Column(keys[n], cost, live.col_low[n], live.col_high[n]))
        for i in piece.rows:
            coefs = {keys[j]: value for j, value in live.coefs[i].items()}
            rows.append(Row(live.rows[i].key, coefs, live.row_low[i], live.row_high[i]))
    index = whole.column_index
    own = {index[column.key]: column.key for column in columns}
    for i in tied.tying:
        coefs, held = {}, 0.0
        for j, value in whole.coefs[i].items():
            if j in own:
                coefs[own[j]] = value
            else:
                held += value * values[j]
        sides = whole.row_low[i] - held, whole.row_high[i] - held
        rows.append(Row(whole.rows[i].key, coefs, *sides))
    small = LiveModel(Program(tuple(columns), tuple(rows)))
    if small.solve().status is not Status.OPTIMAL:
        return None
    of_columns, of_rows = small.basis()
    stands = dict(zip((column.key for column in columns), of_columns, strict=True))
    return {**stands, **dict(zip((row.key for row in rows), of_rows, strict=True))}
