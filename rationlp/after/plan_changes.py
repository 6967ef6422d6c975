"""Where the ration of a group changes over a winter's plan, how to go from the one to the other,
and what is news on a day.

Every pair of rations that follow one another is set side by side as `changeover` does for two
rations of a day; its thresholds (feeds/change-over.csv, common practice (c)) say what is a change
worth days, and below them nothing is said.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import field, replace
from datetime import date, timedelta

from rationlp.after.changeover import ChangeOver, History, change_over, switches_forage
from rationlp.after.kept import period_of
from rationlp.after.money import with_grass
from rationlp.after.plan_cautions import plan_cautions
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.farm.group import Group
from rationlp.needs.cohorts import MARKS
from rationlp.planned import PlanRation, WinterPlan
from rationlp.quantities import fresh_from_dm
from rationlp.records import dataclass
from rationlp.result import Caution
from rationlp.wintering.parts import opening_days

COUNTS = 0.02
"""A feed that moves by less than this share of DM is not named among changes [-]; (c)."""


@dataclass(frozen=True)
class FeedMove:
    """One feed of a change [kg fresh a head a day]."""

    offer: str
    name: str
    from_kg_fresh: float
    to_kg_fresh: float


@dataclass(frozen=True)
class PlanChange:
    """One change of a group's ration within the winter.

    group, name: of the part that gets the new ration; came_from: id of the part whose ration was
    fed before, another one where animals have given birth. period: number of the first period with
    the new ration, which begins `on`. begin: first day of the
    ramp: half of its days lie before `on`, so that as much is eaten of every feed as in the plan
    when head stay the same; no earlier than the ration before is fed, the last ramp has ended or a
    store is open that it brings in, and `on` itself for those that have just given birth.
    moves: feeds that change, the most dry matter first. change: rules passed, days, steps, a head a
    day.
    """

    group: str
    name: str
    came_from: str
    period: int
    on: date
    begin: date
    moves: tuple[FeedMove, ...]
    change: ChangeOver


def plan_changes(plan: WinterPlan) -> tuple[PlanChange, ...]:
    """Every change of ration of more than a step, group by group by day; none without plan."""
    changes: list[PlanChange] = []
    for part in dict.fromkeys(ration.group for ration in plan.rations):
        changes += _of_part(plan, part)
    return tuple(changes)


def _of_part(plan: WinterPlan, part: str) -> Iterator[PlanChange]:
    """A part's changes; each knows the days before it and the last switch of forage."""
    rations = _fed_to(plan, part)
    since = ended = _first_day(plan, rations[0])
    switches: list[date] = []
    for before, after in itertools.pairwise(rations):
        farm, fed = (
            with_grass(plan, _group(plan, before), before, after),
            (_kg_dm(before), _kg_dm(after)),
        )
        on = plan.periods[after.period].first
        change = change_over(
            farm, after.needs, *fed, History(float((on - since).days), tuple(switches), on)
        )
        if switches_forage(farm, after.needs, *fed):
            switches.append(on)
        if not change.changes:
            continue
        since = on
        begin = on
        if before.group == after.group:
            # One ramp ends before the next begins, as far as the plan's own days leave room for
            # both.
            half = on - timedelta(days=change.days // 2)
            opened = _opening(plan.farm, *fed)
            begin = min(max(half, _first_day(plan, before), ended, *opened), on)
        ended = begin + timedelta(days=change.days)
        if after.group == part:
            moves = _moves(farm, *fed)
            yield PlanChange(part, after.name, before.group, after.period, on, begin, moves, change)


def _fed_to(plan: WinterPlan, part: str) -> list[PlanRation]:
    """The rations of a part by period: before its first those of the animals that it came from, in
    the pen before or still waiting to give birth.
    """
    rations = _by_period(plan, part)
    came_from = _pen_before(plan, part, rations[0])
    waiting = [one for one in _by_period(plan, came_from) if one.period < rations[0].period]
    return [*waiting, *rations]


def _by_period(plan: WinterPlan, part: str) -> list[PlanRation]:
    return sorted(
        (ration for ration in plan.rations if ration.group == part),
        key=lambda ration: ration.period,
    )


def _pen_before(plan: WinterPlan, part: str, first: PlanRation) -> str:
    """Id of the part whose animals a part takes up: the last pen fed before its own; or empty."""
    origin = first.origin or part
    if origin == part:
        return ""
    pens = [f"{origin}_{mark}".rstrip("_") for mark in MARKS]
    before = pens[: pens.index(part)] if part in pens else [origin]
    fed = {ration.group for ration in plan.rations if ration.period < first.period}
    return next((pen for pen in reversed(before) if pen in fed), "")


def _opening(farm: Farm, before: Mapping[str, float], after: Mapping[str, float]) -> Iterator[date]:
    """First days of the stores that a change brings in: no ramp begins while they are shut."""
    for store, day in opening_days(farm).items():
        if after.get(store, 0.0) > 0.0 and before.get(store, 0.0) <= 0.0:
            yield day


def _first_day(plan: WinterPlan, ration: PlanRation) -> date:
    """The first day a ration is fed: a group may be housed in the middle of a period."""
    period = plan.periods[ration.period]
    return _group(plan, ration).fed_within(period.first, period.last)[0]


def _group(plan: WinterPlan, ration: PlanRation) -> Group:
    names = (ration.origin, ration.group)
    return next(group for group in plan.farm.groups if group.id in names)


def _kg_dm(ration: PlanRation) -> dict[str, float]:
    return {amount.offer: amount.kg_dm for amount in ration.amounts}


def _moves(
    farm: Farm, before: Mapping[str, float], after: Mapping[str, float]
) -> tuple[FeedMove, ...]:
    least = COUNTS * max(sum(before.values()), sum(after.values()))

    def moved(offer: Offer) -> float:
        return abs(after.get(offer.id, 0.0) - before.get(offer.id, 0.0))

    offers = sorted(
        (offer for offer in farm.offers if moved(offer) > least), key=moved, reverse=True
    )
    return tuple(
        FeedMove(offer.id, offer.name, _fresh(offer, before), _fresh(offer, after))
        for offer in offers
    )


def _fresh(offer: Offer, kg_dm: Mapping[str, float]) -> float:
    return fresh_from_dm(kg_dm.get(offer.id, 0.0), offer.feed.dm_g_per_kg)


@dataclass(frozen=True)
class News:
    """What is different from the period before.

    changing: by part of a group, the change-over under way in a sentence. kg_dm_before: by part
    whose new ration is fed already, what it came from by offer id [kg DM a head a day]. known:
    (id, about) of cautions that applied in the period before. Without a plan nothing is known.
    """

    changing: Mapping[str, str] = field(default_factory=dict)
    kg_dm_before: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    known: frozenset[tuple[str, str]] = frozenset()

    def marked(self, caution: Caution) -> Caution:
        """A caution, marked as new where it did not apply before; what holds every day is not."""
        new = not caution.daily and (caution.id, caution.about) not in self.known
        return replace(caution, new=new)


def news_of(plan: WinterPlan, day: date) -> News:
    """What is news on a day of a plan."""
    period = period_of(plan, day)
    if period is None:
        return News()
    changes = {
        change.group: change
        for change in plan_changes(plan)
        if change.begin <= day < change.begin + timedelta(days=change.change.days)
    }
    changing = {part: _changing_words(change, day) for part, change in changes.items()}
    kg_dm = {
        part: change.change.steps[0].kg_dm for part, change in changes.items() if change.on <= day
    }
    if period.number == 0:
        return News(changing, kg_dm)
    last = plan.periods[period.number - 1].first.isoformat()
    known = frozenset(
        (caution.id, caution.about)
        for caution in plan_cautions(plan)
        if any(first <= last < end for first, end in caution.weeks)
    )
    return News(changing, kg_dm, known)


def _changing_words(change: PlanChange, day: date) -> str:
    """From what to what, and which day of it this is."""
    days = change.change.days
    last = change.begin + timedelta(days=days - 1)
    moves = "; ".join(move_words(move) for move in change.moves)
    fed = "the ration it comes from"
    if change.on <= day:
        fed = "the ration it goes to"
    return (
        f"Changing over: day {(day - change.begin).days + 1} of {days} ({_day(change.begin)} to"
        f" {_day(last)}), in kg fresh a head a day: {moves}. The kilograms of this sheet are the"
        f" plan's, {fed}; move between the two in even steps."
    )


def move_words(move: FeedMove) -> str:
    """From how much to how much of a feed [kg fresh a head a day]; to 10 g below a kilogram."""
    places = 1
    if max(move.from_kg_fresh, move.to_kg_fresh) < 1.0:
        places = 2
    return f"{move.name} from {move.from_kg_fresh:.{places}f} to {move.to_kg_fresh:.{places}f}"


def _day(day: date) -> str:
    return f"{day.day} {day:%B}"
