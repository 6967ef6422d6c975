"""A lab sheet's lines as samples with their figures, before it is decided what each number means.

Shapes that are understood: a line a figure (with columns for units, typical values, fresh and dry),
a column a sample, a row a sample, and figures one after another in a line of text.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from rationlp.errors import InputError, refused
from rationlp.paper.labels import ASIDE, Label, labels_in, note_head, note_of, role_of
from rationlp.paper.lines import Cell, Line, in_order, nearest_column
from rationlp.paper.numbers import (
    Number,
    Unit,
    basis_in,
    blanked,
    dates_in,
    decimal_comma,
    numbers_in,
    units_in,
)

_BEGINS_WITH_DM = re.compile(r"\W*\d+(?:[.,]\d+)?\s*(?:%|g/kg)\s*(dry matter|dm)\b", re.I)
"""`31.2 % dry matter` at the head of a line is the dry matter, not a figure counted on it."""
_UNKNOWN_UNIT = re.compile(
    r" ?(?!(?:and|in|on|at|but|is|was|to|with|of|for|good|high|low)\b)[A-Za-zµ°]+", re.I
)
NO_UNIT = Unit("", "", 0, 0)
ON_FRESH = frozenset({"dm_g_per_kg", "oven_dm_g_per_kg"})
"""Always counted on fresh weight."""


@dataclass(frozen=True)
class RawFigure:
    """A figure as it stands: its quantity, the numbers that may be it, scale and basis where they
    are stated (empty else), and the line.
    """

    quantity: str
    numbers: tuple[Number, ...]
    scale: str
    basis: str
    line: Line
    dry_matter: str = ""


@dataclass
class Sample:
    """A sample. titles: lines before its figures that may name it; bad_date: no date."""

    name: str = ""
    sampled: date | None = None
    reference: str = ""
    figures: list[RawFigure] = field(default_factory=list)
    bad_date: str = ""
    titles: list[str] = field(default_factory=list)


@dataclass
class LabPaper:
    """A sheet as read: its samples, the lines with numbers that were left aside, what figures
    without a basis are counted on and which dry matter is meant, where a sentence says so.
    """

    samples: list[Sample]
    aside: list[Line] = field(default_factory=list)
    basis: str = ""
    dry_matter: str = ""


def lab_paper(lines: Sequence[Line]) -> LabPaper:
    """The samples of a sheet. Raises InputError (PA111) for columns not to be told apart."""
    reader = _Reader(decimal_comma(line.text for line in lines))
    for line in lines:
        reader.read(line)
    samples = [sample for sample in reader.samples() if sample.figures]
    basis = ""
    if len(reader.bases) == 1:
        (basis,) = reader.bases
    return LabPaper(samples, reader.aside, basis, reader.dry_matter)


class _Reader:
    """Goes through the lines and remembers headings, units and whose figures these are."""

    def __init__(self, comma: bool | None) -> None:
        self.comma = comma
        self.listed: list[Sample] = [Sample()]
        self.columns: dict[int, Sample] = {}
        self.heads: tuple[Cell, ...] = ()
        self.table: tuple[Cell, ...] = ()
        self.units: dict[int, Unit] = {}
        self.context = NO_UNIT
        self.section = ""
        self.bases: set[str] = set()
        self.dry_matter = ""
        self.aside: list[Line] = []
        self.title = ""
        self.noted = Sample()

    def samples(self) -> list[Sample]:
        """All samples, those of columns after those of lists."""
        return [*self.listed, *self.columns.values()]

    def read(self, line: Line) -> None:
        """One line: headings, what it says about the sample, figures, or words."""
        labels = _labels(line)
        numbers = self._numbers(line.text)
        if self.table and self._table_row(line, bool(numbers)):
            return
        named_first = len(labels) == 2 and note_head(line.cells[0].text)
        if not numbers and (len(labels) >= 3 or named_first):
            self._table_heads(line)
            return
        noted = self._notes(line, labels)
        if labels and numbers:
            self._figures(line, labels)
        elif noted:
            return
        elif numbers or (labels and re.search(r"\d", line.text)):
            self.aside.append(line)
        else:
            self._words(line)

    def _numbers(self, text: str) -> list[Number]:
        """The numbers of a text, without those that bear a unit of no quantity (`2655 kcal`)."""
        plain = blanked(text, ((unit.first, unit.last) for unit in units_in(text)))
        without_labels = blanked(plain, ((label.first, label.last) for label in labels_in(text)))
        return [
            number
            for number in numbers_in(plain, self.comma)
            if not _UNKNOWN_UNIT.match(without_labels, number.last)
        ]

    def _sample(self) -> Sample:
        return self.listed[-1]

    def _next_sample(self) -> Sample:
        if self._sample().figures:
            self.listed.append(Sample())
        self.heads = ()
        return self._sample()

    def _notes(self, line: Line, labels: list[Label]) -> bool:
        """What a line says of whose sample it is and when it was taken."""
        texts = tuple(cell.text for cell in line.cells)
        noted = False
        for number, text in enumerate(texts):
            note = note_of(texts[number:])
            if note is None or (number and ":" not in text and number + 1 == len(texts)):
                continue
            noted = True
            if note.about == "sample":
                inside = labels_in(note.text)
                name = note.text
                if inside and labels:
                    name = name[: inside[0].first]
                self._next_sample().name = name.strip(" ,;:-")
            elif note.about == "sampled":
                _take_date(self._sample(), note.text)
                _take_date(self.noted, note.text)
            elif note.about == "reference":
                self._sample().reference = self._sample().reference or note.text[:60]
        return noted

    def _words(self, line: Line) -> None:
        """A line without figures: headings of columns, units or a basis for what follows."""
        texts = [cell.text for cell in line.cells]
        self._dry_matter_words(line.text)
        roles = [role_of(text) for text in texts]
        if len(texts) > 1 and any(role != "sample" for role in roles):
            self.heads = line.cells
            self.columns_of(line)
            return
        if len(texts) > 1:
            self.heads = line.cells
            return
        self.title = line.text
        if not self._sample().figures:
            self._sample().titles.append(line.text)
        self.context, basis = NO_UNIT, basis_in(line.text)
        if units := units_in(line.text):
            self.context, basis = units[0], units[0].basis
        if basis in ("dm", "fresh"):
            self.section = basis
            self.bases.add(basis)

    def columns_of(self, line: Line) -> None:
        """New headings begin new samples of their own."""
        self.listed += [sample for sample in self.columns.values() if sample.figures]
        self.columns = {}

    def _dry_matter_words(self, text: str) -> None:
        plain_text = text.casefold()
        if "dry matter" not in plain_text and " dm" not in f" {plain_text}":
            return
        if "oven" in plain_text or "uncorrected" in plain_text:
            self.dry_matter = "oven"
        elif "corrected" in plain_text or "toluene" in plain_text:
            self.dry_matter = "corrected"

    def _figures(self, line: Line, labels: list[Label]) -> None:
        before = sum(len(sample.figures) for sample in self.samples())
        of_use = [label for label in labels if label.means != ASIDE]
        in_columns = len(labels) == 1 and self.heads and len(line.cells) > 1
        if in_columns and self._in_columns(line, labels[0]):
            pass
        else:
            if len(of_use) >= 3:
                self._named_line(line, labels[0])
            self._in_a_row(line, labels)
        if before == sum(len(sample.figures) for sample in self.samples()):
            self.aside.append(line)

    def _named_line(self, line: Line, first: Label) -> None:
        """A line of many figures is a sample of its own, named by the words before them."""
        name = line.text[: first.first].strip(" ,;:-=(")
        if name and not self._numbers(name):
            self._next_sample().name = name

    def _in_a_row(self, line: Line, labels: list[Label]) -> None:
        """Figures one after another: each number belongs to the name before it, or after it where
        the line begins with a number.
        """
        text = line.text
        starts = [0, *(label.last for label in labels)]
        ends = [*(label.first for label in labels[1:]), len(text)]
        behind = self._numbers(text[labels[-1].last :])
        number_first = bool(self._numbers(text[: labels[0].first])) and not behind
        known = {figure.quantity for figure in self._sample().figures}
        if self.title and any(label.means in known for label in labels):
            self._next_sample().titles.append(self.title)
        self.title = ""
        for number, label in enumerate(labels):
            last = ends[number]
            part = text[label.last : last]
            if number_first:
                part = text[starts[number] : label.first]
            unit = self._unit(part, text[label.first : last])
            self._add(self._sample(), label, self._numbers(part), unit, line)

    def _unit(self, *texts: str) -> Unit:
        """The unit that the first of some texts states, else that of the section."""
        for text in texts:
            units = units_in(text)
            if units:
                return units[0]
        return self.context

    def _in_columns(self, line: Line, label: Label) -> bool:
        """A name and numbers under headings; False where these do not tell which is which."""
        unit_text, values = "", []
        offset = 0
        for cell in line.cells:
            first, offset = offset, offset + len(cell.text) + 2
            if first <= label.first < offset - 2:
                unit_text += f" {cell.text}"
                continue
            column = nearest_column(cell, self.heads)
            role = ""
            if column is not None:
                role = role_of(self.heads[column].text)
            if units_in(cell.text) and not self._numbers(cell.text):
                unit_text += f" {cell.text}"
            elif self._numbers(cell.text) and role != ASIDE:
                values.append((cell, column, role))
        if not values or any(column is None for _, column, _ in values):
            return False
        if not in_order([column for _, column, _ in values]):
            return False
        for cell, column, role in values:
            assert column is not None
            head = self.heads[column].text
            unit = self._unit(cell.text, unit_text, head)
            if role in ("fresh", "dm") and label.means not in ON_FRESH:
                unit = replace(unit, basis=role)
            sample = self._sample()
            if role == "sample":
                sample = self._column(column, head)
            self._add(sample, label, self._numbers(cell.text), unit, line)
        return True

    def _column(self, column: int, head: str) -> Sample:
        if column not in self.columns:
            self.columns[column] = Sample(head, self._sample().sampled, self._sample().reference)
        return self.columns[column]

    def _add(
        self, sample: Sample, label: Label, numbers: list[Number], unit: Unit, line: Line
    ) -> None:
        if label.means == ASIDE or not numbers:
            return
        basis = unit.basis
        if not basis and label.means not in ON_FRESH:
            basis = self.section
        sample.figures.append(
            RawFigure(label.means, tuple(numbers), unit.scale, basis, line, label.dry_matter)
        )

    def _table_heads(self, line: Line) -> None:
        for cell in line.cells:
            if len(labels_in(cell.text)) > 1:
                raise _columns_run_together(line)
        self.table, self.units = line.cells, {}
        for column, cell in enumerate(line.cells):
            units = units_in(cell.text)
            if units:
                self.units[column] = units[0]

    def _table_row(self, line: Line, numbers: bool) -> bool:
        """A row of a table with a row a sample, or its units; False where the table ends."""
        if len(line.cells) < 2:
            self.table = ()
            return False
        shift = len(line.cells) == len(self.table) + 1 and not self._numbers(line.cells[0].text)
        if shift or len(line.cells) == len(self.table):
            columns: list[int | None] = [n - shift for n in range(len(line.cells))]
        else:
            columns = [nearest_column(cell, self.table) for cell in line.cells]
        if not in_order(columns):
            raise _columns_run_together(line)
        pairs = [(number, cell) for number, cell in zip(columns, line.cells, strict=True)]
        if not numbers:
            for number, cell in pairs:
                units = units_in(cell.text)
                if number is not None and number >= 0 and units:
                    self.units[number] = units[0]
            return True
        sample = Sample(bad_date=self.noted.bad_date)
        for number, cell in pairs:
            assert number is not None
            self._table_cell(sample, number, cell, line)
        sample.sampled = sample.sampled or self.noted.sampled
        self.listed.append(sample)
        self.listed.append(Sample())
        return True

    def _table_cell(self, sample: Sample, number: int, cell: Cell, line: Line) -> None:
        head = "sample"
        if number >= 0:
            head = self.table[number].text
        labels = labels_in(head)
        if labels:
            unit = self.units.get(number, self._unit(cell.text))
            self._add(sample, labels[0], self._numbers(cell.text), unit, line)
            return
        note = note_head(head)
        if note == "sampled":
            _take_date(sample, cell.text)
        elif note == "reference":
            sample.reference = cell.text[:60]
        elif note == "sample" or (not sample.name and not note):
            sample.name = cell.text


def _labels(line: Line) -> list[Label]:
    """The names of quantities in a line, their places in its text."""
    labels = []
    begun = _BEGINS_WITH_DM.match(line.text)
    if begun is not None:
        labels.append(Label("dm_g_per_kg", begun[1], begun.start(1), begun.end(1)))
    offset = 0
    for cell in line.cells:
        for label in labels_in(cell.text):
            labels.append(replace(label, first=label.first + offset, last=label.last + offset))
        offset += len(cell.text) + 2
    return labels


def _take_date(sample: Sample, text: str) -> None:
    dates = dates_in(text)
    if not dates:
        return
    day, written = dates[0]
    if day is None:
        sample.bad_date = written
    else:
        sample.sampled = sample.sampled or day


def _columns_run_together(line: Line) -> InputError:
    trouble = "columns that cannot be told apart"
    remedy = "give the table as CSV or a workbook, or a line for each figure"
    return refused("PA111", line.place, trouble, remedy)
