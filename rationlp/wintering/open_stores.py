"""Rations of a day from the stores that are open on it, by the rule of the winter's plan.

A clamp or bag is left shut for some weeks after filling; where somebody has no ration so, and the
farm does not state its days, fewer of them are tried, as the plan does.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from datetime import date

from rationlp.farm.farm import Farm
from rationlp.model.ration import solve_rations
from rationlp.read.yard_rules import shut_days_in_need
from rationlp.result import Rations
from rationlp.wintering.parts import opening_days


def shut_on(farm: Farm, day: date) -> dict[str, date]:
    """First day on which a store may be fed, by the id of every one still shut on a day."""
    return {store: opening for store, opening in opening_days(farm).items() if opening > day}


def rations_of_day(today: Farm, only: Collection[str] | None = None) -> Rations:
    """The least-cost ration of every group (or those in `only`) from what is open on the farm's
    day, its first where it has none. Raises as `solve_rations` does.
    """
    shut = shut_on(today, today.day or today.start)
    rations = solve_rations(_without(today, shut), only)
    for days in shut_days_in_need(today.yard_rules) if shut and rations.exit_code == 3 else ():
        rules = replace(today.yard_rules, shut_days=days)
        still = shut_on(replace(today, yard_rules=rules), today.day or today.start)
        sooner = solve_rations(_without(today, still), only)
        if sooner.exit_code == 0:
            return sooner
    return rations


def _without(farm: Farm, shut: Collection[str]) -> Farm:
    """The farm whose groups get nothing from these stores; cautions still know of them."""
    if not shut:
        return farm
    groups = (replace(group, barred=group.barred | set(shut)) for group in farm.groups)
    return replace(farm, groups=tuple(groups))
