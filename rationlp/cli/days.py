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
    return _day("--on", on, farm, "to")


def first_planned(farm: Farm, start: str | None) -> date | None:
    """The first day planned as typed, or None. Raises InputError (IN504) as `day_of_winter`."""
    return _day("--from", start, farm, "to before")


def _day(option: str, typed: str | None, farm: Farm, until: str) -> date | None:
    """until: `to` where turnout may be given, else `to before`."""
    if typed is None:
        return None
    remedy = f"give a day from {farm.start} {until} {farm.turnout}, as year-month-day"
    try:
        day = date.fromisoformat(typed)
    except ValueError as trouble:
        raise refused("IN504", option, f'"{typed}" is no date', remedy) from trouble
    if not farm.start <= day <= farm.turnout or (day == farm.turnout and until != "to"):
        raise refused("IN504", option, f"{day} is outside the winter", remedy)
    return day
