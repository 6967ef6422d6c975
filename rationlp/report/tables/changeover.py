"""Changes of ration, today and over a winter: what changes, the ramp, what to say of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from rationlp.after.changeover import Change
from rationlp.after.plan_changes import FeedMove, PlanChange
from rationlp.farm.farm import Farm
from rationlp.planned import WinterPlan
from rationlp.report.tables.table import Column, Table, shown, small_decimals, table_of
from rationlp.report.wording import day_words, kg_decimals
from rationlp.result import Rations

if TYPE_CHECKING:
    from rationlp.after.changeover import ChangeOver


LEAST_KG = 0.0005


def ramp_table(change: ChangeOver, farm: Farm, name: str) -> Table:
    """Days down, feeds across [kg fresh a head a day], from what is fed now to the new ration."""
    names = {offer.id: offer.name for offer in farm.offers}
    largest = {
        key: max(step.kg_fresh[key] for step in change.steps) for key in change.steps[0].kg_fresh
    }
    fed = [key for key in names if largest.get(key, 0.0) >= LEAST_KG]
    feeds = tuple(Column(key, names[key], "kg", small_decimals(largest[key], 1)) for key in fed)
    columns = (Column("day", "From day", "", 0), *feeds, Column("kg_dm", "Dry matter", "kg", 2))
    rows = tuple(
        (step.day, *(step.kg_fresh[key] for key in fed), sum(step.kg_dm.values()))
        for step in change.steps
    )
    return Table(
        "change_over",
        f"{name}: from what is fed now to this ration, kg fresh a head a day",
        columns,
        rows,
    )


def change_words(change: ChangeOver, currency: str) -> tuple[str, ...]:
    """What to say of a change: cost, days to take, rules that are passed, what was not compared."""
    if change.days:
        days = (
            f"Change over {change.days} days, never with hungry animals; watch intake and dung, and"
            " go slower if they say so."
        )
    else:
        days = "The change is small enough to be made at once (common practice)."
    sentences = [_cost_words(change, currency), days, *change.sentences]
    if change.not_compared:
        sentences.append(
            "Starch before and after is not compared: no figure for"
            f" {', '.join(change.not_compared)}."
        )
    return tuple(sentences)


def _cost_words(change: ChangeOver, currency: str) -> str:
    before, after = (
        f"{currency} {shown(cost, 2)}" for cost in (change.cost_before, change.cost_after)
    )
    saved = change.cost_before - change.cost_after
    if before == after:
        return f"What is fed now costs {before} a head a day, the same as this ration."
    effect = f"saves {currency} {shown(saved, 2)}"
    if saved <= 0.0:
        effect = f"costs {currency} {shown(-saved, 2)} more"
    return (
        f"The change {effect} a head a day: what is fed now costs {before}, this ration {after},"
        " both at today's prices."
    )


def change_overs_table(rations: Rations, changes: Mapping[str, ChangeOver]) -> Table:
    """Every step of every group in one long table, a line a feed: day, kg fresh and kg DM a head a
    day.

    A group that is not changed over (not among the rations fed now) has its new ration from day 1.
    """
    columns = (
        Column("group", "Group"),
        Column("group_name", "Name"),
        Column("day", "From day", "", 0),
        Column("feed_id", "Id"),
        Column("feed", "Feed"),
        Column("kg_fresh_per_head_day", "Fresh", "kg", 2),
        Column("kg_dm_per_head_day", "Dry matter", "kg", 2),
    )
    names = {offer.id: offer.name for offer in rations.farm.offers}
    rows: list[tuple[object, ...]] = []
    for group in rations.groups:
        change = changes.get(group.group)
        if change is None:
            rows += [
                (group.group, group.name, 1, a.offer, a.name, a.kg_fresh, a.kg_dm)
                for a in group.amounts
            ]
            continue
        for step in change.steps:
            start = (group.group, group.name, step.day)
            rows += [
                (*start, key, names[key], step.kg_fresh[key], kg) for key, kg in step.kg_dm.items()
            ]
    return Table(
        "change_over", "From what is fed now to the new rations, a head a day", columns, tuple(rows)
    )


KINDS = {
    "forage": "forage, soon after the last",
    "clamp": "clamp or crop",
    "switches": "forage again",
    "concentrate": "concentrates",
    "starch": "starch",
    "cereal": "concentrates ad lib",
    "root": "roots",
    "urea": "urea",
}
_NOTE = (
    "Days: go over in even steps, never with hungry animals; watch intake and dung, and go slower"
    " if they say so. Half of them lie before the new ration's first day, so that the stores come"
    " out as planned; they are not checked against the need. Thresholds and days: common practice,"
    " no source."
)


def plan_changes_table(changes: Iterable[PlanChange]) -> Table:
    """Changes over the winter, a line each: group, day, day to begin, days, what changes."""
    columns = (
        Column("group", "Group", of="name"),
        Column("from", "New ration from", of=lambda planned: planned.on.isoformat()),
        Column("begin", "Begin on", of=lambda planned: planned.begin.isoformat()),
        Column("days", "Days", "d", 0, of="change.days"),
        Column("kinds", "What changes sharply", of=_kinds),
        Column("what", "What changes, kg fresh a head a day", of=_moves),
    )
    title, every = "Changes over the winter", tuple(changes)
    if not every:
        return Table("changes", title, columns, ())
    return table_of("changes", title, every, columns, (_NOTE,))


def _kinds(planned: PlanChange) -> str:
    """What changes sharply; a forage that changes too soon is a change of clamp or crop as well."""
    kinds = [change.what for change in planned.change.changes]
    if "forage" in kinds:
        kinds = [kind for kind in kinds if kind != "clamp"]
    return ", ".join(KINDS[kind] for kind in kinds)


def _moves(planned: PlanChange) -> str:
    return "; ".join(map(_move, planned.moves))


def _move(move: FeedMove) -> str:
    decimals = kg_decimals(max(move.from_kg_fresh, move.to_kg_fresh))
    return (
        f"{move.name} {shown(move.from_kg_fresh, decimals)} → {shown(move.to_kg_fresh, decimals)}"
    )


def plan_ramps_table(plan: WinterPlan, changes: Iterable[PlanChange]) -> Table:
    """Every step of every change, a line a feed: day, kg fresh and kg DM a head a day."""
    columns = (
        Column("group", "Group"),
        Column("group_name", "Name"),
        Column("begin", "Begin on"),
        Column("day", "After days", "d", 0),
        Column("feed_id", "Id"),
        Column("feed", "Feed"),
        Column("kg_fresh_per_head_day", "Fresh", "kg", 2),
        Column("kg_dm_per_head_day", "Dry matter", "kg", 2),
    )
    names = {amount.offer: amount.name for ration in plan.rations for amount in ration.amounts}
    rows: list[tuple[object, ...]] = []
    for change in changes:
        for step in change.change.steps:
            start = (change.group, change.name, change.begin.isoformat(), step.day)
            rows += [
                (*start, key, names[key], kg, step.kg_dm[key])
                for key, kg in step.kg_fresh.items()
                if kg >= LEAST_KG
            ]
    return Table(
        "ramps", "Changes over the winter, step by step, a head a day", columns, tuple(rows)
    )


def change_remarks(changes: Iterable[PlanChange]) -> tuple[str, ...]:
    """The rules of practice that a change of forage passes, a sentence a change.

    Concentrates and starch are left out: the table of changes gives the days over which to bring
    them in.
    """
    remarks = (
        (planned, [change.sentence for change in planned.change.changes if _to_say(change)])
        for planned in changes
    )
    return tuple(
        f"{planned.name}, from {day_words(planned.on)}: {' '.join(sentences)}"
        for planned, sentences in remarks
        if sentences
    )


def _to_say(change: Change) -> bool:
    return change.warned and change.what in ("forage", "switches")
