"""What a winter's plan calls for: the cautions of every period, with the weeks they belong to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from rationlp.after.cautions import farm_cautions, gravest_first, plate_cautions, ration_cautions
from rationlp.after.money import with_grass
from rationlp.after.plate import Plate
from rationlp.farm.group import Group
from rationlp.needs.calendar import fed_days, parts_on
from rationlp.planned import Period, PlanRation, WinterPlan
from rationlp.records import copied
from rationlp.result import Caution, FedSupply

Weeks = tuple[str, str]


def plan_cautions(plan: WinterPlan) -> tuple[Caution, ...]:
    """What the farm and the rations of a plan call for, gravest first, each once a group: as it is
    found first, with its weeks.

    about: id of the part of a group, of a store or of a bought feed. Groups that the plan does not
    feed get theirs too.
    """
    called: dict[tuple[str, str], Caution] = {}
    weeks: dict[tuple[str, str], list[Weeks]] = {}
    for caution in farm_cautions(plan.farm):
        called.setdefault((caution.id, caution.about), caution)
    for period, caution in _of_groups(plan):
        key = (caution.id, caution.about)
        called.setdefault(key, caution)
        weeks.setdefault(key, []).append((period.first.isoformat(), period.last.isoformat()))
    dated = (replace(caution, weeks=_joined(weeks.get(key, []))) for key, caution in called.items())
    return gravest_first(dated)


def _joined(weeks: list[Weeks]) -> tuple[Weeks, ...]:
    """Periods that follow one another as one stretch of time."""
    stretches: list[Weeks] = []
    for first, last in dict.fromkeys(weeks):
        if stretches and stretches[-1][1] == first:
            stretches[-1] = (stretches[-1][0], last)
        else:
            stretches.append((first, last))
    return tuple(stretches)


def _of_groups(plan: WinterPlan) -> Iterator[tuple[Period, Caution]]:
    """The cautions of every part of a group in every period, fed or not, period by period."""
    rations = {(ration.group, ration.period): ration for ration in plan.rations}
    known: dict[object, tuple[Caution, ...]] = {}
    for period in plan.periods:
        for origin in plan.farm.groups:
            if not fed_days(origin, period.first, period.last):
                continue
            parts = {part.id: part for part in parts_on(origin, period.first, period.last)}
            fed = [
                ration
                for ration in rations.values()
                if _is_of(ration, origin, period) and ration.amounts
            ]
            for ration in fed:
                groups = (origin, parts.get(ration.group, origin))
                for caution in _of_fed(plan, ration, groups, rations, known):
                    yield period, caution
            for part in parts.values():
                if part.id not in {ration.group for ration in fed}:
                    for caution in _of_unfed(plan, period, part):
                        yield period, caution


def _is_of(ration: PlanRation, origin: Group, period: Period) -> bool:
    return (ration.origin or ration.group) == origin.id and ration.period == period.number


def _of_fed(
    plan: WinterPlan,
    ration: PlanRation,
    groups: tuple[Group, Group],
    rations: Mapping[tuple[str, int], PlanRation],
    known: dict[object, tuple[Caution, ...]],
) -> tuple[Caution, ...]:
    """The cautions of a ration. groups: whole, and part. known: worked out before."""
    origin, part = groups
    earlier = _ration_before(ration, rations)
    rations_eaten, before = [ration], None
    if earlier is not None:
        rations_eaten.append(earlier)
        before = {amount.offer: amount.kg_dm for amount in earlier.amounts}
    first, _ = part.fed_within(plan.periods[ration.period].first, plan.farm.turnout)
    farm = replace(with_grass(plan, origin, *rations_eaten), groups=(part,), day=first)
    new: object = farm.day
    if before is not None:
        new = tuple(before.items())
    mark = (
        part.id,
        tuple(part.facts.items()),
        tuple((amount.offer, amount.kg_dm) for amount in ration.amounts),
        new,
    )
    if mark not in known:
        known[mark] = ration_cautions(farm, _as_fed(ration), before)
    return known[mark]


def _ration_before(
    ration: PlanRation, rations: Mapping[tuple[str, int], PlanRation]
) -> PlanRation | None:
    """What these animals were fed the period before; None where the plan has nothing."""
    before = rations.get((ration.group, ration.period - 1))
    if before is None and ration.origin:
        before = rations.get((ration.origin, ration.period - 1))
    if before is None or not before.amounts:
        return None
    return before


def _of_unfed(plan: WinterPlan, period: Period, part: Group) -> tuple[Caution, ...]:
    """The cautions of a part that has no ration in a period, with what it is short of."""
    short = tuple(
        shortfall.shortfall
        for shortfall in plan.shortfalls
        if (shortfall.group, shortfall.period) == (part.id, period.number)
    )
    farm = replace(plan.farm, groups=(part,), day=period.first)
    return plate_cautions(Plate(farm, part, None, (), shortfalls=short))


def _as_fed(ration: PlanRation) -> FedSupply:
    return copied(FedSupply, ration, me_mj_per_kg_dm=ration.me_mj_per_kg_dm or 0.0, remarks=())
