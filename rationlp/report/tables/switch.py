"""A switch of forage as tables and lines: by share, in kilograms, by tonnes or hectares."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import isfinite
from typing import TYPE_CHECKING

from rationlp.ask.switch_steps import FarmStep, GroupStep, GroupSteps, SwitchSteps
from rationlp.report.tables.ration import GROUP_OF
from rationlp.report.tables.table import (
    Column,
    Table,
    difference,
    shown,
    small_decimals,
    table_of,
    tonnes_words,
)
from rationlp.report.wording import day_words

if TYPE_CHECKING:
    from rationlp.ask.switch import GroupSwitch, Switch, SwitchPoint
    from rationlp.ask.tonnes import MovedPoint, WinterSwitch


MOST_ROWS = 14
_NOTE = (
    "Shares are of the dry matter of the two forages; other forages but straw are left out,"
    " both are taken as available without end at the farm's prices. A row stands where the"
    " ration turns: the feeds in it or the limits that press are others above it."
)


def _columns(switch: Switch) -> tuple[Column, ...]:
    money = switch.farm.currency
    return (
        Column("share_percent", f"{switch.second.name} %", "", 1, of=lambda p: 100.0 * p[1].share),
        Column("cost_per_head_day", "Cost", money, 3, of=lambda pair: pair[1].feed_cost),
        Column("more_per_head_day", "More", money, 3, of=_more),
        Column("bought_cost", "Bought", money, 2, of=lambda pair: pair[1].bought_cost),
        Column("bought_me_mj", "ME bought", "MJ", 0, of=lambda pair: pair[1].bought_me_mj),
        Column("bought_cp_g", "CP bought", "g", 0, of=lambda pair: pair[1].bought_cp_g),
        Column("changes", "From here on", of=lambda pair: turn_words(pair[1])),
    )


def _more(pair: tuple[GroupSwitch, SwitchPoint]) -> float:
    """What a point costs more than the first of its group."""
    group, point = pair
    return point.feed_cost - group.points[0].feed_cost


def turn_words(point: SwitchPoint) -> str:
    """What comes in and goes out, and which limits begin and cease to press, at a breakpoint."""
    parts = [
        f"{word} {', '.join(names)}"
        for word, names in (
            ("in:", point.enters),
            ("out:", point.leaves),
            ("new limit:", point.begins),
            ("no longer a limit:", point.ends),
        )
        if names
    ]
    return "; ".join(parts)


def switch_table(switch: Switch, group: GroupSwitch) -> Table:
    """Ends, cheapest share and breakpoints of one group's switch, a head a day."""
    points = [
        point
        for n, point in enumerate(group.points)
        if point.turn or n in (0, len(group.points) - 1)
    ]
    cheapest = None
    if group.best is not None and all(
        abs(group.best.share - point.share) > 1e-4 for point in points
    ):
        cheapest = group.best
        points.append(cheapest)
    points.sort(key=lambda point: point.share)
    *columns, changes = _columns(switch)

    def words(pair: tuple[GroupSwitch, SwitchPoint]) -> object:
        if pair[1] is cheapest:
            return "cheapest"
        return changes.value(pair)

    title = f"{group.name}: from {switch.first.name} to {switch.second.name}, a head a day"
    pairs = ((group, point) for point in points)
    return table_of("switch", title, pairs, (*columns, replace(changes, of=words)), (_NOTE,))


def switches_table(switch: Switch) -> Table:
    """Every point of every group in one long table, with its lower bound."""
    money = switch.farm.currency
    columns = (
        *GROUP_OF,
        *_columns(switch),
        Column("cost_compared", "Compared", money, 4, of=lambda pair: pair[1].cost),
        Column("lower_bound", "Nothing below", money, 4, of=lambda pair: pair[1].lower_bound),
        Column("proven", "Proven", of=lambda pair: pair[1].proven),
        Column("turn", "Turns here", of=lambda pair: pair[1].turn),
    )
    pairs = ((group, point) for group in switch.groups for point in group.points)
    return table_of("switch", "Switch by share, a head a day", pairs, columns)


