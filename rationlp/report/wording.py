"""Words in a sentence: more or less, one or several, from and to; days as people say them."""

from __future__ import annotations

import re
from datetime import date


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


Winter = tuple[date, date]
"""First day and turnout of a winter: its days need no year."""

_MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
_DAY = re.compile(r"(?<!--on )(?<!--from )(?<![\w./-])(\d{4})-(\d\d)-(\d\d)(?![\w/-]|\.\w)")
_MONTH = re.compile(r"(\d{4})-(\d\d)")


_SAID = re.compile(rf"(?<!\d)(\d{{1,2}}) (?=(?:{'|'.join(_MONTHS)})\b)")


def unbroken(text: str) -> str:
    """A text whose days as people say them are not broken over two lines."""
    return _SAID.sub("\\1\u00a0", text)


def day_words(day: date) -> str:
    """A date as people say it, without its year: 24 March."""
    return f"{day.day} {_MONTHS[day.month - 1]}"


def day_and_year(day: date) -> str:
    """A date as people say it, with its year: 24 March 2027."""
    return f"{day_words(day)} {day.year}"


def span_words(first: date, last: date) -> str:
    """Two days as people say them, with their years: 15 October 2026 to 10 April 2027."""
    return f"{day_and_year(first)} to {day_and_year(last)}"


def with_day_words(text: str, winter: Winter | None = None) -> str:
    """A text with every day (year-month-day) as people write it; those of a command are left."""

    def words(match: re.Match[str]) -> str:
        try:
            day = date(*map(int, match.groups()))
        except ValueError:
            return match.group()
        of_winter = winter is not None and winter[0] <= day <= winter[1]
        if of_winter:
            return day_words(day)
        return day_and_year(day)

    month = _MONTH.fullmatch(text)
    if month is not None and 1 <= int(month[2]) <= 12:
        return f"{_MONTHS[int(month[2]) - 1]} {month[1]}"
    return _DAY.sub(words, text)
