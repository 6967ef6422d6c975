"""Mutants of the nutrition and of the model: one small change of a number each, and whether the
tests notice it.

`python tests/mutants.py` makes the list of mutants (fixed seed), runs tests on each and adds a
line a mutant to `mutants-result.csv` in the folder it is called from: caught (and by which test),
survived, or equivalent. Called again it goes on where it was stopped: what stands in that file is
not tried again. `--list` only prints the list; `--count`, `--seed`, `--room`, `--workers` choose;
`--only NUMBER` tries one.

A mutant is shown only to the tests that run the function it stands in (a figure outside functions:
to those that run a function of its file, or one that uses its name), those that import its module
and cheap ones first, until one fails. Which tests those are is watched once (mutants_trace.py), on
the unchanged tree, which must pass, and stands in `mutants-map.jsonl` in the same folder: delete
that file when the tests have changed. Tests beyond `--seconds` of processor time, those marked long
and what a test runs in another process are left out, so that the rate can only be too low.

A mutant is equivalent, and does not count, when it cannot change a number of an answer beyond the
stated tolerances. The rule is kept in two places: `TOLERANCE` skips figures that only say how
exactly or how often something is tried, and `tests/mutants-equivalent.csv` lists single mutants
that were looked at, each with the reason why no answer can differ.
"""

from __future__ import annotations

import argparse
import ast
import csv
import importlib
import multiprocessing
import os
import random
import re
import resource
import shutil
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from math import inf
from pathlib import Path

import pytest
from mutants_trace import Watched, read_map, tests_of

TOP = Path(__file__).resolve().parent.parent
RESULT = Path("mutants-result.csv").resolve()
MAP = Path("mutants-map.jsonl").resolve()
ROOMS = {"needs": 100, "model": 70, "wintering": 30}
SEED = 20261128
WATCHED = ("tests/needs", "tests/model", "tests/published", "tests/after", "tests/ask")
SAID = "mutants-said.txt"
BATCHES = (0.5, 4.0, 20.0, inf)
"""The tests of a mutant run in so many processes, each up to these seconds from the start: the
first is over soon, and most mutants do not live through it.
"""
LIBRARIES = (
    "pandas",
    "pulp",
    "highspy",
    "pydantic",
    "typer",
    "tabulate",
    "hypothesis",
    "scipy.optimize",
)
"""Imported once, before the processes part: that is most of what a short run of pytest costs."""
TOLERANCE = re.compile(
    r"\b_?[A-Z_]*(TOLERANCE|STILL|MOST_|_MOST|PASSES|ROUNDS|LPS|SAMPLES|TINY|HAIR|CLOSE|STEPS)[A-Z_]*\b"
)
"""A line that names one of these holds a tolerance or a number of attempts: no mutant is made of
it.
"""

_OTHER = {ast.Add: ("+", "-"), ast.Sub: ("-", "+"), ast.Mult: ("*", "/"), ast.Div: ("/", "*")}
_TURNED = {ast.Lt: ("<", ">="), ast.LtE: ("<=", ">"), ast.Gt: (">", "<="), ast.GtE: (">=", "<")}


@dataclass(frozen=True)
class Mutant:
    """One change: the file, its line, where the changed text begins and ends in the file, and the
    text before and after.
    """

    path: str
    line: int
    start: int
    end: int
    before: str
    after: str

    @property
    def name(self) -> str:
        """The mutant in one line."""
        return f"{self.path}:{self.line}: {self.before} -> {self.after}"


@dataclass(frozen=True)
class Task:
    """A mutant with its room and its number in the list of that room."""

    room: str
    number: int
    mutant: Mutant


def mutants_of(path: Path) -> Iterator[Mutant]:
    """Every mutant of a file, in the order of its text."""
    text = path.read_text(encoding="utf-8")
    lines = text.splitlines(keepends=True)
    offsets = [0]
    for line in lines:
        offsets.append(offsets[-1] + len(line))
    relative = path.relative_to(TOP).as_posix()

    def place(line: int, column: int) -> int:
        inside = lines[line - 1].encode("utf-8")[:column].decode("utf-8")
        return offsets[line - 1] + len(inside)

    def between(left: ast.expr, right: ast.expr, sign: str) -> tuple[int, int] | None:
        begin = place(left.end_lineno or 1, left.end_col_offset or 0)
        stop = place(right.lineno, right.col_offset)
        at = text.find(sign, begin, stop)
        return None if at < 0 else (at, at + len(sign))

    for node in ast.walk(ast.parse(text)):
        line = getattr(node, "lineno", 0)
        if line and TOLERANCE.search(lines[line - 1]):
            continue
        for where, before, after in _changes(node, between, place):
            if text[where[0] : where[1]] == before:
                yield Mutant(relative, line, *where, before, after)