def moved_table(moved: WinterSwitch, short: bool = True) -> Table:
    """The winter's cost by amount moved; `short` keeps the points where the slope changes most."""
    money = moved.farm.currency
    columns = (
        Column("moved", "Moved", moved.unit, 2),
        Column("cost", "Winter", money, 2, of=_cost),
        Column("more", "More", money, 2, of=lambda p: difference(_cost(p), moved.points[0].cost)),
        Column("held_cost", "Cost before re-solving", money, 2),
        Column("slope", f"Next {moved.unit} costs", money, 2),
    )
    points = list(moved.points)
    if short:
        points = _shown(points)
    notes: tuple[str, ...] = (
        (
            "Between rows of the whole answer the cost at the plan's own energy rows is a straight"
            " line. Settled again, a plan costs no more than before re-solving; it is adequate and"
            " not proved to be the cheapest."
        ),
    )
    if len(points) < len(moved.points):
        remaining = len(moved.points) - len(points)
        notes = (
            (
                f"{remaining} breakpoints at which the slope changes less are left out here; CSV"
                " and JSON hold them."
            ),
            *notes,
        )
    title = f"From {moved.first.name} to {moved.second.name}: the whole winter"
    return table_of("switch_winter", title, points, columns, notes)


def _cost(point: MovedPoint) -> float | None:
    """What the winter costs with so much moved; None where no plan is known."""
    if isfinite(point.cost):
        return point.cost
    return None


def _shown(points: Sequence[MovedPoint]) -> list[MovedPoint]:
    """The points that matter most: both ends, the cheapest, the greatest changes of slope."""
    if len(points) <= MOST_ROWS:
        return list(points)
    best = min(range(len(points)), key=lambda n: points[n].cost)
    slopes = [point.slope for point in points]
    turns = {
        n: abs((slopes[n] or 0.0) - (slopes[n - 1] or 0.0))
        for n in range(1, len(points) - 1)
        if slopes[n] is not None
    }
    chosen = {0, best, len(points) - 1, *sorted(turns, key=lambda n: -turns[n])[: MOST_ROWS - 3]}
    return [points[n] for n in sorted(chosen)]


LEAST_T = 0.001
"""Less than this is not told among what is bought a week [t fresh]: it is rounded away."""


def pays_line(switch: SwitchSteps) -> str:
    """Whether a switch pays, in a sentence."""
    first, second, best = switch.first.name, switch.second.name, switch.best
    if best is None:
        return f"From {first} to {second}: at none of these shares has every group a ration."
    base, money = switch.steps[0], switch.farm.currency
    if best is base and base.share == 0.0:
        return (
            f"No switch pays: keep {first}. It costs {_week(switch, base)}; no share of {second}"
            " costs less."
        )
    if best is base:
        return (
            f"Cheapest at {_percent(base.share)} {second}, the least at which every group has a"
            f" ration: {_week(switch, base)}."
        )
    saved = f"{money} {base.cost - best.cost:,.0f} less than at {_percent(base.share)}"
    days = "It is no change that takes days."
    if best.change_days:
        days = f"Change over in {best.change_days} days."
    return (
        f"Cheapest at about {_percent(best.share)} {second}: {_week(switch, best)}, {saved}. {days}"
    )


def stock_lines(switch: SwitchSteps) -> list[str]:
    """Where the cheapest share empties a store too soon, and the cheapest that both carry."""
    best = switch.best
    names = {switch.first.id: switch.first.name, switch.second.id: switch.second.name}
    if best is None:
        ends = {}
    else:
        ends = {names[offer]: day for offer, day in best.lasts.items() if day is not None}
    if best is None or not ends:
        return []
    gone = " and ".join(f"{name} runs out on {day_words(day)}" for name, day in ends.items())
    lasting = [step for step in switch.steps if all(day is None for day in step.lasts.values())]
    if not lasting:
        return [
            f"But {gone}, and at none of these shares do both last to turnout: `rationlp winter`"
            " shares them out."
        ]
    step = min(lasting, key=lambda lasting_step: lasting_step.cost)
    dearer = f"{switch.farm.currency} {step.cost - best.cost:,.0f} a week more"
    return [
        f"But {gone}. The cheapest share here at which both last to turnout is"
        f" {_percent(step.share)}, for {dearer}."
    ]


def _week(switch: SwitchSteps, step: FarmStep) -> str:
    return f"{switch.farm.currency} {step.cost:,.0f} a week for {step.head:,} head"


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} %"


