"""A lab sheet understood: whose sample, on what basis, each number; what stays open is asked."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from rationlp.errors import Finding
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed, Offer
from rationlp.farm.feed_names import NEVER_UNASKED, offers_meant, stores_first
from rationlp.farm.feed_table import is_silage, packaged_feeds
from rationlp.named import plain, stems, trade_words
from rationlp.paper.lab_lines import LabPaper, RawFigure, Sample, lab_paper
from rationlp.paper.lines import Line
from rationlp.paper.numbers import dates_in
from rationlp.paper.questions import NONE, Answers
from rationlp.paper.readings import Reading, agree, apart, has_two_bases, likely, readings
from rationlp.quantities import quantities
from rationlp.records import dataclass

LEAST_FOR_FRESH = 3
"""So many figures must be impossible in dry matter together before fresh weight is taken."""
_DM, _OVEN = "dm_g_per_kg", "oven_dm_g_per_kg"


@dataclass(frozen=True)
class LabFigure:
    """A figure understood: its value in the unit of its quantity, the reading in words, why where
    it was not stated, and the line that it came from.
    """

    quantity: str
    value: float
    reading: str
    why: str
    line: Line


@dataclass(frozen=True)
class LabRow:
    """One sample understood, as a row of lab.csv: for a store or bought feed (target)."""

    target: str
    sampled: str
    reference: str
    dm_basis: str
    figures: tuple[LabFigure, ...]


@dataclass(frozen=True)
class LabSheet:
    """All samples of a sheet, the lines with numbers that were left aside, and remarks."""

    rows: tuple[LabRow, ...]
    aside: tuple[Line, ...]
    remarks: tuple[str, ...]
    faults: tuple[Finding, ...] = ()


def lab_sheet(lines: Sequence[Line], farm: Farm, answers: Answers) -> LabSheet:
    """The samples of a sheet, as far as they are understood; open questions are in `answers`.

    Raises InputError (PA111) for a table whose columns cannot be told apart.
    """
    paper = lab_paper(lines)
    remarks: list[str] = []
    rows = []
    for sample in paper.samples:
        offer = _target(sample, paper, farm, answers, remarks)
        if offer is not None:
            rows.append(_row(sample, paper, offer, answers, remarks))
    filled = tuple(row for row in rows if row.figures)
    return LabSheet(filled, tuple(paper.aside), tuple(dict.fromkeys(remarks)))


def _target(
    sample: Sample, paper: LabPaper, farm: Farm, answers: Answers, remarks: list[str]
) -> Offer | None:
    """The store or bought feed that was analysed, None where it has to be asked or is left out."""
    offers = {offer.id: offer for offer in stores_first(farm.offers)}
    key = "for"
    if len(paper.samples) > 1:
        key = f"for {sample.name or paper.samples.index(sample) + 1}"
    place = sample.figures[0].line.place
    if answers.stated(key) is None:
        fits = _named(farm, sample.name)
        for title in sample.titles:
            if not sample.name and not fits:
                fits, sample.name = _named(farm, title), title
        if len(fits) == 1 and fits[0].feed.kind not in NEVER_UNASKED:
            remarks.append(f'Sample "{sample.name}" is taken for {fits[0].id}.')
            return fits[0]
        first = [offer.id for offer in fits]
    else:
        first = []
        meant = offers_meant(farm.offers, answers.stated(key) or "")
        if len(meant) == 1:
            return meant[0]
    asks = "Which store or bought feed was analysed?"
    if sample.name:
        asks = f'Which store or bought feed is "{sample.name}"?'
    choices = [(name, offers[name].name) for name in dict.fromkeys([*first, *offers])]
    chosen = answers.choice(key, place, asks, [*choices, (NONE, "leave this sample out")])
    if chosen is None or chosen == NONE:
        return None
    return offers[chosen]


def _named(farm: Farm, name: str) -> list[Offer]:
    """The offers that the name of a sample may mean, the whole of their id or name in it first."""
    if not name:
        return []
    stems_of_name = stems(name)
    whole = [
        offer
        for offer in farm.offers
        if stems(offer.id) <= stems_of_name or (offer.name and stems(offer.name) <= stems_of_name)
    ]
    longest = max((len(stems(offer.id)) for offer in whole), default=0)
    exact = [offer for offer in whole if len(stems(offer.id)) == longest]
    if len(exact) == 1 and _names_another(stems_of_name, exact[0]):
        return [*exact, *(offer for offer in whole if offer not in exact), exact[0]]
    return exact or offers_meant(farm.offers, name)


def _names_another(words: frozenset[str], offer: Offer) -> bool:
    """Whether a sample's name holds a word that belongs to another feed: `Barley straw` is no
    sample of barley, `Second cut` none of a first cut.
    """
    own = stems(f"{offer.id} {offer.name} {offer.feed.key} {offer.feed.name}")
    if offer.feed.is_forage:
        own |= {"silage", "clamp", "bale", "pit", "cut"}
    return bool((words - own) & _feed_words())


@lru_cache(maxsize=1)
def _feed_words() -> frozenset[str]:
    """Every word of a feed's name, or that people have for it."""
    names = [f"{key} {feed.name}" for key, feed in packaged_feeds().items()]
    return frozenset(stems(" ".join([*names, *trade_words("feed")])))


