"""What a winter's plan feeds on a day, as the rations of that day: the same kilograms, the
animals that there are now."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

from rationlp.after.kept import period_of
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.farm.group import Group
from rationlp.needs.calendar import fed_days, parts_on
from rationlp.planned import Period, PlanRation, WinterPlan
from rationlp.records import copied, dataclass
from rationlp.result import GroupRation, Rations
from rationlp.wintering.parts import GRAZED

PLANNED = "planned"
"""Status of a ration that comes from a plan: the proof belongs to the plan, not to the day."""


@dataclass(frozen=True)
class DayOfPlan:
    """What a plan feeds on a day. rations: by part of a group, as the plan has it. strangers:
    names of groups that are fed on that day and that the plan does not know; gone: names of
    feeds in the plan that are no longer on the farm."""

    day: date
    period: Period
    rations: Rations
    strangers: tuple[str, ...]
    gone: tuple[str, ...]


def day_of_plan(plan: WinterPlan, farm: Farm, day: date) -> DayOfPlan | None:
    """What a plan feeds on a day, for the farm as it is now; None for a day that it does not plan.

    The plan's steps hold: its parts of a group, and its heads with those moved since. A group that
    is not housed on the day is left out.
    """
    period = period_of(plan, day)
    if period is None:
        return None
    groups: list[Group] = []
    rations: list[GroupRation] = []
    strangers: list[str] = []
    known = {offer.id for offer in farm.offers} | {GRAZED}
    gone: dict[str, None] = {}
    for group in farm.groups:
        if not _is_fed(group, day, period):
            continue
        of_group = {
            ration.group: ration
            for ration in plan.rations
            if ration.period == period.number and ration.origin == group.id
        }
        for stepped in parts_on(group, period.first, period.last):
            if stepped.id not in of_group:
                strangers.append(stepped.name)
                continue
            part = replace(
                stepped,
                head=of_group[stepped.id].head + moved_heads(plan.farm, group, stepped.id, day),
            )
            if part.head <= 0:
                continue
            gone |= {
                amount.name: None
                for amount in of_group[part.id].amounts
                if amount.offer not in known
            }
            groups.append(part)
            rations.append(_ration(of_group[part.id], part, known, plan.status))
    offers = (*_grazed(groups, period), *farm.offers)
    today = replace(farm, groups=tuple(groups), offers=offers, day=day)
    return DayOfPlan(day, period, Rations(today, tuple(rations)), tuple(strangers), tuple(gone))


def moved_heads(planned: Farm, group: Group, part: str, day: date) -> int:
    """Heads of a part on a day, less those of the plan's farm; 0 where none was moved."""
    before = next((earlier for earlier in planned.groups if earlier.id == group.id), None)
    if before is None or before == group:
        return 0
    return heads_on(group, part, day) - heads_on(before, part, day)


def heads_on(group: Group, part: str, day: date) -> int:
    """Heads of a part of a group on a day."""
    return sum(present.head for present in parts_on(group, day) if present.id == part)


def _is_fed(group: Group, day: date, period: Period) -> bool:
    # The day of turnout shows what was fed the day before.
    last = min(day, period.last - timedelta(days=1))
    return fed_days(group, last, last + timedelta(days=1)) > 0


def _ration(fed: PlanRation, part: Group, known: set[str], status: str) -> GroupRation:
    if status in ("proven", "open"):
        status = PLANNED
    return copied(
        GroupRation,
        fed,
        group=part.id,
        name=part.name,
        head=part.head,
        status=status,
        amounts=tuple(amount for amount in fed.amounts if amount.offer in known),
        proof=None,
    )


def _grazed(groups: list[Group], period: Period) -> Iterator[Offer]:
    """Grass that is grazed in the period, so that a ration with it can be set against need; the
    first of those that graze."""
    for group in groups:
        for grass in group.grazing:
            if grass.start < period.last and grass.until > period.first:
                price = grass.price_per_t_dm * grass.feed.dm_g_per_kg / 1000.0
                yield Offer(GRAZED, grass.feed.name, grass.feed, False, price)
                return
