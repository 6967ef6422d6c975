"""A winter's programme taken apart: the blocks that stand alone, and the rows that tie them.

A row over at most two runs (one mix for two groups, the concentrate of ewes in lamb) lies inside a
block; what is shared by more (stores, what is bought, outlets) ties the blocks. A block is a group,
or the groups of one mix; a piece of it is a run, or the runs that rows inside the block tie.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from rationlp.model.lp import Program
from rationlp.model.settle import SettledModel
from rationlp.records import dataclass
from rationlp.wintering.search import WinterModel


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
