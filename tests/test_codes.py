"""Every code that a finding may carry is explained, and every explanation belongs to a code that
exists.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
CODE = re.compile(r'"((?:IN|WA|PA)\d{3})"')


def explained() -> list[dict[str, str]]:
    """The rows of codes.csv."""
    with (ROOT / "rationlp" / "codes.csv").open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


def test_codes_of_the_source_and_of_the_list_are_the_same() -> None:
    """No code without a page, no page without a code."""
    used = {
        code
        for path in (ROOT / "rationlp").rglob("*.py")
        for code in CODE.findall(path.read_text(encoding="utf-8"))
    }
    listed = [row["code"] for row in explained()]
    assert len(listed) == len(set(listed))
    assert used == set(listed)
    assert len(used) > 60


def test_every_page_says_what_it_means_and_what_to_do() -> None:
    """Title, meaning and remedy are sentences, and no two codes share a title."""
    rows = explained()
    assert all(
        row["title"] and row["meaning"].endswith(".") and row["remedy"].endswith((".", "?"))
        for row in rows
    )
    assert len({row["title"] for row in rows}) == len(rows)
