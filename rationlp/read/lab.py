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

from rationlp.csvfile import CsvRow, CsvTable, parse_number, read_rows
from rationlp.errors import Finding, InputError
from rationlp.farm.feed import Feed, Figure
from rationlp.named import nearest
from rationlp.quantities import quantities
from rationlp.records import dataclass
from rationlp.rules.feedchecks import check_feed, check_range, sort_range

WORDS = ("for", "sampled", "reference", "dm_basis")
SILAGE_SORTS = frozenset({"grass_silage", "legume_silage", "maize_silage", "wholecrop"})
DRY_SORTS = frozenset({"hay", "cereal_straw", "treated_straw"})
ME_PER_D_SILAGE, ME_PER_D_DRY = 0.16, 0.157
"""MJ ME/kg DM for each % of D-value: 0.016 and 0.0157 MJ for each g DOMD/kg DM. Advisory practice
for silage (a); AFRC (1993) for hay (b).
"""
OVEN_TO_TRUE = {"maize_silage": (22.2, 0.960), "wholecrop": (22.2, 0.960)}
OVEN_TO_TRUE_GRASS = (20.8, 0.975)
"""True dry matter [g/kg] = first + second × oven dry matter. German quick form (Weissbach and Kuhla
1995), from memory (b).
"""


@dataclass(frozen=True)
class Unit:
    """How a heading's figure becomes the vocabulary's: quantity, factor, and whether it stands on
    fresh weight.
    """

    quantity: str
    factor: float
    on_fresh: bool = False


@dataclass(frozen=True)
class LabAnalysis:
    """One sheet: figures by quantity name, already in the vocabulary's units. oven_dm: the dry
    matter is an oven one.
    """

    target: str
    figures: Mapping[str, float]
    where: str
    sampled: str = ""
    oven_dm: bool = False

    @property
    def source(self) -> str:
        """Words for where a figure came from."""
        return f"{self.where}, sampled {self.sampled}" if self.sampled else self.where


@dataclass(frozen=True)
class LabSheets:
    """All sheets of a file by store or bought feed id, in file order, and what there is to say
    about the file.
    """

    analyses: Mapping[str, tuple[LabAnalysis, ...]]
    places: Mapping[str, str]
    notices: tuple[Finding, ...] = ()


@lru_cache(maxsize=1)
def units() -> dict[str, Unit]:
    """Every heading that lab.csv may have, and what its unit means."""
    known: dict[str, Unit] = {}
    for name, quantity in quantities().items():
        if quantity.basis not in ("fresh", "dm", "feed"):
            continue
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
    """All analyses of a lab.csv, or of its table once read. Raises InputError with all that is
    wrong with headings and cells.
    """
    table = lab if isinstance(lab, CsvTable) else read_rows(lab)
    findings = _heading_findings(table)
    if findings:
        raise InputError(findings)
    analyses: dict[str, tuple[LabAnalysis, ...]] = {}
    places: dict[str, str] = {}
    for row in table.rows:
        try:
            one = _analysis(table, row)
        except InputError as trouble:
            findings += trouble.findings
            continue
        analyses[one.target] = (*analyses.get(one.target, ()), one)
        places.setdefault(one.target, table.where(row, "for"))
    if findings:
        raise InputError(findings)
    return LabSheets(analyses, places, table.notices)


def _heading_findings(table: CsvTable) -> list[Finding]:
    findings = []
    allowed = [*WORDS, *units()]
    if "for" not in table.headings:
        remedy = "add a column for the id of the store or bought feed that was analysed"
        findings.append(Finding("IN301", f"{table.name} headings", 'no column "for"', remedy))
    by_quantity: dict[str, str] = {}
    for heading in table.headings:
        if heading not in allowed:
            near = nearest(heading, allowed, 1, 0.55)
            hint = (
                f'nearest: "{near[0]}"'
                if near
                else "a heading is a quantity and a unit, such as cp_g_per_kg_dm"
            )
            findings.append(
                Finding("IN302", f"{table.name} headings", f'unknown column "{heading}"', hint)
            )
        elif heading in units():
            quantity = units()[heading].quantity
            if quantity in by_quantity:
                found = f'"{heading}" and "{by_quantity[quantity]}" are the same quantity'
                findings.append(
                    Finding("IN303", f"{table.name} headings", found, "keep one of the two columns")
                )
            by_quantity[quantity] = heading
    return findings


