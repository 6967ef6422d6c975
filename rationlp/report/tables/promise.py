"""Tables of the price of a promise, corner by corner, for groups on a day or for the winter."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from functools import partial
from typing import TYPE_CHECKING, Any, NamedTuple

from rationlp.report.tables.ration import GROUP_OF
from rationlp.report.tables.table import Column, Table, reached, table_of

if TYPE_CHECKING:
    from rationlp.ask.promise import PromiseCorner, PromisedRation, Promises, PromiseWay
    from rationlp.ask.promise_winter import WinterCorner, WinterPromise, WinterWay
    from rationlp.rules.feed_carbon import BoughtCarbon

    Way = PromiseWay | WinterWay
    Corner = PromiseCorner | WinterCorner

A_TENTH = 0.1
_GROUP_NAME = Column("group_name", "Group", of=lambda pair: pair[0].name)
CARBON_NOTE = (
    "Carbon of bought feed stands in two columns, without and with land-use change; they are never"
    " added up. Published values of one feed differ tenfold."
)


def corners_of(way: Way) -> tuple[Corner, ...]:
    """The corners of a way, of a group or of a winter, as one type."""
    return way.corners


def cost_of_less(way: Way, amount: float) -> float | None:
    """What so much of a measure costs more, between corners [currency]; None below the least."""
    corners = corners_of(way)
    if amount >= corners[0].amount:
        return 0.0
    for before, right in itertools.pairwise(corners):
        if amount >= right.amount:
            price = (right.cost - before.cost) / (before.amount - right.amount)
            return before.cost - corners[0].cost + price * (before.amount - amount)
    return None


class Step(NamedTuple):
    """A step of a measure that could be saved, in words and [kg]; name: after "the first"."""

    words: str
    kg: float
    name: str


_STEPS = (
    (1000.0, Step("1 t", 1000.0, "tonne")),
    (100.0, Step("10 kg", 10.0, "10 kg")),
    (0.0, Step("0.1 kg", 0.1, "0.1 kg")),
)
"""From how many kilograms of a measure on its price is told for which step."""


def step_of(way: Way) -> Step:
    """The step of a way by which its price is told, so that so much can be saved."""
    if way.unit == "g":
        return Step("10 g", 0.01, "10 g")
    amount = way.corners[0].amount
    return next(step for least, step in _STEPS if amount >= least)


def first_step_cost(way: Way) -> float | None:
    """What the first step costs more [currency]; None where so much cannot be saved."""
    step = step_of(way).kg
    if way.unit == "g":
        step *= 1000.0
    return cost_of_less(way, way.corners[0].amount - step)


def _decimals(way: Way) -> int:
    if way.corners[0].amount >= 100.0:
        return 0
    if way.unit == "g":
        return 1
    return 2


def _ways_columns(currency: str, decimals: int = 3) -> tuple[Column, ...]:
    return (
        Column("measure", "Less of", of="title"),
        Column("unit", "Unit"),
        Column("now", "Cheapest", varies=True, of=lambda way: way.corners[0].amount),
        Column("least", "Least", varies=True, of=lambda way: way.corners[-1].amount),
        Column("first_step", "Less by", of=lambda way: step_of(way).words),
        Column("first_step_cost", "costs", currency, decimals or 2, of=first_step_cost),
        Column("tenth_less_cost", "10 % less", currency, decimals, of=_tenth_less),
        Column("least_cost_more", "Least costs", currency, decimals, of=_least_costs),
    )


def _tenth_less(way: Way) -> float | None:
    """What a tenth less than in the cheapest costs; None where there is nothing to spare."""
    if len(way.corners) < 2:
        return None
    return cost_of_less(way, (1.0 - A_TENTH) * way.corners[0].amount)


def _least_costs(way: Way) -> float | None:
    if len(way.corners) < 2:
        return None
    return way.corners[-1].cost - way.corners[0].cost


_WAYS_NOTE = (
    "Cheapest: in the cheapest ration; least: the least that any ration has. Less by: a first step"
    " and what it costs. A blank: none to spare, or no ration gets there."
)


def ways_table(answer: Promises) -> Table:
    """A row a group and measure: how much now, how little at least, what less costs a day."""
    return table_of(
        "promise",
        "What less costs, a head a day",
        ((group, way) for group in answer.groups for way in group.ways),
        (_GROUP_NAME, *reached(_ways_columns(answer.farm.currency), lambda pair: pair[1])),
        (_WAYS_NOTE,),
        lambda pair: _decimals(pair[1]),
    )


def winter_ways_table(answer: WinterPromise) -> Table:
    """A row a measure: how much over the winter, how little at least, and what less costs."""
    columns, note = _ways_columns(answer.farm.currency, 0), _WAYS_NOTE.replace("ration", "plan")
    title = "What less costs over the winter"
    return table_of("promise", title, answer.ways, columns, (note,), _decimals)


def _corner_columns(
    currency: str, way: Way | None = None, money: int = 3, carbon: int = 2
) -> tuple[Column, ...]:
    """The columns of a way and one of its corners. money, carbon: decimals; way: the only one,
    where all corners are of one: then amounts have its unit, and prices are told for its step.
    """
    unit, amounts = "", 2
    next_step = Column("next_price_per_kg", "Next kg", currency, 2, of="1.next_price")
    if way is not None:
        unit, amounts = way.unit, _decimals(way) or int(way.unit == "g")
        next_step = _next_step_column(way, currency, money or 2)
    return (
        Column("amount", "Amount", unit, amounts, of=lambda pair: pair[1].amount),
        Column("cost", "Cost", currency, money, of=lambda pair: pair[1].cost),
        Column("more_cost", "More", currency, money, of=_more_cost),
        next_step,
        *carbon_columns(lambda pair: pair[1], carbon),
        Column("changes", "Against the line above", of=lambda pair: change_words(pair[1])),
    )


def _more_cost(pair: tuple[Way, Corner]) -> float:
    return pair[1].cost - pair[0].corners[0].cost


def _next_step_column(way: Way, currency: str, money: int) -> Column:
    """What the next step less costs from a corner on [currency]; blank where there is none."""
    step = step_of(way)

    def cost(pair: tuple[Way, Corner]) -> float | None:
        price = pair[1].next_price
        if price is None:
            return None
        return price * step.kg

    return Column("next_step_cost", f"Next {step.words}", currency, money, of=cost)


def carbon_columns(
    corner_of: Callable[[Any], Corner | None], decimals: int, full: bool = False
) -> tuple[Column, ...]:
    """Carbon of what a ration or plan buys [kg CO2e], by the two columns; blank without it."""

    def carbon(key: str, item: Any) -> float | None:
        corner = corner_of(item)
        if corner is None:
            return None
        value: float = getattr(corner.carbon, key)
        return value

    without, with_it = partial(carbon, "without_land_use"), partial(carbon, "with_land_use")
    return (
        Column("carbon_without_land_use", "CO2e without", "kg", decimals, full, without),
        Column("carbon_with_land_use", "with land use", "kg", decimals, full, with_it),
    )


def change_words(corner: Corner) -> str:
    """Which feeds there is more and less of than at the corner before."""
    named = (("more", corner.more), ("less", corner.less))
    return "; ".join(f"{word} {', '.join(names)}" for word, names in named if names)


def corners_table(way: Way, name: str, currency: str, decimals: int) -> Table:
    """Every corner of a way. decimals: of carbon, more for a head a day than for a winter."""
    money = 3
    if not decimals:
        money = 0
    return table_of(
        f"promise_{way.measure}",
        f"{name}: {way.title.lower()}, from the cheapest to the least",
        ((way, corner) for corner in way.corners),
        _corner_columns(currency, way, money, decimals),
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


def all_corners_table(answer: Promises) -> Table:
    """Every corner of every group and measure in one long table, with its proof and its feeds."""
    columns = (
        *GROUP_OF,
        *reached(_long_columns(answer.farm.currency), lambda row: row[1:]),
        Column("feeds", "Feeds", of=lambda row: _feeds(answer, row[2].kg_dm)),
    )
    rows = (
        (group, way, corner)
        for group in answer.groups
        for way in group.ways
        for corner in way.corners
    )
    return table_of("promise", "Every corner, a head a day", rows, columns)


def all_winter_corners_table(answer: WinterPromise) -> Table:
    """Every corner of every measure over the winter, with its bound and what is put out."""
    names = {offer.id: offer.name for offer in answer.farm.offers}

    def put_out(pair: tuple[WinterWay, WinterCorner]) -> str:
        tonnes = pair[1].t_fresh.items()
        return ", ".join(f"{names[offer]} {t:.1f} t" for offer, t in tonnes if t >= 0.05)

    columns = (*_long_columns(answer.farm.currency), Column("feeds", "Feeds", of=put_out))
    pairs = ((way, corner) for way in answer.ways for corner in way.corners)
    return table_of("promise", "Every corner, the winter", pairs, columns)


def _long_columns(currency: str) -> tuple[Column, ...]:
    """The columns of corners of several measures, whose amounts have no unit of their own."""
    return (
        Column("measure", "Less of", of=lambda pair: pair[0].measure),
        Column("unit", "Unit", of=lambda pair: pair[0].unit),
        *_corner_columns(currency),
        Column("lower_bound", "Nothing below", "", 4, of=lambda pair: pair[1].lower_bound),
    )


def _feeds(answer: Promises, kg_dm: dict[str, float]) -> str:
    """The feeds of a ration in kg fresh."""
    offers = [offer for offer in answer.farm.offers if offer.id in kg_dm]
    fresh = ((offer.name, kg_dm[offer.id] * 1000.0 / offer.feed.dm_g_per_kg) for offer in offers)
    return ", ".join(f"{name} {kg:.2f} kg" for name, kg in fresh)


def promised_table(answer: Promises) -> Table:
    """What each promise costs each group, with the ration that keeps it."""
    money = answer.farm.currency

    def promised(promise: PromisedRation) -> str:
        return promise_words(promise.measure, promise.unit, promise.most)

    def fed(corner: PromiseCorner | None) -> str:
        if corner is None:
            return "no ration keeps it"
        return _feeds(answer, corner.kg_dm)

    columns = (
        _GROUP_NAME,
        Column("promise", "Promised, a head a day", of=lambda pair: promised(pair[1])),
        Column("extra_cost", "Costs more", money, 3, of=lambda pair: pair[1].extra),
        *carbon_columns(lambda pair: pair[1].corner, 2, full=True),
        Column("feeds", "Fed fresh", of=lambda pair: fed(pair[1].corner)),
    )
    pairs = ((group, promise) for group in answer.groups for promise in group.promised)
    return table_of("promised", "Promises kept, a head a day", pairs, columns)


def promised_plans_table(answer: WinterPromise) -> Table:
    """What each promise costs over the winter, with how the plan that keeps it differs."""
    columns = (
        Column(
            "promise",
            "Promised, a head over the winter",
            of=lambda promise: promise_words(promise.measure, "kg", promise.most),
        ),
        Column("extra_cost", "Costs more", answer.farm.currency, 0, of="extra"),
        *carbon_columns(lambda promise: promise.corner, 0, full=True),
        Column("changes", "Against the cheapest plan", of=lambda promise: _differs(promise.corner)),
    )
    return table_of("promised", "Promises kept", answer.promised, columns)


def _differs(corner: WinterCorner | None) -> str:
    if corner is None:
        return "no plan was found that keeps it"
    return change_words(corner)


def promise_words(measure: str, unit: str, most: float) -> str:
    """A promise in words."""
    if most == 0.0:
        return f"no {measure}"
    return f"{measure} at most {most:g} {unit}"
