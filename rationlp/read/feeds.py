"""Feed tables: the packaged ones, the farm's own laid over them, and the stated rules that fill
what a table leaves blank.

A blank is never 0. What a rule fills says so: origin `computed` (FME by a published rule) or
`default` (class defaults of degradability, a blank ADIN taken as 0).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from rationlp.csvfile import CsvRow, CsvTable, check_columns, read_rows
from rationlp.errors import Faults
from rationlp.farm.feed import Feed, Figure
from rationlp.farm.feed_table import FME_RULES, KINDS, SORTS, WORDS, packaged_feeds, sort_of
from rationlp.quantities import Quantity, feed_columns
from rationlp.rules.feedchecks import check_feed, check_range, check_sort


def read_feed_tables(
    own: Path | CsvTable | None = None, own_quantities: Mapping[str, Quantity] | None = None
) -> dict[str, Feed]:
    """The packaged feed tables by key, with the farm's own CSV laid over them.

    own: a CSV (or its table once read) with the same columns, plus those that the farm declared
    itself (`own_quantities`). A key of the packaged tables replaces single figures of that feed
    (origin `farm`); a new key is a new feed. Raises InputError with everything that is wrong.
    """
    feeds = dict(packaged_feeds())
    if own is not None:
        feeds.update(read_own_feeds(own, feeds, own_quantities or {}))
    return feeds


def read_own_feeds(
    own: Path | CsvTable, known: Mapping[str, Feed], own_quantities: Mapping[str, Quantity]
) -> dict[str, Feed]:
    """The feeds of a farm's own CSV, laid over `known`. Raises InputError with all faults."""
    table = own if isinstance(own, CsvTable) else read_rows(own)
    faults = Faults(table.name)
    columns = [*WORDS, *feed_columns(), *own_quantities]
    headings = faults.of(f"{table.name} headings")
    if "key" not in table.headings:
        headings.add("IN220", 'no column "key"', "the first column holds the feed's key")
    check_columns(table, "IN220", (), columns, headings, "declare it under own_quantities")
    faults.refuse()
    feeds: dict[str, Feed] = {}
    lines: dict[str, int] = {}
    for row in table.rows:
        key = row.cells.get("key", "")
        place = faults.of(table.where(row, "key"))
        if not key:
            place.add("IN221", "no key", "give each feed a short key of its own")
        elif key in lines:
            problem = f'"{key}" is in row {lines[key]} already'
            place.add("IN222", problem, "keep one row for each feed")
        else:
            lines[key] = row.line
            feeds[key] = _own_feed(table, row, known.get(key), own_quantities, faults.at())
    faults.refuse()
    return feeds


def _own_feed(
    table: CsvTable,
    row: CsvRow,
    known: Feed | None,
    own_quantities: Mapping[str, Quantity],
    faults: Faults,
) -> Feed:
    """The feed of a row, over the known feed of its key."""
    figures: dict[str, Figure] = {} if known is None else dict(known.figures)
    source = f"{table.name} row {row.line}"
    for name in table.headings:
        if name in WORDS:
            continue
        value = table.number(row, name, faults)
        if value is not None:
            check_range(name, value, own_quantities, faults.of(table.where(row, name)))
            figures[name] = Figure(value, "farm", source)
    words: dict[str, str] = {}
    for heading, allowed in (("kind", KINDS), ("sort", SORTS), ("fme_rule", FME_RULES)):
        from_table = "" if known is None else getattr(known, heading)
        words[heading] = word = row.cells.get(heading, "") or from_table
        place = faults.of(table.where(row, heading))
        valid = f"use one of {', '.join(allowed)}"
        if heading == "kind" and word not in allowed:
            place.unknown("IN223", f'no feed kind "{word}"', word, allowed, valid)
        elif word and word not in allowed:
            place.add("IN223", f'no {heading} "{word}"', f"{valid}, or leave it empty")
    if "dm_g_per_kg" not in figures and faults.clean:
        remedy = "give dm_g_per_kg: grams of dry matter in a kg fresh"
        faults.of(table.where(row, "dm_g_per_kg")).add("IN224", "no dry matter", remedy)
    key = row.cells["key"]
    feed = Feed(
        key=key,
        name=row.cells.get("name", "") or (key if known is None else known.name),
        kind=words["kind"],
        figures=figures,
        note=row.cells.get("note", ""),
        sort=words["sort"],
        fme_rule=words["fme_rule"],
    )
    if faults.clean:
        # An own kind or sort may contradict the packaged row, so the dry matter is looked at even
        # where it is that row's.
        own = [name for name, figure in figures.items() if figure.origin == "farm"]
        for name in dict.fromkeys(["dm_g_per_kg", *own]):
            place = faults.of(table.where(row, name))
            check_sort(name, figures[name].value, (sort_of(feed), feed.kind), place)
        check_feed(feed, faults.of(source))
    return feed


def overlay_own(feed: Feed, figures: Mapping[str, float], faults: Faults) -> Feed:
    """A feed with the farm's own figures (origin `farm`) over it; impossible ones: faults."""
    own = faults.at()
    laid = dict(feed.figures)
    for name, value in figures.items():
        check_range(name, value, {}, own.at(name))
        laid[name] = Figure(value, "farm", faults.place)
    over = replace(feed, figures=laid)
    if own.clean:
        for name, value in figures.items():
            check_sort(name, value, (sort_of(feed), feed.kind), own.at(name))
    if own.clean:
        check_feed(over, own)
    return over
