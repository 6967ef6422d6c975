"""The one door to the solver: HiGHS in process, through PuLP. No other file imports either.

A `LiveModel` is built once from a `Program` and then changed in place: bounds, costs, single
coefficients, added rows. It keeps its own copy of every number, so that what the solver returns can
be checked without asking the solver.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from itertools import chain
from math import floor, inf, log2
from operator import mul
from typing import Any

import numpy as np

from rationlp.errors import SolverMissing, SolverTrouble
from rationlp.model.lp import Column, Key, Program, Row, check_row
from rationlp.model.solution import Numbers, Solution, Status, read_status

FEASIBILITY_TOLERANCE = 1e-9
MIP_GAP = 1e-6
_DUAL_SIMPLEX, _PRIMAL_SIMPLEX = 1, 4
"""The solver's numbers for its two methods; the second where the first ends without answer."""


@contextmanager
def _silent_stdout() -> Iterator[None]:
    """Keep file descriptor 1 pure: the solver prints a banner there even when told to be quiet."""
    sys.stdout.flush()
    try:
        kept = os.dup(1)
    except OSError:
        yield
        return
    sink = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(sink, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(sink)


BASIC = 1
"""Status of a basic column or row in a `Basis`: the solver's own number."""

Basis = tuple[list[int], list[int]]
"""Where columns and rows stand at an answer, in their order."""

Limits = tuple[tuple[tuple[Key, float, float], ...], tuple[tuple[Key, float, float], ...]]
"""Low and high of columns, and of rows, by key."""


class LiveModel:
    """A programme inside the solver, changed and solved again in place. One thread, fixed order, no
    randomness.

    unit: of money, a power of two [currency]. The solver sees every cost divided by it, so that its
    tolerances, which are absolute, mean the same whatever a farm counts its money in; costs and
    duals here are in currency. gap: between a whole-number answer and its bound at which the search
    ends [-]. presolve: make the programme smaller before it is solved from nothing, which pays from
    some hundred rows on; what is solved on from a basis is not touched. repriced: from solve to
    solve costs and columns are what changes most, so the last answer is a place to go on from.
    Raises SolverMissing when the solver cannot be loaded, SolverTrouble when it refuses the model.
    """

    def __init__(
        self,
        program: Program,
        unit: float = 1.0,
        gap: float = MIP_GAP,
        presolve: bool = False,
        repriced: bool = False,
    ) -> None:
        self.program = program
        self.unit = unit
        self._gap, self._presolve = gap, "on" if presolve else "off"
        self._repriced, self._begun = repriced, False
        self._method: tuple[int, str] | None = None
        self.column_index = dict(program.column_index)
        self.row_index = dict(program.row_index)
        self.rows = list(program.rows)
        self.solves = 0
        self._costs: dict[Key, float] | None = None
        self.cost = [column.cost for column in program.columns]
        self._whole = [j for j, column in enumerate(program.columns) if column.integer]
        self.col_low = [column.low for column in program.columns]
        self.col_high = [column.high for column in program.columns]
        self.row_low = [row.low for row in program.rows]
        self.row_high = [row.high for row in program.rows]
        self.coefs: list[dict[int, float]] = [
            {self.column_index[key]: value for key, value in row.coefs.items()}
            for row in program.rows
        ]
        self._solver = self._load(program)

    def _load(self, program: Program) -> Any:
        try:
            import pulp
        except ImportError as trouble:
            words = f"the solver library cannot be loaded ({trouble}): install rationlp again"
            raise SolverMissing(words) from trouble
        problem = pulp.LpProblem("ration", pulp.LpMinimize)
        solver = pulp.HiGHS(
            msg=False,
            threads=1,
            presolve=self._presolve,
            random_seed=0,
            mip_rel_gap=self._gap,
            primal_feasibility_tolerance=FEASIBILITY_TOLERANCE,
            dual_feasibility_tolerance=FEASIBILITY_TOLERANCE,
        )
        with _silent_stdout():
            if not solver.available():
                words = "the solver HiGHS is not installed: install the package highspy"
                raise SolverMissing(words)
            solver.createAndConfigureSolver(problem)
        live = problem.solverModel
        # Columns and rows go to the solver at once, in our order: a variable of PuLP for each takes
        # longer than most programmes are solved in, and a PuLP constraint has one side only.
        costs = [cost / self.unit for cost in self.cost]
        live.addCols(len(costs), costs, self.col_low, self.col_high, 0, [], [], [])
        self._set_whole(live, whole=True)
        self._pass_rows(live, 0)
        return live

    def _pass_rows(self, live: Any, first: int) -> None:
        coefs = self.coefs[first:]
        ends = np.cumsum(np.fromiter(map(len, coefs), np.int32, len(coefs)))
        count = int(ends[-1]) if coefs else 0
        starts = np.concatenate(([0], ends[:-1])).astype(np.int32)
        # Arrays are filled entry by entry: lists of a whole winter would double its memory.
        indices = np.fromiter(chain.from_iterable(coefs), np.int32, count)
        values = np.fromiter(chain.from_iterable(map(dict.values, coefs)), float, count)
        sides = np.array(self.row_low[first:]), np.array(self.row_high[first:])
        live.addRows(len(coefs), *sides, count, starts, indices, values)

    def set_coefficient(self, row: Key, column: Key, value: float) -> None:
        """Change one coefficient of a row."""
        self.set_coefficients(row, {column: value})

    def set_coefficients(self, row: Key, values: Mapping[Key, float]) -> None:
        """Change coefficients of a row."""
        index = self.column_index
        self.set_entries(self.row_index[row], [(index[key], v) for key, v in values.items()])

    def set_entries(self, i: int, entries: Iterable[tuple[int, float]]) -> None:
        """Change coefficients of a row by its number: number of the column and value."""
        coefs, change = self.coefs[i], self._solver.changeCoeff
        for j, value in entries:
            if coefs.get(j, 0.0) != value:
                coefs[j] = value
                change(i, j, value)

    def set_row_bounds(self, row: Key, low: float, high: float) -> None:
        """Change the bounds of a row."""
        i = self.row_index[row]
        if (low, high) != (self.row_low[i], self.row_high[i]):
            self.row_low[i], self.row_high[i] = low, high
            self._solver.changeRowBounds(i, low, high)

    def set_column_bounds(self, column: Key, low: float, high: float) -> None:
        """Change the bounds of a column."""
        j = self.column_index[column]
        if (low, high) != (self.col_low[j], self.col_high[j]):
            self.col_low[j], self.col_high[j] = low, high
            self._solver.changeColBounds(j, low, high)

    def set_costs(self, costs: dict[Key, float]) -> None:
        """Replace the objective: columns that are not named cost nothing."""
        if costs == self._costs:
            return
        self._costs = dict(costs)
        for key, j in self.column_index.items():
            value = costs.get(key, 0.0)
            if value != self.cost[j]:
                self.cost[j] = value
                self._solver.changeColCost(j, value / self.unit)

    def limits(self) -> Limits:
        """Bounds of all columns and rows as they stand, to be put back."""
        columns = zip(self.column_index, self.col_low, self.col_high, strict=True)
        return tuple(columns), tuple(zip(self.row_index, self.row_low, self.row_high, strict=True))

    def put_back(self, limits: Limits, costs: dict[Key, float]) -> None:
        """Bounds as they stood, and an objective."""
        for key, low, high in limits[0]:
            self.set_column_bounds(key, low, high)
        for key, low, high in limits[1]:
            self.set_row_bounds(key, low, high)
        self.set_costs(costs)

    def add_column(self, column: Column, entries: Mapping[int, float] | None = None) -> None:
        """Add a column. entries: by number of the row, none for a column that stands in no row yet.
        Raises ValueError when its key is in use.
        """
        if column.key in self.column_index:
            raise ValueError(f"{column.key} stands twice in the model")
        self.column_index[column.key] = len(self.cost)
        self._costs = None
        self.cost.append(column.cost)
        self.col_low.append(column.low)
        self.col_high.append(column.high)
        rows = {} if entries is None else entries
        for i, value in rows.items():
            self.coefs[i][len(self.cost) - 1] = value
        places, values = list(rows), list(rows.values())
        cost = column.cost / self.unit
        self._solver.addCol(cost, column.low, column.high, len(places), places, values)

    def add_row(self, row: Row) -> None:
        """Add a row. Raises ValueError when its key is in use or a number is not finite."""
        if row.key in self.row_index:
            raise ValueError(f"{row.key} stands twice in the model")
        check_row(row, self.column_index)
        number = len(self.rows)
        self.rows.append(row)
        self.row_index[row.key] = number
        self.row_low.append(row.low)
        self.row_high.append(row.high)
        self.coefs.append({self.column_index[key]: value for key, value in row.coefs.items()})
        self._pass_rows(self._solver, number)

    @property
    def has_whole_numbers(self) -> bool:
        """Whether some column must be whole."""
        return bool(self._whole)

    def whole_bound(self) -> float:
        """The solver's own lower bound on the objective of its last search over whole numbers."""
        return self.unit * float(self._solver.getInfo().mip_dual_bound)

    def hold_whole(self, solution: Solution) -> None:
        """Hold whole numbers at their values in a solution, as plain ones: duals exist again."""
        for j in self._whole:
            value = float(round(solution.values[j]))
            self.set_column_bounds(self.program.columns[j].key, value, value)
        self._set_whole(self._solver, whole=False)

    def free_whole(self) -> None:
        """Every whole number between its own bounds again."""
        for j in self._whole:
            column = self.program.columns[j]
            self.set_column_bounds(column.key, column.low, column.high)
        self._set_whole(self._solver, whole=True)

    def _set_whole(self, live: Any, whole: bool) -> None:
        """Ask for whole numbers where the programme has them, or let them be plain ones."""
        if self._whole:
            import highspy

            kind = highspy.HighsVarType.kInteger if whole else highspy.HighsVarType.kContinuous
            for j in self._whole:
                live.changeColIntegrality(j, kind)

    def drop_rows_from(self, number: int) -> None:
        """Take away every row from `number` on, in the order in which they came."""
        if (count := len(self.rows) - number) <= 0:
            return
        self._solver.deleteRows(count, list(range(number, len(self.rows))))
        for row in self.rows[number:]:
            del self.row_index[row.key]
        for kept in (self.rows, self.row_low, self.row_high, self.coefs):
            del kept[number:]

    def solve(self, cold: bool = False, presolve: bool = True) -> Solution:
        """Solve as it stands; `cold` forgets the last basis first, so that the answer does not
        depend on the path. presolve: make the programme smaller first where that pays.

        Raises SolverTrouble when the solver stops without an answer even from a cold start, by its
        other method, and with the programme made smaller first, which tells one that is barely
        impossible.
        """
        first = self.solves == 0
        smaller = self._presolve if presolve else "off"
        cold = cold or (first and smaller == "on" and not self._begun)
        primal = self._repriced and not first
        for attempt_cold, strategy, made_smaller in _attempts(cold, smaller, primal):
            if attempt_cold:
                self._solver.clearSolver()
            self._set_method(strategy, made_smaller)
            self._solver.run()
            self.solves += 1
            status = read_status(self._solver.getModelStatus().name)
            # What presolve calls impossible may be so by a hair only: that is decided without.
            if status is Status.OPTIMAL or (status is not Status.STOPPED and made_smaller == "off"):
                break
        self._set_method(_DUAL_SIMPLEX, "off")
        if status is not Status.STOPPED:
            return self._read(status)
        raise SolverTrouble(
            f"the solver stopped without an answer ({self._solver.getModelStatus().name})"
        )

    def _set_method(self, strategy: int, presolve: str) -> None:
        """Tell the solver its method where that is another: it is asked before every solve."""
        if self._method != (strategy, presolve):
            self._method = (strategy, presolve)
            self._solver.setOptionValue("simplex_strategy", strategy)
            self._solver.setOptionValue("presolve", presolve)

    def basis(self) -> Basis:
        """Where the last answer stands."""
        basis = self._solver.getBasis()
        return list(map(int, basis.col_status)), list(map(int, basis.row_status))

    def begin_at(self, basis: Basis) -> None:
        """Begin the next solve at a basis of another model's making."""
        import highspy

        names = [highspy.HighsBasisStatus(number) for number in range(5)]
        start = highspy.HighsBasis()
        start.col_status, start.row_status = ([names[one] for one in side] for side in basis)
        self._solver.setBasis(start)
        self._begun = True

    def begin_like(self, other: LiveModel) -> None:
        """Begin the next solve where another model of the same columns and rows stands; rows that
        came to it since are left out, and the solver makes a basis of the rest.
        """
        rows = list(self.row_index)
        same = list(self.column_index) == list(other.column_index)
        if same and rows == list(other.row_index)[: len(rows)]:
            columns, statuses = other.basis()
            self.begin_at((columns, statuses[: len(rows)]))

    def search_whole(self, nodes: int) -> Solution | None:
        """The best whole-number answer of so many nodes: the same on every machine."""
        self._solver.setOptionValue("mip_max_nodes", nodes)
        self._solver.run()
        self.solves += 1
        ended = self._solver.getModelStatus().name in ("kOptimal", "kSolutionLimit")
        valid = ended and self._solver.getSolution().value_valid
        return self._read(Status.OPTIMAL) if valid else None

    def _read(self, status: Status) -> Solution:
        if status is not Status.OPTIMAL:
            return Solution(status, inf if status is Status.INFEASIBLE else -inf)
        answer = self._solver.getSolution()
        values = tuple(answer.col_value)
        # A unit is a power of two, so that this is exact.
        row_duals = tuple((np.array(answer.row_dual) * self.unit).tolist())
        reduced = tuple((np.array(answer.col_dual) * self.unit).tolist())
        return Solution(status, sum(map(mul, self.cost, values)), values, row_duals, reduced)

    def value(self, solution: Solution, column: Key) -> float:
        """A column's value in a solution of this model."""
        return solution.values[self.column_index[column]]

    def numbers(self) -> Numbers:
        """The model's numbers as they stand, for checks that do not ask the solver."""
        columns = (self.cost, self.col_low, self.col_high)
        cost, low, high = map(tuple, columns)
        coefs = tuple(map(dict, self.coefs))
        return Numbers(cost, low, high, tuple(self.row_low), tuple(self.row_high), coefs, self.unit)

    def numbers_now(self) -> Numbers:
        """The same without a copy: they are the model's own and change with it."""
        columns, rows = (self.cost, self.col_low, self.col_high), (self.row_low, self.row_high)
        return Numbers(*columns, *rows, self.coefs, self.unit)


def _attempts(cold: bool, presolve: str, primal: bool) -> tuple[tuple[bool, int, str], ...]:
    """(cold, method, presolve) of every attempt, in order. primal: go on by the primal simplex."""
    if primal:
        return ((cold, _PRIMAL_SIMPLEX, "off"), *_attempts(True, presolve, False))
    smaller = ((True, _DUAL_SIMPLEX, "on"),) if cold and presolve == "on" else ()
    return (
        *smaller,
        (cold, _DUAL_SIMPLEX, "off"),
        (True, _DUAL_SIMPLEX, "off"),
        (True, _PRIMAL_SIMPLEX, "off"),
        (True, _DUAL_SIMPLEX, "on"),
    )


def unit_of_money(program: Program) -> float:
    """The power of two next below the largest cost [currency]; 1 where nothing costs."""
    most = max((abs(column.cost) for column in program.columns), default=0.0)
    return 2.0 ** floor(log2(most)) if most > 0.0 else 1.0
