"""The last programme of a group, to be read by a person or by any solver: rows in words, and the
open LP text format.

The text is written from our own rows and numbers; no solver library writes it. Names are a readable
slug and a number.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from math import inf

from rationlp.model.block_ration import Optimum
from rationlp.model.levels import ask_at_q
from rationlp.model.lp import Column, Key, Row
from rationlp.model.rows.block import Block
from rationlp.model.search import BlockModel, opened
from rationlp.records import dataclass

NARROW = 1e-7
"""Half the interval of D in which the last row touches a bent curve [share]."""

_SLUG = re.compile(r"[^a-z0-9]+")
_LONGEST_SLUG = 60
_TERMS_A_LINE = 4


@dataclass(frozen=True)
class Trace:
    """The last programme of a group as its proof used it."""

    group: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    objective: float


def settled_model(block: Block, optimum: Optimum, width: float = 0.03) -> BlockModel | None:
    """The model as the proof left it: level of feeding held, energy row touching at the answer's
    own dry matter, or its metabolisability held.

    width: where the curve bends, half the interval of dry matter on which the row is safe [share of
    the answer's own].
    """
    model = opened(block)
    if block.needs.energy is None or optimum.level is None:
        return model
    if model.curve is None:
        return None
    if optimum.point is not None:
        model.hold_level(0, optimum.point)
        model.allow_shortage(False)
        model.touch((optimum.dm_kg,))
        return model
    model.set_level(optimum.level)
    if optimum.held_q is not None:
        model.allow_shortage(False)
        ask_at_q(model, optimum.held_q)
        return model
    model.allow_shortage(False)
    span = model.curve.high - model.curve.low
    model.touch((optimum.dm_kg,), width * optimum.dm_kg / span)
    return model


def last_programme(block: Block, optimum: Optimum) -> Trace | None:
    """The programme whose optimum the ration is, ceiling cuts included, or None."""
    model = settled_model(block, optimum, NARROW)
    if model is None:
        return None
    answer = model.solve(cold=True)
    if answer is None:
        return None
    live = model.live
    columns = tuple(
        replace(column, cost=live.cost[j], low=live.col_low[j], high=live.col_high[j])
        for j, column in enumerate(live.program.columns)
    )
    keys = [column.key for column in columns]
    rows = tuple(
        replace(
            row,
            coefs={keys[j]: value for j, value in live.coefs[i].items() if value},
            low=live.row_low[i],
            high=live.row_high[i],
        )
        for i, row in enumerate(live.rows)
    )
    return Trace(block.group.id, columns, rows, answer.objective)


def lp_text(traces: Sequence[Trace]) -> str:
    """Programmes of one or more groups as one minimisation in the open LP text format; their costs
    a head a day are added.
    """
    lines = [
        "\\ Least-cost rations, a head a day of each group; groups do not touch one another.",
        *(f"\\ {_ascii(trace.group)}: least cost {trace.objective:.9g}" for trace in traces),
        "Minimize",
    ]
    names, rows = _names(traces), [row for trace in traces for row in trace.rows]
    costs = {column.key: column.cost for trace in traces for column in trace.columns if column.cost}
    lines += _sum("cost", costs, names)
    lines.append("Subject To")
    for number, row in enumerate(rows, 1):
        lines += _row_lines(row, number, names)
    lines.append("Bounds")
    lines += [_bound_line(column, names) for trace in traces for column in trace.columns]
    return "\n".join([*lines, "End", ""])


def _names(traces: Iterable[Trace]) -> dict[Key, str]:
    columns = [column for trace in traces for column in trace.columns]
    return {column.key: f"{slug(column.key)}_{number}" for number, column in enumerate(columns, 1)}


def slug(key: Key) -> str:
    """A key as a name for every reader of the format: small letters, figures, underscores."""
    found = _SLUG.sub("_", "_".join(key[:-1] or key).lower()).strip("_")
    return found[:_LONGEST_SLUG] or "row"


def _ascii(text: str) -> str:
    return text.encode("ascii", "replace").decode("ascii")


def _number(value: float) -> str:
    return f"{value:.17g}"


def _terms(coefs: dict[Key, float], names: dict[Key, str]) -> list[str]:
    return [
        f"{'-' if value < 0 else '+'} {_number(abs(value))} {names[key]}"
        for key, value in coefs.items()
    ]


def _sum(name: str, coefs: dict[Key, float], names: dict[Key, str]) -> list[str]:
    """A named sum, a few terms a line: some readers refuse long lines."""
    terms = _terms(coefs, names) or [f"+ 0 {next(iter(names.values()))}"]
    lines = [" ".join(terms[at : at + _TERMS_A_LINE]) for at in range(0, len(terms), _TERMS_A_LINE)]
    return [f" {name}: {lines[0]}", *(f"   {line}" for line in lines[1:])]


def _row_lines(row: Row, number: int, names: dict[Key, str]) -> Iterator[str]:
    """A row as an equation, or an inequality a side; none for a row without coefficients."""
    if not row.coefs:
        return
    name = f"{slug(row.key)}_{number}"
    if row.low == row.high:
        sides = [("", "=", row.low)]
    else:
        sides = []
        if row.low > -inf:
            sides = [("_least", ">=", row.low)]
        sides += [("_most", "<=", row.high)] if row.high < inf else []
    for end, sign, bound in sides:
        lines = _sum(f"{name}{end}", row.coefs, names)
        yield from lines[:-1]
        yield f"{lines[-1]} {sign} {_number(bound)}"


def _bound_line(column: Column, names: dict[Key, str]) -> str:
    low = "-inf" if column.low == -inf else _number(column.low)
    name = names[column.key]
    if column.high == inf:
        if column.low > -inf:
            return f" {name} >= {low}"
        return f" {name} free"
    return f" {low} <= {name} <= {_number(column.high)}"
