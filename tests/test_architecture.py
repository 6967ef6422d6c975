"""Imports run one way, PuLP stands behind one door, print only where a person is answered."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import pytest

import rationlp

PACKAGE = Path(__file__).resolve().parents[1] / "rationlp"
STAGES = [
    "records",
    "shows",
    "errors",
    "quantities",
    "folders",
    "csvfile",
    "halving",
    "named",
    "farm",
    "stock",
    "rules",
    "read",
    "paper",
    "needs",
    "result",
    "planned",
    "model",
    "wintering",
    "after",
    "chances",
    "yard",
    "ask",
    "report",
    "live",
    "cli",
]
BASE = dict.fromkeys(STAGES[:8], 0)
RANK = {name: BASE.get(name, number) for number, name in enumerate(STAGES)}
FILES = sorted(PACKAGE.rglob("*.py"))


def _stage(path: Path) -> str:
    first = path.relative_to(PACKAGE).parts[0]
    return first.removesuffix(".py")


@cache
def _imported(path: Path) -> list[str]:
    found: list[str] = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            found.append(node.module)
            found += [f"{node.module}.{alias.name}" for alias in node.names]
    return found


def _faults(path: Path) -> list[str]:
    stage = _stage(path)
    if stage in ("__init__", "__main__"):
        return []
    faults = []
    for name in _imported(path):
        parts = name.split(".")
        if (
            parts[0] == "rationlp"
            and len(parts) > 1
            and parts[1] in RANK
            and RANK[parts[1]] > RANK[stage]
        ):
            faults.append(f"{path.name} ({stage}) imports {name}")
    return faults


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_run_one_way(path: Path) -> None:
    """No file imports from a later stage."""
    assert _stage(path) in (*RANK, "__init__", "__main__"), "a new stage belongs in the list above"
    assert _faults(path) == []


def test_a_backward_import_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The check above does fail on an arrow that points back."""
    folder = tmp_path / "read"
    folder.mkdir()
    bad = folder / "bad.py"
    bad.write_text("from rationlp.model.lp import Row\n", encoding="utf-8")
    monkeypatch.setattr("test_architecture.PACKAGE", tmp_path)
    assert _faults(bad)


def test_only_one_file_imports_the_solver() -> None:
    """PuLP and HiGHS are imported by model/solve.py alone."""
    doors = [
        str(path.relative_to(PACKAGE))
        for path in FILES
        if any(name.split(".")[0] in ("pulp", "highspy") for name in _imported(path))
    ]
    assert doors == ["model/solve.py"]


def test_print_only_where_a_person_is_answered() -> None:
    """`print` and `typer.echo` stand in report/terminal.py and in the command line only."""
    loud = set()
    for path in FILES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call):
                name = ast.unparse(node.func)
                if name in ("print", "typer.echo", "click.echo", "sys.stdout.write"):
                    loud.add(str(path.relative_to(PACKAGE)))
    assert {
        name for name in loud if not name.startswith("cli") and name != "report/terminal.py"
    } == set()


def test_files_stay_short() -> None:
    """No source file passes 400 lines."""
    long = {
        str(path.relative_to(PACKAGE)): count
        for path in FILES
        if (count := len(path.read_text().splitlines())) > 400
    }
    assert long == {}


MEDIA = [
    "report/terminal.py",
    "report/blocks.py",
    "report/wording.py",
    "report/files.py",
    "report/workbook.py",
    "report/workbook_charts.py",
    "report/html.py",
    "report/chart.py",
    "report/draw.py",
    "report/glance.py",
    "report/page.py",
    "report/story.py",
    "report/tables/table.py",
]
"""Forms of an answer: they print any story, and know no farm."""
GENERIC = {"__version__", "records", "errors", "quantities", "report", "read.cells"}


def test_media_know_no_farm() -> None:
    """They import each other, tables, errors and records, and nothing of a farm or a winter."""
    for name in MEDIA:
        path = PACKAGE / name
        strangers = {
            one
            for one in _imported(path)
            if one.startswith("rationlp.")
            and not any(one.startswith(f"rationlp.{room}") for room in GENERIC)
        }
        assert strangers == set(), name


def test_media_import_no_story_builder() -> None:
    """A form prints what it is given; what a story is made of is the builder's."""
    for name in MEDIA:
        parts = [one for one in _imported(PACKAGE / name) if one.startswith("rationlp.report.")]
        others = {f"rationlp.{one.removesuffix('.py').replace('/', '.')}" for one in MEDIA}
        assert all(any(one.startswith(other) for other in others) for one in parts), (name, parts)


def test_nothing_is_solved_while_an_answer_is_printed() -> None:
    """No file of the report imports what solves: a plan or a ration comes to it solved."""
    solvers = ("rationlp.model.ration", "rationlp.model.solve", "rationlp.wintering.plan")
    for path in FILES:
        if _stage(path) == "report":
            assert [one for one in _imported(path) if one.startswith(solvers)] == [], path


