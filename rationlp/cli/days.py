"""Days of the winter as they are typed."""

from __future__ import annotations

from datetime import date

from rationlp.errors import refused
from rationlp.farm.farm import Farm
from rationlp.needs.calendar import farm_on


def farm_on_day(farm: Farm, on: str | None) -> Farm:
    """The farm with its groups on a day. Raises InputError (IN504) for no day of its winter."""
    return farm_on(farm, day_of_winter(farm, on))


def day_of_winter(farm: Farm, on: str | None) -> date | None:
    """A day as typed, or None. Raises InputError (IN504) for no day of the winter."""
    remedy = f"give a day from {farm.start} to {farm.turnout}, as year-month-day"
    day = _day("--on", on, remedy)
    if day is not None and not farm.start <= day <= farm.turnout:
        raise refused("IN504", "--on", f"{day} is outside the winter", remedy)
    return day


def first_planned(farm: Farm, start: str | None) -> date | None:
    """The first day planned as typed, None where none is.

    Raises InputError (IN504) for what is no date, or no day of the winter.
    """
    remedy = f"give a day from {farm.start} to before {farm.turnout}, as year-month-day"
    day = _day("--from", start, remedy)
    if day is not None and not farm.start <= day < farm.turnout:
        raise refused("IN504", "--from", f"{day} is outside the winter", remedy)
    return day


def _day(option: str, typed: str | None, remedy: str) -> date | None:
    if typed is None:
        return None
    try:
        return date.fromisoformat(typed)
    except ValueError as trouble:
        fault = f'"{typed}" is no date'
        raise refused("IN504", option, fault, remedy) from trouble