def _changes(node: ast.AST, between, place) -> Iterator[tuple[tuple[int, int], str, str]]:  # type: ignore[no-untyped-def]
    if isinstance(node, ast.Constant) and type(node.value) in (int, float):
        where = (place(node.lineno, node.col_offset), place(node.end_lineno, node.end_col_offset))
        value = node.value
        if isinstance(value, float) and value != 0.0 and abs(value) > 1e-5:
            changed = repr(value * 1.07)
            yield where, ast.unparse(node), changed
    elif isinstance(node, ast.BinOp) and type(node.op) in _OTHER:
        if isinstance(node.left, ast.Constant) and isinstance(node.left.value, str):
            return
        sign, other = _OTHER[type(node.op)]
        where = between(node.left, node.right, sign)
        if where is not None:
            yield where, sign, other
    elif isinstance(node, ast.Compare) and len(node.ops) == 1 and type(node.ops[0]) in _TURNED:
        sign, other = _TURNED[type(node.ops[0])]
        where = between(node.left, node.comparators[0], sign)
        if where is not None:
            yield where, sign, other
    elif (
        isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in ("min", "max")
    ):
        where = (
            place(node.func.lineno, node.func.col_offset),
            place(node.func.end_lineno, node.func.end_col_offset),
        )
        yield where, node.func.id, "max" if node.func.id == "min" else "min"


def chosen(room: str, count: int, seed: int) -> list[Mutant]:
    """A sample of the mutants of a room, the same for the same seed and source."""
    every = [
        mutant
        for path in sorted((TOP / "rationlp" / room).rglob("*.py"))
        for mutant in mutants_of(path)
    ]
    return sorted(
        random.Random(seed).sample(every, min(count, len(every))), key=lambda mutant: mutant.name
    )


def equivalent() -> dict[str, str]:
    """The mutants that were looked at and cannot change an answer, with the reason."""
    with (TOP / "tests" / "mutants-equivalent.csv").open(encoding="utf-8", newline="") as file:
        return {row["mutant"]: row["reason"] for row in csv.DictReader(file)}


def verdict(copy: Path, mutant: Mutant, every: list[Watched], seconds: float) -> str:
    """Run the tests on a copy of the project with one change, the cheap ones first, until one
    fails.
    """
    batches = list(_batches(tests_of(TOP, mutant.path, mutant.line, every), seconds))
    if not batches:
        return "survived: no test runs it"
    target = copy / mutant.path
    text = (TOP / mutant.path).read_text(encoding="utf-8")
    target.write_text(text[: mutant.start] + mutant.after + text[mutant.end :], encoding="utf-8")
    try:
        for batch in batches:
            if _fails(copy, batch):
                return f"caught by {_first_failed(copy)}"
    finally:
        target.write_text(text, encoding="utf-8")
    return "survived"


def _first_failed(copy: Path) -> str:
    lines = (copy / SAID).read_text(encoding="utf-8", errors="replace").splitlines()
    failed = [line for line in lines if line.startswith(("FAILED ", "ERROR "))]
    return failed[0].split()[1] if failed else "a test that does not end, or none could start"


def _batches(tests: list[Watched], seconds: float) -> Iterator[list[Watched]]:
    """The tests in the order given, up to so many seconds, cut at the ends of `BATCHES`."""
    spent, number = 0.0, 0
    batch: list[Watched] = []
    for test in tests:
        spent += test.seconds
        if batch and spent > seconds:
            break
        if batch and spent > BATCHES[number]:
            yield batch
            batch = []
        while spent > BATCHES[number]:
            number += 1
        batch.append(test)
    if batch:
        yield batch


def _fails(copy: Path, batch: list[Watched]) -> bool:
    """Whether a test fails, in a process of its own, or does not end."""
    names = copy / "mutants-tests.txt"
    names.write_text("\n".join(test.test for test in batch), encoding="utf-8")
    allowed = 30 + 10 * int(sum(test.seconds for test in batch))
    files = list(dict.fromkeys(test.file for test in batch))
    child = os.fork()
    if child == 0:
        resource.setrlimit(resource.RLIMIT_CPU, (allowed, allowed))
        os.environ["MUTANTS_TESTS"] = str(names)
        _pytest_in(copy, ["-x", *files])
    code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    if code in (pytest.ExitCode.USAGE_ERROR, pytest.ExitCode.NO_TESTS_COLLECTED):
        sys.exit(f"{MAP} names tests that there are no longer: delete it")
    return code != 0


