"""Sentences on a winter that is not known: none sets a figure against itself, or a nought below
nothing.
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from rationlp.chances.spread_answer import SpreadPlan
from rationlp.report import chances, chances_actions


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
    monkeypatch.setattr(chances_actions, "apart", lambda plan, priced: "")
    assert chances_actions.lost(plan, costs) == words


@pytest.mark.parametrize(
    ("money", "dearest", "late", "nothing"),
    [
        (1008.0, 1258.0, 0.1, True),
        (992.0, 1258.0, 0.1, False),
        (1008.0, 1150.0, 0.1, False),
        (1008.0, 1258.0, 0.0, False),
    ],
)
def test_what_spares_priced_shortages_alone_is_no_advice(
    money: float, dearest: float, late: float, nothing: bool
) -> None:
    """Dearer in a mean winter and in the dearest tenth, and no less bought late: nothing to do."""
    again: Any = SimpleNamespace(
        mean=1200.0, dearest_tenth=1500.0, money=1000.0, dearest_money=1200.0, late_share=0.1
    )
    kept: Any = SimpleNamespace(
        mean=1100.0, dearest_tenth=1400.0, money=money, dearest_money=dearest, late_share=late
    )
    plan: Any = SimpleNamespace(
        chosen=kept, again=again, worth_a_word=25.0, forages=(), sales=(), contracts=()
    )
    of_plan: Any = SpreadPlan.asks_for_nothing
    assert of_plan.fget(plan) is nothing


@pytest.mark.parametrize(("share", "told"), [(0.01, ""), (0.049, ""), (0.06, "In 6 of 100")])
def test_one_winter_in_a_hundred_is_no_reason_to_plan_again(share: float, told: str) -> None:
    """A hint that nobody acts on is left out; from one winter in twenty on it is given."""
    risk: Any = SimpleNamespace(runs_out=share)
    assert chances.held_hint(risk)[:11] == told
