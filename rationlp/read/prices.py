"""prices.csv: prices of bought feeds, laid over those of farm.toml; a feed that farm.toml does not
buy is added.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from rationlp.csvfile import CsvRow, CsvTable, parse_number, read_rows
from rationlp.errors import Finding, InputError
from rationlp.farm.feed_names import feeds_meant
from rationlp.farm.feed_table import packaged_feeds
from rationlp.farm.penalties import MOST_MONEY
from rationlp.named import nearest, same
from rationlp.read.schema import BoughtTable

COLUMNS = ("feed", "price_per_t_fresh", "least_t", "most_t", "load_t", "name")
_MOST = {"price_per_t_fresh": MOST_MONEY, "least_t": 1e6, "most_t": 1e6, "load_t": 1000.0}
_MOST_SIGNS = 120

Bought = list[tuple[int, BoughtTable | None]]


def read_prices(path: Path, bought: Bought) -> Bought:
    """The bought feeds with the file's prices over them (by id or feed key). Added ones carry the
    number −1.

    Raises InputError with everything that is wrong.
    """
    table = read_rows(path)
    findings = _headings(table)
    if findings:
        raise InputError(findings)
    kept = list(bought)
    seen: dict[str, int] = {}
    for row in table.rows:
        feed = _named(row.cells["feed"], bought)
        fault = _feed_fault(table, row, seen)
        if fault is not None:
            findings.append(fault)
            continue
        seen[feed] = row.line
        figures, more = _figures(table, row)
        findings += more
        if more:
            continue
        places = _places(kept, feed)
        if len(places) > 1:
            ids = ", ".join(
                one.id or one.feed
                for n, (_, one) in enumerate(kept)
                if n in places and one is not None
            )
            found = f'"{feed}" is bought more than once'
            findings.append(
                Finding("IN141", table.where(row, "feed"), found, f"name it by its id: {ids}")
            )
        elif places:
            number, one = kept[places[0]]
            assert one is not None
            kept[places[0]] = (number, one.model_copy(update=figures))
        else:
            kept.append((-1, BoughtTable.model_validate({"feed": feed, **figures})))
    if findings:
        raise InputError(findings)
    return kept


def _feed_fault(table: CsvTable, row: CsvRow, seen: Mapping[str, int]) -> Finding | None:
    """What is wrong with the feed or name of a row. seen: the line of each feed before it."""
    feed, name = row.cells["feed"], row.cells.get("name", "")
    found, remedy = "", ""
    if not feed:
        found, remedy = "no feed", "name the bought feed"
    elif max(len(feed), len(name)) > _MOST_SIGNS:
        found = f"a feed or name of more than {_MOST_SIGNS} characters"
        remedy = "use the key of the feed tables or its id"
    elif not f"{feed}{name}".isprintable():
        found = "a control character in a feed or name"
        remedy = "type the cell again, as plain text"
    elif feed in seen:
        found, remedy = (
            f'"{feed}" stands in row {seen[feed]} already',
            "keep one price for each feed",
        )
    return Finding("IN141", table.where(row, "feed"), found, remedy) if found else None


def _named(word: str, bought: Bought) -> str:
    """The id or feed key that a row means, as people name feeds; the word itself where several or
    none fit.
    """
    own = {
        name: table.id or table.feed
        for _, table in bought
        if table is not None
        for name in (table.id or table.feed, table.feed, table.name or table.feed)
    }
    if word in own or len(word) > _MOST_SIGNS:
        return word
    ids = {own[name] for name in same(word, own)}
    if len(ids) == 1:
        return next(iter(ids))
    return feeds_meant(word, packaged_feeds()).key or word


def _places(bought: Bought, feed: str) -> list[int]:
    """Which of the bought feeds a row means: the one of this id, else those of this feed key."""
    tables = [(n, one) for n, (_, one) in enumerate(bought) if one is not None]
    of_id = [n for n, one in tables if (one.id or one.feed) == feed]
    return of_id[:1] or [n for n, one in tables if one.feed == feed]


def _headings(table: CsvTable) -> list[Finding]:
    where = f"{table.name} headings"
    findings = []
    for needed in COLUMNS[:2]:
        if needed not in table.headings:
            findings.append(
                Finding("IN140", where, f'no column "{needed}"', f"columns: {', '.join(COLUMNS)}")
            )
    for heading in table.headings:
        if heading not in COLUMNS:
            near = nearest(heading, COLUMNS, 1, 0.5)
            remedy = f'nearest: "{near[0]}"' if near else f"columns: {', '.join(COLUMNS)}"
            findings.append(Finding("IN140", where, f'unknown column "{heading}"', remedy))
    return findings


def _figures(table: CsvTable, row: CsvRow) -> tuple[dict[str, float | str], list[Finding]]:
    """The figures that a row gives, and the name where it gives one, with everything that is wrong
    with them.
    """
    name = row.cells.get("name", "")
    figures: dict[str, float | str] = {"name": name} if name else {}
    findings: list[Finding] = []
    for heading in table.headings:
        if heading not in _MOST:
            continue
        where = table.where(row, heading)
        try:
            value = parse_number(row.cells[heading], where)
        except InputError as trouble:
            findings += trouble.findings
            continue
        if value is None:
            if heading == "price_per_t_fresh":
                findings.append(
                    Finding("IN142", where, "no price", "give the price a tonne fresh, delivered")
                )
        elif not 0.0 <= value <= _MOST[heading] or (heading == "load_t" and value == 0.0):
            valid = f"valid {'above' if heading == 'load_t' else 'from'} 0 to {_MOST[heading]:g}"
            findings.append(Finding("IN142", where, f"{value:g} is no {heading}", valid))
        else:
            figures[heading] = value
    return figures, findings


def kept_over(over: Mapping[str, frozenset[str]], before: Bought, after: Bought) -> Bought:
    """Bought feeds after prices.csv was read, the keys that a question states of them (by id) put
    back.
    """
    stated = {table.id or table.feed: table for _, table in before if table is not None}
    kept: Bought = []
    for number, table in after:
        before_it = None if table is None else stated.get(table.id or table.feed)
        if table is not None and before_it is not None:
            update = {key: getattr(before_it, key) for key in over.get(table.id or table.feed, ())}
            table = table.model_copy(update=update)
        kept.append((number, table))
    return kept
