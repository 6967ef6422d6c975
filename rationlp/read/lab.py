"""Laboratory sheets laid over table values: units in the headings, converted once, every figure
remembering its sheet.

lab.csv has a row an analysis: `for` (a store's or bought feed's id), optionally `sampled` (ISO
date), `reference` and `dm_basis` (`corrected` or `oven`), and columns such as `dm_percent`,
`cp_g_per_kg_dm`, `cp_percent_of_dm`, `cp_g_per_kg_fresh`, `me_mj_per_kg_dm`,
`d_value_percent_of_dm`. A heading is a quantity and a unit; the unit decides the conversion.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from functools import lru_cache
from pathlib import Path

from rationlp.csvfile import CsvRow, CsvTable, check_columns, read_rows
from rationlp.errors import Faults, Finding
from rationlp.farm.feed import Feed, Figure
from rationlp.quantities import feed_columns, quantities
from rationlp.records import dataclass
from rationlp.rules.feedchecks import check_feed, check_range, sort_range

WORDS = ("for", "sampled", "reference", "dm_basis")
SILAGE_SORTS = frozenset({"grass_silage", "legume_silage", "maize_silage", "wholecrop"})
DRY_SORTS = frozenset({"hay", "cereal_straw", "treated_straw"})
ME_PER_D = {**dict.fromkeys(SILAGE_SORTS, (0.16, "a")), **dict.fromkeys(DRY_SORTS, (0.157, "b"))}
"""MJ ME/kg DM for each % of D-value, with its status: 0.016 and 0.0157 MJ for each g DOMD/kg DM.
Advisory practice for silage (a); AFRC (1993) for hay (b).
"""
USUAL_ME_PER_D = (0.150, 0.168)
"""The same as laboratories print it; common practice, no source (c)."""
OVEN_TO_TRUE = {"maize_silage": (22.2, 0.960), "wholecrop": (22.2, 0.960)}
OVEN_TO_TRUE_GRASS = (20.8, 0.975)
"""True DM [g/kg] = first + second × oven DM. Weissbach and Kuhla (1995), from memory (b)."""


@dataclass(frozen=True)
class Unit:
    """How a heading's figure becomes the vocabulary's: quantity, factor, if on fresh weight."""

    quantity: str
    factor: float
    on_fresh: bool = False


@dataclass(frozen=True)
class LabAnalysis:
    """One sheet: figures by quantity, in the vocabulary's units. oven_dm: its DM is an oven one."""

    target: str
    figures: Mapping[str, float]
    where: str
    sampled: str = ""
    oven_dm: bool = False

    @property
    def source(self) -> str:
        """Words for where a figure came from."""
        if self.sampled:
            return f"{self.where}, sampled {self.sampled}"
        return self.where


@dataclass(frozen=True)
class LabSheets:
    """All sheets of a file by store or bought feed id, in file order, and notices."""

    analyses: Mapping[str, tuple[LabAnalysis, ...]]
    places: Mapping[str, str]
    notices: tuple[Finding, ...] = ()


@lru_cache(maxsize=1)
def units() -> dict[str, Unit]:
    """Every heading that lab.csv may have, and what its unit means."""
    known: dict[str, Unit] = {}
    for name in feed_columns():
        known[name] = Unit(name, 1.0)
        if name.endswith("_g_per_kg_dm"):
            stem = name.removesuffix("_g_per_kg_dm")
            known[f"{stem}_percent_of_dm"] = Unit(name, 10.0)
            known[f"{stem}_percent"] = Unit(name, 10.0)
            known[f"{stem}_g_per_kg_fresh"] = Unit(name, 1.0, on_fresh=True)
            known[f"{stem}_percent_of_fresh"] = Unit(name, 10.0, on_fresh=True)
        elif name.endswith("_percent_of_dm"):
            stem = name.removesuffix("_percent_of_dm")
            known[f"{stem}_percent"] = Unit(name, 1.0)
            known[f"{stem}_g_per_kg_dm"] = Unit(name, 0.1)
    known["dm_percent"] = Unit("dm_g_per_kg", 10.0)
    known["oven_dm_percent"] = Unit("oven_dm_g_per_kg", 10.0)
    known["me_mcal_per_kg_dm"] = Unit("me_mj_per_kg_dm", 4.184)
    known["nitrate_n_g_per_kg_dm"] = Unit("nitrate_g_per_kg_dm", 4.43)
    known["cu_g_per_kg_dm"] = Unit("cu_mg_per_kg_dm", 1000.0)
    return known


