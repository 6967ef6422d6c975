"""Everything that can go wrong, in one tree, and the exit code that each branch ends with.

RationError
├── InputError        bad input: a list of findings, each with its place, what was found, what to do
  exit 2 ├── NoRation          the model was solved and no ration exists, or none was found
              exit 3
└── SolverTrouble     the solver stopped, is missing, or its answer failed our own check
   exit 4
    ├── SolverMissing
    └── ProofFailed
"""

from __future__ import annotations

from collections.abc import Iterable

from rationlp.records import dataclass

EXIT_ANSWER = 0
EXIT_BAD_INPUT = 2
EXIT_NO_RATION = 3
EXIT_SOLVER = 4


MOST_SIGNS = 1000
"""More of a place, of what was found or of a remedy is not read by anyone; a name may be a whole
file long.
"""


def _cut(text: str) -> str:
    return text if len(text) <= MOST_SIGNS else f"{text[:MOST_SIGNS]}…"


@dataclass(frozen=True)
class Finding:
    """One thing wrong with the input, or one thing to be told about it.

    code: stable code, `IN101`…, explained in the README. where: file, row, column or key.
    found: what was found there. remedy: what to do about it.
    """

    code: str
    where: str
    found: str
    remedy: str

    def __str__(self) -> str:
        line = f"{self.code} {_cut(self.where)} — {_cut(self.found)} — {_cut(self.remedy)}"
        # A line end or an escape sequence inside a name of the input must not break the line or
        # reach the terminal.
        return "".join(sign if sign.isprintable() else " " for sign in line)


class RationError(Exception):
    """Base of every error that rationlp raises on purpose."""

    exit_code = EXIT_SOLVER


class InputError(RationError):
    """Bad input. `findings` holds all of them, in the order in which a person would meet them."""

    exit_code = EXIT_BAD_INPUT

    def __init__(self, findings: Iterable[Finding]) -> None:
        self.findings: tuple[Finding, ...] = tuple(findings)
        super().__init__("\n".join(str(finding) for finding in self.findings))

    def __reduce__(self) -> tuple[type[InputError], tuple[tuple[Finding, ...]]]:
        return (type(self), (self.findings,))


class NoRation(RationError):
    """No ration exists, or none was found, for at least one group."""

    exit_code = EXIT_NO_RATION


class SolverTrouble(RationError):
    """The solver stopped without an answer, or its answer did not stand up to our own check."""


class SolverMissing(SolverTrouble):
    """The solver library cannot be loaded on this machine."""


class ProofFailed(SolverTrouble):
    """The optimum that the solver returned fails the independent check of bounds, rows, duals or
    gap.
    """
