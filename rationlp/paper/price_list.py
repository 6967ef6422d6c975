"""A price list understood: which feed, what a tonne fresh costs; what stays open is asked."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from statistics import median

from rationlp.errors import Finding
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed, Offer
from rationlp.farm.feed_names import NEVER_UNASKED, feeds_meant
from rationlp.folders import packaged_rows
from rationlp.named import plain, stems
from rationlp.paper.lines import Cell, Line, nearest_column
from rationlp.paper.numbers import decimal_comma
from rationlp.paper.price_lines import (
    BROUGHT,
    FETCHED,
    SIGNS,
    Amount,
    Priced,
    column_role,
    currencies_in,
    per_in,
    priced,
    signed_money,
    weights,
    with_tax,
)
from rationlp.paper.questions import NONE, Answers
from rationlp.records import dataclass
from rationlp.rules.usual_prices import FAR, usual_share

_LOWEST, _HIGHEST = 15.0, 3000.0
"""What a tonne fresh costs where the farm has no prices [GBP, EUR, USD]; common practice (c)."""
_PER = {"t": "a tonne", "bag": "a bag", "load": "a load", "kg": "a kg"}
_TONNES = {"t": 1.0, "kg": 0.001}


@dataclass(frozen=True)
class PriceRow:
    """A price understood: feed (id of a bought feed, or key of the feed tables), per_tonne
    [currency/t fresh, delivered], load_t where the list states one, the reading in words, why where
    it was not stated, whether the farm buys it already, and its line.
    """

    feed: str
    per_tonne: float
    load_t: float | None
    reading: str
    why: str
    new: bool
    line: Line


@dataclass(frozen=True)
class PriceList:
    """All prices of a list, the lines with numbers that were left aside, and remarks."""

    rows: tuple[PriceRow, ...]
    aside: tuple[Line, ...]
    remarks: tuple[str, ...]


def price_list(lines: Sequence[Line], farm: Farm, answers: Answers) -> PriceList:
    """The prices of a list, as far as they are understood; open questions are in `answers`."""
    return _Reader(lines, farm, answers).read()


class _Reader:
    """Goes through the lines of a list."""

    def __init__(self, lines: Sequence[Line], farm: Farm, answers: Answers) -> None:
        self.lines, self.farm, self.answers = lines, farm, answers
        self.comma = decimal_comma(line.text for line in lines)
        self.text = "\n".join(line.text for line in lines)
        self.money = signed_money(self.text)
        self.heads: tuple[Cell, ...] = ()
        self.per = ""
        self.bag: float | None = None
        self.load: float | None = None
        self.level = _level(farm)
        self.aside: list[Line] = []
        self.remarks: list[str] = []

    def read(self) -> PriceList:
        self._currency()
        rows: dict[str, PriceRow] = {}
        for line in self.lines:
            row = self._line(line)
            if row is None:
                continue
            earlier = rows.get(row.feed)
            if earlier is not None and abs(earlier.per_tonne - row.per_tonne) > 0.005:
                row = self._one_of(earlier, row)
            if row is not None:
                rows[row.feed] = row
        if rows and not BROUGHT.search(self.text) and not FETCHED.search(self.text):
            self.remarks.append(
                "The list does not say whether prices are delivered: they are taken as delivered."
            )
        if with_tax(self.text):
            self.remarks.append("The list says that tax is in the prices: they are as printed.")
        return PriceList(tuple(rows.values()), tuple(self.aside), tuple(self.remarks))

    def _currency(self) -> None:
        for sign in sorted(currencies_in(self.text)):
            if self.farm.currency not in SIGNS.get(sign, (sign,)):
                trouble = f"prices in {sign}, and the farm counts in {self.farm.currency}"
                remedy = "give a list in the farm's currency"
                self.answers.wrong.append(Finding("PA120", self.lines[0].place, trouble, remedy))

    def _line(self, line: Line) -> PriceRow | None:
        if self._is_heading(line):
            return None
        heads = tuple(self._head(line, number) for number in range(len(line.cells)))
        entry = priced(line, heads, self.comma, self.money)
        if not entry.amounts:
            self._context(line)
            return None
        if not re.search(r"[a-z]{2}", entry.name, re.I):
            self.aside.append(line)
            return None
        feed = self._feed(entry)
        if feed is None:
            return None
        name, new, of = feed
        amount = self._amount(entry)
        if amount is None:
            return None
        return self._row(entry, amount, name, new, of)

    def _is_heading(self, line: Line) -> bool:
        roles = [column_role(cell.text) for cell in line.cells]
        if len(roles) < 2 or "price" not in roles or re.search(r"[£€$]\s*\d", line.text):
            return False
        if "product" not in roles and roles[0]:
            return False
        self.heads = line.cells
        return True

    def _head(self, line: Line, number: int) -> Cell | None:
        if not self.heads:
            return None
        if len(line.cells) == len(self.heads):
            return self.heads[number]
        column = nearest_column(line.cells[number], self.heads)
        if column is None:
            return None
        return self.heads[column]

    def _context(self, line: Line) -> None:
        """A line without a price: what the prices after it are for."""
        self.per = per_in(line.text) or self.per
        bag, load = weights(line.text)
        self.bag, self.load = bag or self.bag, load or self.load

    def _feed(self, entry: Priced) -> tuple[str, bool, Feed] | None:
        """The feed that a name means; None where it has to be asked, or is left out."""
        bought = [offer for offer in self.farm.offers if offer.bought]
        stated = self.answers.stated(entry.name)
        fits = _own(bought, entry.name)
        if len(fits) == 1 and stated is None:
            return fits[0].id, False, fits[0].feed
        keys: list[str] = []
        if not fits:
            meaning = feeds_meant(_core(entry.name), self.farm.feeds)
            if meaning.key is not None and stated is None:
                return self._of_key(meaning.key, bought)
            keys = [*meaning.candidates, *meaning.spelt_alike][:8]
        choices = [(offer.id, offer.name) for offer in fits]
        choices += [(key, self.farm.feeds[key].name) for key in keys]
        if not choices and stated is None:
            self.aside.append(entry.line)
            return None
        if stated in self.farm.feeds:
            return self._of_key(str(stated), bought)
        choices += [(offer.id, offer.name) for offer in bought if offer.id == stated]
        asks = f'Which feed is "{entry.name}"?'
        place = entry.line.place
        word = self.answers.choice(entry.name, place, asks, [*choices, (NONE, "leave it out")])
        if word is None or word == NONE:
            return None
        bought_feed = next((offer for offer in bought if offer.id == word), None)
        if bought_feed is None:
            return self._of_key(word, bought)
        return bought_feed.id, False, bought_feed.feed

    def _of_key(self, key: str, bought: list[Offer]) -> tuple[str, bool, Feed]:
        same_feed = [offer for offer in bought if offer.feed.key == key]
        if len(same_feed) == 1:
            return same_feed[0].id, False, same_feed[0].feed
        return key, True, self.farm.feeds[key]

    def _amount(self, entry: Priced) -> Amount | None:
        """The price that counts: the only one, else the delivered one, else what is answered."""
        if len(entry.amounts) == 1:
            return entry.amounts[0]
        brought = [amount for amount in entry.amounts if BROUGHT.search(amount.head)]
        if len(brought) == 1:
            return brought[0]
        heads = [amount.head for amount in entry.amounts]
        named = all(heads) and len(set(heads)) == len(heads)
        titles, key = heads, "price column"
        if not named:
            titles = [amount.number.text for amount in entry.amounts]
            key = f"{entry.name} price"
        choices = [
            (word, amount.number.text) for word, amount in zip(titles, entry.amounts, strict=True)
        ]
        asks = f'Several prices in "{entry.line.text[:80]}": which counts?'
        chosen = self.answers.choice(key, entry.line.place, asks, choices)
        for word, amount in zip(titles, entry.amounts, strict=True):
            if chosen == word:
                return amount
        return None

    def _row(
        self, entry: Priced, amount: Amount, name: str, new: bool, feed: Feed
    ) -> PriceRow | None:
        per = amount.per or self.per
        possible = self._readings(entry, amount, per, feed)
        why = ""
        if not per or len(amount.number.readings) > 1:
            why = "by its size"
        if len(possible) != 1 or not self._usual(possible[0][0], feed):
            possible, why = self._answered(entry, possible), "as answered"
        if not possible:
            return None
        per_tonne, origin = possible[0]
        fetched = self._haulage(entry, amount)
        if fetched is None:
            return None
        if fetched:
            origin += f", and {fetched:g} for haulage"
        load = None
        if per == "load":
            load = entry.load_t
        return PriceRow(name, per_tonne + fetched, load, origin, why, new, entry.line)

    def _answered(
        self, entry: Priced, possible: list[tuple[float, str]]
    ) -> list[tuple[float, str]]:
        """The reading that is answered, where a price has several or one far from what is usual."""
        if not possible:
            if entry.line.place not in {question.place for question in self.answers.open}:
                self.aside.append(entry.line)
            return []
        choices = [(f"{value:.2f}", origin) for value, origin in possible]
        asks = f'The price in "{entry.line.text[:80]}": what is it a tonne?'
        if len(possible) == 1:
            asks = f'The price in "{entry.line.text[:80]}" is far from usual: is it right?'
        word = self.answers.choice(
            f"{entry.name} per tonne", entry.line.place, asks, [*choices, (NONE, "leave it out")]
        )
        return [reading for reading in possible if word == f"{reading[0]:.2f}"]

    def _readings(
        self, entry: Priced, amount: Amount, per: str, feed: Feed
    ) -> list[tuple[float, str]]:
        """What a tonne may cost by the number, with the reading in words; sizes that no feed of
        this kind costs are left out where more than one is possible.
        """
        possible: list[tuple[float, str]] = []
        sorts = ["t", "bag", "load"]
        if per:
            sorts = [per]
        for sort in sorts:
            weight = self._weight(entry, sort, bool(per))
            if weight is None:
                continue
            for number in amount.number.readings:
                origin = f"{number:g} {_PER[sort]}"
                if sort == "bag":
                    origin += f" of {1000.0 * weight:g} kg"
                if sort == "load":
                    origin += f" of {weight:g} t"
                possible.append((number / weight, origin))
        if len(possible) < 2 and per:
            return possible
        return [reading for reading in possible if self._usual(reading[0], feed)]

    def _weight(self, entry: Priced, sort: str, stated: bool) -> float | None:
        """Tonnes that a price is for; None where that is not known."""
        if sort in _TONNES:
            return _TONNES[sort]
        place = entry.line.place
        if sort == "bag":
            kg = entry.bag_kg or self.bag
            if kg is None and stated:
                kg = self.answers.number(
                    "bag kg", place, "How many kg are in a bag or bale?", 1, 1500
                )
            if kg is None:
                return None
            return kg / 1000.0
        tonnes = entry.load_t or self.load
        if tonnes is None and stated:
            tonnes = self.answers.number("load t", place, "How many tonnes are a load?", 0.5, 60)
        return tonnes

    def _usual(self, per_tonne: float, feed: Feed) -> bool:
        """Whether a tonne of a feed may cost so much, beside the farm's other prices."""
        share = usual_share(feed)
        if self.level is None or share is None:
            return _LOWEST <= per_tonne <= _HIGHEST
        usual = self.level * share * feed.dm_g_per_kg / 1000.0
        return usual / FAR <= per_tonne <= usual * FAR

    def _haulage(self, entry: Priced, amount: Amount) -> float | None:
        """What bringing a tonne costs where the price is for feed that is fetched."""
        entry_text = f"{amount.head}  {entry.line.text}"
        fetched = FETCHED.search(entry_text)
        if not fetched and not BROUGHT.search(entry_text) and not BROUGHT.search(self.text):
            fetched = FETCHED.search(self.text)
        if not fetched or BROUGHT.search(amount.head):
            return 0.0
        asks = f'"{fetched[0]}": what does it cost to bring a tonne?'
        return self.answers.number("haulage", entry.line.place, asks, 0.0, 300.0)

    def _one_of(self, first: PriceRow, second: PriceRow) -> PriceRow | None:
        """A feed with two prices on the list."""
        both = [(f"{row.per_tonne:.2f}", row.line.text[:60]) for row in (first, second)]
        asks = f"{first.feed} has two prices on the list: which counts?"
        word = self.answers.choice(f"{first.feed} price", second.line.place, asks, both)
        if word == both[1][0]:
            return second
        return first