def _analysis(table: CsvTable, row: CsvRow) -> LabAnalysis:
    findings: list[Finding] = []
    target = row.cells["for"]
    if not target:
        findings.append(
            Finding(
                "IN301", table.where(row, "for"), "no id", "name the store or bought feed analysed"
            )
        )
    basis = row.cells.get("dm_basis", "")
    if basis not in ("", "corrected", "oven"):
        remedy = "write corrected (volatiles added back), oven, or leave it empty"
        findings.append(
            Finding(
                "IN304",
                table.where(row, "dm_basis"),
                f'"{basis}" is no basis of dry matter',
                remedy,
            )
        )
    sampled = row.cells.get("sampled", "")
    try:
        sampled = date.fromisoformat(sampled).isoformat() if sampled else ""
    except ValueError:
        where = table.where(row, "sampled")
        findings.append(
            Finding("IN305", where, f'"{sampled}" is no date', "write dates like 2026-07-14")
        )
    raw: dict[str, tuple[float, Unit, str]] = {}
    for heading in table.headings:
        if heading in units():
            try:
                value = parse_number(row.cells[heading], table.where(row, heading))
            except InputError as trouble:
                findings += trouble.findings
                continue
            if value is not None:
                raw[heading] = (value, units()[heading], table.where(row, heading))
    figures, more = _converted(raw)
    findings += more
    if not figures and not findings:
        where = f"{table.name} row {row.line}"
        findings.append(
            Finding(
                "IN306", where, "no figure at all", "give at least one figure, or delete the row"
            )
        )
    if findings:
        raise InputError(findings)
    return LabAnalysis(target, figures, f"{table.name} row {row.line}", sampled, basis == "oven")


def _converted(
    raw: Mapping[str, tuple[float, Unit, str]],
) -> tuple[dict[str, float], list[Finding]]:
    """Figures in the vocabulary's units. Those on fresh weight are divided by the sheet's own dry
    matter, once.
    """
    findings: list[Finding] = []
    figures: dict[str, float] = {}
    dm = next(
        (value * unit.factor for value, unit, _ in raw.values() if unit.quantity == "dm_g_per_kg"),
        None,
    )
    for value, unit, where in raw.values():
        converted = value * unit.factor
        if unit.on_fresh:
            if not dm:
                remedy = (
                    "give the sheet's dry matter (dm_g_per_kg or dm_percent) beside figures on"
                    " fresh weight"
                )
                findings.append(
                    Finding("IN307", where, "a figure on fresh weight without dry matter", remedy)
                )
                continue
            converted = converted * 1000.0 / dm
        try:
            check_range(unit.quantity, converted, where, {})
        except InputError as trouble:
            findings += trouble.findings
        figures[unit.quantity] = converted
    return figures, findings


def overlay_lab(
    feed: Feed, sheets: tuple[LabAnalysis, ...], sort: str
) -> tuple[Feed, tuple[Finding, ...]]:
    """A feed with its sheets laid over it, and what there is to say. `sort` picks the ranges and
    rules (grass_silage, hay …).

    Oven dry matter of a silage is corrected once by the quick form; ME comes from the D-value where
    a sheet gives no ME; several sheets are averaged and their spread is said. Raises InputError
    outside hard ranges or where figures contradict.
    """
    notices: list[Finding] = []
    findings: list[Finding] = []
    spreads: list[str] = []
    corrected = [_corrected(sheet, sort, feed.value("cp_g_per_kg_dm")) for sheet in sheets]
    for sheet, figures in zip(sheets, corrected, strict=True):
        for name, figure in figures.items():
            _judge(name, figure.value, (sort, feed.kind), sheet.where, findings, notices)
        notices += _energy_notice(figures, sheet.where)
        findings += check_feed(replace(feed, figures={**feed.figures, **figures}), sheet.where)
    if findings:
        raise InputError(findings)
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
        where = " and ".join(sheet.where for sheet in sheets)
        found = f"{len(sheets)} sheets averaged: {', '.join(spreads)}"
        notices.append(Finding("LA102", where, found, "sample again if they should agree better"))
    return replace(feed, figures=laid), tuple(notices)


def _spread(name: str, values: list[float]) -> str:
    """How far the sheets lie apart in one quantity, in words."""
    quantity = quantities()[name]
    low, high = (f"{value:.{quantity.decimals}f}" for value in (min(values), max(values)))
    return f"{quantity.title} {low} to {high} {quantity.unit}"


