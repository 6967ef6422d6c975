"""What a run without a browser says: which tests were left out, and how to run them."""

from __future__ import annotations

import ast
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def test_the_tests_that_need_a_browser_are_marked_and_told_of() -> None:
    """Each file of them is marked as a whole, and DEVELOPERS.md and the checks before a change run
    them by that mark.
    """
    files = sorted(Path(__file__).parent.glob("test_in_browser*.py"))
    assert files
    for path in files:
        tree = ast.parse(path.read_text(encoding="utf-8"))
        marks = [ast.unparse(node) for node in tree.body if isinstance(node, ast.Assign)]
        assert "pytestmark = pytest.mark.browser" in marks, path.name
    for name in ("DEVELOPERS.md", ".ci/run"):
        assert "-m pytest -m browser" in (ROOT / name).read_text(encoding="utf-8"), name
