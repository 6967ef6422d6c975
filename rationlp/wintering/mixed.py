"""The pieces of a winter that its best mixture really mixes, as one small programme.

A basis of the joint programme has as many further basic columns or rows among the pieces as tying
rows press. Which they are is not told by the answers that are mixed. With every other piece held at
the answer that it is, the mixed pieces and the columns beside are a programme of a few hundred
rows,

    min Σ_mixed c_g·x_g + c_0·x_0,   x_g ∈ X_g,
    l ≤ Σ_mixed A_g x_g + A_0 x_0 + Σ_others A_g x_g ≤ u   (the last sum held)

and where it stands they stand.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from rationlp.model.lp import Column, Key, Program, Row
from rationlp.model.solution import Status
from rationlp.model.solve import LiveModel
from rationlp.records import dataclass
from rationlp.wintering.search import WinterModel
from rationlp.wintering.tied import Tied


@dataclass(frozen=True)
class Piece:
    """A piece as it stands in its block: columns and rows by number there, with those of the
    ceilings of its runs.
    """

    live: LiveModel
    columns: tuple[int, ...]
    rows: tuple[int, ...]
    costs: Mapping[Key, float]


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
