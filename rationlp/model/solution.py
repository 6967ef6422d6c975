"""What a solve returns and what it is checked against: its status, its answer, the numbers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import Enum

from rationlp.errors import SolverTrouble
from rationlp.records import dataclass


class Status(Enum):
    """How a solve ended. Only `OPTIMAL` carries numbers."""

    OPTIMAL = "optimal"
    INFEASIBLE = "infeasible"
    UNBOUNDED = "unbounded"
    STOPPED = "stopped"


# Every status that the solver can report, by its own name. A limit reached is a stop, never an
# optimum, whatever else the modelling library says; "infeasible or unbounded" is decided by solving
# once more without presolve.
SOLVER_STATUS = {
    "kOptimal": Status.OPTIMAL,
    "kInfeasible": Status.INFEASIBLE,
    "kUnbounded": Status.UNBOUNDED,
    "kModelEmpty": Status.OPTIMAL,
    "kUnboundedOrInfeasible": Status.STOPPED,
    "kNotset": Status.STOPPED,
    "kLoadError": Status.STOPPED,
    "kModelError": Status.STOPPED,
    "kPresolveError": Status.STOPPED,
    "kSolveError": Status.STOPPED,
    "kPostsolveError": Status.STOPPED,
    "kObjectiveBound": Status.STOPPED,
    "kObjectiveTarget": Status.STOPPED,
    "kTimeLimit": Status.STOPPED,
    "kIterationLimit": Status.STOPPED,
    "kSolutionLimit": Status.STOPPED,
    "kInterrupt": Status.STOPPED,
    "kHighsInterrupt": Status.STOPPED,
    "kMemoryLimit": Status.STOPPED,
    "kUnknown": Status.STOPPED,
}


@dataclass(frozen=True)
class Solution:
    """What a solve returned. Empty tuples unless `status` is OPTIMAL.

    values: by column, in the order of the model. row_duals: change of the objective per unit of a
    row's bound (≥ 0 at a low bound, ≤ 0 at a high one). reduced_costs: the same for column bounds.
    """

    status: Status
    objective: float
    values: tuple[float, ...] = ()
    row_duals: tuple[float, ...] = ()
    reduced_costs: tuple[float, ...] = ()


@dataclass(frozen=True)
class Numbers:
    """The numbers of a model as it stands: minimise cost·x with low ≤ A x ≤ high and col_low ≤ x ≤
    col_high.

    coefs: A as the coefficients of each row by column. unit: of money, against which what is
    absolute is measured.
    """

    cost: Sequence[float]
    col_low: Sequence[float]
    col_high: Sequence[float]
    row_low: Sequence[float]
    row_high: Sequence[float]
    coefs: Sequence[Mapping[int, float]]
    unit: float = 1.0

    @property
    def entries(self) -> list[tuple[int, int, float]]:
        """(row, column, coefficient) of every coefficient of A."""
        return [(i, j, value) for i, row in enumerate(self.coefs) for j, value in row.items()]


def read_status(name: str) -> Status:
    """Our status for the solver's own. Raises SolverTrouble for a name not in the list."""
    if name not in SOLVER_STATUS:
        raise SolverTrouble(f"the solver reported a status that rationlp does not know: {name}")
    return SOLVER_STATUS[name]
