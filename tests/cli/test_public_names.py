"""The few public names of the package."""

from __future__ import annotations

import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

import rationlp

ROOT = Path(rationlp.__file__).resolve().parents[1]


@pytest.mark.parametrize("name", rationlp.__all__)
def test_every_public_name_is_there(name: str) -> None:
    """Each can be had from the package itself."""
    assert getattr(rationlp, name) is not None


def test_listing_and_public_names_agree() -> None:
    """dir() gives the names of __all__."""
    assert dir(rationlp) == sorted(rationlp.__all__)


def test_an_unknown_name_is_refused() -> None:
    """As for any module."""
    with pytest.raises(AttributeError, match="no attribute 'rationn'"):
        _ = rationlp.rationn


def test_importing_the_package_loads_nothing_else() -> None:
    """Only the package itself and the standard library."""
    code = "import sys, rationlp; print(sorted(m for m in sys.modules if m.startswith('rationlp')))"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert done.stdout.strip() == "['rationlp']"


def test_loading_a_room_hides_no_public_name() -> None:
    """`winter` is a function of the package and the name of a room: the function stays."""
    import_module("rationlp.wintering.plan")
    assert callable(rationlp.winter)
