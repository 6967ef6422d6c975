"""The table of acceptance figures of the herd, acceptance.csv: what is printed, whence, how near we
must come, the test that holds it, and for what is not met its ratio and why.
"""

from __future__ import annotations

import ast
import csv
from pathlib import Path

import pytest

TESTS = Path(__file__).resolve().parents[1]
with (TESTS / "published" / "acceptance.csv").open(encoding="utf-8", newline="") as lines:
    FIGURES = list(csv.DictReader(lines))


def test_all_twenty_six_are_there() -> None:
    """Each at least once, in their order."""
    numbers = [int(row["figure"]) for row in FIGURES]
    assert numbers == sorted(numbers)
    assert set(numbers) == set(range(1, 27))


@pytest.mark.parametrize("row", FIGURES, ids=lambda row: f"{row['figure']} {row['what'][:30]}")
def test_a_figure_has_its_source_its_tolerance_and_its_test(row: dict[str, str]) -> None:
    """The test named is in the file named and asserts something; what is not met in full has its
    ratio and its reason, and its test says so.
    """
    for column in ("what", "printed", "within", "source"):
        assert row[column].strip(), column
    assert row["status"] in ("a", "b", "c")
    path, _, name = row["test"].partition("::")
    tree = ast.parse((TESTS / path).read_text(encoding="utf-8"))
    functions = [node for node in tree.body if isinstance(node, ast.FunctionDef)]
    (function,) = [node for node in functions if node.name == name]
    assert any(isinstance(node, ast.Assert) for node in ast.walk(function))
    assert row["met"] in ("yes", "in part")
    if row["met"] == "in part":
        assert row["ours_over_printed"].strip()
        assert row["why"].strip()
