"""A paper taken in: what it is, what was understood of it, and the file that it would make."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from rationlp.csvfile import read_rows
from rationlp.errors import InputError, refused
from rationlp.farm.farm import Farm
from rationlp.paper.lab_lines import lab_paper
from rationlp.paper.lab_sheet import LabRow, LabSheet, lab_sheet
from rationlp.paper.lines import Line
from rationlp.paper.price_lines import currencies_in, per_in
from rationlp.paper.price_list import PriceList, PriceRow, price_list
from rationlp.paper.questions import Answers, Question
from rationlp.paper.writing import LAB, PRICES, farm_with, lab_text, prices_text
from rationlp.read.farm import read_farm
from rationlp.read.folder import is_workbook
from rationlp.records import dataclass

LEAST_FIGURES = 2
"""A sheet with fewer figures of an analysis is no lab sheet."""


@dataclass(frozen=True)
class UnderstoodPaper:
    """A paper as far as it is understood. kind: `lab` or `prices`; questions: what is open."""

    kind: str
    lab_rows: tuple[LabRow, ...]
    prices: tuple[PriceRow, ...]
    aside: tuple[Line, ...]
    remarks: tuple[str, ...]
    questions: tuple[Question, ...]
    instead: bool

    @property
    def file(self) -> str:
        """The file beside farm.toml that its rows belong in."""
        if self.kind == "lab":
            return LAB
        return PRICES


def take(lines: Sequence[Line], place: Path, stated: Mapping[str, str]) -> UnderstoodPaper:
    """What a paper says for a farm. stated: answers by key. Raises InputError for a farm that
    cannot be read, a paper of no known kind (PA101), and answers that are none (PA113).
    """
    farm = read_farm(place)
    answers = Answers(stated)
    kind = _kind(lines, answers)
    sheet = LabSheet((), (), ())
    prices = PriceList((), (), ())
    instead = False
    if kind == "lab":
        sheet = lab_sheet(lines, farm, answers)
        instead = _instead(sheet, place, lines, answers)
    elif kind == "prices":
        prices = price_list(lines, farm, answers)
    if answers.wrong:
        raise InputError(answers.wrong)
    rows = (*sheet.rows, *prices.rows)
    if not rows and not answers.open:
        raise refused("PA101", lines[0].place, "no figure that could be taken", _REMEDY)
    return UnderstoodPaper(
        kind, sheet.rows, prices.rows, (*sheet.aside, *prices.aside),
        (*sheet.remarks, *prices.remarks), tuple(answers.open), instead,
    )  # fmt: skip


_REMEDY = (
    "a lab sheet has names of quantities with figures, a price list names of feeds with prices; see"
    " `rationlp guide paper`"
)


def _kind(lines: Sequence[Line], answers: Answers) -> str:
    """Whether a paper is a lab sheet or a price list; asked where it may be both."""
    if answers.stated("as") is not None:
        choices = [("lab", "a lab sheet"), ("prices", "a price list")]
        return answers.choice("as", lines[0].place, "", choices) or ""
    text = "\n".join(line.text for line in lines)
    priced = bool(currencies_in(text)) or per_in(text) in ("t", "bag", "load")
    try:
        figures = [figure for sample in lab_paper(lines).samples for figure in sample.figures]
    except InputError:
        if priced:
            return "prices"
        raise
    quantities = {figure.quantity for figure in figures}
    stated_units = any(figure.scale for figure in figures)
    analysed = len(quantities) >= LEAST_FIGURES or (stated_units and not priced)
    if analysed and priced:
        asks = "Is it a lab sheet or a price list?"
        choices = [("lab", "a lab sheet"), ("prices", "a price list")]
        return answers.choice("as", lines[0].place, asks, choices) or ""
    if analysed:
        return "lab"
    return "prices"


def _instead(sheet: LabSheet, place: Path, lines: Sequence[Line], answers: Answers) -> bool:
    """Whether rows of the same stores go out; asked where there are some."""
    path = place / LAB
    if is_workbook(place) or not path.exists():
        return False
    targets = {row.target for row in sheet.rows}
    old = [row for row in read_rows(path).rows if row.cells.get("for") in targets]
    if not old:
        return False
    names = ", ".join(sorted({row.cells["for"] for row in old}))
    asks = f"{LAB} has {names} already: what becomes of what stands there?"
    choices = [
        ("instead", "the new sheet takes their place"),
        ("beside", "they are kept, and the sheets averaged"),
    ]
    return answers.choice("rows", lines[0].place, asks, choices) == "instead"


def new_file(taken: UnderstoodPaper, place: Path) -> tuple[str, Farm]:
    """The text of the file with the rows in it, and the farm as it would be read with it. Raises
    InputError where the farm could not be read, and for a workbook (PA130).
    """
    if is_workbook(place):
        trouble = "a workbook, which is never written over"
        remedy = f"type the rows into it, or make a farm folder with {taken.file} beside farm.toml"
        raise refused("PA130", str(place), trouble, remedy)
    if taken.kind == "lab":
        text = lab_text(place, taken.lab_rows, taken.instead)
    else:
        text = prices_text(place, taken.prices)
    return text, farm_with(place, taken.file, text)