def read_lab(lab: Path | CsvTable) -> LabSheets:
    """All analyses of a lab.csv, or of its table once read. Raises InputError with all faults."""
    table = lab if isinstance(lab, CsvTable) else read_rows(lab)
    faults = Faults(table.name)
    _check_headings(table, faults.of(f"{table.name} headings"))
    faults.refuse()
    analyses: dict[str, tuple[LabAnalysis, ...]] = {}
    places: dict[str, str] = {}
    for row in table.rows:
        sheet = _analysis(table, row, faults.of(f"{table.name} row {row.line}"))
        analyses[sheet.target] = (*analyses.get(sheet.target, ()), sheet)
        places.setdefault(sheet.target, table.where(row, "for"))
    faults.refuse()
    return LabSheets(analyses, places, table.notices)


def _check_headings(table: CsvTable, faults: Faults) -> None:
    if "for" not in table.headings:
        remedy = "add a column for the id of the store or bought feed that was analysed"
        faults.add("IN301", 'no column "for"', remedy)
    valid = "a heading is a quantity and a unit, such as cp_g_per_kg_dm"
    check_columns(table, "IN302", (), [*WORDS, *units()], faults, valid)
    by_quantity: dict[str, str] = {}
    for heading in table.headings:
        if heading in units():
            quantity = units()[heading].quantity
            if quantity in by_quantity:
                problem = f'"{heading}" and "{by_quantity[quantity]}" are the same quantity'
                faults.add("IN303", problem, "keep one of the two columns")
            by_quantity[quantity] = heading


def _analysis(table: CsvTable, row: CsvRow, faults: Faults) -> LabAnalysis:
    target = row.cells["for"]
    if not target:
        remedy = "name the store or bought feed analysed"
        faults.of(table.where(row, "for")).add("IN301", "no id", remedy)
    basis = row.cells.get("dm_basis", "")
    if basis not in ("", "corrected", "oven"):
        remedy = "write corrected (volatiles added back), oven, or leave it empty"
        problem = f'"{basis}" is no basis of dry matter'
        faults.of(table.where(row, "dm_basis")).add("IN304", problem, remedy)
    sampled = row.cells.get("sampled", "")
    try:
        sampled = date.fromisoformat(sampled).isoformat() if sampled else ""
    except ValueError:
        remedy = "write dates like 2026-07-14"
        faults.of(table.where(row, "sampled")).add("IN305", f'"{sampled}" is no date', remedy)
    printed = {
        heading: value
        for heading in table.headings
        if heading in units() and (value := table.number(row, heading, faults)) is not None
    }
    figures = _converted(table, row, printed, faults)
    if not figures and faults.clean:
        faults.add("IN306", "no figure at all", "give at least one figure, or delete the row")
    return LabAnalysis(target, figures, faults.place, sampled, basis == "oven")


def _converted(
    table: CsvTable, row: CsvRow, printed: Mapping[str, float], faults: Faults
) -> dict[str, float]:
    """Figures in the vocabulary's units; those on fresh weight over the sheet's own DM."""
    figures: dict[str, float] = {}
    dry_matters = [
        value * units()[heading].factor
        for heading, value in printed.items()
        if units()[heading].quantity == "dm_g_per_kg"
    ]
    for heading, value in printed.items():
        unit = units()[heading]
        cell = faults.of(table.where(row, heading))
        converted = value * unit.factor
        if unit.on_fresh:
            if not dry_matters or not dry_matters[0]:
                remedy = (
                    "give the sheet's dry matter (dm_g_per_kg or dm_percent) beside figures on"
                    " fresh weight"
                )
                cell.add("IN307", "a figure on fresh weight without dry matter", remedy)
                continue
            converted = converted * 1000.0 / dry_matters[0]
        check_range(unit.quantity, converted, {}, cell)
        figures[unit.quantity] = converted
    return figures


def overlay_lab(feed: Feed, sheets: tuple[LabAnalysis, ...], sort: str, faults: Faults) -> Feed:
    """A feed with its sheets laid over it. `sort` picks the ranges and rules (grass_silage, hay …).

    Oven dry matter of a silage is corrected once by the quick form; ME comes from the D-value where
    a sheet gives no ME; several sheets are averaged and their spread is told. Figures outside hard
    ranges and contradictions are faults.
    """
    spreads: list[str] = []
    corrected = [_corrected(sheet, sort, feed.value("cp_g_per_kg_dm")) for sheet in sheets]
    for sheet, figures in zip(sheets, corrected, strict=True):
        place = faults.of(sheet.where)
        for name, figure in figures.items():
            _judge(name, figure.value, (sort, feed.kind), place)
        _check_energy(figures, place)
        check_feed(replace(feed, figures={**feed.figures, **figures}), place)
    laid = dict(feed.figures)
    for name in dict.fromkeys(name for figures in corrected for name in figures):
        of_this = [figures[name] for figures in corrected if name in figures]
        if len(of_this) == 1:
            laid[name] = of_this[0]
            continue
        values = [figure.value for figure in of_this]
        mean = sum(values) / len(values)
        source = f"mean of {len(values)} sheets: " + "; ".join(figure.source for figure in of_this)
        laid[name] = Figure(mean, "lab", source, sampled=max(figure.sampled for figure in of_this))
        spreads.append(_spread(name, values))
    if spreads:
        problem = f"{len(sheets)} sheets averaged: {', '.join(spreads)}"
        place = faults.of(" and ".join(sheet.where for sheet in sheets))
        place.tell("WA102", problem, "sample again if they should agree better")
    return replace(feed, figures=laid)


