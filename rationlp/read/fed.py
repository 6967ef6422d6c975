"""A ration already fed: a CSV of kg fresh or kg DM a head a day, by group and feed."""

from __future__ import annotations

from pathlib import Path

from rationlp.csvfile import CsvRow, CsvTable, parse_number, read_rows
from rationlp.errors import Finding, InputError
from rationlp.farm.farm import Farm
from rationlp.named import nearest
from rationlp.quantities import dm_from_fresh

COLUMNS = ("group", "feed", "kg_fresh", "kg_dm")
MOST_KG = 200.0


def read_fed(path: Path, farm: Farm) -> dict[str, dict[str, float]]:
    """kg DM a head a day by group id and offer id. A row gives kg_fresh or kg_dm, not both.

    Raises InputError with everything that is wrong: headings, unknown groups or feeds, amounts,
    entries given twice.
    """
    table = read_rows(path)
    findings = _headings(table)
    if findings:
        raise InputError(findings)
    fed: dict[str, dict[str, float]] = {}
    dry_matter = {offer.id: offer.feed.dm_g_per_kg for offer in farm.offers}
    for row in table.rows:
        more = _names(table, row, farm)
        amount = None
        try:
            amount = _amount(table, row, dry_matter.get(row.cells["feed"], 1000.0))
        except InputError as trouble:
            more += trouble.findings
        group, feed = row.cells["group"], row.cells["feed"]
        if not more and feed in fed.get(group, {}):
            remedy = "add the two amounts together in one row"
            more.append(
                Finding(
                    "IN151",
                    table.where(row, "feed"),
                    f'"{feed}" for "{group}" stands twice',
                    remedy,
                )
            )
        findings += more
        if not more and amount is not None:
            fed.setdefault(group, {})[feed] = amount
    if not fed and not findings:
        findings.append(
            Finding(
                "IN152",
                table.name,
                "no amount at all",
                "give kg_fresh or kg_dm for at least one feed",
            )
        )
    if findings:
        raise InputError(findings)
    return fed


def _headings(table: CsvTable) -> list[Finding]:
    where = f"{table.name} headings"
    findings = [
        Finding("IN150", where, f'no column "{needed}"', f"columns: {', '.join(COLUMNS)}")
        for needed in COLUMNS[:2]
        if needed not in table.headings
    ]
    if not set(COLUMNS[2:]) & set(table.headings):
        findings.append(
            Finding(
                "IN150",
                where,
                "neither kg_fresh nor kg_dm",
                "add one column of amounts a head a day",
            )
        )
    for heading in table.headings:
        if heading not in COLUMNS:
            near = nearest(heading, COLUMNS, 1, 0.5)
            remedy = f'nearest: "{near[0]}"' if near else f"columns: {', '.join(COLUMNS)}"
            findings.append(Finding("IN150", where, f'unknown column "{heading}"', remedy))
    return findings


def _names(table: CsvTable, row: CsvRow, farm: Farm) -> list[Finding]:
    findings = []
    for heading, known, words in (
        ("group", [group.id for group in farm.groups], "group"),
        ("feed", [offer.id for offer in farm.offers], "store or bought feed"),
    ):
        name = row.cells[heading]
        if name not in known:
            near = nearest(name, known, 1, 0.4)
            remedy = f'nearest: "{near[0]}"' if near else f"ids of this farm: {', '.join(known)}"
            findings.append(
                Finding("IN153", table.where(row, heading), f'no {words} "{name}"', remedy)
            )
    return findings


def _amount(table: CsvTable, row: CsvRow, dm_g_per_kg: float) -> float:
    given = {}
    for heading in ("kg_fresh", "kg_dm"):
        if heading in table.headings:
            value = parse_number(row.cells[heading], table.where(row, heading))
            if value is not None:
                given[heading] = value
    where = f"{table.name} row {row.line}"
    if len(given) != 1:
        found = "both kg_fresh and kg_dm" if given else "no amount"
        raise InputError([Finding("IN152", where, found, "give kg_fresh or kg_dm, one of them")])
    heading, value = next(iter(given.items()))
    if not 0.0 <= value <= MOST_KG:
        remedy = f"kg a head a day, from 0 to {MOST_KG:g}: was it the amount of the whole group?"
        raise InputError([Finding("IN152", table.where(row, heading), f"{value:g} kg", remedy)])
    return dm_from_fresh(value, dm_g_per_kg) if heading == "kg_fresh" else value
