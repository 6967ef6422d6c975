"""What animals excrete by the published table of the English nitrate rules: volume, nitrogen and
phosphate a head a day, and the months for which slurry is stored. Information, for where those
rules apply; local rules come first.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import lru_cache

from rationlp.farm.farm import Farm
from rationlp.farm.group import Group
from rationlp.farm.lactation import DAYS, MILK, WEEK, curve_of, whole_lactation
from rationlp.farm.traits import traits
from rationlp.folders import as_record, packaged_rows
from rationlp.quantities import KG_PER_LITRE
from rationlp.records import dataclass


@dataclass(frozen=True)
class StandardManure:
    """A row of the table, a head a day: litres, nitrogen and phosphate (P2O5) [g].

    status, source: of these figures; chosen_status, chosen_by: of what a group is put into this row
    by.
    """

    id: str
    title: str
    litres: float
    n_g: float
    p2o5_g: float
    status: str
    source: str
    chosen_status: str
    chosen_by: str


@lru_cache(maxsize=1)
def _rows() -> tuple[dict[str, str], ...]:
    return tuple(packaged_rows("manure-standard.csv"))


def manure_row(row: Mapping[str, str]) -> StandardManure:
    """A row of the file as a record."""
    return as_record(StandardManure, row)


def standard_manure(farm: Farm, group: Group) -> StandardManure | None:
    """The row of a group as it is on one day; None for a class that the table does not have.

    farm: a dairy herd on it makes heifers dairy heifers, and tells a dry cow's yield.
    """
    herd = "beef"
    if any(traits(other.animal_class).parlour for other in farm.groups):
        herd = "dairy"
    for row in _rows():
        if group.animal_class not in row["classes"].split():
            continue
        if row["herd"] not in ("", herd) or row["sex"] not in ("", group.facts.get("sex")):
            continue
        if _within(row, _value(farm, group, row["by"])):
            return manure_row(row)
    return None


def _within(row: Mapping[str, str], value: float | None) -> bool:
    if value is None:
        return not row["by"]
    above = not row["at_least"] or value >= float(row["at_least"])
    return above and (not row["below"] or value < float(row["below"]))


UNKNOWN_YIELD_L = 7500.0
"""Yield of dry cows on a farm that has none in milk [l]; own choice (c)."""


def _value(farm: Farm, group: Group, by: str) -> float | None:
    if by == "live_weight_kg":
        return group.number("live_weight_kg")
    if by == "yield_l":
        return yield_l(group) or _mean_yield_l(farm)
    return None


def _mean_yield_l(farm: Farm) -> float:
    """Mean yield of the cows in milk of a farm [l]."""
    herds = [(group.head, yield_l(group)) for group in farm.groups]
    milked = [(head, litres) for head, litres in herds if litres is not None]
    head = sum(head for head, _ in milked)
    if not head:
        return UNKNOWN_YIELD_L
    return sum(head * litres for head, litres in milked) / head


def yield_l(group: Group) -> float | None:
    """Milk of a 305-day lactation [l], by the curve from the milk of the day, if milked."""
    milk = group.facts.get(MILK)
    if milk is None or not traits(group.animal_class).parlour:
        return None
    curve = curve_of(group.animal_class, group.facts)
    if curve is None:
        return float(milk) * DAYS / KG_PER_LITRE
    peak = float(milk) / curve.share(float(group.facts[WEEK]))
    return peak * whole_lactation(curve) / KG_PER_LITRE


@lru_cache(maxsize=1)
def manure_rules() -> dict[str, dict[str, str]]:
    """The rows of feeds/manure-rules.csv by figure."""
    return {row["figure"]: row for row in packaged_rows("manure-rules.csv")}


def storage_ends(first_day: date) -> date:
    """The last day (left out) of the storage months that a day falls in, or next come to."""
    month, day = map(int, manure_rules()["storage_last"]["value"].split("-"))
    ends = date(first_day.year, month, day)
    if first_day < ends:
        return ends
    return ends.replace(year=first_day.year + 1)
