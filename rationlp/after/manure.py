"""What a planned winter excretes: nitrogen and phosphate by the rations, beside the published table
of the English nitrate rules, and the volume to be stored. Information; it defers to local rules.

By the rations is a mass balance (after/excretion.py): eaten, less milk, gain and the unborn. The
rules count their own table, whatever is fed.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from rationlp.after.excretion import excretion
from rationlp.after.money import feed_of
from rationlp.after.stock import head_days_of
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Feed
from rationlp.farm.group import Group
from rationlp.needs.calendar import fed_days, parts_on
from rationlp.planned import Period, PlanRation, WinterPlan
from rationlp.records import dataclass
from rationlp.rules.standard_manure import StandardManure, standard_manure, storage_ends

P2O5_PER_P = 141.94 / 61.95
"""Phosphate in a gram of phosphorus [g/g], by atomic weights; (a)."""


@dataclass(frozen=True)
class GroupManure:
    """What one group excretes over the days planned.

    n_kg, p2o5_kg: by its rations, None where a figure is missing (`unknown` names the feeds without
    phosphorus).
    standard_n_kg, standard_p2o5_kg: by the table, None for a class that it does not have.
    stored_m3: its volume by the table to the end of the storage months; all_m3: to turnout.
    rows: those of the table that it was put into, in their order.
    bedded: it lies on straw, so that some of this is solid manure.
    """

    group: str
    name: str
    head_days: float
    n_kg: float | None
    p2o5_kg: float | None
    unknown: tuple[str, ...]
    standard_n_kg: float | None
    standard_p2o5_kg: float | None
    stored_m3: float | None
    all_m3: float | None
    rows: tuple[StandardManure, ...]
    bedded: bool


@dataclass(frozen=True)
class WinterManure:
    """What a plan excretes, group by group. first, last: days planned (last left out).
    storage_ends: the day to which slurry is stored (left out), turnout where that comes first.
    """

    farm: Farm
    first: date
    last: date
    storage_ends: date
    groups: tuple[GroupManure, ...]

    @property
    def n_kg(self) -> float | None:
        """Nitrogen by the rations of all groups [kg], None where one has none."""
        return _total(group.n_kg for group in self.groups)

    @property
    def p2o5_kg(self) -> float | None:
        """Phosphate by the rations of all groups [kg], None where one has none."""
        return _total(group.p2o5_kg for group in self.groups)


def _total(figures: Iterable[float | None]) -> float | None:
    total = 0.0
    for figure in figures:
        if figure is None:
            return None
        total += figure
    return total


@dataclass(frozen=True)
class _Step:
    """One ration of a plan with the animals it feeds and how many days of them."""

    ration: PlanRation
    part: Group
    period: Period
    head_days: float


def winter_manure(plan: WinterPlan) -> WinterManure:
    """What a plan excretes; groups that are planned no ration are left out."""
    first, last = plan.periods[0].first, plan.periods[-1].last
    ends = min(storage_ends(first), last)
    groups = []
    for group in plan.farm.groups:
        steps = [
            _step(plan, group, ration)
            for ration in plan.rations
            if (ration.origin or ration.group) == group.id and ration.amounts
        ]
        if steps:
            groups.append(_group_manure(plan, group, steps, ends))
    return WinterManure(plan.farm, first, last, ends, tuple(groups))


def _step(plan: WinterPlan, group: Group, ration: PlanRation) -> _Step:
    period = plan.periods[ration.period]
    parts = {part.id: part for part in parts_on(group, period.first, period.last)}
    return _Step(ration, parts.get(ration.group, group), period, head_days_of(plan, ration))


def _group_manure(plan: WinterPlan, group: Group, steps: list[_Step], ends: date) -> GroupManure:
    balances = [_balance(plan, group, step) for step in steps]
    unknown = dict.fromkeys(name for _, _, names in balances for name in names)
    rows = [standard_manure(plan.farm, step.part) for step in steps]
    known = [(step, row) for step, row in zip(steps, rows, strict=True) if row is not None]
    standard = len(known) == len(steps)
    stored = [(step.head_days * _share_until(group, step.period, ends), row) for step, row in known]

    def by_table(figure: str) -> float | None:
        if not standard:
            return None
        return sum(step.head_days * float(getattr(row, figure)) for step, row in known) / 1000.0

    return GroupManure(
        group=group.id,
        name=group.name,
        head_days=sum(step.head_days for step in steps),
        n_kg=_total(n for n, _, _ in balances),
        p2o5_kg=_total(p for _, p, _ in balances),
        unknown=tuple(unknown),
        standard_n_kg=by_table("n_g"),
        standard_p2o5_kg=by_table("p2o5_g"),
        stored_m3=sum(days * row.litres for days, row in stored) / 1000.0 if standard else None,
        all_m3=by_table("litres"),
        rows=tuple(dict.fromkeys(row for _, row in known)),
        bedded=any(bedding.group == group.id for bedding in plan.farm.beddings),
    )


def _share_until(group: Group, period: Period, ends: date) -> float:
    """Share of the days fed in a period that lie before a day [-]."""
    days = fed_days(group, period.first, period.last)
    if days <= 0 or ends <= period.first:
        return 0.0
    return fed_days(group, period.first, min(ends, period.last)) / days


def _balance(
    plan: WinterPlan, group: Group, step: _Step
) -> tuple[float | None, float | None, tuple[str, ...]]:
    """Nitrogen and phosphate of a step [kg], and the feeds without phosphorus."""
    parts: list[tuple[Feed, float]] = []
    for amount in step.ration.amounts:
        feed = feed_of(plan, group, step.ration, amount.offer)
        if feed is None:
            return None, None, ()
        parts.append((feed, amount.kg_dm))
    leaves = excretion(step.part, step.ration.needs, parts, step.ration.level_of_feeding)
    if leaves is None:
        return None, None, ()
    n_kg = leaves.n_excreted_g * step.head_days / 1000.0
    if leaves.p_excreted_g is None:
        return n_kg, None, leaves.p_unknown
    return n_kg, leaves.p_excreted_g * P2O5_PER_P * step.head_days / 1000.0, ()