def _spread(name: str, values: list[float]) -> str:
    """How far the sheets lie apart in one quantity, in words."""
    quantity = quantities()[name]
    low, high = (f"{value:.{quantity.decimals}f}" for value in (min(values), max(values)))
    return f"{quantity.title} {low} to {high} {quantity.unit}"


def _corrected(sheet: LabAnalysis, sort: str, table_cp: float | None) -> dict[str, Figure]:
    """A sheet's figures with what follows from them: true dry matter, ME from D-value, ADIN."""
    figures = {
        name: Figure(value, "lab", sheet.source, sampled=sheet.sampled)
        for name, value in sheet.figures.items()
    }
    oven = figures.get("dm_g_per_kg") if sheet.oven_dm else figures.get("oven_dm_g_per_kg")
    if oven is not None and (sheet.oven_dm or "dm_g_per_kg" not in figures):
        figures["dm_g_per_kg"] = Figure(oven.value, "lab", sheet.source, sampled=sheet.sampled)
        if sort in SILAGE_SORTS:
            first, second = OVEN_TO_TRUE.get(sort, OVEN_TO_TRUE_GRASS)
            true = first + second * oven.value
            source = (
                f"{sheet.source}: oven dry matter {oven.value:g} g/kg corrected for volatiles,"
                " quick form from memory"
            )
            figures["dm_g_per_kg"] = Figure(true, "computed", source, "b", sheet.sampled)
            _on_true_dry_matter(figures, oven.value / true)
    d_value = figures.get("d_value_percent_of_dm")
    if d_value is not None and "me_mj_per_kg_dm" not in figures and sort in ME_PER_D:
        factor, status = ME_PER_D[sort]
        source = f"{sheet.source}: from its D-value, {factor:g} MJ for each %"
        figures["me_mj_per_kg_dm"] = Figure(factor * d_value.value, "computed", source, status)
    share, cp = figures.get("adin_percent_of_n"), sheet.figures.get("cp_g_per_kg_dm", table_cp)
    if share is not None and cp is not None and "adin_g_n_per_kg_dm" not in figures:
        source = f"{sheet.source}: {share.value:g} % of the N in {cp:g} g crude protein (N × 6.25)"
        grams = share.value / 100.0 * cp / 6.25
        figures["adin_g_n_per_kg_dm"] = Figure(grams, "computed", source, "c")
    return figures


def _on_true_dry_matter(figures: dict[str, Figure], share: float) -> None:
    """Put constituents printed per kg of oven dry matter on the true one: the same grams in more
    dry matter.

    ME and D-value are left as printed. Uncorrected dry matter overstates every g/kg by 2–6 %
    (abstracts on silage dry matter, a).
    """
    for name, figure in figures.items():
        if name.endswith(("_g_per_kg_dm", "_mg_per_kg_dm")):
            source = f"{figure.source}, put from oven on true dry matter"
            figures[name] = replace(figure, value=figure.value * share, source=source)


def _check_energy(figures: Mapping[str, Figure], faults: Faults) -> None:
    """A stated ME that does not go with its D-value: 0.0150 to 0.0168 MJ/g DOMD (c)."""
    me, d_value = figures.get("me_mj_per_kg_dm"), figures.get("d_value_percent_of_dm")
    if me is None or d_value is None:
        return
    lowest, highest = USUAL_ME_PER_D
    if not lowest <= me.value / d_value.value <= highest:
        problem = f"ME {me.value:g} MJ/kg DM beside a D-value of {d_value.value:g} %"
        low, high = lowest * d_value.value, highest * d_value.value
        usual = f"usual from {low:.1f} to {high:.1f} (common practice): check the sheet"
        faults.tell("WA101", problem, usual)


def _judge(name: str, value: float, sorts: tuple[str, str], faults: Faults) -> None:
    """Refuse outside the hard range of this sort (or kind) of feed, warn outside the soft one."""
    limits = sort_range(name, *sorts)
    if limits is None:
        return
    quantity = quantities()[name]
    problem = f"{quantity.title} {value:g} {quantity.unit} for {sorts[0].replace('_', ' ')}"
    remark = ""
    if limits.remark:
        remark = f"; {limits.remark}"
    hard, soft = limits.hard, limits.soft
    if not hard[0] <= value <= hard[1]:
        faults.add("IN308", problem, f"possible from {hard[0]:g} to {hard[1]:g}{remark}")
    elif not soft[0] <= value <= soft[1]:
        usual = f"usual from {soft[0]:g} to {soft[1]:g} (common practice){remark}: check the sheet"
        faults.tell("WA101", problem, usual)
