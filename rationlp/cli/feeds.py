"""`rationlp feeds`: look into the feed tables."""

from __future__ import annotations

from collections.abc import Mapping

from rationlp.cli.options import Options
from rationlp.errors import Finding, InputError, refused
from rationlp.farm.feed import Feed
from rationlp.farm.feed_names import feed_remedy, feeds_meant
from rationlp.read.feeds import read_feed_tables
from rationlp.records import dataclass
from rationlp.report.answers.farm import FeedsAnswer
from rationlp.report.story import Story, always, brief, full
from rationlp.report.tables.feeds import compare_feeds, feed_table, feeds_table
from rationlp.report.tables.table import Table, cut
from rationlp.report.terminal import tell

MOST_ROWS = 30
"""More feeds than these are listed with --full only."""


@dataclass(frozen=True)
class Solved:
    """Feeds, and the table that shows them."""

    feeds: tuple[Feed, ...]
    table: Table


def solve(nothing: None, options: Options) -> Solved:
    """The feeds asked for: one, two side by side, those of a table, or all."""
    if options.file is not None:
        return _validated(options)
    every = read_feed_tables(options.own)
    if options.word is not None:
        feeds = _meant(every, options.word)
        return Solved(feeds, feeds_table(feeds))
    keys = [key for key in (options.key, options.first, options.second) if key is not None]
    feeds = _picked(every, keys)
    if options.second is not None:
        return Solved(feeds, compare_feeds(feeds[0], feeds[1]))
    if options.key is not None:
        return Solved(feeds, feed_table(feeds[0]))
    kinds = sorted({feed.kind for feed in every.values()})
    if options.kind is not None and options.kind not in kinds:
        trouble, remedy = f'no feed is of kind "{options.kind}"', f"use one of {', '.join(kinds)}"
        raise refused("IN606", "--kind", trouble, remedy)
    feeds = tuple(feed for feed in every.values() if options.kind in (None, feed.kind))
    return Solved(feeds, feeds_table(feeds))


def _meant(feeds: Mapping[str, Feed], word: str) -> tuple[Feed, ...]:
    """The feeds that a word may mean; raises InputError (IN605) where none is like it."""
    meaning = feeds_meant(word, feeds)
    keys = meaning.candidates or meaning.spelt_alike
    if not keys:
        remedy = 'try a shorter word, or see "rationlp feeds list"'
        raise refused("IN605", f'feed "{word}"', "no feed is like this", remedy)
    return tuple(feeds[key] for key in keys)


def _validated(options: Options) -> Solved:
    """What a table of one's own adds or changes."""
    packaged, laid = read_feed_tables(), read_feed_tables(options.file)
    changed = tuple(feed for key, feed in laid.items() if packaged.get(key) != feed)
    tell(f"{options.file}: no errors; feeds that it adds or changes: {len(changed)}")
    return Solved(changed, feeds_table(changed))


def _picked(feeds: Mapping[str, Feed], keys: list[str]) -> tuple[Feed, ...]:
    """The feeds asked for. Raises InputError (IN605) with the nearest of each unknown key."""
    meanings = [feeds_meant(word, feeds) for word in keys]
    trouble = "there is no feed of this key"
    findings = [
        Finding("IN605", f'feed "{word}"', trouble, feed_remedy(meaning))
        for word, meaning in zip(keys, meanings, strict=True)
        if meaning.key is None
    ]
    if findings:
        raise InputError(findings)
    return tuple(feeds[meaning.key] for meaning in meanings if meaning.key is not None)


def story(solved: Solved, options: Options) -> Story:
    """Feeds as a story."""
    table = solved.table
    listed = options.key is None and options.second is None
    parts = always(table)
    if listed and len(table.rows) > MOST_ROWS:
        parts = (*brief(cut(table, MOST_ROWS)), *full(table))
    feeds = solved.feeds
    hint = "Every feed: `--full`; only some: --kind KIND."
    return Story("feeds", parts, lambda: table, hint=hint, answer=lambda: FeedsAnswer(feeds))
