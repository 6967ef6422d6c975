"""Tables of a switch from one forage to another: by share for a group, by tonnes or hectares for
the winter.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite
from typing import TYPE_CHECKING

from rationlp.report.tables.table import Column, Table

if TYPE_CHECKING:
    from rationlp.ask.switch import GroupSwitch, Switch, SwitchPoint
    from rationlp.ask.tonnes import MovedPoint, WinterSwitch

MOST_ROWS = 14
_NOTES = (
    (
        "Shares are of the dry matter of the two forages; other forages but straw are left out,"
        " both are taken as available without end at the farm's prices. A row stands where the"
        " ration turns: the feeds in it or the limits that press are others above it."
    ),
)


def _columns(switch: Switch) -> tuple[Column, ...]:
    money = switch.farm.currency
    return (
        Column("share_percent", f"{switch.second.name} %", "", 1, "right"),
        Column("cost_per_head_day", "Cost", money, 3, "right"),
        Column("more_per_head_day", "More", money, 3, "right"),
        Column("bought_cost", "Bought", money, 2, "right"),
        Column("bought_me_mj", "ME bought", "MJ", 0, "right"),
        Column("bought_cp_g", "CP bought", "g", 0, "right"),
        Column("changes", "From here on"),
    )


def _row(group: GroupSwitch, point: SwitchPoint) -> tuple[object, ...]:
    return (
        100.0 * point.share,
        point.feed_cost,
        point.feed_cost - group.points[0].feed_cost,
        point.bought_cost,
        point.bought_me_mj,
        point.bought_cp_g,
        turn_words(point),
    )


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
    rows = [_row(group, point) for point in points]
    if group.best is not None and all(
        abs(group.best.share - point.share) > 1e-4 for point in points
    ):
        rows.append((*_row(group, group.best)[:-1], "cheapest"))
    rows.sort(key=lambda row: float(str(row[0])))
    title = f"{group.name}: from {switch.first.name} to {switch.second.name}, a head a day"
    return Table("switch", title, _columns(switch), tuple(rows), _NOTES)


def switches_table(switch: Switch) -> Table:
    """Every point of every group in one long table, with its lower bound."""
    first = (Column("group", "Group"), Column("group_name", "Name"))
    last = (
        Column("cost_compared", "Compared", switch.farm.currency, 4, "right"),
        Column("lower_bound", "Nothing below", switch.farm.currency, 4, "right"),
        Column("proven", "Proven"),
        Column("turn", "Turns here"),
    )
    rows = tuple(
        (
            group.group,
            group.name,
            *_row(group, point),
            point.cost,
            point.lower_bound,
            point.proven,
            point.turn,
        )
        for group in switch.groups
        for point in group.points
    )
    return Table(
        "switch", "Switch by share, a head a day", (*first, *_columns(switch), *last), rows
    )


def moved_table(moved: WinterSwitch, short: bool = True) -> Table:
    """The winter's cost by amount moved: ends, cheapest and breakpoints; `short` keeps those where
    the slope changes most.
    """
    money = moved.farm.currency
    columns = (
        Column("moved", "Moved", moved.unit, 2, "right"),
        Column("cost", "Winter", money, 2, "right"),
        Column("more", "More", money, 2, "right"),
        Column("held_cost", "Cost before re-solving", money, 2, "right"),
        Column("slope", f"Next {moved.unit} costs", money, 2, "right"),
    )
    points = _shown(moved.points) if short else list(moved.points)
    base = moved.points[0].cost if moved.points else 0.0
    rows = tuple(
        (
            point.moved,
            point.cost if isfinite(point.cost) else None,
            point.cost - base if isfinite(point.cost) else None,
            point.held_cost,
            point.slope,
        )
        for point in points
    )
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
                f"{remaining} breakpoints at which the slope changes less are left out here;"
                " CSV and"
                " JSON hold them."
            ),
            *notes,
        )
    title = f"From {moved.first.name} to {moved.second.name}: the whole winter"
    return Table("switch_winter", title, columns, rows, notes)


def _shown(points: Sequence[MovedPoint]) -> list[MovedPoint]:
    """The points that matter most: both ends, the cheapest, and those with the greatest change of
    slope.
    """
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
