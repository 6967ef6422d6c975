"""Tables to follow every step: the working of a need, the rows of a model in words."""

from __future__ import annotations

from collections.abc import Iterable
from math import inf

from rationlp.model.lp import Column as LpColumn
from rationlp.model.lp import Row
from rationlp.model.trace import Trace
from rationlp.needs.objects import GroupNeeds, Step
from rationlp.report.tables.table import Column, Table, table_of

_STEPS = (
    Column("step", "Step", of="name"),
    Column("value", "Value", "", 4),
    Column("unit", "Unit"),
    Column("equation", "How"),
    Column("source", "Source"),
    Column("status", "Status"),
)


def working_table(needs: GroupNeeds, steps: Iterable[Step]) -> Table:
    """From net energy to ME at the usual energy density, step by step, if there is such a need."""
    note = (
        "At the energy density of a usual ration of the class; the ration itself is solved at its"
        " own."
    )
    return table_of(
        "working", f"{needs.group}: the working of the energy need", steps, _STEPS, (note,)
    )


def rows_table(trace: Trace, name: str) -> Table:
    """The rows of a group's last programme: what is added up, and what it must be."""
    columns = (
        Column("row", "Row"),
        Column("sum", "Sum of"),
        Column("must_be", "must be"),
        Column("unit", "Unit"),
        Column("whose", "Whose rule"),
    )
    titles = {column.key: _title(column) for column in trace.columns}
    rows = [
        (
            _named(row),
            _terms(row.coefs.items(), titles),
            _between(row.low, row.high),
            row.unit,
            row.why,
        )
        for row in trace.rows
        if row.coefs
    ]
    costs = {column.key: column.cost for column in trace.columns if column.cost}
    rows.insert(0, ("cost", _terms(costs.items(), titles), "least", "a head a day", ""))
    bounded = [column for column in trace.columns if column.low > 0.0 or column.high < inf]
    rows += [
        (_title(column), "itself", _between(column.low, column.high), column.unit, "")
        for column in bounded
    ]
    return Table(
        "rows", f"{name}: the rows of the last programme, a head a day", columns, tuple(rows)
    )


def _title(column: LpColumn) -> str:
    return column.title or column.key[0].replace("_", " ")


def _named(row: Row) -> str:
    kind = row.key[0].replace("_", " ")
    if not row.title:
        return kind
    return f"{kind}: {row.title}"


def _terms(
    coefs: Iterable[tuple[tuple[str, ...], float]], titles: dict[tuple[str, ...], str]
) -> str:
    terms = " ".join(_term(value, titles[key]) for key, value in coefs)
    return terms.removeprefix("+ ")


def _term(value: float, title: str) -> str:
    if value < 0.0:
        return f"- {-value:.5g} {title}"
    return f"+ {abs(value):.5g} {title}"


def _between(low: float, high: float) -> str:
    if low == high:
        return f"= {low:.5g}"
    if high == inf:
        return f"≥ {low:.5g}"
    if low == -inf:
        return f"≤ {high:.5g}"
    return f"{low:.5g} to {high:.5g}"
