"""The oldest packages that pyproject.toml allows, as constraints for pip: `python
tests/oldest_packages.py > oldest.txt`.

Of the program, its extra named report and what runs the tests; linters and stubs may be of any age.
"""

from __future__ import annotations

import re
import sys
import tomllib
from collections.abc import Iterable
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[1] / "pyproject.toml"
RUNS_THE_TESTS = ("pytest", "pytest-xdist", "hypothesis", "scipy")
_BOUND = re.compile(r"([A-Za-z0-9_.-]+)>=([0-9][0-9.]*)")


def oldest(requirements: Iterable[str]) -> list[str]:
    """Constraints that pin every requirement to its lower bound. Raises ValueError for one without
    a lower bound.
    """
    pins = []
    for requirement in requirements:
        bound = _BOUND.match(requirement)
        if bound is None:
            raise ValueError(f"no lower bound: {requirement}")
        pins.append(f"{bound[1]}=={bound[2]}")
    return pins


def stated() -> list[str]:
    """The requirements of pyproject.toml whose age matters."""
    project = tomllib.loads(PROJECT.read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    tests = [line for line in extras["test"] if line.split(">")[0] in RUNS_THE_TESTS]
    return [*project["dependencies"], *extras["report"], *tests]


if __name__ == "__main__":
    sys.stdout.write("\n".join(oldest(stated())) + "\n")