def _corrected(sheet: LabAnalysis, sort: str, table_cp: float | None) -> dict[str, Figure]:
    """A sheet's figures with what follows from them: true dry matter, ME from the D-value, ADIN in
    grams.
    """
    figures = {
        name: Figure(value, "lab", sheet.source, sampled=sheet.sampled)
        for name, value in sheet.figures.items()
    }
    oven = figures.get("dm_g_per_kg") if sheet.oven_dm else figures.get("oven_dm_g_per_kg")
    if oven is not None and (sheet.oven_dm or "dm_g_per_kg" not in figures):
        if sort in SILAGE_SORTS:
            first, second = OVEN_TO_TRUE.get(sort, OVEN_TO_TRUE_GRASS)
            said = (
                f"{sheet.source}: oven dry matter {oven.value:g} g/kg corrected for volatiles,"
                " quick form from memory"
            )
            figures["dm_g_per_kg"] = Figure(
                first + second * oven.value, "computed", said, "b", sheet.sampled
            )
            _on_true_dry_matter(figures, oven.value / (first + second * oven.value))
        else:
            figures["dm_g_per_kg"] = Figure(oven.value, "lab", sheet.source, sampled=sheet.sampled)
    d_value = figures.get("d_value_percent_of_dm")
    if (
        d_value is not None
        and "me_mj_per_kg_dm" not in figures
        and (sort in SILAGE_SORTS or sort in DRY_SORTS)
    ):
        factor, status = (ME_PER_D_SILAGE, "a") if sort in SILAGE_SORTS else (ME_PER_D_DRY, "b")
        said = f"{sheet.source}: from its D-value, {factor:g} MJ for each %"
        figures["me_mj_per_kg_dm"] = Figure(factor * d_value.value, "computed", said, status)
    share, cp = figures.get("adin_percent_of_n"), sheet.figures.get("cp_g_per_kg_dm", table_cp)
    if share is not None and cp is not None and "adin_g_n_per_kg_dm" not in figures:
        said = f"{sheet.source}: {share.value:g} % of the N in {cp:g} g crude protein (N × 6.25)"
        figures["adin_g_n_per_kg_dm"] = Figure(
            share.value / 100.0 * cp / 6.25, "computed", said, "c"
        )
    return figures


def _on_true_dry_matter(figures: dict[str, Figure], share: float) -> None:
    """Put constituents printed per kg of oven dry matter on the true one: the same grams in more
    dry matter.

    ME and D-value are left as printed. Uncorrected dry matter overstates every g/kg by 2–6 %
    (abstracts on silage dry matter, a).
    """
    for name, figure in figures.items():
        if name.endswith(("_g_per_kg_dm", "_mg_per_kg_dm")):
            said = f"{figure.source}, put from oven on true dry matter"
            figures[name] = replace(figure, value=figure.value * share, source=said)


def _energy_notice(figures: Mapping[str, Figure], where: str) -> list[Finding]:
    """A stated ME that does not go with the stated D-value: ME/DOMD is 0.0150 to 0.0168 MJ/g;
    common practice (c).
    """
    me, d_value = figures.get("me_mj_per_kg_dm"), figures.get("d_value_percent_of_dm")
    if me is None or d_value is None or 0.150 <= me.value / d_value.value <= 0.168:
        return []
    found = f"ME {me.value:g} MJ/kg DM beside a D-value of {d_value.value:g} %"
    low, high = 0.150 * d_value.value, 0.168 * d_value.value
    return [
        Finding(
            "LA101",
            where,
            found,
            f"usual from {low:.1f} to {high:.1f} (common practice): check the sheet",
        )
    ]


def _judge(
    name: str,
    value: float,
    sorts: tuple[str, str],
    where: str,
    findings: list[Finding],
    notices: list[Finding],
) -> None:
    """Refuse outside the hard range of this sort (or kind) of feed, warn outside the soft one."""
    limits = sort_range(name, *sorts)
    if limits is None:
        return
    quantity = quantities()[name]
    found = f"{quantity.title} {value:g} {quantity.unit} for {sorts[0].replace('_', ' ')}"
    hard = (
        limits.hard_low if limits.hard_low is not None else -1e9,
        limits.hard_high if limits.hard_high is not None else 1e9,
    )
    soft = (
        limits.soft_low if limits.soft_low is not None else -1e9,
        limits.soft_high if limits.soft_high is not None else 1e9,
    )
    remark = f"; {limits.remark}" if limits.remark else ""
    if not hard[0] <= value <= hard[1]:
        findings.append(
            Finding("IN308", where, found, f"possible from {hard[0]:g} to {hard[1]:g}{remark}")
        )
    elif not soft[0] <= value <= soft[1]:
        usual = f"usual from {soft[0]:g} to {soft[1]:g} (common practice){remark}: check the sheet"
        notices.append(Finding("LA101", where, found, usual))
