"""Numbers and units in a text: decimal commas, thousands, ranges, `g/kg DM`, `% of fresh weight`.

A number that may be two (`1,250` is 1250 or 1.25) keeps both readings; the size decides, or the
person is asked.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date

from rationlp.records import dataclass

_NUMBER = re.compile(
    r"(?<![\w.,])(?P<sign>[-−]?)(?P<digits>\d{1,3}(?:[.,]\d{3})+(?:[.,]\d{1,2})?(?!\d)"
    r"|\d+(?:[.,]\d+)?)(?![.,]?\d)(?![a-z]{4,}|\w*\d)",
    re.IGNORECASE,
)
_BELOW = re.compile(r"[<>≤≥~±]\s*$")
_RANGE = re.compile(
    r"\(?(?<![\w.,])\d+(?:[.,]\d+)?\s*(?:%|g/kg|mj)?\s*(?:-|–|—|to)\s*\d+(?:[.,]\d+)?(?![\d/.-])\)?",
    re.IGNORECASE,
)
_OF_OTHER = re.compile(
    r"\s?(?:°|deg|c\b|hours?\b|hrs?\b|h\b|kg\b|tonnes?\b|t\b|mm\b|cm\b|days?\b|weeks?\b|"
    r"lit(?:re|er)s?\b|st\b|nd\b|rd\b|th\b)",
    re.I,
)
"""What follows a number that is no figure of an analysis: a temperature, a weight, a cut."""
_GROUPED = re.compile(r"\d{1,3}[.,]\d{3}")
_UNITS: tuple[tuple[str, str], ...] = (
    (r"mj\s*(?:me)?\s*(?:/|per)\s*kg", "mj"),
    (r"mcal\s*(?:/|per)\s*kg", "mcal"),
    (r"kj\s*(?:/|per)\s*kg", "kj"),
    (r"mg\s*(?:/|per)\s*kg|\bppm\b", "mg"),
    (r"g\s*(?:/|per)\s*kg|g\s*kg\s*-1", "g"),
    (r"g\s*(?:/|per)\s*100\s*g", "percent"),
    (r"%|\bper\s?cent\b|\bpercent(?:age)?\b|\bpct\b", "percent"),
    (r"\bmj\b", "mj"),
)
_UNIT = re.compile(
    "|".join(f"(?P<u{number}>{pattern})" for number, (pattern, _) in enumerate(_UNITS)), re.I
)
_ON_DM = (
    r"dry\s*matter\s*basis|dry\s*weight(?:\s*basis)?|dry\s*basis|d\.?m\.?\s*basis|dry\s*matter|"
    r"\bd\.?m\.?\b|\bts\b|\bdry\b"
)
_ON_FRESH = (
    r"fresh\s*(?:weight|matter|basis|material|sample)*|as\s*(?:received|fed|sampled|is)(?:\s*basis)?|"
    r"\bf\.?w\.?\b|\bf\.?m\.?\b|wet\s*(?:weight|basis)|product(?!\w)"
)
_ON_N = r"total\s*n(?:itrogen)?\b|\btn\b|\bn\b|total\s*nitrogen"
_OF = re.compile(
    rf"\s*(?:/|\(|in|on|of|as|%|\[|,)?\s*(?:of|in|the|a)?\s*(?:the)?\s*"
    rf"(?:(?P<n>{_ON_N})|(?P<dm>{_ON_DM})|(?P<fresh>{_ON_FRESH}))\s*[\])]?",
    re.I,
)
BASIS_WORDS = re.compile(
    rf"(?:on|in|as)\s+(?:a|the)?\s*(?P<dm>{_ON_DM})|(?P<dmb>dry\s*(?:matter|weight)?\s*basis|"
    rf"dm\s*basis)|(?P<fresh>(?:on|in)?\s*(?:a|the)?\s*(?:fresh\s*(?:weight|matter|basis)|"
    rf"as\s*(?:received|fed|sampled)))",
    re.I,
)


@dataclass(frozen=True)
class Unit:
    """A unit: scale (`percent`, `g`, `mg`, `mj`, `mcal`, empty where not stated) and what it is
    counted on (`dm`, `fresh`, `n`, empty where not stated), with its place in the text.
    """

    scale: str
    basis: str
    first: int
    last: int


@dataclass(frozen=True)
class Number:
    """A number: one reading, or two where its comma may be either; its text and place."""

    readings: tuple[float, ...]
    text: str
    first: int
    last: int
    below: bool = False


def units_in(text: str) -> list[Unit]:
    """Every unit of a text, from left to right."""
    units = []
    for match in _UNIT.finditer(text):
        scale = next(
            scale for number, (_, scale) in enumerate(_UNITS) if match[f"u{number}"] is not None
        )
        of = _OF.match(text, match.end())
        basis, last = "", match.end()
        if of is not None and not _next_label(text, match.start(), of):
            basis = next(name for name in ("n", "dm", "fresh") if of[name] is not None)
            last = of.end()
        units.append(Unit(scale, basis, match.start(), last))
    return units


def _next_label(text: str, first: int, of: re.Match[str]) -> bool:
    """Whether the DM after a unit begins the next figure: `CP 14.6% DM 31.2%`."""
    follows_number = re.search(r"\d\s?$", text[:first]) is not None
    return follows_number and re.match(r" ?[:=]? ?\d", text[of.end() :]) is not None


def basis_in(text: str) -> str:
    """What a text says that figures are counted on: `dm`, `fresh`, or empty."""
    match = BASIS_WORDS.search(text)
    if match is None:
        return ""
    if match["fresh"]:
        return "fresh"
    return "dm"


def blanked(text: str, spans: Iterable[tuple[int, int]]) -> str:
    """A text with stretches of it made blank, so that the rest stays in its place."""
    signs = list(text)
    for first, last in spans:
        signs[first:last] = " " * (last - first)
    return "".join(signs)


def numbers_in(text: str, comma: bool | None) -> list[Number]:
    """Every number of a text; ranges such as `25–35` and dates are left out. comma: whether the
    paper writes decimals with a comma, None where that is not known.
    """
    spans = [match.span() for match in _RANGE.finditer(text)]
    spans += [match.span() for match in DATE.finditer(text)]
    plain = blanked(text, spans)
    numbers = []
    for match in _NUMBER.finditer(plain):
        if _OF_OTHER.match(plain, match.end()):
            continue
        readings = readings_of(match["digits"], comma)
        if match["sign"]:
            readings = tuple(-value for value in readings)
        below = _BELOW.search(plain[: match.start()]) is not None
        numbers.append(Number(readings, match[0], match.start(), match.end(), below))
    return numbers


def readings_of(digits: str, comma: bool | None) -> tuple[float, ...]:
    """The numbers that digits with commas and points may stand for."""
    if "," in digits and "." in digits:
        last = max(digits.rfind(","), digits.rfind("."))
        whole = digits[:last].replace(",", "").replace(".", "")
        return (float(f"{whole}.{digits[last + 1 :]}"),)
    mark = next((mark for mark in ",." if mark in digits), "")
    if not mark:
        return (float(digits),)
    if digits.count(mark) > 1:
        return (float(digits.replace(mark, "")),)
    decimal, whole_number = float(digits.replace(",", ".")), float(digits.replace(mark, ""))
    if not _GROUPED.fullmatch(digits) or digits.startswith("0"):
        return (decimal,)
    if comma is None:
        return {".": (decimal, whole_number), ",": (whole_number, decimal)}[mark]
    if comma == (mark == ","):
        return (decimal,)
    return (whole_number,)


def decimal_comma(texts: Iterable[str]) -> bool | None:
    """Whether a paper writes decimals with a comma; None where no number shows it, or both do."""
    commas = points = 0
    for text in texts:
        plain = blanked(text, (match.span() for match in DATE.finditer(text)))
        for match in _NUMBER.finditer(plain):
            digits = match["digits"]
            if "," in digits and "." in digits:
                commas += digits.rfind(",") > digits.rfind(".")
                points += digits.rfind(".") > digits.rfind(",")
            elif not _GROUPED.fullmatch(digits) or digits.startswith("0"):
                commas += "," in digits
                points += "." in digits
    if bool(commas) == bool(points):
        return None
    return commas > 0


_MONTHS = (
    "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec",
)  # fmt: skip
DATE = re.compile(
    r"(?<![\w./-])(?:(?P<d>\d{1,2})[./-](?P<m>\d{1,2})[./-](?P<y>\d{4}|\d{2})(?![\d/]|[.-]\d)"
    r"|(?P<y2>\d{4})-(?P<m2>\d{1,2})-(?P<d2>\d{1,2})(?!\d)"
    r"|(?P<d3>\d{1,2})(?:st|nd|rd|th)?[\s.-]+(?P<mon>jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)"
    r"[a-z]*\.?,?[\s-]+(?P<y3>\d{4}|\d{2})(?!\d))",
    re.I,
)


def dates_in(text: str) -> list[tuple[date | None, str]]:
    """Every date of a text, the day first, with its text; None where there is no such day."""
    dates: list[tuple[date | None, str]] = []
    for match in DATE.finditer(text):
        if match["mon"]:
            parts = (match["y3"], str(_MONTHS.index(match["mon"].lower()) + 1), match["d3"])
        else:
            parts = (
                match["y"] or match["y2"], match["m"] or match["m2"], match["d"] or match["d2"],
            )  # fmt: skip
        year, month, day = (int(part) for part in parts)
        if year < 100:
            year += 2000
        try:
            dates.append((date(year, month, day), match[0]))
        except ValueError:
            dates.append((None, match[0]))
    return dates
