"""Cattle whose calvings spread over weeks: each week's cows walk on their own dates through the
pens of the group.

N cows over m weeks are m cohorts of N/m, due in the middle of their weeks. A cow is dry, close to
calving in the last 21 days, fresh to day 28 and then in milk; without pens she is only dry or in
milk. A pen in a period has as many head as its cow-days over the days, the facts of its mean cow,
and needs that are means over its cohorts: one ration a pen.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import inf

from rationlp.farm.animals import CLASSES
from rationlp.farm.group import Calendar, Cohort, Group
from rationlp.farm.lactation import MILK, MILKERS, curve_of
from rationlp.needs.cattle import GESTATION_DAYS
from rationlp.read.calendar import BIRTHS, IN_MILK
from rationlp.records import dataclass

CLOSE_UP_DAYS, FRESH_DAYS = 21.0, 28.0
"""Days before calving in the close-up pen, and after it in the fresh pen: common practice (c)."""
_TO_CALVING = BIRTHS["calving"]
_WEEK = 7.0
DRY_DAYS = 60.0
"""Days that a dairy cow is dry before she calves: six to eight weeks, common practice (c)."""
SHORT_DRY_DAYS = 42.0
"""The same of cows that are still milked nearer to calving: the least, common practice (c)."""
DRY_CLASS = "dairy_cow_dry"
MILKING_CLASS = "dairy_cow_milking"

Facts = dict[str, float | str]


@dataclass(frozen=True)
class Pen:
    """Cows `most` to `least` days to calving (left out). mark: of its id; word: of its name."""

    mark: str
    word: str
    least: float
    most: float

    @property
    def in_milk(self) -> bool:
        """True for cows that have calved."""
        return self.most <= 0.0


TWO_PENS = (Pen("", "", 0.0, inf), Pen("calved", "calved", -inf, 0.0))
FOUR_PENS = (
    Pen("", "", CLOSE_UP_DAYS, inf),
    Pen("close_up", "close to calving", 0.0, CLOSE_UP_DAYS),
    Pen("fresh", "fresh", -FRESH_DAYS, 0.0),
    Pen("calved", "calved", -inf, -FRESH_DAYS),
)


def _lactation(dry_days: float) -> tuple[Pen, ...]:
    """The pens of cows in milk that calve again."""
    return (
        Pen("", "", dry_days, inf),
        Pen("dry", "dried off", 0.0, dry_days),
        Pen("calved", "calved again", -inf, 0.0),
    )


MARKS = tuple(dict.fromkeys(pen.mark for pen in (*_lactation(DRY_DAYS)[:2], *FOUR_PENS)))
"""Marks of all pens in the order in which a cow walks through them: a herd has some of them."""


def cohort_days(spread_weeks: float) -> tuple[float, ...]:
    """Days from the first calving to the middle of each week; one cohort if all calve together."""
    weeks = max(1, round(spread_weeks))
    return tuple(_WEEK * spread_weeks * (number + 0.5) / weeks for number in range(weeks))


def cohort_parts(
    group: Group, calendar: Calendar, since: float, days: int, stated: tuple[Facts, int]
) -> tuple[Group, ...]:
    """The pens of a group that calves, over `days` from a day on that lies `since` days after the
    first calving.

    stated: facts and head on that day, births left out. Heads are whole and sum up to the group's;
    cows of which nothing is known after calving leave on that day.
    """
    facts, head = stated
    due = [first - since for first in cohort_days(calendar.spread_weeks)]
    pens = FOUR_PENS if calendar.pens else TWO_PENS
    stays = [[_stay(to_calving, days, pen) for to_calving in due] for pen in pens]
    exact = [head * sum(share for share, _ in pen) / len(due) for pen in stays]
    heads = _whole(exact)
    parts = []
    for pen, cows, number in zip(pens, stays, heads, strict=True):
        if number and not (pen.in_milk and calendar.after_class is None):
            parts.append(_part(group, calendar, pen, facts, (cows, number)))
    return tuple(parts)


def dried_off(group: Group, stated: Facts, since: int, days: int) -> tuple[Group, ...]:
    """A dairy group over `days` from its facts on: in milk until its cows have 60 days to calving,
    then dry, then in milk again; heads by the days of each. Cows that the farm still milks nearer
    to calving than that are dried off six weeks before it, nearer still on the day after. stated:
    facts as the farm states them, `since` days ago.

    A dry period of six to eight weeks is common practice, no source (c).
    """
    stated_days = float(stated.get("days_pregnant", 0.0))
    dry_days = _dry_days(stated_days)
    dry_from = GESTATION_DAYS - dry_days
    in_milk = group.animal_class in MILKERS and 0.0 < stated_days < dry_from
    conceived = float(group.facts.get("days_pregnant", 0.0))
    if conceived >= GESTATION_DAYS:
        conceived = stated_days + since  # the fact itself ends with the range of its class
    span = max(days, 1)
    if not in_milk or dry_from - conceived >= span:
        return (group,)
    to_calving = GESTATION_DAYS - conceived
    stays = [_stay(to_calving, days, pen) for pen in _lactation(dry_days)]
    late, dry, again = _whole([group.head * share for share, _ in stays])
    parts = (
        replace(group, head=late),
        _dried(group, dry, stays[1][1]),
        _calved_again(group, again, stated, -stays[2][1] / _WEEK),
    )
    return tuple(part for part in parts if part.head)


def _dry_days(days_pregnant: float) -> float:
    """Days dry before calving of cows in milk so long in calf on the first day."""
    to_calving = GESTATION_DAYS - days_pregnant
    if to_calving > DRY_DAYS:
        return DRY_DAYS
    return max(min(SHORT_DRY_DAYS, to_calving - 1.0), 0.0)


def _dried(group: Group, head: int, to_calving: float) -> Group:
    facts = {**of_class(group.facts, DRY_CLASS), _TO_CALVING: to_calving}
    return replace(become(group, ("dry", "dried off"), DRY_CLASS, facts, head), parlour_feed=None)


def _calved_again(group: Group, head: int, stated: Facts, week: float) -> Group:
    """Cows in their next lactation, with the peak of the last one (c)."""
    week = max(1.0, week)
    facts = of_class(group.facts, MILKING_CLASS)
    curve, next_curve = curve_of(group.animal_class, facts), curve_of(MILKING_CLASS, facts)
    if curve is not None and next_curve is not None:
        peak = float(stated[MILK]) / curve.share(float(stated[IN_MILK]))
        facts[MILK] = peak * next_curve.share(week)
    facts = {**facts, IN_MILK: week, "days_pregnant": 0.0}
    return become(group, ("calved", "calved again"), MILKING_CLASS, facts, head)


def of_class(facts: Facts, animal_class: str) -> Facts:
    """Those of the facts that a class has."""
    known = {fact.key for fact in CLASSES[animal_class]}
    return {key: value for key, value in facts.items() if key in known}


def become(
    group: Group, words: tuple[str, str], animal_class: str, facts: Facts, head: int
) -> Group:
    """Animals of a group that are of another class now. words: added to its id, and to its name."""
    return replace(
        group,
        id=f"{group.id}_{words[0]}",
        name=f"{group.name}, {words[1]}",
        animal_class=animal_class,
        facts=facts,
        head=head,
        origin=group.id,
        intake_kg_dm=None,
        intake_equation=None,
    )


def _stay(to_calving: float, days: int, pen: Pen) -> tuple[float, float]:
    """(share of the period that a cow is in a pen [-], her mean days to calving meanwhile)."""
    if days <= 0:
        return (1.0 if pen.least < to_calving <= pen.most else 0.0), to_calving
    high, low = min(to_calving, pen.most), max(to_calving - days, pen.least)
    if high > low:
        return (max(0.0, high - low) / days, 0.5 * (high + low))
    return (0.0, 0.0)


def _whole(exact: Sequence[float]) -> list[int]:
    """Whole heads near the exact ones, of the same sum: the largest remainders are rounded up."""
    heads = [int(number) for number in exact]
    left = round(sum(exact)) - sum(heads)
    order = sorted(range(len(exact)), key=lambda place: heads[place] - exact[place])
    for place in order[:left]:
        heads[place] += 1
    return heads


def _part(
    group: Group,
    calendar: Calendar,
    pen: Pen,
    facts: Facts,
    cows: tuple[Sequence[tuple[float, float]], int],
) -> Group:
    stays, head = cows
    total = sum(share for share, _ in stays)
    own = [(share / total, to_calving) for share, to_calving in stays if share > 0.0]
    base = dict(calendar.after) if pen.in_milk else facts
    cohorts = tuple(
        Cohort(share, _own_facts(calendar, pen, to_calving)) for share, to_calving in own
    )
    mean = {key: sum(c.share * float(c.facts[key]) for c in cohorts) for key in cohorts[0].facts}
    part = replace(
        group,
        facts={**base, **mean},
        head=head,
        cohorts=cohorts if len(cohorts) > 1 else (),
        nearest_days=None if pen.in_milk else min(to_calving for _, to_calving in own),
    )
    if pen.mark:
        part = replace(
            part, id=f"{group.id}_{pen.mark}", name=f"{group.name}, {pen.word}", origin=group.id
        )
    if pen.in_milk and calendar.after_class is not None:
        part = replace(
            part, animal_class=calendar.after_class, intake_kg_dm=None, intake_equation=None
        )
    return part


def _own_facts(calendar: Calendar, pen: Pen, to_calving: float) -> Facts:
    """What a cow of a cohort has of her own: days to calving, or week and milk."""
    if not pen.in_milk:
        return {_TO_CALVING: to_calving}
    week = max(1.0, -to_calving / _WEEK)
    curve = curve_of(calendar.after_class or "", calendar.after)
    if curve is None:
        return {IN_MILK: week}
    return {IN_MILK: week, MILK: float(calendar.after[MILK]) * curve.share(week)}


def each_cohort(group: Group) -> tuple[tuple[float, Group], ...]:
    """(share, group) of every cohort, or the group itself."""
    if not group.cohorts:
        return ((1.0, group),)
    return tuple(
        (cohort.share, replace(group, facts={**group.facts, **cohort.facts}, cohorts=()))
        for cohort in group.cohorts
    )


def mean_over(group: Group, figure: Callable[[Group], float]) -> float:
    """A figure of a head of the group: the mean over its cohorts."""
    return sum(share * figure(cows) for share, cows in each_cohort(group))


def with_milk(group: Group, share: float) -> Group:
    """The group giving so much of its milk [-], every cohort alike."""
    cohorts = tuple(replace(cohort, facts=_scaled(cohort.facts, share)) for cohort in group.cohorts)
    return replace(group, facts=_scaled(group.facts, share), cohorts=cohorts)


def _scaled(facts: Facts, share: float) -> Facts:
    if MILK in facts:
        return {**facts, MILK: share * float(facts[MILK])}
    return facts