def _row(
    sample: Sample, paper: LabPaper, offer: Offer, answers: Answers, remarks: list[str]
) -> LabRow:
    feed = offer.feed
    figures = sample.figures
    dm_figures = [figure for figure in figures if figure.quantity in (_DM, _OVEN)]
    understood = _understood(dm_figures, "", None, feed, answers)
    dm = next((figure.value for figure in understood if figure.quantity == _DM), None)
    if dm is None:
        dm = next((figure.value for figure in understood), None)
    others = [figure for figure in figures if figure.quantity not in (_DM, _OVEN)]
    basis, why = _basis(others, paper, dm, feed, answers)
    if basis is not None:
        understood += _understood(others, basis, dm, feed, answers, why)
    dm_basis, understood = _dry_matter(understood, dm_figures, paper, feed, answers, remarks)
    sampled = _sampled(sample, answers)
    return LabRow(offer.id, sampled, sample.reference, dm_basis, tuple(understood))


def _sampled(sample: Sample, answers: Answers) -> str:
    stated = answers.stated("sampled")
    if stated == NONE:
        return ""
    dates = dates_in(stated or "")
    day = sample.sampled
    if dates:
        day = dates[0][0]
    if stated and (not dates or day is None):
        remedy = "give a day such as 25/09/2026"
        answers.wrong.append(Finding("PA113", "answer sampled", f'"{stated}"', remedy))
    if day is None and sample.bad_date and not stated:
        asks = f'"{sample.bad_date}" is no date with the day first: when was the sample taken?'
        place = sample.figures[0].line.place
        answers.choice("sampled", place, asks, [(NONE, "leave the date empty")])
    if day is None:
        return ""
    return day.isoformat()


_OTHER = {"dm": "fresh weight", "fresh": "dry matter"}
"""What figures of a basis are not counted on."""


def _basis(
    figures: list[RawFigure], paper: LabPaper, dm: float | None, feed: Feed, answers: Answers
) -> tuple[str | None, str]:
    """What figures without a basis are counted on, and why; None where it must be asked."""
    open_figures = [figure for figure in figures if has_two_bases(figure)]
    if not open_figures:
        return "dm", ""
    stated = answers.stated("basis")
    if stated is None and paper.basis:
        return paper.basis, "the sheet says so"
    possible = {}
    for basis in ("dm", "fresh"):
        of_each = [readings(figure, basis, dm, feed) for figure in open_figures]
        if stated is None and not all(of_each):
            continue
        possible[basis] = sum(
            any(likely(figure.quantity, reading.value, feed) for reading in of_figure)
            for figure, of_figure in zip(open_figures, of_each, strict=True)
        )
    if stated is None and not possible:
        return "dm", "on fresh weight they would be impossible too"
    few = len(open_figures) < LEAST_FOR_FRESH and "fresh" in possible
    if stated is None and len(possible) == 1 and not few:
        basis = next(iter(possible))
        return basis, f"impossible on {_OTHER[basis]}"
    if stated is None and len(possible) == 2:
        best, worst = sorted(possible, key=lambda basis: -possible[basis])
        clear = possible[best] == len(open_figures)
        if clear and possible[worst] <= 0.67 * len(open_figures) - 1:
            return best, f"unlikely on {_OTHER[best]}"
    names = ", ".join(quantities()[figure.quantity].title for figure in open_figures[:4])
    choice = answers.choice(
        "basis",
        open_figures[0].line.place,
        f"Are the figures ({names}) in dry matter or in the feed as it lies?",
        [("dry", "in dry matter"), ("fresh", "in the feed as it lies")],
    )
    if choice is None:
        return None, ""
    return {"dry": "dm"}.get(choice, "fresh"), "as answered"


