"""Words for figures in a sentence: more or less, one or several, from and to."""

from __future__ import annotations


def more_or_less(amount: float) -> str:
    """The word for an amount more than another: `more` from nothing on, `less` below."""
    if amount < 0.0:
        return "less"
    return "more"


def counted(number: int, word: str) -> str:
    """A number of things: 1 group, 2 groups."""
    if number == 1:
        return f"{number} {word}"
    return f"{number} {word}s"


def from_to(low: str, high: str) -> str:
    """A range in words; one figure where both ends print the same."""
    if low == high:
        return low
    return f"{low} to {high}"


def kg_decimals(amount: float, below: float = 1.0) -> int:
    """Decimals of an amount of feed in a sentence [kg or t]: two below 1, or what is given."""
    if amount >= below:
        return 1
    return 2
