"""What a person calls a thing, and the words of ours that may be meant: capitals, blanks, trade
words and slips of the pen.

The trade's words are in feeds/words.csv. `errors.nearest` gives the first of `likely_names`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from difflib import get_close_matches
from functools import lru_cache

from rationlp.folders import packaged_rows

_BETWEEN = re.compile(r"[\s_\-/,.()%]+")
_COUNTED = {"1st": "first", "2nd": "second", "3rd": "third", "percentage": "percent"}
_FEW_SIGNS = 2
"""Of a word this short nearly everything is near."""
_MOST_SIGNS = 60
"""A longer text is no slip of a name; comparing it would only take time."""
UNITS = frozenset({"kg", "g", "t", "m", "m2", "m3", "mm", "ha", "mj", "days", "percent", "degrees"})
"""Words that end a key with the unit of its amount."""
_REMEMBERED = 4096
"""Words kept in plain form: each name of a farm is compared with those of all feeds."""


@lru_cache(maxsize=_REMEMBERED)
def plain(word: str) -> str:
    """A word without capitals, marks and doubled blanks: `Barley_Straw` is `barley straw`."""
    parts = _BETWEEN.split(word.casefold().replace("%", " percent "))
    return " ".join(_COUNTED.get(part, part) for part in parts if part)


@lru_cache(maxsize=_REMEMBERED)
def stems(text: str) -> frozenset[str]:
    """The words of a text, without the s of the plural."""
    return frozenset(
        part[:-1] if len(part) > 3 and part[-1] == "s" else part for part in plain(text).split()
    )


@lru_cache(maxsize=1)
def _trade_words() -> dict[tuple[str, str], tuple[str, ...]]:
    return {
        (row["of"], plain(row["word"])): tuple(row["means"].split())
        for row in packaged_rows("words.csv")
    }


def trade_words(of: str) -> dict[str, tuple[str, ...]]:
    """Every word that people have for a feed, kind, class or key, with what it may mean."""
    return {word: means for (sort, word), means in _trade_words().items() if sort == of}


def meant(of: str, word: str) -> tuple[str, ...]:
    """What a trade word for a feed, kind, class or key may mean, likeliest first; or nothing."""
    return _trade_words().get((of, plain(word)), ())


def same(word: str, known: Iterable[str]) -> list[str]:
    """The known words that differ in capitals, blanks and marks alone."""
    return [name for name in known if plain(name) == plain(word)]


def likely_names(word: str, known: Iterable[str], n: int = 1, cutoff: float = 0.4) -> list[str]:
    """The known words that may be meant, likeliest first, `n` at most.

    First those that differ in capitals or blanks, then the trade's words for them, then those that
    begin with the word, those that hold all its parts, and at last those spelt much alike. cutoff:
    how much alike (0 to 1).
    """
    names = list(dict.fromkeys(known))
    if len(word) > _MOST_SIGNS:
        return []
    likely = same(word, names)
    for (_, trade_word), means in _trade_words().items():
        if trade_word == plain(word):
            likely += [name for name in means if name in names]
    if len(plain(word)) > _FEW_SIGNS:
        likely += [name for name in names if plain(name).startswith(plain(word))]
        likely += [name for name in names if stems(word) <= stems(name)]
    likely += _same_unit_first(word, _alike(word, names, cutoff))
    return list(dict.fromkeys(likely))[:n]


def _same_unit_first(word: str, names: list[str]) -> list[str]:
    """Names that end in the unit of a word before the others: `bale_kg` is no length in metres."""
    unit = plain(word).split()[-1:]
    if not unit or unit[0] not in UNITS:
        return names
    return sorted(names, key=lambda name: plain(name).split()[-1:] != unit)


def _alike(word: str, names: list[str], cutoff: float) -> list[str]:
    """Names spelt like a word, or like a trade word for them."""
    spelt: dict[str, list[str]] = {}
    for name in names:
        spelt.setdefault(plain(name), []).append(name)
    for (_, trade_word), means in _trade_words().items():
        likely = [name for name in means if name in names]
        if likely:
            spelt.setdefault(trade_word, []).extend(likely)
    strict = get_close_matches(plain(word), list(spelt), 5, max(cutoff, 0.75))
    similar = get_close_matches(plain(word), [plain(name) for name in names], 5, cutoff)
    return [name for text in [*strict, *similar] for name in spelt[text]]
