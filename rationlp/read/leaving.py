"""When cattle that are sold by weight leave: the day on which they reach `sale_weight_kg` at the
gain that the farm states.

From that day they are not fed, as if the farm had written `out`. A group of finishing cattle that
states neither is asked for it: its weight would go on rising to turnout, and no abattoir takes
every weight.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from math import ceil

from rationlp.errors import Faults
from rationlp.farm.group import Group
from rationlp.farm.traits import traits
from rationlp.read.calendar import Winter
from rationlp.read.winter import Stay


def leaving(
    groups: tuple[Group, ...], stays: Mapping[str, Stay], winter: Winter | None, faults: Faults
) -> tuple[Group, ...]:
    """The groups with their stay, and the day on which those sold by weight leave; notices."""
    stayed = tuple(_with_stay(group, stays.get(group.id, Stay())) for group in groups)
    if winter is None:
        return stayed
    for group in stayed:
        _ask_for_sale(group, winter.turnout, faults.of(f'group "{group.id}"'))
    return tuple(with_sale(group, winter.start, winter.turnout) for group in stayed)


def _with_stay(group: Group, stay: Stay) -> Group:
    return replace(group, housed=stay.housed, out=stay.out, grazing=stay.grazing)


def with_sale(group: Group, start: date, turnout: date) -> Group:
    """The group with the day of its sale as `out`, where that comes before turnout and `out`."""
    sold = sale_day(group, start, turnout)
    if sold is None or (group.out is not None and group.out <= sold):
        return group
    return replace(group, out=sold)


def sale_day(group: Group, start: date, turnout: date) -> date | None:
    """The first day on which a group weighs what it is sold at; None if not before turnout."""
    wanted = group.facts.get("sale_weight_kg")
    if wanted is None or group.calendar is None:
        return None
    weight, gain = group.number("live_weight_kg"), float(group.facts.get("gain_kg_per_day", 0.0))
    day = start
    for change in (*group.calendar.changes, None):
        until = turnout if change is None else change.start
        days = (until - day).days
        if gain > 0.0 and weight + gain * days >= float(wanted):
            return day + timedelta(days=max(1, ceil((float(wanted) - weight) / gain)))
        if change is None:
            return None
        weight = float(change.facts.get("live_weight_kg", weight + gain * days))
        gain = float(change.facts.get("gain_kg_per_day", gain))
        wanted = change.facts.get("sale_weight_kg", wanted)
        day = until
    return None


def _ask_for_sale(group: Group, turnout: date, faults: Faults) -> None:
    """A notice for finishing cattle that grow where the farm does not say when they leave."""
    if not traits(group.animal_class).sold or group.calendar is None:
        return
    gain = float(group.facts.get("gain_kg_per_day", 0.0))
    fewer = any(change.head is not None for change in group.calendar.changes)
    if gain <= 0.0 or fewer or group.out is not None or "sale_weight_kg" in group.facts:
        return
    weight = group.number("live_weight_kg") + gain * (turnout - group.calendar.start).days
    problem = f"no word of when they leave: they would weigh about {weight:.0f} kg at turnout"
    faults.tell("WA235", problem, "give sale_weight_kg, or out with a date")
