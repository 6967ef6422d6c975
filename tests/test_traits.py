"""Traits of animal classes are data: no rule keeps a list of classes of its own."""

from __future__ import annotations

import ast
from dataclasses import fields
from pathlib import Path

import pytest

from rationlp.farm.animals import CLASSES
from rationlp.farm.traits import Traits, classes_with, traits
from rationlp.folders import packaged_rows

PACKAGE = Path(__file__).resolve().parents[1] / "rationlp"
FEED_WORDS = {PACKAGE / "rules" / "species.py"}
"""Words for animals in the names of feeds, no classes."""


def _lists_of_classes(path: Path) -> list[int]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    lists = [node for node in ast.walk(tree) if isinstance(node, (ast.Set, ast.Tuple, ast.List))]
    lines = []
    for node in lists:
        words = [item.value for item in node.elts if isinstance(item, ast.Constant)]
        if sum(isinstance(word, str) and word in CLASSES for word in words) > 1:
            lines.append(node.lineno)
    return lines


def test_no_rule_keeps_a_list_of_classes() -> None:
    """Two class names or more in one set, list or tuple: that is a trait, and belongs in
    feeds/classes.csv.
    """
    found = {path.name: _lists_of_classes(path) for path in set(PACKAGE.rglob("*.py")) - FEED_WORDS}
    assert {name: lines for name, lines in found.items() if lines} == {}


def test_every_row_of_a_class_says_the_same_of_it() -> None:
    """Traits and intake equations belong to the class, not to the condition of a row."""
    rows: dict[str, set[tuple[str, str]]] = {}
    for row in packaged_rows("classes.csv"):
        rows.setdefault(row["class"], set()).add((row["traits"], row["intake_equations"]))
    assert {name for name, said in rows.items() if len(said) > 1} == set()


@pytest.mark.parametrize("trait", [field.name for field in fields(Traits)])
def test_a_trait_is_somebody_s(trait: str) -> None:
    """No trait without a class; classes are what farm/animals.py knows."""
    assert classes_with(trait)
    assert set(classes_with(trait)) <= set(CLASSES)


def test_a_class_is_cattle_sheep_or_stated() -> None:
    """One of the three, whatever else it is."""
    for name in CLASSES:
        known = traits(name)
        assert known.cattle + known.sheep + known.stated == 1, name
    assert traits("goat") == Traits()
