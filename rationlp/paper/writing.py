"""Rows understood, written into the text of lab.csv or prices.csv: what is there stays as it is,
comments too; new columns and rows are added. The farm is read with the new text before it is handed
on, so that nothing is written that it could not be read with.
"""

from __future__ import annotations

import csv
import io
import shutil
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

from rationlp.csvfile import read_rows, read_text
from rationlp.farm.farm import Farm
from rationlp.paper.lab_sheet import LabFigure, LabRow
from rationlp.paper.price_list import PriceRow
from rationlp.quantities import quantities
from rationlp.read.farm import read_farm
from rationlp.read.lab import Unit, units

LAB, PRICES = "lab.csv", "prices.csv"
_LAB_COLUMNS = ("for", "sampled", "reference", "dm_basis")
_PRICE_COLUMNS = ("feed", "price_per_t_fresh")


def lab_text(folder: Path, rows: Sequence[LabRow], instead: bool) -> str:
    """The text of lab.csv with the rows added. instead: rows of the same stores go out."""
    table = _Table(folder / LAB, _LAB_COLUMNS)
    if instead:
        table.without("for", {row.target for row in rows})
    for row in rows:
        cells = {"for": row.target, "sampled": row.sampled}
        cells |= {"reference": row.reference, "dm_basis": row.dm_basis}
        dm = next((f.value for f in row.figures if f.quantity == "dm_g_per_kg"), None)
        for figure in row.figures:
            heading = _heading(figure, table.headings, dm)
            cells[heading] = _written(figure, units()[heading], dm)
        table.add({heading: cell for heading, cell in cells.items() if cell})
    return table.text()


def _heading(figure: LabFigure, headings: Sequence[str], dm: float | None) -> str:
    """The heading of a figure: that of the file for its quantity, else the quantity's own name."""
    for heading in headings:
        unit = units().get(heading)
        if unit is not None and unit.quantity == figure.quantity and (dm or not unit.on_fresh):
            return heading
    return figure.quantity


def _written(figure: LabFigure, unit: Unit, dm: float | None) -> str:
    value = figure.value / unit.factor
    if unit.on_fresh and dm:
        value = value * dm / 1000.0
    decimals = quantities()[figure.quantity].decimals + 2
    return f"{value:.{decimals}f}".rstrip("0").rstrip(".")


def prices_text(folder: Path, rows: Sequence[PriceRow]) -> str:
    """The text of prices.csv with the prices in it: those of feeds that it has are replaced."""
    table = _Table(folder / PRICES, _PRICE_COLUMNS)
    for row in rows:
        cells = {"feed": row.feed, "price_per_t_fresh": f"{row.per_tonne:.2f}".removesuffix(".00")}
        if row.load_t:
            cells["load_t"] = f"{row.load_t:g}"
        if not table.replace("feed", cells):
            table.add(cells)
    return table.text()


class _Table:
    """A CSV file's lines, comments and blank lines among them, while rows are added."""

    def __init__(self, path: Path, columns: Sequence[str]) -> None:
        self.mark, self.headings = ",", list(columns)
        self.lines: list[str | dict[str, str]] = []
        if not path.exists():
            return
        known = read_rows(path)
        rows = {row.line: dict(row.cells) for row in known.rows}
        text, _ = read_text(path)
        head = next(
            line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")
        )
        self.mark = max(",;\t", key=head.count)
        self.headings = list(known.headings)
        headed = False
        for number, line in enumerate(text.splitlines(), 1):
            if number in rows:
                self.lines.append(rows[number])
            elif line.lstrip().startswith("#") or not line.strip():
                self.lines.append(line)
            elif not headed:
                headed = True
                self.lines.append({})

    def without(self, key: str, names: set[str]) -> None:
        """Leave out the rows of some names."""
        self.lines = [
            line for line in self.lines if isinstance(line, str) or line.get(key) not in names
        ]

    def add(self, cells: Mapping[str, str]) -> None:
        """A row at the end, with columns for what the file has none yet."""
        self.headings += [heading for heading in cells if heading not in self.headings]
        self.lines.append(dict(cells))

    def replace(self, key: str, cells: Mapping[str, str]) -> bool:
        """Lay cells over the row of the same name, where there is one."""
        for line in self.lines:
            if isinstance(line, dict) and line.get(key) == cells[key]:
                self.headings += [head for head in cells if head not in self.headings]
                line.update(cells)
                return True
        return False

    def text(self) -> str:
        """The file as text."""
        lines = self.lines if {} in self.lines else [{}, *self.lines]
        return "".join(f"{line}\n" if isinstance(line, str) else self._row(line) for line in lines)

    def _row(self, cells: Mapping[str, str]) -> str:
        row = io.StringIO()
        writer = csv.writer(row, delimiter=self.mark, lineterminator="\n")
        texts = [cells.get(heading, "") for heading in self.headings] if cells else self.headings
        writer.writerow(texts)
        return row.getvalue()


def farm_with(folder: Path, name: str, text: str, alone: bool = False) -> Farm:
    """The farm as it would be read with one of its files new; alone: without the other ones. Raises
    InputError with everything that would be wrong.
    """
    with tempfile.TemporaryDirectory(prefix="rationlp-") as scratch:
        draft = Path(scratch)
        for path in (folder / "farm.toml", *folder.glob("*.csv")):
            if path.is_file() and not alone:
                shutil.copyfile(path, draft / path.name)
        (draft / name).write_text(text, encoding="utf-8")
        return read_farm(draft)
