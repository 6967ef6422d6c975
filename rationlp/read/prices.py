"""prices.csv: prices of bought feeds, laid over those of farm.toml; other feeds are added."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from rationlp.csvfile import CsvRow, CsvTable, check_columns, read_rows
from rationlp.errors import Faults
from rationlp.farm.feed_names import feeds_meant
from rationlp.farm.feed_table import packaged_feeds
from rationlp.farm.penalties import MOST_MONEY
from rationlp.named import same
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
    faults = Faults(table.name)
    remedy = f"columns: {', '.join(COLUMNS)}"
    headings = faults.of(f"{table.name} headings")
    check_columns(table, "IN140", COLUMNS[:2], COLUMNS, headings, remedy)
    faults.refuse()
    priced = list(bought)
    lines: dict[str, int] = {}
    for row in table.rows:
        place = faults.of(table.where(row, "feed"))
        feed = _named(row.cells["feed"], bought)
        _check_feed(row, feed, lines, place)
        if not place.clean:
            continue
        lines[feed] = row.line
        figures = _figures(table, row, place)
        if place.clean:
            _lay_over(priced, feed, figures, place)
    faults.refuse()
    return priced


def _lay_over(
    priced: Bought, feed: str, figures: Mapping[str, float | str], faults: Faults
) -> None:
    """Puts a row's figures over the one bought feed that it means, or adds a bought feed."""
    places = _places(priced, feed)
    tables = [table for place in places if (table := priced[place][1]) is not None]
    if len(tables) > 1:
        ids = ", ".join(table.id or table.feed for table in tables)
        faults.add("IN141", f'"{feed}" is bought more than once', f"name it by its id: {ids}")
    elif tables:
        number, _ = priced[places[0]]
        priced[places[0]] = (number, tables[0].model_copy(update=dict(figures)))
    else:
        priced.append((-1, BoughtTable.model_validate({"feed": feed, **figures})))


def _check_feed(row: CsvRow, feed: str, lines: Mapping[str, int], faults: Faults) -> None:
    """The feed and name of a row. lines: the line of each feed before it."""
    name = row.cells.get("name", "")
    if not feed:
        faults.add("IN141", "no feed", "name the bought feed")
    elif max(len(feed), len(name)) > _MOST_SIGNS:
        problem = f"a feed or name of more than {_MOST_SIGNS} characters"
        faults.add("IN141", problem, "use the key of the feed tables or its id")
    elif not f"{feed}{name}".isprintable():
        problem = "a control character in a feed or name"
        faults.add("IN141", problem, "type the cell again, as plain text")
    elif feed in lines:
        problem = f'"{feed}" is in row {lines[feed]} already'
        faults.add("IN141", problem, "keep one price for each feed")


def _named(word: str, bought: Bought) -> str:
    """The id or feed key that a row means, as people name feeds; else the word itself."""
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
    tables = [(n, table) for n, (_, table) in enumerate(bought) if table is not None]
    of_id = [n for n, table in tables if (table.id or table.feed) == feed]
    return of_id[:1] or [n for n, table in tables if table.feed == feed]


def _figures(table: CsvTable, row: CsvRow, faults: Faults) -> dict[str, float | str]:
    """The figures that a row gives, and the name where it gives one."""
    name = row.cells.get("name", "")
    figures: dict[str, float | str] = {"name": name} if name else {}
    for heading in table.headings:
        if heading not in _MOST:
            continue
        place = faults.of(table.where(row, heading))
        value = table.number(row, heading, place)
        if value is None:
            if heading == "price_per_t_fresh" and place.clean:
                place.add("IN142", "no price", "give the price a tonne fresh, delivered")
        elif not 0.0 <= value <= _MOST[heading] or (heading == "load_t" and value == 0.0):
            lowest = "above" if heading == "load_t" else "from"
            valid = f"valid {lowest} 0 to {_MOST[heading]:g}"
            place.add("IN142", f"{value:g} is no {heading}", valid)
        else:
            figures[heading] = value
    return figures


def kept_over(over: Mapping[str, frozenset[str]], before: Bought, after: Bought) -> Bought:
    """Bought feeds after prices.csv, the keys that a question states (by id) put back."""
    stated = {table.id or table.feed: table for _, table in before if table is not None}
    bought: Bought = []
    for number, table in after:
        if table is not None:
            offer_id = table.id or table.feed
            keys = frozenset[str]()
            if offer_id in stated:
                keys = over.get(offer_id, keys)
            update = {key: getattr(stated[offer_id], key) for key in keys}
            table = table.model_copy(update=update)
        bought.append((number, table))
    return bought
