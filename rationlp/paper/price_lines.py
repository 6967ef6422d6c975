"""What a line of a price list says, word by word: amounts of money, weights of bags and loads, what
a price is for, and whether the feed is brought.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from rationlp.paper.lines import Cell, Line
from rationlp.paper.numbers import DATE, Number, blanked, numbers_in, readings_of
from rationlp.records import dataclass

SIGNS = {"£": ("GBP",), "€": ("EUR",), "$": ("USD", "CAD", "AUD", "NZD")}
_MONEY = re.compile(
    r"[£€$]\s*(\d[\d.,]*\d|\d)|(\d[\d.,]*\d|\d)\s*(?:[£€]|gbp\b|eur\b|pounds?\b)", re.I
)
_TONNE = re.compile(
    r"(?:/\s*|\bper\s*|\ba\s+)(?:metric\s*)?(?:t|te|mt|ton|tonne)s?\b(?!\s*bag)", re.I
)
_BAG = re.compile(r"(?:/|\bper|\ba|\bprice)?\s*\b(?:bags?|sacks?|totes?)\b", re.I)
_PER_BAG = re.compile(r"(?:/\s*|\bper\s*|\ba\s+)(?:\d+\s*kg\s*)?(?:bag|sack|tote|bale)\b", re.I)
_PER_LOAD = re.compile(
    r"(?:/\s*|\bper\s*|\ba\s+)(?:[\d.,]+\s*t(?:onne)?s?\s*)?(?:load|lorry|artic)\b", re.I
)
_PER_KG = re.compile(r"(?:/\s*|\bper\s*|\ba\s+)kg\b", re.I)
_KG = re.compile(r"(?<![\d.,/£€$])(\d+(?:[.,]\d+)?)\s*kgs?\b", re.I)
_T = re.compile(r"(?<![\d.,/£€$])(\d+(?:[.,]\d+)?)\s*(?:t|te|mt|tonnes?|tons?)\b", re.I)
_PERCENT = re.compile(r"\d+(?:[.,]\d+)?\s*(?:%|percent|per cent|pc\b)", re.I)
_YEAR = re.compile(r"\b20[2-3]\d(?:/\d\d)?\b")
BROUGHT = re.compile(
    r"\bdeliver(?:ed|y)?\b|\bdlvd\b|\bdel'?d\b|\bdel\b|carriage paid|to farm", re.I
)
FETCHED = re.compile(
    r"\bex[\s-]*(?:farm|store|mill|works|port|yard)\b|\bcollect(?:ed|ion)?\b", re.I
)
_VAT = re.compile(r"\binc(?:l|luding|\.)?\.?\s*vat\b", re.I)
_PRODUCT = re.compile(
    r"^(?:product|feed|commodity|material|description|item|name|straight|what)s?\b", re.I
)
_PRICE = re.compile(
    r"price|cost|£|€|\$|/\s*t\b|per\s+t|rate|delivered|ex[\s-]|collected|"
    r"^(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec|spot)|\bloads?\b|"
    r"^\d+\s*t\b|\bper bag\b",
    re.I,
)
_SIZE = re.compile(r"\b(?:bag|pack|size|weight|kg|load|qty|quantity|min)", re.I)
MOST_BAG_KG, MOST_LOAD_T = 1500.0, 60.0
"""A heavier bag or load is a slip."""


@dataclass(frozen=True)
class Amount:
    """A number that may be a price, what it is for (`t`, `bag`, `load`, `kg`, empty where it is not
    said) and the heading that it stands under.
    """

    number: Number
    per: str
    head: str
    signed: bool


@dataclass(frozen=True)
class Priced:
    """A line with a feed and amounts. bag_kg and load_t: weights that the line itself states."""

    name: str
    amounts: tuple[Amount, ...]
    bag_kg: float | None
    load_t: float | None
    line: Line


def per_in(text: str) -> str:
    """What a price is for, by the words around it: `t`, `bag`, `load`, `kg`, or empty."""
    for per, pattern in (("bag", _PER_BAG), ("load", _PER_LOAD), ("t", _TONNE), ("kg", _PER_KG)):
        if pattern.search(text):
            return per
    return ""


def column_role(heading: str) -> str:
    """What a column of a price list holds: `product`, `price`, `size`, or empty."""
    if _PRODUCT.match(heading.strip()):
        return "product"
    if _PRICE.search(heading) and not re.search(
        r"^min|^qty|^quantity|bag size|weight", heading, re.I
    ):
        return "price"
    if _SIZE.search(heading):
        return "size"
    return ""


def currencies_in(text: str) -> set[str]:
    """Signs and codes of money in a text."""
    signs = {sign for sign in SIGNS if sign in text}
    return signs | set(re.findall(r"\b(?:GBP|EUR|USD|CHF|DKK|SEK|NOK|PLN)\b", text))


def signed_money(text: str) -> bool:
    """Whether a number bears a sign of money."""
    return _MONEY.search(text) is not None


def with_tax(text: str) -> bool:
    """Whether prices are said to include value-added tax."""
    return _VAT.search(text) is not None


def _weight(pattern: re.Pattern[str], text: str) -> float | None:
    match = pattern.search(text)
    if match is None:
        return None
    return float(match[1].replace(",", "."))


def weights(text: str) -> tuple[float | None, float | None]:
    """The weight of a bag [kg] and of a load [t] that a line states."""
    bag, load = _weight(_KG, text), _weight(_T, text)
    if load is not None and bag is None and _BAG.search(text):
        bag, load = 1000.0 * load, None
    if bag is not None and bag > MOST_BAG_KG:
        bag = None
    if load is not None and load > MOST_LOAD_T:
        load = None
    return bag, load


def priced(line: Line, heads: Sequence[Cell | None], comma: bool | None, money: bool) -> Priced:
    """The feed and the amounts of a line. heads: the heading of each cell, where there are some;
    money: whether prices of this list bear a sign of money.
    """
    amounts: list[Amount] = []
    name_cells: list[str] = []
    for cell, head in zip(line.cells, heads, strict=True):
        heading = _text_of(head)
        role = column_role(heading)
        of_cell = _amounts(cell.text, heading, role, comma, money)
        if role != "product" and role != "size":
            amounts += of_cell
        first = min((amount.number.first for amount in of_cell), default=len(cell.text))
        if role in ("product", "") and not (amounts and not of_cell and role == ""):
            name_cells.append(cell.text[:first])
    bag, load = weights(_in_columns(line, heads))
    if any(amount.signed for amount in amounts):
        amounts = [amount for amount in amounts if amount.signed]
    name = _T.sub(" ", _KG.sub(" ", " ".join(name_cells)))
    return Priced(" ".join(name.split()).strip(" .,:-–£€$@"), tuple(amounts), bag, load, line)


def _text_of(head: Cell | None) -> str:
    if head is None:
        return ""
    return head.text


def _in_columns(line: Line, heads: Sequence[Cell | None]) -> str:
    """The text of a line, a number under a heading such as `Bag kg` followed by its unit."""
    texts = []
    for cell, head in zip(line.cells, heads, strict=True):
        text, heading = cell.text, _text_of(head)
        if re.fullmatch(r"\d+(?:[.,]\d+)?", text) and column_role(heading) == "size":
            unit = "t"
            if "kg" in heading.casefold():
                unit = "kg"
            text = f"{text} {unit}"
            if "load" in heading.casefold():
                text += " load"
        texts.append(text)
    return "  ".join(texts)


def _amounts(text: str, heading: str, role: str, comma: bool | None, money: bool) -> list[Amount]:
    amounts = []
    for match in _MONEY.finditer(text):
        digits = (match[1] or match[2]).rstrip(".,")
        number = Number(readings_of(digits, comma), match[0].strip(), match.start(), match.end())
        per = per_in(text[match.end() :]) or per_in(text[: match.start()]) or per_in(heading)
        amounts.append(Amount(number, per, heading, True))
    if amounts or (money and role != "price"):
        return amounts
    spans = [
        match.span()
        for pattern in (_KG, _T, _PERCENT, _YEAR, DATE)
        for match in pattern.finditer(text)
    ]
    for number in numbers_in(blanked(text, spans), comma):
        per = per_in(text[number.last :]) or per_in(heading)
        amounts.append(Amount(number, per, heading, False))
    return amounts
