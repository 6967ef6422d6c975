"""What changes in a group over the winter, as farm.toml gives it: a first day of calving or lambing
with its spread, what the animals are afterwards, and facts or heads stated anew from a date on.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from rationlp.errors import Faults
from rationlp.farm.animals import CLASSES, GESTATION_OF_COWS, Facts
from rationlp.farm.group import Calendar, Change
from rationlp.farm.lactation import MILKERS
from rationlp.farm.traits import traits
from rationlp.farm.values import as_number
from rationlp.read.after_calving import HerdMilk, in_words, usual_after
from rationlp.read.facts import read_facts
from rationlp.read.schema import GroupTable
from rationlp.records import dataclass

BIRTHS = {"calving": "days_to_calving", "lambing": "days_to_lambing"}
IN_MILK = "week_of_lactation"
GESTATION_OF_EWES = (138, 156)
"""Days from the first day of tupping to the first day of lambing; common practice (c)."""
QUARTERS = 4
WEANING_WEEKS = 14.0
"""Weeks from the middle of lambing to weaning where the farm does not say: 12 to 16 weeks are
usual, 8 to 10 in flocks that lamb before Christmas; common practice, no source (c).
"""
_EWE_IN_MILK = "ewe_milking"


@dataclass(frozen=True)
class Winter:
    """First and last day of the winter."""

    start: date
    turnout: date


@dataclass(frozen=True)
class DatedFacts:
    """What the dates of a group come to: its calendar (None where a date is wrong or none is
    needed) and its facts, with those that follow from the dates.
    """

    calendar: Calendar | None
    facts: dict[str, object]


@dataclass(frozen=True)
class Birth:
    """The first birth of a group: `calving` or `lambing`, and its day."""

    kind: str
    first: date


def quarter_days(spread_weeks: float) -> tuple[float, ...]:
    """Days from the first birth to the middle of each quarter of the births."""
    return tuple(7.0 * spread_weeks * (number + 0.5) / QUARTERS for number in range(QUARTERS))


def read_calendar(
    table: GroupTable, faults: Faults, winter: Winter | None, herd: HerdMilk | None = None
) -> DatedFacts:
    """The calendar of a group and the facts that its dates stand for; what is wrong with them goes
    into the faults.

    herd: milk of the farm's grown cows, for heifers that calve with no word of what they are
    afterwards.
    """
    table = _with_spread(table, faults)
    facts = dict(table.model_extra or {})
    birth = _birth(table, facts, faults)
    first_birth = birth or _birth_by_days(table, facts, winter)
    usual = _usual(table, first_birth, winter, herd, faults)
    after_class, after = _after(table, first_birth, usual, faults)
    if winter is None:
        # The winter itself is at fault and told of: any day will do for judging the other facts.
        if birth is not None:
            facts[BIRTHS[birth.kind]] = 30.0
        return DatedFacts(None, facts)
    changes = _changes(table, winter, faults)
    if table.steady:
        if birth is not None or changes:
            remedy = (
                "leave steady out, or the dates: a steady group is the same all winter, its animals"
                " come and go"
            )
            faults.add("IN136", "steady, and yet dates of births or changes", remedy)
        return DatedFacts(None, facts)
    if birth is not None:
        _check_dates(table, birth.first, winter, after_class, faults)
        to_first = (birth.first - winter.start).days + quarter_days(table.spread_weeks)[0]
        facts[BIRTHS[birth.kind]] = max(0.0, to_first)
    weaning = _weaning(table, first_birth, winter, faults)
    calendar = Calendar(
        start=winter.start,
        first_birth=None if first_birth is None else first_birth.first,
        spread_weeks=table.spread_weeks,
        after_class=after_class,
        after=after,
        changes=changes,
        pens=table.pens,
        weaning=weaning,
    )
    _tell_of_next_calving(table, winter, faults)
    return DatedFacts(calendar, facts)


def _with_spread(table: GroupTable, faults: Faults) -> GroupTable:
    """The table with the last day of calving turned into weeks of spread."""
    last, first = table.calving_last, table.calving
    if table.pens and (first is None or traits(table.animal_class).sheep):
        remedy = "give calving, the first day of it, or leave pens out"
        faults.at("pens").add("IN762", "pens without a date of calving", remedy)
    if last is None:
        return table
    if first is None or table.spread_weeks or not 0 <= (last - first).days <= 182:
        problem = (
            f"calving_last {last} without calving up to 26 weeks before it, or beside spread_weeks"
        )
        remedy = "give calving and calving_last, the first and last day"
        faults.at("calving_last").add("IN761", problem, remedy)
        return table
    return table.model_copy(update={"spread_weeks": (last - first).days / 7.0})


def _birth_by_days(
    table: GroupTable, facts: Mapping[str, object], winter: Winter | None
) -> Birth | None:
    """A calving or lambing within the winter by the days to it: nobody is held at 0 days."""
    for kind, key in BIRTHS.items():
        days = as_number(facts.get(key))
        if days is None or winter is None or table.steady or not 0.0 <= days <= 300.0:
            continue
        first = winter.start + timedelta(days=round(days))
        if first < winter.turnout:
            return Birth(kind, first)
    return None


def _weaning(table: GroupTable, birth: Birth | None, winter: Winter, faults: Faults) -> date | None:
    """The day on which lambs are weaned: the farm's own, else the usual weeks after lambing where
    that falls within the winter, with a notice of it.
    """
    weeks = as_number((table.model_extra or {}).get(IN_MILK))
    lambed = None
    if birth is not None and birth.kind == "lambing":
        lambed = birth.first + timedelta(days=3.5 * table.spread_weeks)
    elif table.animal_class == _EWE_IN_MILK and weeks is not None:
        lambed = winter.start - timedelta(days=7.0 * weeks)
    if table.weaning is not None:
        if lambed is None or table.weaning <= lambed:
            problem = f"weaning on {table.weaning} of a group that has no lambs by then"
            remedy = "weaning belongs to ewes, after the middle of lambing: leave it out"
            faults.at("weaning").add("IN136", problem, remedy)
        return table.weaning
    if lambed is None:
        return None
    weaned = lambed + timedelta(weeks=WEANING_WEEKS)
    if not winter.start < weaned < winter.turnout:
        return None
    problem = f"lambs taken to be weaned on {weaned}, {WEANING_WEEKS:g} weeks after lambing"
    remedy = "give weaning, the day; the ewes are dry from then on, lambs need a group of their own"
    faults.tell("WA236", problem, remedy)
    return weaned


def _tell_of_next_calving(table: GroupTable, winter: Winter, faults: Faults) -> None:
    """A notice where dairy cows in milk calve again within the winter by their days pregnant."""
    pregnant = as_number((table.model_extra or {}).get("days_pregnant"))
    if table.animal_class not in MILKERS or not pregnant:
        return
    calving = winter.start + timedelta(days=GESTATION_OF_COWS - pregnant)
    if winter.start < calving < winter.turnout:
        problem = (
            f"calves again about {calving}, by days_pregnant: milk is taken to rise to the peak"
        )
        remedy = "if not, give them as dairy_cow_dry with calving and [groups.after]"
        faults.tell("WA237", f"{problem} of this lactation", remedy)


def _usual(
    table: GroupTable,
    birth: Birth | None,
    winter: Winter | None,
    herd: HerdMilk | None,
    faults: Faults,
) -> dict[str, Any] | None:
    """What is taken of cattle that calve in the winter where the farm is silent; a notice."""
    if birth is None or winter is None or table.after is not None or table.steady:
        return None
    if birth.kind != "calving" or birth.first >= winter.turnout:
        return None
    usual = usual_after(table, herd, max(0.0, (birth.first - winter.start).days))
    remedy = "add a table [groups.after] with class and facts, such as its milk"
    what = f"calves from {birth.first} on, no milk stated"
    if usual is None:
        faults.tell("WA231", f"{what}: each leaves the group on the day she calves", remedy)
    else:
        faults.tell("WA230", f"{what}: taken for {in_words(usual)}", remedy)
    return usual


def _birth(table: GroupTable, facts: Mapping[str, object], faults: Faults) -> Birth | None:
    """The first birth of a stated date, or None."""
    births = [
        Birth(kind, first)
        for kind, first in (("calving", table.calving), ("lambing", table.lambing))
        if first is not None
    ]
    if not births:
        if table.spread_weeks or table.after is not None or table.tupping is not None:
            problem = "spread_weeks, tupping or an after table without a date of calving or lambing"
            faults.add("IN136", problem, "give calving or lambing, the first day of it")
        return None
    birth = births[0]
    days_key = BIRTHS[birth.kind]
    known = [fact.key for fact in CLASSES[table.animal_class]]
    if len(births) == 2 or days_key not in known:
        remedy = (
            "calving belongs to dry cows and in-calf heifers, lambing to ewe_pregnant and ewe_lamb"
        )
        problem = f"a date of {birth.kind} for class {table.animal_class}"
        faults.at(birth.kind).add("IN136", problem, remedy)
        return None
    if days_key in facts:
        problem = f"{birth.kind} and {days_key} both given"
        remedy = "keep one of them: the other follows from it"
        faults.at(birth.kind).add("IN136", problem, remedy)
        return None
    return birth


def _check_dates(
    table: GroupTable, first: date, winter: Winter, after_class: str | None, faults: Faults
) -> None:
    last = first + timedelta(days=round(7.0 * table.spread_weeks))
    if last < winter.start:
        problem = f"the last birth, {last}, before the winter begins, {winter.start}"
        faults.add("IN136", problem, "use the class in milk, or check the year")
    if (first - winter.turnout).days > 300:
        problem = f"the first birth, {first}, long after turnout, {winter.turnout}"
        faults.add("IN136", problem, "check the year")
    animals = traits(table.animal_class)
    if table.tupping is not None:
        days, (lowest, highest) = (first - table.tupping).days, GESTATION_OF_EWES
        if not animals.sheep:
            faults.at("tupping").add("IN136", "tupping of cattle", "leave it out")
        elif not lowest <= days <= highest:
            side = "after" if days >= 0 else "before"
            remedy = (
                f"ewes carry about 147 days: {lowest} to {highest} from the first day of one to the"
                " first of the other"
            )
            faults.at("tupping").add("IN136", f"lambing {abs(days)} days {side} tupping", remedy)
    unsaid = after_class is None and table.after is None
    if animals.after_stated and unsaid and last < winter.turnout:
        remedy = (
            "add a table [groups.after] with class and facts, such as suckler_cow_milking with its"
            " milk"
        )
        problem = "births before turnout, and no word of what the animals are afterwards"
        faults.add("IN136", problem, remedy)


def _after(
    table: GroupTable, birth: Birth | None, usual: dict[str, Any] | None, faults: Faults
) -> tuple[str | None, Facts]:
    """Class and facts once calved or lambed; ewes suckle what they carried unless the farm says."""
    own = table.model_extra or {}
    facts: dict[str, Any] = dict(table.after or usual or {})
    if not facts:
        lambs = own.get("lambs_carried")
        lambing = birth is not None and birth.kind == "lambing"
        if not lambing or not isinstance(lambs, int | float) or not 1 <= lambs <= 4:
            return None, {}
        facts = {"class": "ewe_milking", "lambs_suckled": min(float(lambs), 3.0)}
        facts |= {key: value for key, value in own.items() if key == "kept"}
    name = str(facts.pop("class", ""))
    in_milk = [key for key, known in CLASSES.items() if any(one.key == IN_MILK for one in known)]
    place = faults.at("after")
    if name not in in_milk:
        remedy = f"classes in milk: {', '.join(in_milk)}"
        problem = f'"{name}" is no class in milk'
        if not name:
            problem = "what they are afterwards is not said"
        place.at("class").unknown("IN404", problem, name, in_milk, remedy)
        return None, {}
    if IN_MILK in facts:
        place.at(IN_MILK).add("IN136", "weeks that follow from the date", "leave it out")
    facts = {"live_weight_kg": own.get("live_weight_kg"), **facts, IN_MILK: 1.0}
    return name, read_facts(name, facts, place, at_peak=True)


def _changes(table: GroupTable, winter: Winter, faults: Faults) -> tuple[Change, ...]:
    changes: list[Change] = []
    for number, change in enumerate(table.changes):
        place = faults.at("changes", number)
        facts = change.model_extra or {}
        if not winter.start <= change.start <= winter.turnout:
            problem = f"{change.start} outside the winter, {winter.start} to {winter.turnout}"
            place.at("from").add("IN136", problem, "give a day of this winter")
        if changes and change.start <= changes[-1].start:
            problem = f"{change.start} after {changes[-1].start} in the list"
            place.at("from").add("IN136", problem, "put the changes in order of date")
        if not facts and change.head is None:
            place.add("IN136", "a change of nothing", "give head, or a fact of the class anew")
        checked = read_facts(table.animal_class, _with_own_facts(table, facts), place)
        changed = {key: checked[key] for key in facts if key in checked}
        changes.append(Change(change.start, change.head, changed))
    return tuple(changes)


def _with_own_facts(table: GroupTable, facts: Mapping[str, object]) -> dict[str, object]:
    """A change's facts over the group's own, so that only what it changes is judged by it."""
    known = {fact.key for fact in CLASSES[table.animal_class]}
    own = {key: value for key, value in (table.model_extra or {}).items() if key in known}
    any_day = {key: 30.0 for key in BIRTHS.values() if key in known}
    return {**any_day, **own, **facts}
