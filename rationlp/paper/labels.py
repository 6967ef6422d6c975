"""What the words of a lab sheet mean: quantities by their names, columns by their headings, and the
lines that say whose sample it was and when it was taken.

The names of quantities are in feeds/paper-words.csv; `aside` there is a figure that rationlp has no
use for, listed so that it is never taken for another.
"""

from __future__ import annotations

import re
from functools import lru_cache

from rationlp.folders import packaged_rows
from rationlp.paper.numbers import basis_in, blanked, units_in
from rationlp.records import dataclass

ASIDE = "aside"
_AFTER_SYMBOL = re.compile(r"[\s:=()\[\].,*-]*(?:\d|<|$)")


@dataclass(frozen=True)
class Label:
    """A name of a quantity in a text. means: the quantity, or `aside`; dry_matter: `oven` or
    `corrected` where the words around a dry matter say so.
    """

    means: str
    word: str
    first: int
    last: int
    dry_matter: str = ""


@lru_cache(maxsize=1)
def _names() -> tuple[dict[str, str], re.Pattern[str]]:
    means = {row["word"]: row["means"] for row in packaged_rows("paper-words.csv")}
    longest = sorted(means, key=len, reverse=True)
    patterns = [re.escape(word).replace(r"\ ", r"[\s_-]+") for word in longest]
    return means, re.compile(rf"(?<![\w.])(?:{'|'.join(patterns)})(?![\w])", re.I)


def labels_in(text: str) -> list[Label]:
    """The names of quantities in a text, from left to right. A symbol such as P or DM counts only
    before a number or at the end, one of a single letter only as a capital.
    """
    means, pattern = _names()
    plain = blanked(text, ((unit.first, unit.last) for unit in units_in(text)))
    plain = _without_basis(plain)
    labels = []
    for match in pattern.finditer(plain):
        word = re.sub(r"[\s_-]+", " ", match[0].casefold())
        if word not in means:
            word = match[0].casefold()
        symbol = len(word) <= 2
        if symbol and (len(word) == 1 and not match[0].isupper()):
            continue
        if symbol and not _AFTER_SYMBOL.match(plain, match.end()):
            continue
        around = match[0] + re.split(r"\d", plain[match.end() : match.end() + 25])[0]
        labels.append(
            Label(means.get(word, ASIDE), match[0], match.start(), match.end(), _dry_matter(around))
        )
    return _merged([_oven(label) for label in labels], plain)


def _merged(labels: list[Label], text: str) -> list[Label]:
    """A name and its symbol, `Potassium (K)`, are one label."""
    merged: list[Label] = []
    for label in labels:
        before = merged[-1] if merged else None
        if before is not None and before.means == label.means:
            between = text[before.last : label.first]
            if not re.search(r"[\d,;]", between):
                dry_matter = before.dry_matter or label.dry_matter
                merged[-1] = Label(before.means, before.word, before.first, label.last, dry_matter)
                continue
        merged.append(label)
    return merged


def _without_basis(text: str) -> str:
    spans = []
    for pattern in (
        r"\b(?:on|in)\s+(?:a|the)?\s*(?:dry\s*(?:matter|weight)|dm)\b(?:\s*basis)?",
        r"\b(?:dry\s*matter|dry\s*weight|dm)\s*basis\b",
    ):
        spans += [match.span() for match in re.finditer(pattern, text, re.I)]
    return blanked(text, spans)


def _dry_matter(around: str) -> str:
    plain_text = around.casefold()
    if re.search(r"\boven|uncorrected", plain_text):
        return "oven"
    if re.search(r"\bcorrected|\btoluene|\bvolatile|\btrue\b", plain_text):
        return "corrected"
    return ""


def _oven(label: Label) -> Label:
    """A dry matter that its words say is an oven one is the quantity of that name."""
    if label.means == "dm_g_per_kg" and label.dry_matter == "oven":
        return Label("oven_dm_g_per_kg", label.word, label.first, label.last, "oven")
    return label


