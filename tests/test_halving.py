"""Where something stops holding: places known beforehand."""

from __future__ import annotations

from math import sqrt

import pytest

from rationlp.halving import halve, halve_whole, turn


def test_the_bracket_is_no_wider_than_the_step() -> None:
    """The square root of two, from below and from above."""
    inside, outside = halve(lambda x: x * x < 2.0, 0.0, 2.0, 1e-9)
    assert inside < sqrt(2.0) <= outside
    assert outside - inside <= 1e-9
    inside, outside = halve(lambda x: x * x >= 2.0, 2.0, 0.0, 1e-9)
    assert outside < sqrt(2.0) <= inside
    assert turn(lambda x: x * x < 2.0, 0.0, 2.0, 1e-9) == pytest.approx(sqrt(2.0), abs=1e-9)


def test_no_more_halvings_than_allowed() -> None:
    """Three halvings leave an eighth of the bracket."""
    inside, outside = halve(lambda x: x < 1.0, 0.0, 8.0, times=3)
    assert outside - inside == 1.0


@pytest.mark.parametrize("turns", range(1, 20))
def test_whole_numbers_end_beside_each_other(turns: int) -> None:
    """Every place between 0 and 20."""
    assert halve_whole(lambda n: n < turns, 0, 20) == (turns - 1, turns)
