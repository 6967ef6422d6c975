"""Tables of a switch of forage: by share for a group, by tonnes or hectares for the winter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import isfinite
from typing import TYPE_CHECKING

from rationlp.report.tables.ration import GROUP_OF
from rationlp.report.tables.table import Column, Table, difference, table_of

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