STAGES_BEHIND = ("stock", "model", "wintering", "after", "chances", "yard", "ask", "needs")
"""Stages that work something out."""
MAY_BE_CALLED = {
    "report/cautions.py": {
        "rationlp.after.cautions.gravest_first",  # the order of cautions that were handed on
        "rationlp.after.cautions.threshold_words",  # words of a row of feeds/cautions.csv
    },
    "report/json_answer.py": {"rationlp.after.exact.as_plain"},  # any record as plain data
    # A kept plan is a file: its place, its text, and the day of the one it takes the place of.
    "report/keeping.py": {
        f"rationlp.after.kept.{name}"
        for name in ("free_name", "plan_file", "plan_text", "read_kept")
    },
    # Rows of a data file with their sources, told as they stand.
    "report/tables/chances.py": {"rationlp.chances.data.chance_rows"},
    # Energy density as a share of gross energy [-], as which a need is asked for a row of a table.
    "report/tables/needs.py": {"rationlp.needs.energy.metabolisability"},
}
"""Functions of stages behind that a file of the report may import, with the reason."""


def _called_behind(path: Path) -> set[str]:
    """Functions and modules of the stages behind that a file imports: no class, no constant."""
    names = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    behind = {name for name in names if name.startswith("rationlp.")}
    return {
        name
        for name in behind
        if name.split(".")[1] in STAGES_BEHIND and not name.rpartition(".")[2][:1].isupper()
    }


def test_the_report_asks_for_no_stage_behind_it() -> None:
    """What follows from a plan or a ration is worked out before and handed on: the report imports
    records and constants of the stages behind it, and no function but those above.
    """
    called = {
        str(path.relative_to(PACKAGE)): names
        for path in FILES
        if _stage(path) == "report" and (names := _called_behind(path))
    }
    assert called == MAY_BE_CALLED


def test_a_function_of_a_stage_behind_is_seen(tmp_path: Path) -> None:
    """Imported at the top or within a function, as a module too; a record or constant is none."""
    bad = tmp_path / "bad.py"
    lines = (
        "from rationlp.after.money import LEAST_SHOWN_T, Money, buying_list",
        "import rationlp.needs.energy",
        "from rationlp.planned import named",
        "def late():",
        "    from rationlp.ask import why",
    )
    bad.write_text("\n".join(lines) + "\n", encoding="utf-8")
    assert _called_behind(bad) == {
        "rationlp.after.money.buying_list",
        "rationlp.needs.energy",
        "rationlp.ask.why",
    }


def test_no_room_has_the_name_of_a_public_function() -> None:
    """An import of a room sets its name on the package, where a public function of that name would
    be lost.
    """
    rooms = {path.name for path in PACKAGE.iterdir() if (path / "__init__.py").exists()}
    assert rooms & set(rationlp.__all__) == set()


def test_functions_stay_short() -> None:
    """No function passes 50 lines."""
    long = {
        f"{path.relative_to(PACKAGE)} {node.name}": count
        for path in FILES
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef)
        and (count := (node.end_lineno or 0) - node.lineno + 1) > 50
    }
    assert long == {}


def test_public_names_of_the_package_are_for_the_command_line() -> None:
    """`from rationlp import …` of a function would be an arrow that the test of rooms cannot see:
    only the command line has it, and `shows`, by which a notebook reaches the report. The version
    is for all.
    """
    at_home = {"cli", "shows", "__init__", "__main__"}
    public = {f"rationlp.{name}" for name in rationlp.__all__} - {"rationlp.__version__"}
    faults = [
        f"{path.relative_to(PACKAGE)} imports {name}"
        for path in FILES
        for name in _imported(path)
        if name in public and _stage(path) not in at_home
    ]
    assert faults == []


def _only_for_types(module: ast.Module) -> set[str]:
    """Names that a module imports for its annotations alone."""
    blocks = [
        node
        for node in module.body
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"
    ]
    imports = [node for block in blocks for node in block.body if isinstance(node, ast.ImportFrom)]
    return {alias.asname or alias.name for node in imports for alias in node.names}


def _used_when_run(function: ast.FunctionDef) -> set[str]:
    """Names that a function uses when it runs and does not import itself."""
    nodes = [node for statement in function.body for node in ast.walk(statement)]
    annotations = [node.annotation for node in nodes if isinstance(node, ast.AnnAssign)]
    inner = [node for node in nodes if isinstance(node, ast.FunctionDef)]
    for node in inner:
        arguments = (*node.args.args, *node.args.kwonlyargs)
        annotations += [argument.annotation for argument in arguments if argument.annotation]
        annotations += [node.returns] if node.returns else []
    told = {id(part) for annotation in annotations for part in ast.walk(annotation)}
    imports = [node for node in nodes if isinstance(node, ast.ImportFrom | ast.Import)]
    own = {alias.asname or alias.name for node in imports for alias in node.names}
    used = {node.id for node in nodes if isinstance(node, ast.Name) and id(node) not in told}
    return used - own


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_what_is_imported_for_types_is_not_used_when_run(path: Path) -> None:
    """mypy sees the name; whoever runs the line gets a NameError."""
    module = ast.parse(path.read_text(encoding="utf-8"))
    functions = [node for node in ast.walk(module) if isinstance(node, ast.FunctionDef)]
    used = {name for function in functions for name in _used_when_run(function)}
    assert used & _only_for_types(module) == set()
