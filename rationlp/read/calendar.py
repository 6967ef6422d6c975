"""What changes in a group over the winter, as farm.toml gives it: a first day of calving or lambing
with its spread, what the animals are afterwards, and facts or heads stated anew from a date on.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from rationlp.errors import Finding
from rationlp.farm.animals import CLASSES, SHEEP_CLASSES, Facts
from rationlp.farm.group import Calendar, Change
from rationlp.farm.values import as_number
from rationlp.named import nearest
from rationlp.read.after_calving import HerdMilk, in_words, usual_after
from rationlp.read.facts import read_facts
from rationlp.read.schema import GroupTable
from rationlp.records import dataclass

MUST_SAY = frozenset({"dairy_cow_dry", *SHEEP_CLASSES})
"""Classes of which nothing is taken after a birth of a stated date: a dairy cow's milk is the
farm's to say.
"""

BIRTHS = {"calving": "days_to_calving", "lambing": "days_to_lambing"}
IN_MILK = "week_of_lactation"
GESTATION_OF_EWES = (138, 156)
"""Days from the first day of tupping to the first day of lambing; common practice, no source (c).
"""

QUARTERS = 4


@dataclass(frozen=True)
class Winter:
    """First and last day of the winter."""

    start: date
    turnout: date


@dataclass(frozen=True)
class Dated:
    """What the dates of a group come to: its calendar (None where a date is wrong) and the facts
    that follow from them.
    """

    calendar: Calendar | None
    facts: dict[str, object]
    findings: list[Finding]
    notices: tuple[Finding, ...] = ()


def quarter_days(spread_weeks: float) -> tuple[float, ...]:
    """Days from the first birth to the middle of each quarter of the births."""
    return tuple(7.0 * spread_weeks * (number + 0.5) / QUARTERS for number in range(QUARTERS))


def read_calendar(
    table: GroupTable, where: str, winter: Winter | None, herd: HerdMilk | None = None
) -> Dated:
    """The calendar of a group and the facts that its dates stand for, with everything that is wrong
    with them.

    herd: milk of the farm's grown cows, for heifers that calve with no word of what they are
    afterwards.
    """
    findings: list[Finding] = []
    table = _with_spread(table, where, findings)
    given = dict(table.model_extra or {})
    wanted = {fact.key for fact in CLASSES[table.animal_class]}
    birth = _birth(table, where, wanted, given, findings)
    by_days = None if birth is not None else _birth_by_days(table, given, winter)
    usual, notices = _usual(table, where, birth or by_days, winter, herd)
    after_class, after = _after(table, where, birth, findings, usual)
    if winter is None:
        # The winter itself is at fault and said so: any day will do for judging the other facts.
        given |= {} if birth is None else {BIRTHS[birth[0]]: 30.0}
        return Dated(None, given, findings)
    changes = _changes(table, where, winter, findings)
    if table.steady:
        if birth is not None or changes:
            found = "steady, and yet dates of births or changes"
            remedy = (
                "leave steady out, or the dates: a steady group is the same all winter, its animals"
                " come and go"
            )
            findings.append(Finding("IN136", where, found, remedy))
        return Dated(None, given, findings)
    if birth is not None:
        key, first = birth
        findings += _dates(table, where, first, winter, after_class)
        given[BIRTHS[key]] = _to_first(first, table.spread_weeks, winter.start)
    first_birth = birth or by_days
    calendar = Calendar(
        start=winter.start,
        first_birth=None if first_birth is None else first_birth[1],
        spread_weeks=table.spread_weeks,
        after_class=after_class,
        after=after,
        changes=changes,
        pens=table.pens,
    )
    return Dated(calendar, given, findings, notices)


def _with_spread(table: GroupTable, where: str, findings: list[Finding]) -> GroupTable:
    """The table with the last day of calving turned into weeks of spread."""
    last, first = table.calving_last, table.calving
    if table.pens and (first is None or table.animal_class in SHEEP_CLASSES):
        remedy = "give calving, the first day of it, or leave pens out"
        findings.append(Finding("IN762", f"{where}.pens", "pens without a date of calving", remedy))
    if last is None:
        return table
    if first is None or table.spread_weeks or not 0 <= (last - first).days <= 182:
        found = (
            f"calving_last {last} without calving up to 26 weeks before it, or beside spread_weeks"
        )
        findings.append(
            Finding(
                "IN761",
                f"{where}.calving_last",
                found,
                "give calving and calving_last, the first and last day",
            )
        )
        return table
    return table.model_copy(update={"spread_weeks": (last - first).days / 7.0})


def _birth_by_days(
    table: GroupTable, given: Mapping[str, object], winter: Winter | None
) -> tuple[str, date] | None:
    """A calving within the winter that follows from days_to_calving: nobody is held at 0 days."""
    days = as_number(given.get(BIRTHS["calving"]))
    if days is None or winter is None or table.steady or not 0.0 <= days <= 300.0:
        return None
    first = winter.start + timedelta(days=round(days))
    return ("calving", first) if first < winter.turnout else None


def _usual(
    table: GroupTable,
    where: str,
    birth: tuple[str, date] | None,
    winter: Winter | None,
    herd: HerdMilk | None,
) -> tuple[dict[str, Any] | None, tuple[Finding, ...]]:
    """What is taken of cattle that calve within the winter with no word of what they are
    afterwards, and a notice of it.
    """
    if (
        birth is None
        or birth[0] != "calving"
        or winter is None
        or table.after is not None
        or table.steady
    ):
        return None, ()
    first = birth[1]
    if first >= winter.turnout:
        return None, ()
    remedy = "add a table [groups.after] with class and facts, such as its milk"
    usual = usual_after(table, herd, max(0.0, (first - winter.start).days))
    if usual is None:
        found = (
            f"calves from {first} on, no milk stated: each leaves the group on the day she calves"
        )
        return None, (Finding("LA231", where, found, remedy),)
    found = f"calves from {first} on, no milk stated: taken for {in_words(usual)}"
    return usual, (Finding("LA230", where, found, remedy),)


def _to_first(first: date, spread_weeks: float, on: date) -> float:
    """Days from a date to the middle of the first quarter of the births, never below 0."""
    return max(0.0, (first - on).days + quarter_days(spread_weeks)[0])


def _birth(
    table: GroupTable,
    where: str,
    wanted: set[str],
    given: Mapping[str, object],
    findings: list[Finding],
) -> tuple[str, date] | None:
    dates = {"calving": table.calving, "lambing": table.lambing}
    stated = [(key, first) for key, first in dates.items() if first is not None]
    if not stated:
        if table.spread_weeks or table.after is not None or table.tupping is not None:
            found = "spread_weeks, tupping or an after table without a date of calving or lambing"
            findings.append(
                Finding("IN136", where, found, "give calving or lambing, the first day of it")
            )
        return None
    key, first = stated[0]
    if len(stated) == 2 or BIRTHS[key] not in wanted:
        remedy = (
            "calving belongs to dry cows and in-calf heifers, lambing to ewe_pregnant and ewe_lamb"
        )
        findings.append(
            Finding(
                "IN136", f"{where}.{key}", f"a date of {key} for class {table.animal_class}", remedy
            )
        )
        return None
    if BIRTHS[key] in given:
        found = f"{key} and {BIRTHS[key]} both given"
        findings.append(
            Finding("IN136", f"{where}.{key}", found, "keep one of them: the other follows from it")
        )
        return None
    return key, first


def _dates(
    table: GroupTable, where: str, first: date, winter: Winter, after_class: str | None
) -> list[Finding]:
    findings = []
    last = first + timedelta(days=round(7.0 * table.spread_weeks))
    if last < winter.start:
        found = f"the last birth, {last}, before the winter begins, {winter.start}"
        findings.append(Finding("IN136", where, found, "use the class in milk, or check the year"))
    if (first - winter.turnout).days > 300:
        found = f"the first birth, {first}, long after turnout, {winter.turnout}"
        findings.append(Finding("IN136", where, found, "check the year"))
    if table.tupping is not None:
        days, (least, most) = (first - table.tupping).days, GESTATION_OF_EWES
        if table.animal_class not in SHEEP_CLASSES:
            findings.append(
                Finding("IN136", f"{where}.tupping", "tupping of cattle", "leave it out")
            )
        elif not least <= days <= most:
            found = (
                f"lambing {days} days after tupping"
                if days >= 0
                else f"lambing {-days} days before tupping"
            )
            remedy = (
                f"ewes carry about 147 days: {least} to {most} from the first day of one to the"
                " first of the other"
            )
            findings.append(Finding("IN136", f"{where}.tupping", found, remedy))
    if (
        table.animal_class in MUST_SAY
        and after_class is None
        and table.after is None
        and last < winter.turnout
    ):
        found = "births before turnout, and no word of what the animals are afterwards"
        remedy = (
            "add a table [groups.after] with class and facts, such as suckler_cow_milking with its"
            " milk"
        )
        findings.append(Finding("IN136", where, found, remedy))
    return findings


def _after(
    table: GroupTable,
    where: str,
    birth: tuple[str, date] | None,
    findings: list[Finding],
    usual: dict[str, Any] | None,
) -> tuple[str | None, Facts]:
    """Class and facts once calved or lambed; ewes need say nothing: they suckle what they
    carried.
    """
    given: dict[str, Any] = dict(table.after or usual or {})
    if not given:
        lambs = (table.model_extra or {}).get("lambs_carried")
        if (
            birth is None
            or birth[0] != "lambing"
            or not isinstance(lambs, int | float)
            or not 1 <= lambs <= 4
        ):
            return None, {}
        given = {"class": "ewe_milking", "lambs_suckled": min(float(lambs), 3.0)}
        given |= {key: value for key, value in (table.model_extra or {}).items() if key == "kept"}
    name = given.pop("class", None)
    milking = [key for key, facts in CLASSES.items() if any(fact.key == IN_MILK for fact in facts)]
    here = f"{where}.after"
    if name not in milking:
        near = nearest(str(name), milking, 1, 0.4)
        remedy = f'nearest: "{near[0]}"' if near else f"classes in milk: {', '.join(milking)}"
        findings.append(Finding("IN404", f"{here}.class", f'"{name}" is no class in milk', remedy))
        return None, {}
    if IN_MILK in given:
        findings.append(
            Finding("IN136", f"{here}.{IN_MILK}", "weeks that follow from the date", "leave it out")
        )
    weight = (table.model_extra or {}).get("live_weight_kg")
    given = {"live_weight_kg": weight, **given, IN_MILK: 1.0}
    facts, more = read_facts(str(name), given, here, at_peak=True)
    findings += more
    return str(name), facts


def _changes(
    table: GroupTable, where: str, winter: Winter, findings: list[Finding]
) -> tuple[Change, ...]:
    changes: list[Change] = []
    known = {fact.key: fact for fact in CLASSES[table.animal_class]}
    for number, one in enumerate(table.changes, start=1):
        here = f"{where}.changes[{number}]"
        given = one.model_extra or {}
        if not winter.start <= one.start <= winter.turnout:
            found = f"{one.start} outside the winter, {winter.start} to {winter.turnout}"
            findings.append(Finding("IN136", f"{here}.from", found, "give a day of this winter"))
        if changes and one.start <= changes[-1].start:
            found = f"{one.start} after {changes[-1].start} in the list"
            findings.append(
                Finding("IN136", f"{here}.from", found, "put the changes in order of date")
            )
        if not given and one.head is None:
            findings.append(
                Finding(
                    "IN136", here, "a change of nothing", "give head, or a fact of the class anew"
                )
            )
        facts, more = read_facts(table.animal_class, _with_required(known, table, given), here)
        findings += more
        changes.append(
            Change(one.start, one.head, {key: facts[key] for key in given if key in facts})
        )
    return tuple(changes)


def _with_required(
    known: Mapping[str, Any], table: GroupTable, given: Mapping[str, object]
) -> dict[str, object]:
    """A change's facts over the group's own, so that only what it changes is judged by it."""
    kept = {
        key: value
        for key, value in (table.model_extra or {}).items()
        if key in known and key not in given
    }
    for key in BIRTHS.values():
        if key in known and key not in given and key not in kept:
            kept[key] = 30.0
    return {**kept, **given}
