"""A group on another day of the winter: its animals older, heavier, nearer to their young or
further from them.

Facts hold on the first day of winter and age from there: days to calving and lambing run down,
weeks in milk and days in calf run up, a gain or a change of weight adds up. A steady group, whose
animals come and go, stays as it is. Births come in quarters spread over the weeks that the farm
gives; the need of those still to give birth is that of the earliest quarter among them, so that no
animal is fed for a date later than its own.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from datetime import date, timedelta

from rationlp.errors import refused
from rationlp.farm.animals import CLASSES
from rationlp.farm.farm import Farm
from rationlp.farm.group import Calendar, Group
from rationlp.farm.group_names import group_ids
from rationlp.farm.lactation import MILK, milk_later
from rationlp.farm.traits import traits
from rationlp.needs.cohorts import become, cohort_parts, dried_off, of_class
from rationlp.read.calendar import BIRTHS, IN_MILK, QUARTERS, quarter_days

Facts = dict[str, float | str]
CALF_LEAVES_AT_KG, CALF_BECOMES = 200.0, "growing_cattle"
DRY_EWE = "ewe_dry"
_WEEK = 7.0


def aged(animal_class: str, facts: Facts, days: float) -> Facts:
    """The facts of an animal so many days later, each kept within the range of its fact."""
    older = dict(facts)
    for key in BIRTHS.values():
        if key in facts:
            older[key] = max(0.0, float(facts[key]) - days)
    if IN_MILK in facts:
        weeks = float(facts[IN_MILK])
        older[IN_MILK] = weeks + days / _WEEK
        if MILK in facts:
            older[MILK] = milk_later(
                animal_class, facts, float(facts[MILK]), (weeks, weeks + days / _WEEK)
            )
    if float(facts.get("days_pregnant", 0.0)) > 0.0:
        older["days_pregnant"] = float(facts["days_pregnant"]) + days
    rate = facts.get("gain_kg_per_day", facts.get("live_weight_change_kg_per_day", 0.0))
    of_class = animal_class
    if "live_weight_kg" in facts:
        older["live_weight_kg"] = float(facts["live_weight_kg"]) + float(rate) * days
        if animal_class == "calf" and float(older["live_weight_kg"]) >= CALF_LEAVES_AT_KG:
            of_class = CALF_BECOMES
    ranges = {fact.key: fact for fact in CLASSES[of_class] if not fact.choices}
    return {
        key: min(max(float(value), ranges[key].low), ranges[key].high) if key in ranges else value
        for key, value in older.items()
    }


def _stated(group: Group, calendar: Calendar, on: date) -> tuple[Facts, int]:
    """Facts and head on a day, births left out: aged from change to change."""
    facts, head, here = dict(group.facts), group.head, calendar.start
    for change in calendar.changes:
        if change.start > on:
            break
        facts = {**aged(group.animal_class, facts, (change.start - here).days), **change.facts}
        head = head if change.head is None else change.head
        here = change.start
    return aged(group.animal_class, facts, (on - here).days), head


def split_heads(head: int, parts: int = QUARTERS) -> tuple[int, ...]:
    """Heads shared out evenly, the first parts taking what is left over."""
    return tuple(head // parts + (number < head % parts) for number in range(parts))


def parts_on(group: Group, on: date, until: date | None = None) -> tuple[Group, ...]:
    """The group on a day, in one part or, once births have begun, in two: those still to give birth
    and those in milk.

    A day before the group's facts hold is taken as that day. With `until`, the need of those still
    to give birth is that of the last day of the step (late pregnancy is fed for where it is going),
    births on the way left out. Parts without a head are left out. The part in milk has an id of its
    own, that of the group with `_calved` or `_lambed`.
    """
    calendar = group.calendar
    if calendar is None:
        return (group,)
    day = max(on, calendar.start)
    facts, head = _stated(group, calendar, day)
    to_the_end = 0 if until is None else max(0, (until - day).days)
    weaned = calendar.weaning is not None and calendar.weaning <= day + timedelta(to_the_end / 2)
    if calendar.first_birth is None and weaned:
        return (_weaned(group, facts, head),) if head else ()
    if calendar.first_birth is None:
        for key in BIRTHS.values():
            if key in facts:
                facts[key] = max(0.0, float(facts[key]) - to_the_end)
        if not head:
            return ()
        now = _promoted(replace(group, facts=facts, head=head))
        return dried_off(now, group.facts, (day - calendar.start).days, to_the_end)
    if not traits(group.animal_class).sheep:
        since = (day - calendar.first_birth).days
        return cohort_parts(group, calendar, since, to_the_end, (facts, head))
    parts = _by_quarters(group, calendar, day, (facts, head, to_the_end))
    return tuple(
        _weaned(group, part.facts, part.head) if weaned and part.origin else part for part in parts
    )


def _born_word(group: Group) -> str:
    if traits(group.animal_class).sheep:
        return "lambed"
    return "calved"


def part_in_milk(group: Group) -> str:
    """The id of the part of a group that has given birth."""
    return f"{group.id}_{_born_word(group)}"


def _by_quarters(
    group: Group, calendar: Calendar, day: date, stated: tuple[Facts, int, int]
) -> tuple[Group, ...]:
    facts, head, to_the_end = stated
    assert calendar.first_birth is not None
    key = next(key for key in BIRTHS.values() if key in facts)
    since = (day - calendar.first_birth).days
    # Whoever gives birth in the first half of a step counts as in milk for all of it, whoever does
    # so later for none of it: over the winter neither need is fed for too long.
    middle = since + to_the_end / 2
    quarters = list(zip(quarter_days(calendar.spread_weeks), split_heads(head), strict=True))
    waiting = [(due - since, heads) for due, heads in quarters if due > middle and heads]
    born = [(since - due, heads) for due, heads in quarters if due <= middle and heads]
    parts = []
    if waiting:
        soonest = max(0.0, min(due for due, _ in waiting) - to_the_end)
        heads = sum(heads for _, heads in waiting)
        parts.append(replace(group, facts={**facts, key: soonest}, head=heads))
    if born and calendar.after_class is not None:
        heads = sum(heads for _, heads in born)
        weeks = sum(days * heads for days, heads in born) / heads / _WEEK
        after = aged(calendar.after_class, calendar.after, 0.0)
        after[IN_MILK] = max(1.0, weeks)
        facts = aged(calendar.after_class, after, 0.0)
        word = _born_word(group)
        parts.append(become(group, (word, word), calendar.after_class, facts, heads))
    return tuple(parts)


def _weaned(group: Group, facts: Facts, head: int) -> Group:
    """Ewes whose lambs are weaned: dry."""
    return become(group, ("weaned", "weaned"), DRY_EWE, of_class(facts, DRY_EWE), head)


def _promoted(group: Group) -> Group:
    """A calf that has grown past its class is growing cattle."""
    if group.animal_class == "calf" and group.number("live_weight_kg") >= CALF_LEAVES_AT_KG:
        return replace(group, animal_class=CALF_BECOMES)
    return group


def farm_on(farm: Farm, on: date | None = None) -> Farm:
    """The farm with its groups as they are on a day of the winter; the first day for None."""
    day = farm.start if on is None else on
    return replace(
        farm, groups=tuple(part for group in farm.groups for part in parts_on(group, day)), day=day
    )


def expanded(farm: Farm, only: Collection[str] | None) -> Collection[str] | None:
    """Ids of the parts that the groups asked for, by id or name, have come to; words that name none
    are kept, to be refused later.
    """
    if only is None:
        return None
    ids = group_ids(farm.groups, only)
    parts = [group.id for group in farm.groups if group.id in ids or group.origin in ids]
    known = {name for group in farm.groups for name in (group.id, group.origin)}
    return [*parts, *(name for name in ids if name not in known)]


def steps_of_winter(farm: Farm, every_days: int = 14) -> tuple[tuple[date, date], ...]:
    """First and last day of each step of the winter; the last step may be shorter."""
    steps = []
    first = farm.start
    while first < farm.turnout:
        last = min(first + timedelta(days=every_days), farm.turnout)
        steps.append((first, last))
        first = last
    return tuple(steps)


def planned_steps(farm: Farm) -> tuple[tuple[date, date], ...]:
    """The periods that the farm wants its winter planned in: its own, else fortnights."""
    return farm.periods or steps_of_winter(farm)


def fed_days(group: Group, first: date, last: date) -> int:
    """Days from first to last (left out) on which a group is fed: housed and not yet out [d]."""
    begins, ends = group.fed_within(first, last)
    return max(0, (ends - begins).days)


def turned_out(farm: Farm, days: int) -> Farm:
    """The farm with turnout so many days later (earlier where negative); the last of its own
    periods gives way.

    Raises InputError (IN504) where no day of the winter would be left.
    """
    turnout = farm.turnout + timedelta(days=days)
    if turnout <= farm.start:
        remedy = f"the winter of this farm has {(farm.turnout - farm.start).days} days"
        raise refused("IN504", "turnout", f"{turnout} is not after the first day", remedy)
    kept = [first for first, _ in farm.periods if first < turnout]
    periods: tuple[tuple[date, date], ...] = ()
    if kept:
        periods = tuple(zip(kept, [*kept[1:], turnout], strict=True))
    return replace(farm, turnout=turnout, periods=periods)