def go_over_lines(switch: SwitchSteps) -> list[str]:
    """How many tonnes can go over before a store runs out, in a sentence."""
    if not switch.steps:
        return []
    days = (switch.farm.turnout - switch.day).days
    turnout = day_words(switch.farm.turnout)
    name = switch.second.name
    if switch.can_go_over_t is None:
        return [f"{name} is bought: as much as you buy can go over."]
    tonnes = f"{shown(switch.can_go_over_t, 0)} t fresh"
    if switch.up_to_share >= 1.0:
        return [f"{name} lasts to {turnout} at every share here: up to {tonnes} in {days} days."]
    return [
        f"{tonnes} of {name} can go over to {turnout} ({days} days), {_percent(switch.up_to_share)}"
        " in these groups; above that it runs out first."
    ]


def farm_table(switch: SwitchSteps) -> Table:
    """The farm by share: mean kg fresh a head, cost and bought feed a week, how long both last."""
    money, first, second = switch.farm.currency, switch.first, switch.second

    def fresh(offer: str) -> Callable[[FarmStep], float]:
        return lambda step: step.kg_fresh[offer]

    columns = (
        Column("share_percent", f"{second.name} %", "", 0, of="share", share=True),
        Column("first_kg", first.name, "kg a head", 1, of=fresh(first.id)),
        Column("second_kg", second.name, "kg a head", 1, of=fresh(second.id)),
        Column("bought_t", "Bought", "t a week", 1, of=lambda step: sum(step.bought_t.values())),
        Column("cost", "Cost", f"{money} a week", 0),
        Column("first_lasts", f"{first.name} lasts to", of=lambda step: _lasts(step, first.id)),
        Column("second_lasts", f"{second.name} lasts to", of=lambda step: _lasts(step, second.id)),
        Column("change_days", "Change over", "days", 0),
    )
    title = "The farm, in kg fresh a head a day (mean of these groups)"
    return table_of("switch_farm", title, switch.steps, columns)


def _lasts(step: FarmStep, offer: str) -> str:
    """The day to which a forage lasts, in words; empty where none of it is fed."""
    if step.kg_fresh[offer] <= 0.0:
        return ""
    day = step.lasts[offer]
    if day is None:
        return "turnout"
    return day_words(day)


def group_table(switch: SwitchSteps, group: GroupSteps) -> Table:
    """One group by share: kg fresh a head a day of the forages and the rest, cost a week."""
    first, second, week = switch.first, switch.second, f"{switch.farm.currency} a week"
    days_and_head = 7.0 * group.head
    columns = (
        Column("share_percent", f"{second.name} %", "", 0, of="share", share=True),
        Column("first_kg", first.name, "kg", 1, of=lambda step: step.kg_of(first.id)),
        Column("second_kg", second.name, "kg", 1, of=lambda step: step.kg_of(second.id)),
        Column("others", "Others but minerals, kg", of=lambda step: _others(switch, step)),
        Column("cost", "Cost", week, 0, of=lambda step: days_and_head * step.feed_cost),
    )
    title = f"{group.name} ({group.head} head), kg fresh a head a day"
    return table_of("switch_group", title, group.steps, columns)


def _others(switch: SwitchSteps, step: GroupStep) -> str:
    two = (switch.first.id, switch.second.id)
    feeds = [feed for feed in step.feeds if feed.offer not in two and feed.kind != "mineral"]
    ordered = sorted(feeds, key=lambda feed: -feed.kg_fresh)
    return ", ".join(
        f"{feed.name} {shown(feed.kg_fresh, small_decimals(feed.kg_fresh, 1))}" for feed in ordered
    )


def notes(switch: SwitchSteps) -> list[str]:
    """What must be bought at the cheapest share, who has no ration, how it was worked out."""
    lines = []
    best = switch.best
    if best is not None:
        bought = sorted(best.bought_t.items(), key=lambda pair: -pair[1])
        named = "; ".join(f"{name} {tonnes_words(t)}" for name, t in bought if t >= LEAST_T)
        named = named or "nothing"
        lines.append(f"To buy a week at {_percent(best.share)}: {named}.")
    for group in switch.groups:
        if group.reason:
            lines.append(f"{group.name}: {group.reason}.")
        elif group.barred:
            shares = ", ".join(_percent(share) for share in group.barred)
            lines.append(f"{group.name}: no ration at {shares}, so the farm has no row there.")
    if switch.left_out:
        lines.append(f"May not eat both, and are left out: {', '.join(switch.left_out)}.")
    lines.append(
        "Shares are of the dry matter of the two forages; no other forage but straw is fed. How"
        f" long they last is for these groups alone, as they are on {day_words(switch.day)}."
    )
    return lines
