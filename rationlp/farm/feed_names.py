"""Feeds as people name them: `barley straw`, `soya`, `first cut`.

One feed that fits is taken; several are listed. A mineral, urea, fat or a compound is never taken
for a colloquial name, because so much depends on which: it has to be named by its key or its whole
name.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from rationlp.farm.feed import Feed, Offer
from rationlp.named import likely_names, meant, plain, stems
from rationlp.records import dataclass

FIND = "`rationlp feeds find WORD` looks for a feed; own feeds go in feeds.csv"
NEVER_UNASKED = frozenset({"mineral", "npn", "compound", "fat"})
"""Kinds of feed that a colloquial name never means by itself."""


@dataclass(frozen=True)
class FeedsMeant:
    """What a word for a feed means. key: the feed, None where that has to be asked; candidates:
    keys of those that fit, likeliest first; spelt_alike: where none fits, keys of feeds that are
    spelt much alike, nearest first.
    """

    key: str | None
    candidates: tuple[str, ...]
    spelt_alike: tuple[str, ...] = ()


def feeds_meant(word: str, feeds: Mapping[str, Feed], own: Iterable[str] = ()) -> FeedsMeant:
    """The feeds that a word may mean. own: keys of what the farm has, which come first.

    Exact keys and whole names are taken of any kind, other names never of `NEVER_UNASKED`.
    """
    if word in feeds:
        return FeedsMeant(word, (word,))
    exact = [key for key, feed in feeds.items() if plain(word) in (plain(key), plain(feed.name))]
    if len(exact) == 1:
        return FeedsMeant(exact[0], (exact[0],))
    likely = exact or [key for key in meant("feed", word) if key in feeds]
    if not likely and len(plain(word)) > 2:
        likely = [key for key, feed in feeds.items() if stems(word) <= stems(f"{key} {feed.name}")]
    first = [key for key in own if key in likely]
    candidates = tuple(dict.fromkeys([*first, *likely]))
    if len(candidates) == 1 and feeds[candidates[0]].kind not in NEVER_UNASKED:
        return FeedsMeant(candidates[0], candidates)
    return FeedsMeant(None, candidates, () if candidates else _alike(word, feeds))


def _begun(word: str, feed: Feed) -> bool:
    """Whether every word of a text begins one of a feed's."""
    of_feed = stems(f"{feed.key} {feed.name}")
    begun = [part for part in stems(word) if len(part) > 2]
    return bool(begun) and all(any(own.startswith(part) for own in of_feed) for part in begun)


def _alike(word: str, feeds: Mapping[str, Feed]) -> tuple[str, ...]:
    """Feeds spelt like a word, by key or by name; else those that share one of its words."""
    begun = [key for key, feed in feeds.items() if _begun(word, feed)]
    names = {feed.name: key for key, feed in feeds.items()}
    near = likely_names(word, [*feeds, *names], 5, 0.6)
    alike = dict.fromkeys([*begun, *(names.get(name, name) for name in near)])
    return tuple(alike) or tuple(key for key, feed in feeds.items() if _shares_word(word, feed))


def _shares_word(word: str, feed: Feed) -> bool:
    shared = stems(word) & stems(f"{feed.key} {feed.name}")
    return feed.kind not in NEVER_UNASKED and any(len(part) > 2 for part in shared)


def feed_remedy(meaning: FeedsMeant, other: str = FIND) -> str:
    """What to do about a word that means no single feed; other: where nothing is like it."""
    if len(meaning.candidates) > 1:
        return f"give one of {', '.join(meaning.candidates[:8])}"
    for key in (*meaning.candidates, *meaning.spelt_alike)[:1]:
        return f'nearest: "{key}"'
    return other


def offers_meant(offers: Iterable[Offer], word: str) -> list[Offer]:
    """The stores, then the bought feeds, that a word may mean: by id or name in other letters, else
    by a trade word for their feed, else by holding all its words.
    """
    own = stores_first(offers)
    trade = meant("feed", word)
    for fits in (
        [offer for offer in own if plain(word) in (plain(offer.id), plain(offer.name))],
        [offer for offer in own if stems(word) <= stems(f"{offer.id} {offer.name}")],
        [offer for offer in own if offer.feed.key in trade],
        [offer for offer in own if stems(word) <= stems(f"{offer.feed.key} {offer.feed.name}")],
    ):
        if fits and len(plain(word)) > 1:
            return fits
    return []


def stores_first(offers: Iterable[Offer]) -> list[Offer]:
    return sorted(offers, key=lambda offer: offer.bought)
