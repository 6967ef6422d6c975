"""Which rows of the class map, of the diet limits and of the intake figures hold for a group. All
are data in feeds/.

A row of these files holds for its class when its condition does: a fact at least or at most a
figure, or equal to a word; no condition always holds. The first row that holds is taken, so the
order of the file matters.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from math import inf

from rationlp.folders import as_record, number_in, packaged_rows
from rationlp.needs.objects import DietLimit
from rationlp.records import dataclass

Facts = Mapping[str, float | str]

PROTEIN = "cp_g_per_kg_dm"
_ADVICE = (PROTEIN, "reported")
UREA_G_PER_KG_LIVE_WEIGHT = 0.3
"""Most feed urea, adapted cattle [g/kg live weight a day], and 10 g/kg DM: EFSA opinion; (a)."""


@dataclass(frozen=True)
class Condition:
    """When a row holds: `fact` from least to most [its unit], or equal to `word`; empty: always."""

    fact: str
    at_least: float | None
    at_most: float | None
    word: str

    def holds(self, facts: Facts) -> bool:
        """True when the facts meet the condition; a fact that is not given meets none."""
        if not self.fact:
            return True
        value = facts.get(self.fact)
        if value is None or self.word:
            return value == self.word
        number = float(value)
        above = self.at_least is None or number >= self.at_least
        return above and (self.at_most is None or number <= self.at_most)


@dataclass(frozen=True)
class ClassRow:
    """What a class reads: its column of the diet limits, its rows of practical limits and of
    believability.

    live_weight_low_kg, live_weight_high_kg: weights the class is meant for. when: the condition in
    words.
    """

    animal_class: str
    condition: Condition
    diet_column: str
    limits_key: str
    believability: str
    live_weight_low_kg: float | None
    live_weight_high_kg: float | None
    when: str
    status: str
    source: str


@dataclass(frozen=True)
class ClassFigure:
    """A class's percent_of_live_weight or appetite_floor [%] or ndf_fill [kg/kg], conditional."""

    animal_class: str
    figure: str
    condition: Condition
    value: float
    unit: str
    status: str
    source: str


def _condition(row: Mapping[str, str]) -> Condition:
    return as_record(Condition, row, word=row.get("word", ""))


@lru_cache(maxsize=1)
def class_rows() -> tuple[ClassRow, ...]:
    """The class map, feeds/classes.csv, in the order of the file."""
    return tuple(
        as_record(ClassRow, row, animal_class=row["class"], condition=_condition(row))
        for row in packaged_rows("classes.csv")
    )


def class_row(animal_class: str, facts: Facts) -> ClassRow:
    """The row of the class map that holds for an animal. The class must be one of the map's."""
    return next(
        row
        for row in class_rows()
        if row.animal_class == animal_class and row.condition.holds(facts)
    )


@lru_cache(maxsize=1)
def _figures() -> tuple[ClassFigure, ...]:
    return tuple(
        as_record(ClassFigure, row, animal_class=row["class"], condition=_condition(row))
        for row in packaged_rows("intake.csv")
    )


def class_figure(animal_class: str, figure: str, facts: Facts) -> ClassFigure | None:
    """The figure of feeds/intake.csv that holds for an animal, or None where the class has none."""
    for row in _figures():
        if row.animal_class == animal_class and row.figure == figure and row.condition.holds(facts):
            return row
    return None


def _limit(row: Mapping[str, str], quantity: str, kind: str) -> DietLimit:
    """A row of a file as a limit."""
    return as_record(DietLimit, row, quantity=quantity, kind=kind, whose=row["source"])


@lru_cache(maxsize=1)
def _diet_limits() -> dict[str, tuple[DietLimit, ...]]:
    columns: dict[str, tuple[DietLimit, ...]] = {}
    for row in packaged_rows("diet-limits.csv"):
        column = row["diet_column"]
        limit = _limit(row, row["quantity"], row["kind"])
        columns[column] = (*columns.get(column, ()), limit)
    return columns


def diet_limits(diet_column: str) -> tuple[DietLimit, ...]:
    """Limits on the whole diet by a column of feeds/diet-limits.csv; none for the empty column."""
    return _diet_limits().get(diet_column, ())


@lru_cache(maxsize=1)
def _protein_advice() -> tuple[tuple[str, float, DietLimit], ...]:
    """(diet column, up to which live weight [kg], advice): feeds/protein-advice.csv in order."""
    return tuple(
        (row["diet_column"], number_in(row["live_weight_to_kg"]) or inf, _limit(row, *_ADVICE))
        for row in packaged_rows("protein-advice.csv")
    )


def with_protein_by_weight(
    limits: tuple[DietLimit, ...], diet_column: str, live_weight_kg: float
) -> tuple[DietLimit, ...]:
    """The limits with the advice on crude protein for cattle of this weight in place of that of the
    whole column; it is only said, the rows of protein hold what they need.
    """
    for column, most, advice in _protein_advice():
        if column == diet_column and live_weight_kg <= most:
            others = (limit for limit in limits if (limit.quantity, limit.kind) != _ADVICE)
            return (*others, advice)
    return limits


def typical_density(limits: tuple[DietLimit, ...]) -> float:
    """Middle of the energy density usual for the class [MJ ME/kg DM]; 11 without one (c)."""
    for limit in limits:
        if limit.quantity == "me_mj_per_kg_dm":
            low = limit.at_least or limit.at_most or 11.0
            return (low + (limit.at_most or low)) / 2.0
    return 11.0


NO_UREA_ABOVE_MILK_KG = 25.0 * 1.03
"""Milk [kg/d] above which a cow gets no feed urea (25 litres); common practice, no source (c)."""


def without_urea(limits: tuple[DietLimit, ...], facts: Facts) -> tuple[DietLimit, ...]:
    """The limits, with the urea row at nought for a cow above 25 litres."""
    if float(facts.get("milk_kg_per_day", 0.0)) <= NO_UREA_ABOVE_MILK_KG:
        return limits
    whose = "no urea for cows above 25 litres: common practice, no source"
    return tuple(
        replace(limit, at_most=0.0, status="c", whose=whose) if _holds_urea(limit) else limit
        for limit in limits
    )


def _holds_urea(limit: DietLimit) -> bool:
    return (limit.quantity, limit.kind) == ("urea_g_per_kg_dm", "row")


def with_urea_by_weight(
    limits: tuple[DietLimit, ...], live_weight_kg: float, intake_kg_dm: float
) -> tuple[DietLimit, ...]:
    """The limits with the urea row tightened to 0.3 g/kg live weight a day, spread over the most
    that can be eaten.

    live_weight_kg [kg], intake_kg_dm: intake cap [kg DM/d]. EFSA opinion summary on urea in
    ruminant feed; status (a).
    """
    by_weight = UREA_G_PER_KG_LIVE_WEIGHT * live_weight_kg / intake_kg_dm
    tightened = []
    for limit in limits:
        if _holds_urea(limit) and limit.at_most is not None and by_weight < limit.at_most:
            limit = replace(limit, at_most=by_weight)
        tightened.append(limit)
    return tuple(tightened)
