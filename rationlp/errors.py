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

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager

from rationlp.named import likely_names
from rationlp.records import dataclass

EXIT_BAD_INPUT = 2
EXIT_NO_RATION = 3
EXIT_SOLVER = 4


MOST_SIGNS = 1000
"""More of a place, of what was found or of a remedy is not read by anyone."""


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
        return printable(line)


def printable(line: str) -> str:
    """A line without the signs that steer a terminal."""
    steering = {sign for sign in line if not sign.isprintable()}
    return line.translate({ord(sign): " " for sign in steering})


Step = str | int


class Spelling:
    """How a source shows its places, lists and files to a person; here as they are."""

    def place(self, path: Sequence[Step]) -> str:
        """A place: the steps of its path, numbers counted from 1 as a person counts."""
        first, *rest = path
        return "".join([str(first), *map(spelt, rest)])

    def entry(self, key: str) -> str:
        """An entry of a list of the farm file, by the list's key."""
        return f"[[{key}]] table"

    def file(self, name: str) -> str:
        """A file beside the farm file."""
        return name


def spelt(step: Step) -> str:
    """A step below the first: `.head`, `[2]`."""
    return f"[{step + 1}]" if isinstance(step, int) else f".{step}"


AS_IT_IS = Spelling()


class Faults:
    """Collects what is wrong with the input (findings) and what a person should know (notices),
    each at its place. What `at` and `of` return collects into the same lists.
    """

    def __init__(self, *path: Step, spelling: Spelling = AS_IT_IS) -> None:
        self.path = path
        self.spelling = spelling
        self.findings: list[Finding] = []
        self.notices: list[Finding] = []
        self._before = 0

    def at(self, *steps: Step) -> Faults:
        """The collector of a place further down."""
        return self._shared((*self.path, *steps), self.spelling)

    def of(self, place: str) -> Faults:
        """The collector of a place outside this source, as it is shown."""
        return self._shared((place,), AS_IT_IS)

    def _shared(self, path: tuple[Step, ...], spelling: Spelling) -> Faults:
        faults = Faults(*path, spelling=spelling)
        faults.findings, faults.notices = self.findings, self.notices
        faults._before = len(self.findings)
        return faults

    @property
    def place(self) -> str:
        """The place as a person is shown it."""
        return self.spelling.place(self.path)

    @property
    def clean(self) -> bool:
        """Whether nothing was found wrong, anywhere, since this collector was made."""
        return len(self.findings) == self._before

    def add(self, code: str, found: str, remedy: str) -> None:
        """Something is wrong here."""
        self.findings.append(Finding(code, self.place, found, remedy))

    def tell(self, code: str, found: str, remedy: str) -> None:
        """Nothing is wrong here, but a person should know of it."""
        self.notices.append(Finding(code, self.place, found, remedy))

    def unknown(self, code: str, found: str, word: str, known: Iterable[str], other: str) -> None:
        """A word that is none of those known: the remedy is the nearest of them, or `other`."""
        self.add(code, found, nearest_or(word, known, other))

    @contextmanager
    def taking(self) -> Iterator[None]:
        """Collects the findings of an InputError that the block raises, and ends it."""
        try:
            yield
        except InputError as trouble:
            self.findings += trouble.findings

    def refuse(self) -> None:
        """Raises InputError where anything was found wrong since this collector was made."""
        if not self.clean:
            raise InputError(self.findings[self._before :])


def nearest(word: str, known: Iterable[str], alike: float = 0.5) -> str:
    """The name that a word most likely means, or "" where none is near: the same in other letters,
    a trade word for it, one that begins with it or holds its parts, or one spelt much like it (by
    difflib's ratio of at least `alike`).
    """
    likely = likely_names(word, known, 1, alike)
    return likely[0] if likely else ""


def nearest_or(word: str, known: Iterable[str], remedy: str) -> str:
    """The remedy for a word that is none of those known: the nearest of them, or `remedy`."""
    near = nearest(word, known)
    return f'nearest: "{near}"' if near else remedy


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


def refused(code: str, where: str, found: str, remedy: str) -> InputError:
    """Bad input with one fault."""
    return InputError([Finding(code, where, found, remedy)])


class NoRation(RationError):
    """No ration exists, or none was found, for at least one group."""

    exit_code = EXIT_NO_RATION


class SolverTrouble(RationError):
    """The solver stopped without an answer, or its answer did not stand up to our own check."""


class SolverMissing(SolverTrouble):
    """The solver library cannot be loaded on this machine."""


class ProofFailed(SolverTrouble):
    """The optimum that the solver returned fails the check of bounds, rows, duals or gap."""
