"""A plugin of pytest for `tests/mutants.py`: which functions each test runs and how long it takes,
and then, for one mutant, only the tests that run the function changed.

With `MUTANTS_MAP` in the environment it writes that file: one line of JSON a test, with its name,
its seconds of processor time and the functions of rationlp that ran (`file:first line`), those of
its fixtures among them. With `MUTANTS_TESTS` it runs the tests named in that file alone.
"""

from __future__ import annotations

import ast
import json
import os
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import CodeType, FrameType

import pytest

TOP = Path(__file__).resolve().parent.parent
OURS = str(TOP / "rationlp") + os.sep
_seen: set[CodeType] = set()


def _call(frame: FrameType, event: str, argument: object) -> None:
    """Called when a function is: names are made later, for that is where the time would go."""
    _seen.add(frame.f_code)


def _functions() -> list[str]:
    return sorted(
        f"{code.co_filename[len(str(TOP)) + 1 :]}:{code.co_firstlineno}"
        for code in _seen
        if code.co_filename.startswith(OURS)
    )


@pytest.hookimpl(hookwrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Iterator[None]:
    """Watch one test with its fixtures."""
    if "MUTANTS_MAP" not in os.environ:
        yield
        return
    _seen.clear()
    start = time.process_time()
    sys.settrace(_call)
    yield
    sys.settrace(None)
    record = {
        "test": item.nodeid,
        "seconds": round(time.process_time() - start, 4),
        "functions": _functions(),
    }
    with open(os.environ["MUTANTS_MAP"], "a", encoding="utf-8") as file:
        file.write(json.dumps(record) + "\n")


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Leave out the tests that do not run the function changed."""
    if "MUTANTS_TESTS" in os.environ:
        wanted = set(Path(os.environ["MUTANTS_TESTS"]).read_text(encoding="utf-8").splitlines())
        items[:] = [item for item in items if item.nodeid in wanted]


@dataclass(frozen=True)
class Watched:
    """A test, its seconds of processor time and the functions that it runs (`file:first line`)."""

    test: str
    seconds: float
    functions: frozenset[str]

    @property
    def file(self) -> str:
        """The file that the test stands in."""
        return self.test.partition("::")[0]


def read_map(path: Path) -> list[Watched]:
    """What was written when the tests were watched."""
    records = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    return [
        Watched(record["test"], record["seconds"], frozenset(record["functions"]))
        for record in records
    ]


def tests_of(top: Path, path: str, line: int, every: list[Watched]) -> list[Watched]:
    """The tests that run what a line changes, for a line outside functions also those of files that
    import its module. Files that import it come first, then those of the room's own folder; file by
    file, the quickest first.
    """
    touched, outside = _functions_touched(top, path, line)
    near = {file for file in {test.file for test in every} if _imports(top / file, path)}
    hits = [test for test in every if test.functions & touched or (outside and test.file in near)]
    spent: dict[str, float] = {}
    for test in hits:
        spent[test.file] = spent.get(test.file, 0.0) + test.seconds
    own = f"tests/{path.split('/')[1]}/"
    return sorted(
        hits,
        key=lambda test: (
            test.file not in near,
            not test.file.startswith(own),
            spent[test.file],
            test.file,
        ),
    )


def _imports(file: Path, path: str) -> bool:
    module = path.removesuffix(".py").removesuffix("/__init__").replace("/", ".")
    room, _, name = module.rpartition(".")
    text = file.read_text(encoding="utf-8")
    return f"from {module} import" in text or f"from {room} import {name}" in text


def _functions_touched(top: Path, path: str, line: int) -> tuple[set[str], bool]:
    """The innermost function round a line; for a line outside functions, every function that uses a
    name that hangs on it, and those of its own file. And whether it is outside.
    """
    tree = ast.parse((top / path).read_text(encoding="utf-8"))
    around = [node for node in _defined(tree) if node.lineno <= line <= (node.end_lineno or 0)]
    if around:
        return {f"{path}:{_first_line(around[-1])}"}, False
    names: set[str] = set()
    for statement in tree.body:
        if statement.lineno <= line <= (statement.end_lineno or 0):
            names |= _given(statement)
    files = {file: ast.parse(file.read_text(encoding="utf-8")) for file in _sources(top)}
    names = _hanging_on(names, list(files.values()))
    using = {
        f"{file.relative_to(top).as_posix()}:{_first_line(node)}"
        for file, source in files.items()
        for node in _defined(source)
        if file == top / path or _used(node) & names
    }
    return using, True


def _hanging_on(names: set[str], sources: list[ast.Module]) -> set[str]:
    """The names with all names outside functions that are worked out from them."""
    before = set[str]()
    while names != before:
        before = names
        names = names.union(
            *(
                _given(statement)
                for source in sources
                for statement in source.body
                if _used(statement) & names
            )
        )
    return names


def _sources(top: Path) -> list[Path]:
    return sorted((top / "rationlp").rglob("*.py"))


def _defined(tree: ast.AST) -> list[ast.FunctionDef]:
    return [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]


def _first_line(node: ast.FunctionDef) -> int:
    return min([node.lineno, *(each.lineno for each in node.decorator_list)])


def _given(statement: ast.stmt) -> set[str]:
    if isinstance(statement, ast.ClassDef):
        return {statement.name}
    if not isinstance(statement, ast.Assign | ast.AnnAssign):
        return set()
    targets = statement.targets if isinstance(statement, ast.Assign) else [statement.target]
    return {
        node.id for target in targets for node in ast.walk(target) if isinstance(node, ast.Name)
    }


def _used(node: ast.AST) -> set[str]:
    names = {each.id for each in ast.walk(node) if isinstance(each, ast.Name)}
    return names | {each.attr for each in ast.walk(node) if isinstance(each, ast.Attribute)}
