"""DEVELOPERS.md names what there is: every module once, every dependency with its licence, in lines
that can be read.
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from generated_pages import modules

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "DEVELOPERS.md"
TEXT = PAGE.read_text(encoding="utf-8")


def test_every_module_is_named_once() -> None:
    """A line a module in the list, and no line for one that is gone."""
    named = re.findall(r"^- `([\w/]+\.py)`:", TEXT, re.MULTILINE)
    assert sorted(named) == sorted(path.as_posix() for path in modules())


def test_no_line_is_long() -> None:
    """At most 200 characters."""
    assert [line for line in TEXT.splitlines() if len(line) > 200] == []


def test_the_reading_order_names_files_that_exist() -> None:
    """Five of them."""
    order = re.findall(r"^\d\. `(rationlp/[\w/]+\.py)`", TEXT, re.MULTILINE)
    assert len(order) == 5
    assert all((ROOT / path).exists() for path in order)


def test_every_file_that_it_names_exists() -> None:
    """Paths in backquotes, but for what a farm has."""
    rooms = [ROOT, ROOT / "rationlp", ROOT / "tests"]
    named = set(re.findall(r"`([\w./-]+/[\w.-]+\.(?:py|csv|md|txt))`", TEXT))
    missing = [path for path in named if not any((room / path).exists() for room in rooms)]
    assert missing == []


def _dependencies() -> set[str]:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    wanted = [*project["project"]["dependencies"], *project["build-system"]["requires"]]
    for extra in project["project"]["optional-dependencies"].values():
        wanted += extra
    return {re.match(r"[\w-]+", text)[0] for text in wanted}  # type: ignore[index]


def test_every_dependency_has_its_licence() -> None:
    """Names of pyproject.toml and of the table agree; each row has a licence and a reason."""
    table = TEXT.partition("| package | licence |")[2].partition("\n\n")[0]
    rows = [[cell.strip() for cell in line.split("|")[1:-1]] for line in table.splitlines()[2:]]
    assert {row[0] for row in rows} == _dependencies()
    assert all(len(row) == 3 and all(row) for row in rows)


BANNED = (
    "name withheld",
    "withheld (",
    "simulation model",
    "research simulation",
    "emissions model",
    "software",
    "farm-simulation",
)
"""Phrases of a source that nobody can find, or that is a program."""


def _sources() -> list[Path]:
    feeds = [*(ROOT / "feeds").rglob("*.csv"), *(ROOT / "rationlp").glob("*.csv")]
    published = [path for path in (ROOT / "tests").rglob("*") if "published" in path.parts]
    code = [
        *(ROOT / "rationlp" / "needs").rglob("*.py"),
        *(ROOT / "rationlp" / "rules").rglob("*.py"),
    ]
    return [*feeds, *code, *(path for path in published if path.suffix in (".csv", ".json"))]


@pytest.mark.parametrize("path", _sources(), ids=lambda path: str(path.relative_to(ROOT)))
def test_a_source_is_a_publication_that_a_reader_can_find(path: Path) -> None:
    """No withheld names, and no program: what is not published is marked common practice."""
    text = " ".join(path.read_text(encoding="utf-8").split()).lower()
    assert [phrase for phrase in BANNED if phrase in text] == []
