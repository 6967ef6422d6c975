"""Sentences on a winter that is not known: none sets a figure against itself, or a nought below
nothing.
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from rationlp.report import chances


@pytest.mark.parametrize(
    ("spread", "cheapest", "words"),
    [
        (0.0, 0.0, "either way no forage is bought late in any of them"),
        (0.201, 0.199, "either way forage is bought late in 20 % of them"),
        (0.0, 0.4, "forage is bought late in 0 % of them, not 40 %"),
    ],
)
def test_late_buying_is_compared_where_it_differs(
    spread: float, cheapest: float, words: str
) -> None:
    """The same share twice is said once."""
    assert chances.late_words(spread, cheapest) == words


@pytest.mark.parametrize(
    ("money", "words"), [(-0.2, "nothing"), (-0.0, "nothing"), (1234.4, "GBP 1,234")]
)
def test_a_loss_of_nothing_is_told_so(
    monkeypatch: pytest.MonkeyPatch, money: float, words: str
) -> None:
    """Never GBP -0."""
    plan: Any = SimpleNamespace(farm=SimpleNamespace(currency="GBP"))
    costs: Any = SimpleNamespace(money=money, priced=0.0)
    monkeypatch.setattr(chances, "_apart", lambda plan, priced: "")
    assert chances._lost(plan, costs) == words
