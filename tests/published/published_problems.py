"""The published problems as data, and each as a programme of the model. blending.json explains
status, signs, tolerance.
"""

from __future__ import annotations

import json
from functools import lru_cache
from math import inf
from pathlib import Path
from typing import Any

from scipy.optimize import OptimizeResult, linprog

from rationlp.model.lp import Column, Program, Row

HERE = Path(__file__).parent
Record = dict[str, Any]


@lru_cache(maxsize=1)
def records() -> dict[str, Record]:
    """Every record by id; not to be changed by the caller."""
    found: dict[str, Record] = {}
    for name in ("blending.json", "dairy-five-years.json"):
        for record in json.loads((HERE / name).read_text(encoding="utf-8"))["records"]:
            found[record["id"]] = record
    return found


@lru_cache(maxsize=1)
def after_the_optimum() -> Record:
    """Exact facts about the optima of some records; not to be changed by the caller."""
    facts: Record = json.loads((HERE / "after-the-optimum.json").read_text(encoding="utf-8"))
    return facts


def ids(kind: str, status: str | None = None, key: str | None = None) -> list[str]:
    """Ids of a kind; `status`: whose answer has that status; `key`: which print that (`primal`,
    `duals`, …).
    """
    chosen = []
    for name, record in records().items():
        printed = record["printed"] or {}
        answer = record.get("computed") or printed
        if (
            record["kind"] == kind
            and status in (None, answer.get("status"))
            and (key is None or key in printed)
        ):
            chosen.append(name)
    return chosen


def near(record: Record, printed: float, found: float) -> bool:
    """Whether a figure found agrees with the printed one within the rounding of the print."""
    allowed = record["rel_tol"] * max(abs(printed), abs(found)) + record.get("abs_tol", 1e-9)
    return abs(printed - found) <= allowed


def sign(record: Record) -> float:
    """−1 for a maximisation, which is solved as the minimisation of the negated objective."""
    return -1.0 if record["sense"] == "max" else 1.0


def _bound(value: float | None, without: float) -> float:
    return without if value is None else float(value)


def as_program(record: Record) -> Program:
    """A record as a minimisation: columns and rows keyed by their names."""
    columns = tuple(
        Column(
            ("x", variable["name"]),
            sign(record) * record["costs"].get(variable["name"], 0.0),
            _bound(variable["lb"], -inf),
            _bound(variable["ub"], inf),
        )
        for variable in record["variables"]
    )
    rows = []
    for row in record["rows"]:
        low = -inf if row["op"] == "<=" else float(row["rhs"])
        high = inf if row["op"] == ">=" else float(row["rhs"])
        rows.append(
            Row(
                ("r", row["name"]),
                {("x", name): float(v) for name, v in row["coeffs"].items()},
                low,
                high,
            )
        )
    return Program(columns, tuple(rows))


def solved_by_scipy(record: Record) -> OptimizeResult:
    """The same record given straight to a solver of SciPy, without the model between."""
    names = [variable["name"] for variable in record["variables"]]
    above, above_rhs, equal, equal_rhs = [], [], [], []
    for row in record["rows"]:
        coefs = [row["coeffs"].get(name, 0.0) for name in names]
        if row["op"] == "=":
            equal.append(coefs)
            equal_rhs.append(row["rhs"])
        else:
            turn = 1.0 if row["op"] == "<=" else -1.0
            above.append([turn * value for value in coefs])
            above_rhs.append(turn * row["rhs"])
    return linprog(
        [sign(record) * record["costs"].get(name, 0.0) for name in names],
        A_ub=above or None,
        b_ub=above_rhs or None,
        A_eq=equal or None,
        b_eq=equal_rhs or None,
        bounds=[(variable["lb"], variable["ub"]) for variable in record["variables"]],
        method="highs",
    )