def _understood(
    figures: list[RawFigure],
    basis: str,
    dm: float | None,
    feed: Feed,
    answers: Answers,
    why: str = "",
) -> list[LabFigure]:
    """The figures whose meaning is plain, or was answered; one for each quantity."""
    understood = []
    for quantity in dict.fromkeys(figure.quantity for figure in figures):
        printed = [figure for figure in figures if figure.quantity == quantity]
        possible = [
            (reading, figure) for figure in printed for reading in readings(figure, basis, dm, feed)
        ]
        chosen, reason = _chosen(quantity, possible, printed, feed, answers)
        if chosen is None:
            continue
        figure = next(figure for reading, figure in possible if reading == chosen)
        reasons = [reason]
        if has_two_bases(figure):
            reasons.append(why)
        because = ", ".join(filter(None, reasons))
        understood.append(LabFigure(quantity, chosen.value, chosen.words, because, figure.line))
    return understood


def _chosen(
    quantity: str,
    possible: list[tuple[Reading, RawFigure]],
    figures: list[RawFigure],
    feed: Feed,
    answers: Answers,
) -> tuple[Reading | None, str]:
    """The one reading of a quantity, and why where its unit was not stated."""
    title = quantities()[quantity].title
    place = figures[0].line.place
    different = apart(reading for reading, _ in possible)
    if len(different) == 1 and answers.stated(title) is None:
        if quantity == "ph" or any(figure.scale for figure in figures):
            return different[0], ""
        return different[0], "unit by its size"
    usual = [reading for reading in different if likely(quantity, reading.value, feed)]
    one_number = all(len(figure.numbers) == 1 for figure in figures) and len(figures) == 1
    if len(usual) == 1 and one_number and answers.stated(title) is None:
        return usual[0], "the other reading is unlikely by its size"
    unit = quantities()[quantity].unit
    decimals = quantities()[quantity].decimals
    choices = [
        (f"{reading.value:.{decimals}f}", f"{reading.words}, {unit}") for reading in different
    ]
    written = figures[0].line.text
    asks = f'{title} in "{written[:100]}": which is it?'
    if not different:
        asks = f'{title} in "{written[:100]}" is impossible for {feed.name}: leave it out?'
    word = answers.choice(title, place, asks, [*choices, (NONE, "leave it out")])
    for choice, reading in zip(choices, different, strict=True):
        if word is not None and plain(word) == plain(choice[0]):
            return reading, "as answered"
    return None, ""


def _dry_matter(
    understood: list[LabFigure],
    raw: list[RawFigure],
    paper: LabPaper,
    feed: Feed,
    answers: Answers,
    remarks: list[str],
) -> tuple[str, list[LabFigure]]:
    """Whether the dry matter is an oven one or corrected, and the figures with one dry matter."""
    known = {figure.quantity: figure for figure in understood}
    if _OVEN in known and _DM in known and not agree(known[_OVEN].value, known[_DM].value):
        corrected = [figure for figure in understood if figure.quantity != _OVEN]
        remarks.append("The sheet has a dry matter by oven and another: the other is taken.")
        return "corrected", corrected
    if _OVEN in known:
        oven = known[_OVEN]
        renamed = LabFigure(_DM, oven.value, oven.reading, oven.why, oven.line)
        others = [figure for figure in understood if figure.quantity not in (_DM, _OVEN)]
        return "oven", [renamed, *others]
    stated = answers.stated("dry matter basis")
    if stated is not None:
        choices = [("corrected", "volatiles added back"), ("oven", ""), ("unknown", "")]
        basis = answers.choice("dry matter basis", "", "", choices)
        return (basis or "").replace("unknown", ""), understood
    kinds = {figure.dry_matter for figure in raw if figure.dry_matter}
    if len(kinds) == 1:
        return next(iter(kinds)), understood
    if paper.dry_matter and _DM in known:
        return paper.dry_matter, understood
    if _DM in known and is_silage(feed):
        remarks.append(
            "The sheet does not say whether the dry matter is corrected for what an oven drives"
            " off; it is taken as printed. For an oven figure add --dm-basis oven."
        )
    return "", understood
