"""What is news on a day of a winter's plan: a change-over under way, and new cautions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field, replace
from datetime import date, timedelta

from rationlp.after.kept import period_of
from rationlp.after.plan_cautions import plan_cautions
from rationlp.after.plan_changes import FeedMove, PlanChange, plan_changes
from rationlp.planned import WinterPlan
from rationlp.records import dataclass
from rationlp.result import Caution


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
