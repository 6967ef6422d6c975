"""A ration already fed: a CSV of kg fresh or kg DM a head a day, by group and feed."""

from __future__ import annotations

from pathlib import Path

from rationlp.csvfile import CsvRow, CsvTable, check_columns, read_rows
from rationlp.errors import Faults
from rationlp.farm.farm import Farm
from rationlp.quantities import dm_from_fresh

COLUMNS = ("group", "feed", "kg_fresh", "kg_dm")
MOST_KG = 200.0


def read_fed(path: Path, farm: Farm) -> dict[str, dict[str, float]]:
    """kg DM a head a day by group id and offer id. A row gives kg_fresh or kg_dm, not both.

    Raises InputError with everything that is wrong: headings, unknown groups or feeds, amounts,
    entries given twice.
    """
    table = read_rows(path)
    faults = Faults(table.name)
    headings = faults.of(f"{table.name} headings")
    valid = f"columns: {', '.join(COLUMNS)}"
    if not set(COLUMNS[2:]) & set(table.headings):
        remedy = "add one column of amounts a head a day"
        headings.add("IN150", "neither kg_fresh nor kg_dm", remedy)
    check_columns(table, "IN150", COLUMNS[:2], COLUMNS, headings, valid)
    faults.refuse()
    fed: dict[str, dict[str, float]] = {}
    for row in table.rows:
        place = faults.of(table.where(row, "feed"))
        group, feed = row.cells["group"], row.cells["feed"]
        _check_names(table, row, farm, place)
        amount = _amount(table, row, farm, place)
        if place.clean and feed in fed.get(group, {}):
            remedy = "add the two amounts together in one row"
            place.add("IN151", f'"{feed}" for "{group}" appears twice', remedy)
        if place.clean and amount is not None:
            fed.setdefault(group, {})[feed] = amount
    if not fed and faults.clean:
        faults.add("IN152", "no amount at all", "give kg_fresh or kg_dm for at least one feed")
    faults.refuse()
    return fed


def _check_names(table: CsvTable, row: CsvRow, farm: Farm, faults: Faults) -> None:
    for heading, known, words in (
        ("group", [group.id for group in farm.groups], "group"),
        ("feed", [offer.id for offer in farm.offers], "store or bought feed"),
    ):
        name = row.cells[heading]
        if name not in known:
            remedy = f"ids of this farm: {', '.join(known)}"
            cell = faults.of(table.where(row, heading))
            cell.unknown("IN153", f'no {words} "{name}"', name, known, remedy)


def _amount(table: CsvTable, row: CsvRow, farm: Farm, faults: Faults) -> float | None:
    """Amount of a row [kg DM a head a day]; None where it has a fault."""
    amounts: dict[str, float] = {}
    place = faults.of(f"{table.name} row {row.line}")
    for heading in ("kg_fresh", "kg_dm"):
        if heading in table.headings:
            value = table.number(row, heading, place)
            if value is not None:
                amounts[heading] = value
    if not place.clean:
        return None
    if len(amounts) != 1:
        problem = "no amount"
        if amounts:
            problem = "both kg_fresh and kg_dm"
        place.add("IN152", problem, "give kg_fresh or kg_dm, one of them")
        return None
    ((heading, value),) = amounts.items()
    if not 0.0 <= value <= MOST_KG:
        remedy = f"kg a head a day, from 0 to {MOST_KG:g}: was it the amount of the whole group?"
        place.of(table.where(row, heading)).add("IN152", f"{value:g} kg", remedy)
        return None
    if heading == "kg_dm":
        return value
    dry_matter = {offer.id: offer.feed.dm_g_per_kg for offer in farm.offers}
    return dm_from_fresh(value, dry_matter.get(row.cells["feed"], 1000.0))
