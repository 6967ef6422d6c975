"""The README and the pages of the guide, in reading order: what the tests compare with the code."""

from __future__ import annotations

from pathlib import Path

from rationlp.cli.guide import GUIDE, topics

ROOT = Path(__file__).resolve().parents[1]
README = ROOT / "README.md"


def pages() -> list[Path]:
    """The README, then every page of the guide."""
    return [README, *(GUIDE / f"{topic}.md" for topic in topics())]


def everything() -> str:
    """The text of all of them."""
    return "\n".join(path.read_text(encoding="utf-8") for path in pages())
