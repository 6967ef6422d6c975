"""Tables of the price of a promise: what less of a measure costs, corner by corner, for groups on a
day or for the winter.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from rationlp.report.tables.table import Column, Table

if TYPE_CHECKING:
    from rationlp.ask.promise import PromiseCorner, Promises, PromiseWay
    from rationlp.ask.promise_winter import WinterCorner, WinterPromise, WinterWay
    from rationlp.rules.feed_carbon import BoughtCarbon

    Way = PromiseWay | WinterWay
    Corner = PromiseCorner | WinterCorner

A_TENTH = 0.1
CARBON_NOTE = (
    "Carbon of bought feed stands in two columns, without and with land-use change; they are never"
    " added up. Published values of one feed differ tenfold."
)


def corners_of(way: Way) -> tuple[Corner, ...]:
    """The corners of a way, of a group or of a winter."""
    return way.corners


def cost_of_less(way: Way, amount: float) -> float | None:
    """What so much or less of a measure costs more, on the line between two corners [currency];
    None below the least possible.
    """
    corners = corners_of(way)
    if amount >= corners[0].amount:
        return 0.0
    for before, right in itertools.pairwise(corners):
        if amount >= right.amount:
            price = (right.cost - before.cost) / (before.amount - right.amount)
            return before.cost - corners[0].cost + price * (before.amount - amount)
    return None


class Step(NamedTuple):
    """A step of a measure that could be saved, in words and [kg]."""

    words: str
    kg: float


_STEPS = (
    (1000.0, Step("1 t", 1000.0)),
    (100.0, Step("10 kg", 10.0)),
    (0.0, Step("0.1 kg", 0.1)),
)
"""From how many kilograms of a measure on its price is told for which step."""


def step_of(way: Way) -> Step:
    """The step of a way by which its price is told, so that so much can be saved."""
    if way.unit == "g":
        return Step("10 g", 0.01)
    amount = corners_of(way)[0].amount
    return next(step for least, step in _STEPS if amount >= least)


def first_step_cost(way: Way) -> float | None:
    """What the first step costs more [currency], on the line through the corners; None where so
    much cannot be saved.
    """
    step = step_of(way).kg
    if way.unit == "g":
        step *= 1000.0
    return cost_of_less(way, corners_of(way)[0].amount - step)


def _decimals(way: Way) -> int:
    if way.corners[0].amount >= 100.0:
        return 0
    return 1 if way.unit == "g" else 2


def _ways_columns(currency: str, decimals: int = 3) -> tuple[Column, ...]:
    return (
        Column("measure", "Less of"),
        Column("unit", "Unit"),
        Column("now", "Cheapest", "", None, "right"),
        Column("least", "Least", "", None, "right"),
        Column("first_step", "Less by"),
        Column("first_step_cost", "costs", currency, decimals or 2, "right"),
        Column("tenth_less_cost", "10 % less", currency, decimals, "right"),
        Column("least_cost_more", "Least costs", currency, decimals, "right"),
    )


def _way_row(way: Way) -> tuple[object, ...]:
    first, last = way.corners[0], way.corners[-1]
    return (
        way.title,
        way.unit,
        first.amount,
        last.amount,
        step_of(way).words,
        first_step_cost(way),
        cost_of_less(way, (1.0 - A_TENTH) * first.amount) if len(way.corners) > 1 else None,
        last.cost - first.cost if len(way.corners) > 1 else None,
    )


_WAYS_NOTE = (
    "Cheapest: in the cheapest ration; least: the least that any ration has. Less by: a first step"
    " and what it costs. A blank: none to spare, or no ration gets there."
)


def ways_table(answer: Promises) -> Table:
    """A row a group and measure: how much now, how little at least, and what less costs, a head a
    day.
    """
    ways = [(group, way) for group in answer.groups for way in group.ways]
    return Table(
        "promise",
        "What less costs, a head a day",
        (Column("group_name", "Group"), *_ways_columns(answer.farm.currency)),
        tuple((group.name, *_way_row(way)) for group, way in ways),
        (_WAYS_NOTE,),
        tuple(_decimals(way) for _, way in ways),
    )


def winter_ways_table(answer: WinterPromise) -> Table:
    """A row a measure: how much over the winter, how little at least, and what less costs."""
    return Table(
        "promise",
        "What less costs over the winter",
        _ways_columns(answer.farm.currency, 0),
        tuple(_way_row(way) for way in answer.ways),
        (_WAYS_NOTE.replace("ration", "plan"),),
        tuple(_decimals(way) for way in answer.ways),
    )


def _corner_columns(way: Way, currency: str, decimals: int) -> tuple[Column, ...]:
    money = 3 if decimals else 0
    return (
        Column("amount", "Amount", way.unit, _decimals(way) or int(way.unit == "g"), "right"),
        Column("cost", "Cost", currency, money, "right"),
        Column("more_cost", "More", currency, money, "right"),
        Column("next_step_cost", f"Next {step_of(way).words}", currency, money or 2, "right"),
        Column("carbon_without_land_use", "CO2e without", "kg", decimals, "right"),
        Column("carbon_with_land_use", "with land use", "kg", decimals, "right"),
        Column("changes", "Against the line above"),
    )


def _corner_row(way: Way, corner: Corner, kg: float = 1.0) -> tuple[object, ...]:
    """A corner in figures; the price of the next kilograms, one where not said."""
    price = None if corner.next_price is None else corner.next_price * kg
    return (
        corner.amount,
        corner.cost,
        corner.cost - way.corners[0].cost,
        price,
        corner.carbon.without_land_use,
        corner.carbon.with_land_use,
        change_words(corner),
    )


def change_words(corner: Corner) -> str:
    """Which feeds there is more and less of than at the corner before."""
    named = (("more", corner.more), ("less", corner.less))
    return "; ".join(f"{word} {', '.join(names)}" for word, names in named if names)


def corners_table(way: Way, name: str, currency: str, decimals: int) -> Table:
    """Every corner of a way. decimals: of carbon, more for a head a day than for a winter."""
    step = step_of(way)
    return Table(
        f"promise_{way.measure}",
        f"{name}: {way.title.lower()}, from the cheapest to the least",
        _corner_columns(way, currency, decimals),
        tuple(_corner_row(way, corner, step.kg) for corner in way.corners),
        (CARBON_NOTE, *unknown_words([corner.carbon for corner in way.corners])),
    )


def unknown_words(carbons: list[BoughtCarbon]) -> Iterator[str]:
    """Which feeds have no value in a column, and so are left out of its sums."""
    without = dict.fromkeys(name for carbon in carbons for name in carbon.unknown_without)
    with_it = dict.fromkeys(name for carbon in carbons for name in carbon.unknown_with)
    if without:
        yield f"No value without land-use change, so left out: {', '.join(without)}."
    if with_it:
        yield f"No value with land-use change, so left out: {', '.join(with_it)}."


_ALL_LAST = (
    Column("lower_bound", "Nothing below", "", 4, "right"),
    Column("feeds", "Feeds"),
)


def all_corners_table(answer: Promises) -> Table:
    """Every corner of every group and measure in one long table, with its proof and its feeds."""
    first = (
        Column("group", "Group"), Column("group_name", "Name"), Column("measure", "Less of"),
        Column("unit", "Unit"),
    )  # fmt: skip
    rows = tuple(
        (group.group, group.name, way.measure, way.unit, *_corner_row(way, corner),
         corner.lower_bound, _feeds(answer, corner.kg_dm))
        for group in answer.groups
        for way in group.ways
        for corner in way.corners
    )  # fmt: skip
    return Table(
        "promise", "Every corner, a head a day", (*first, *_bare(answer.farm.currency)), rows
    )


def all_winter_corners_table(answer: WinterPromise) -> Table:
    """Every corner of every measure over the winter, with its bound and what is put out."""
    names = {offer.id: offer.name for offer in answer.farm.offers}
    rows = tuple(
        (way.measure, way.unit, *_corner_row(way, corner), corner.lower_bound,
         ", ".join(f"{names[i]} {t:.1f} t" for i, t in corner.t_fresh.items() if t >= 0.05))
        for way in answer.ways
        for corner in way.corners
    )  # fmt: skip
    first = (Column("measure", "Less of"), Column("unit", "Unit"))
    return Table(
        "promise", "Every corner, the winter", (*first, *_bare(answer.farm.currency)), rows
    )


def _bare(currency: str) -> tuple[Column, ...]:
    """The columns of corners of several measures, whose amounts have no unit of their own."""
    return (
        Column("amount", "Amount", "", 2, "right"),
        Column("cost", "Cost", currency, 3, "right"),
        Column("more_cost", "More", currency, 3, "right"),
        Column("next_price_per_kg", "Next kg", currency, 2, "right"),
        Column("carbon_without_land_use", "CO2e without", "kg", 2, "right"),
        Column("carbon_with_land_use", "with land use", "kg", 2, "right"),
        Column("changes", "Against the line above"),
        *_ALL_LAST,
    )


def _feeds(answer: Promises, kg_dm: dict[str, float]) -> str:
    """The feeds of a ration in kg fresh."""
    offers = [offer for offer in answer.farm.offers if offer.id in kg_dm]
    fresh = ((offer.name, kg_dm[offer.id] * 1000.0 / offer.feed.dm_g_per_kg) for offer in offers)
    return ", ".join(f"{name} {kg:.2f} kg" for name, kg in fresh)


def promised_table(answer: Promises) -> Table:
    """What each promise costs each group, with the ration that keeps it."""
    money = answer.farm.currency
    columns = (
        Column("group_name", "Group"),
        Column("promise", "Promised, a head a day"),
        Column("extra_cost", "Costs more", money, 3, "right"),
        Column("carbon_without_land_use", "CO2e without", "kg", 2, "right", full=True),
        Column("carbon_with_land_use", "with land use", "kg", 2, "right", full=True),
        Column("feeds", "Fed fresh"),
    )
    rows = tuple(
        (
            group.name,
            promise_words(one.measure, one.unit, one.most),
            one.extra,
            *_carbon(one.corner),
            "no ration keeps it" if one.corner is None else _feeds(answer, one.corner.kg_dm),
        )
        for group in answer.groups
        for one in group.promised
    )
    return Table("promised", "Promises kept, a head a day", columns, rows)


def _carbon(corner: Corner | None) -> tuple[float | None, float | None]:
    """Carbon of what a ration or plan buys, by the two columns; none without it."""
    if corner is None:
        return None, None
    return corner.carbon.without_land_use, corner.carbon.with_land_use


def promised_plans_table(answer: WinterPromise) -> Table:
    """What each promise costs over the winter, with how the plan that keeps it differs."""
    columns = (
        Column("promise", "Promised, a head over the winter"),
        Column("extra_cost", "Costs more", answer.farm.currency, 0, "right"),
        Column("carbon_without_land_use", "CO2e without", "kg", 0, "right", full=True),
        Column("carbon_with_land_use", "with land use", "kg", 0, "right", full=True),
        Column("changes", "Against the cheapest plan"),
    )
    missing = "no plan was found that keeps it"
    rows = tuple(
        (
            promise_words(one.measure, "kg", one.most),
            one.extra,
            *_carbon(one.corner),
            missing if one.corner is None else change_words(one.corner),
        )
        for one in answer.promised
    )
    return Table("promised", "Promises kept", columns, rows)


def promise_words(measure: str, unit: str, most: float) -> str:
    """A promise in words."""
    if most == 0.0:
        return f"no {measure}"
    return f"{measure} at most {most:g} {unit}"