def _pytest_in(copy: Path, arguments: list[str]) -> None:
    """Run pytest with the project of a copy, silently, and end this process with its exit code."""
    code = 99
    try:
        os.chdir(copy)
        os.environ["PYTHONPATH"] = str(copy)  # for the commands that tests start
        sys.path[:0] = [str(copy), str(copy / "tests")]
        sys.modules.pop("mutants_trace")
        os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"  # none is needed, and they take time
        sys.dont_write_bytecode = True
        silence = os.open(copy / SAID, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(silence, 1)
        os.dup2(silence, 2)
        code = pytest.main(["-q", "-p", "no:cacheprovider", "-p", "mutants_trace", *arguments])
    finally:
        os._exit(code)  # whatever happens: the rest of this program is the parent's


def main() -> None:
    """Entry point."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--list", action="store_true")
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--count", type=int, default=0, help="mutants a room; 0: as usual")
    parser.add_argument("--room", choices=sorted(ROOMS), action="append")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument(
        "--only", type=int, action="append", help="the number of a mutant in the list of its room"
    )
    parser.add_argument("--seconds", type=float, default=150.0, help="of tests a mutant, at most")
    asked = parser.parse_args()
    numbered = [
        Task(room, number, mutant)
        for room in asked.room or sorted(ROOMS)
        for number, mutant in enumerate(chosen(room, asked.count or ROOMS[room], asked.seed))
        if not asked.only or number in asked.only
    ]
    if asked.list:
        for task in numbered:
            sys.stdout.write(f"{task.room} {task.number} {task.mutant.name}\n")
        return
    _run(numbered, asked.workers, asked.seconds)
    for room in dict.fromkeys(task.room for task in numbered):
        sys.stdout.write(_rate(room) + "\n")


def _run(tasks: list[Task], workers: int, seconds: float) -> None:
    """Try the tasks that have no result yet, so many at a time, each worker in its own copy."""
    for library in LIBRARIES:
        importlib.import_module(library)
    judged = {line["mutant"] for line in _results()}
    waiting = [task for task in tasks if task.mutant.name not in judged]
    parts = multiprocessing.get_context("fork")
    turn = parts.Value("i", 0)
    with tempfile.TemporaryDirectory() as scratch:
        copies = [_copied(Path(scratch) / str(number)) for number in range(workers)]
        if not MAP.exists():
            _watch(copies[0])
        every = read_map(MAP)
        if _fails(copies[0], every[::100]):
            sys.exit("some tests fail without any change: nothing would be learnt")
        processes = [
            parts.Process(target=_work, args=(copy, waiting, turn, every, seconds))
            for copy in copies
        ]
        for process in processes:
            process.start()
        for process in processes:
            process.join()


def _work(  # type: ignore[no-untyped-def]
    copy: Path, waiting: list[Task], turn, every: list[Watched], seconds: float
) -> None:
    """Try one task after the other, each the next that no worker has begun."""
    known = equivalent()
    while True:
        with turn.get_lock():
            number = turn.value
            turn.value += 1
        if number >= len(waiting):
            return
        task = waiting[number]
        if task.mutant.name in known:
            outcome = f"equivalent: {known[task.mutant.name]}"
        else:
            outcome = verdict(copy, task.mutant, every, seconds)
        with turn.get_lock():
            _write(task, outcome)


def _copied(copy: Path) -> Path:
    left = shutil.ignore_patterns(".git", ".venv*", "__pycache__", ".*_cache")
    shutil.copytree(TOP, copy, ignore=left)
    return copy


def _watch(copy: Path) -> None:
    """Make the map of which test runs which function; nothing is learnt from tests that fail."""
    unfinished = MAP.with_suffix(".unfinished")
    unfinished.unlink(missing_ok=True)
    child = os.fork()
    if child == 0:
        os.environ["MUTANTS_MAP"] = str(unfinished)
        _pytest_in(copy, list(WATCHED))
    if os.waitpid(child, 0)[1] != 0:
        sys.exit("the tests fail without any change: nothing would be learnt")
    unfinished.replace(MAP)


def _results() -> list[dict[str, str]]:
    if not RESULT.exists():
        return []
    with RESULT.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _write(task: Task, outcome: str) -> None:
    new = not RESULT.exists()
    with RESULT.open("a", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        if new:
            writer.writerow(["room", "number", "mutant", "verdict"])
        writer.writerow([task.room, task.number, task.mutant.name, outcome])


def _rate(room: str) -> str:
    outcomes = [line["verdict"] for line in _results() if line["room"] == room]
    caught = sum(outcome.startswith("caught") for outcome in outcomes)
    left_out = sum(outcome.startswith("equivalent") for outcome in outcomes)
    return (
        f"{room}: {caught} of {len(outcomes) - left_out} mutants caught; "
        f"{left_out} equivalent, not counted"
    )


if __name__ == "__main__":
    main()