@lru_cache(maxsize=1)
def _words() -> tuple[frozenset[str], frozenset[str]]:
    """Words of packing, and those and all others that make no other feed of a name."""
    rows = packaged_rows("price-words.csv")
    packing = frozenset(row["word"] for row in rows if row["of"] == "packing")
    return packing, frozenset(row["word"] for row in rows)


def _level(farm: Farm) -> float | None:
    """The price of barley that the farm's own prices come to [currency/t DM]; None without any."""
    prices = []
    for offer in farm.offers:
        share = usual_share(offer.feed)
        if offer.bought and offer.price_per_t_fresh > 0.0 and share:
            prices.append(offer.price_per_t_fresh * 1000.0 / offer.feed.dm_g_per_kg / share)
    if not prices:
        return None
    return median(prices)


def _core(name: str) -> str:
    """A name without what only describes: numbers of per cent, bulk, delivered, in brackets …"""
    without_pack = re.sub(r"\(.*?\)|\d+(?:[.,]\d+)?\s*(?:kgs?|t|tonnes?|%)(?!\w)", " ", name)
    packing, _ = _words()
    core = [word for word in plain(without_pack).split() if not stems(word) <= packing]
    return " ".join(core) or name


def _own(bought: list[Offer], name: str) -> list[Offer]:
    """The bought feeds that a name means: the same words, but for those that only describe."""
    stems_of_name = stems(name)
    exact = [
        offer for offer in bought if plain(_core(name)) in (plain(offer.id), plain(offer.name))
    ]
    if exact:
        return exact
    core = stems(_core(name))
    _, describing = _words()
    fits = []
    for offer in bought:
        for offer_stems in (stems(offer.id), stems(offer.name)):
            spare = {word for word in stems_of_name - offer_stems if not word.isdigit()}
            if (
                offer_stems & core
                and offer_stems - describing <= stems_of_name
                and spare <= describing
            ):
                fits.append(offer)
                break
    if (
        len(fits) == 1
        and fits[0].feed.kind in NEVER_UNASKED
        and not stems(fits[0].name) <= stems_of_name
    ):
        return []
    return fits
