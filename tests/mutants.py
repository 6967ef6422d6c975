"""Mutants of the nutrition and of the model: one small change of a number each, and whether the
tests notice it.

`python tests/mutants.py` makes the list of mutants (fixed seed), runs the tests on each and writes
a line a mutant to `mutants-result.csv` in the folder it is called from: caught (and by which
stage), survived, or equivalent. `--list` only prints the list; `--count`, `--seed`, `--room`,
`--workers` choose; `--only NUMBER` repeats one.

A mutant is equivalent, and does not count, when it cannot change a number of an answer beyond the
stated tolerances. The rule is kept in two places: `TOLERANCE` skips figures that only say how
exactly or how often something is tried, and `tests/mutants-equivalent.csv` lists single mutants
that were looked at, each with the reason why no answer can differ.
"""

from __future__ import annotations

import argparse
import ast
import csv
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from queue import Queue

TOP = Path(__file__).resolve().parent.parent
ROOMS = {"needs": 100, "model": 70, "wintering": 30}
SEED = 20261128
SECONDS = 900.0
TOLERANCE = re.compile(
    r"\b_?[A-Z_]*(TOLERANCE|STILL|MOST_|_MOST|PASSES|ROUNDS|LPS|SAMPLES|TINY|HAIR|CLOSE|STEPS)[A-Z_]*\b"
)
"""A line that names one of these holds a tolerance or a number of attempts: no mutant is made of
it.
"""

STAGES: dict[str, tuple[tuple[str, ...], ...]] = {
    "needs": (
        ("tests/needs",),
        ("tests/model", "tests/published"),
        ("tests/after", "tests/ask", "tests/read"),
    ),
    "model": (
        (
            "tests/model/test_rows.py",
            "tests/model/test_energy_curve.py",
            "tests/model/test_lp_and_solver.py",
        ),
        ("tests/model", "tests/needs"),
        ("tests/published", "tests/ask", "tests/after"),
    ),
}
STAGES["wintering"] = STAGES["model"][1:]
LAST_STAGE = ("tests/cli", "tests/report", "tests/questions")

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


def verdict(copy: Path, room: str, mutant: Mutant) -> str:
    """Run the tests on a copy of the project with one change, stage by stage, until one fails."""
    target = copy / mutant.path
    text = (TOP / mutant.path).read_text(encoding="utf-8")
    target.write_text(text[: mutant.start] + mutant.after + text[mutant.end :], encoding="utf-8")
    try:
        return _first_failure(copy, room)
    finally:
        target.write_text(text, encoding="utf-8")


def _first_failure(copy: Path, room: str) -> str:
    for number, stage in enumerate((*STAGES[room], LAST_STAGE), start=1):
        command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", *stage]
        try:
            done = subprocess.run(
                command,
                cwd=copy,
                env=_environment(copy),
                capture_output=True,
                timeout=SECONDS,
                check=False,
            )
        except subprocess.TimeoutExpired:
            return f"caught in stage {number}: it does not end"
        if done.returncode != 0:
            return f"caught in stage {number}"
    return "survived"


def _environment(copy: Path) -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1"}


def main() -> None:
    """Entry point."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--list", action="store_true")
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--count", type=int, default=0, help="mutants a room; 0: as usual")
    parser.add_argument("--room", choices=sorted(ROOMS), action="append")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument(
        "--only", type=int, action="append", help="the number of a mutant in the list"
    )
    asked = parser.parse_args()
    work = [
        (room, mutant)
        for room in asked.room or sorted(ROOMS)
        for mutant in chosen(room, asked.count or ROOMS[room], asked.seed)
    ]
    numbered = [
        (number, *item)
        for number, item in enumerate(work)
        if not asked.only or number in asked.only
    ]
    if asked.list:
        for number, _, mutant in numbered:
            sys.stdout.write(f"{number} {mutant.name}\n")
        return
    _run(numbered, asked.workers)


def _run(numbered: list[tuple[int, str, Mutant]], workers: int) -> None:
    known = equivalent()
    with tempfile.TemporaryDirectory() as scratch:
        copies: Queue[Path] = Queue()
        for number in range(workers):
            copy = Path(scratch) / str(number)
            shutil.copytree(
                TOP,
                copy,
                ignore=shutil.ignore_patterns(".git", ".venv*", "__pycache__", ".*_cache"),
            )
            copies.put(copy)
        copy = copies.get()
        for room in sorted({room for _, room, _ in numbered}):
            if _first_failure(copy, room) != "survived":
                sys.exit(f"the tests of {room} fail without any change: nothing would be learnt")
        copies.put(copy)

        def judge(item: tuple[int, str, Mutant]) -> tuple[int, str, str]:
            number, room, mutant = item
            if mutant.name in known:
                return number, mutant.name, f"equivalent: {known[mutant.name]}"
            copy = copies.get()
            try:
                return number, mutant.name, verdict(copy, room, mutant)
            finally:
                copies.put(copy)

        with (
            ThreadPoolExecutor(workers) as pool,
            open("mutants-result.csv", "w", newline="", encoding="utf-8") as out,
        ):
            writer = csv.writer(out)
            writer.writerow(["number", "mutant", "verdict"])
            outcomes = []
            for outcome in pool.map(judge, numbered):
                writer.writerow(outcome)
                out.flush()
                outcomes.append(outcome[2])
    counted = [outcome for outcome in outcomes if not outcome.startswith("equivalent")]
    caught = sum(outcome.startswith("caught") for outcome in counted)
    left_out = len(outcomes) - len(counted)
    sys.stdout.write(
        f"{caught} of {len(counted)} mutants caught; {left_out} equivalent, not counted\n"
    )


if __name__ == "__main__":
    main()