_ROLES = (
    ("unit", r"^units?\b|^measure$"),
    (
        ASIDE,
        r"typical|range|target|average|\bavg\b|guide|normal|\bmean\b|\bmin|\bmax|\blow\b|\bhigh\b|"
        r"previous|last year|optimum|method|uncertaint|reference|ideal|expected|limit|national|"
        r"rating|grade|comment|±|\bsd\b|usual|status|accredit|remark|\bcode\b|desired",
    ),
    (
        "value",
        r"^results?\b|^this (?:sample|year)$|^current$|^values?\b|measured|^figures?\b|^your\b|"
        r"^analysis$|^found$|^content$",
    ),
    ("label", r"^parameters?$|^tests?$|^components?$|determin|^nutrients?$|^item|^quantity$"),
)


def role_of(heading: str) -> str:
    """What a column of figures holds by its heading: `unit`, `aside` (typical values, ranges),
    `fresh`, `dm`, `value`, `label`, or `sample` where it is none of these.
    """
    title = heading.casefold().strip()
    for role, pattern in _ROLES:
        if re.search(pattern, title):
            return role
    if re.fullmatch(r"(?:(?:in|on)\s+(?:the\s+)?)?(?:dry(?:\s*(?:matter|basis|weight))?|d\.?m\.?"
                    r"(?:\s*basis)?)(?:\s*basis)?", title):  # fmt: skip
        return "dm"
    basis = basis_in(f"{title} ") or basis_in(f"on {title}")
    if basis or re.fullmatch(r"fresh", title):
        return basis or "fresh"
    return "sample"


@dataclass(frozen=True)
class Note:
    """A line about the sample. about: `sample`, `sampled`, `reference` or `ignored`."""

    about: str
    text: str


_NOTES = (
    (
        "ignored",
        r"(?:date\s+)?(?:received|reported|printed|analysed|issued|tested|report\s+date|"
        r"date\s+of\s+(?:report|analysis|receipt|issue))",
    ),
    (
        "sampled",
        r"date\s*(?:sampled|taken|of\s*sampl(?:e|ing))|sampl(?:ed|ing|e)\s*(?:date|on|taken)?(?=\W*"
        r"(?:on\s*)?\d{1,4}[./\s-])|sampled(?:\s*on)?|sample\s*date|sampling\s*date|taken(?:\s*on)?|"
        r"date",
    ),
    (
        "reference",
        r"(?:lab(?:oratory)?|sample|report|our|your|job|analysis)\s*(?:no|number|ref(?:erence)?|"
        r"id|code)\b\.?|ref(?:erence)?\b\.?",
    ),
    (
        "sample",
        r"sample(?:\s*(?:name|description|type))?|description|forage|feed(?:stuff)?|crop|material|"
        r"field|clamp|store|silage|name\s*of\s*sample|for",
    ),
    (
        "ignored",
        r"customer|client|farm(?:er)?|name|address|tel(?:ephone)?|phone|e-?mail|page|account|"
        r"post\s*code|vat|www|http|adviser|advisor|invoice|order|your\s*contact|holding",
    ),
)
_NOTE = tuple(
    (
        about,
        re.compile(rf"\s*(?:{pattern})\s*(?P<mark>[:=]|\s-\s|$|\s)\s*(?P<rest>.*)", re.I | re.S),
    )
    for about, pattern in _NOTES
)


def note_of(cells: tuple[str, ...]) -> Note | None:
    """What a line says about the sample, where it says something: `Sample: First cut`."""
    if not cells:
        return None
    for kind, pattern in _NOTE:
        match = pattern.fullmatch(cells[0])
        if match is None:
            continue
        text_after = match["rest"].strip()
        if text_after and not match["mark"].strip() and kind == "sample":
            continue  # `Clamp silage was good` is a sentence
        for text in (text_after, *(cell.strip(" :") for cell in cells[1:2])):
            if text:
                return Note(kind, text)
    return None


def note_head(heading: str) -> str:
    """What a column of samples holds: `sample`, `sampled`, `reference`, `ignored`, or ""."""
    if heading.strip().casefold() == "name":
        return "sample"
    for kind, pattern in _NOTE:
        match = pattern.fullmatch(heading)
        if match is not None and not match["rest"].strip():
            return kind
    return ""
