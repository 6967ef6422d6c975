"""Charts of a winter's plan: what is left of a store, what a group eats, a switch of forage."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING

from rationlp.after.stock import StoreLife
from rationlp.farm.feed import Offer
from rationlp.farm.store import Spread
from rationlp.planned import PlanRation, WinterPlan
from rationlp.report.chart import (
    BELOW,
    INNER,
    LEVEL,
    Axis,
    Band,
    Chart,
    Column,
    Columns,
    Curve,
    Layer,
    Mark,
    Marks,
)
from rationlp.report.tables.table import shown
from rationlp.report.wording import day_words, from_to, kg_decimals

if TYPE_CHECKING:
    from rationlp.ask.switch import GroupSwitch, Switch


GROWN, BOUGHT = 8, 10
"""How many fills there are of each kind; further feeds begin again with the first."""


def feed_fills(offers: Iterable[Offer]) -> dict[str, str]:
    """The fill of every feed by id, in the farm's order: no two of the first 8 home-grown and 10
    bought feeds look alike."""
    every = tuple(offers)
    grown = [offer.id for offer in every if not offer.bought]
    bought = [offer.id for offer in every if offer.bought]
    fills = {offer: f"grown-{number % GROWN + 1}" for number, offer in enumerate(grown)}
    return fills | {offer: f"bought-{number % BOUGHT + 1}" for number, offer in enumerate(bought)}


def plan_fills(plan: WinterPlan) -> dict[str, str]:
    """The fill of every feed that a plan feeds, by id."""
    eaten = {amount.offer for ration in plan.rations for amount in ration.amounts}
    return feed_fills(offer for offer in plan.farm.offers if offer.id in eaten)


SEEN_KG_DM = 0.01
"""A part of a column below this could not be seen [kg DM]; it stands in the table."""


def run_down_chart(stores: Sequence[StoreLife]) -> Chart:
    """What is left of each store from the first day to turnout [t DM], a line a store."""
    curves = tuple(
        Curve(store.name, tuple((day.on, day.t_dm.typical) for day in store.left))
        for store in stores
    )
    return Chart("Left of each store [t DM]", "", Axis(), Axis("t DM"), curves)


def store_chart(store: StoreLife) -> Chart:
    """A store through the winter [t DM]: a band from the low to the high stock, the typical one,
    what is to be kept."""
    first, last = store.left[0], store.left[-1]
    says = (
        f"From {_spread_words(first.t_dm)} t DM on {day_words(first.on)} to"
        f" {_spread_words(last.t_dm)} t DM on {day_words(last.on)}."
    )
    band = tuple((day.on, day.t_dm.low, day.t_dm.high) for day in store.left)
    typical = tuple((day.on, day.t_dm.typical) for day in store.left)
    layers: list[Layer] = [Band("low to high stock", band), Curve("typical stock", typical)]
    if store.reserve_t_dm > 0.0:
        says += f" To be kept: {shown(store.reserve_t_dm, 1)} t DM."
        reserve = ((first.on, store.reserve_t_dm), (last.on, store.reserve_t_dm))
        layers.append(Curve("to be kept", reserve, LEVEL))
    title = f"What is left of {store.name}"
    return Chart(title, says, Axis(), Axis("t DM left"), tuple(layers))


MOST_WINTERS, HALF_OF_WINTERS = 1.645, 0.674
"""Standard deviations to either side that hold nine of ten, and half, of a normal figure."""


def store_fan(store: StoreLife, sd_share: float, looks: Sequence[date]) -> Chart:
    """A store through the winter if a plan is held as it is [t DM]: as thought, in half of all
    winters and in nine of ten by the spread of what is in it, and the days at which to look. Below
    nothing a store cannot be drawn: there the plan is short.

    sd_share: standard deviation of what is in store [share].
    """
    sd = sd_share * store.left[0].t_dm.typical
    points = [(left.on, left.t_dm.typical) for left in store.left]
    first, last = points[0], points[-1]
    seen = [(day, _left_on(points, day)) for day in looks if first[0] < day < last[0]]
    of = [first, *seen, last]
    says = (
        "As thought, and in nine of ten winters, in t DM: "
        + "; ".join(f"{day_words(day)} {_fan_words(t, sd)}" for day, t in of)
        + "."
    )
    layers: list[Layer] = [
        Band("nine of ten winters", _fan(points, MOST_WINTERS * sd)),
        Band("half of all winters", _fan(points, HALF_OF_WINTERS * sd), INNER),
        Curve("as thought", tuple(points)),
    ]
    if seen:
        marks = tuple(Mark(day, t, day_words(day)) for day, t in seen)
        layers.append(Marks("look what is in store", marks, full=True))
    return Chart(f"{store.name} in many winters", says, Axis(), Axis("t DM left"), tuple(layers))


def _fan(points: Sequence[tuple[date, float]], out: float) -> tuple[tuple[date, float, float], ...]:
    return tuple((day, max(t - out, 0.0), max(t + out, 0.0)) for day, t in points)


def _fan_words(t: float, sd: float) -> str:
    low, high = max(t - MOST_WINTERS * sd, 0.0), max(t + MOST_WINTERS * sd, 0.0)
    return _spread_words(Spread(low, max(t, 0.0), high))


def _left_on(points: Sequence[tuple[date, float]], day: date) -> float:
    """What is left on a day, eaten evenly between the points [t DM]."""
    for (first, before), (last, after) in pairwise(points):
        if first <= day <= last and first < last:
            return before + (after - before) * (day - first).days / (last - first).days
    return points[-1][1]


def _spread_words(spread: Spread) -> str:
    return f"{shown(spread.typical, 1)} ({shown(spread.low, 1)} to {shown(spread.high, 1)})"


def group_chart(plan: WinterPlan, rations: Sequence[PlanRation]) -> Chart:
    """What one part of a group eats, period by period, stacked [kg DM a head a day]."""
    fills = plan_fills(plan)
    amounts = _amounts(rations, fills)
    names = tuple(_legend(rations, amounts, fills))
    says = "; ".join(name for _, name in names)
    columns = tuple(_columns(plan, rations, amounts, fills))
    span = plan.periods[0].first, plan.periods[-1].last
    return Chart(
        f"{rations[0].name}: what they eat",
        f"kg DM a head a day, from the bottom up: {says}.",
        Axis("", *(float(day.toordinal()) for day in span)),
        Axis("kg DM a head a day"),
        (Columns(columns, names),),
    )


def _amounts(rations: Sequence[PlanRation], fills: Mapping[str, str]) -> dict[str, list[float]]:
    """kg DM a head a day by feed and ration, home-grown feeds first as in the farm's order; what
    could not be seen is left out."""
    eaten: dict[str, list[float]] = {}
    for number, ration in enumerate(rations):
        for amount in ration.amounts:
            kg = eaten.setdefault(amount.offer, [0.0] * len(rations))
            kg[number] += amount.kg_dm
    order = [*(offer for offer in fills if offer in eaten), *(o for o in eaten if o not in fills)]
    return {offer: eaten[offer] for offer in order if max(eaten[offer]) >= SEEN_KG_DM}


GRAZED = "grown-8"
"""The fill of what is grazed: it is no feed of the farm's list."""


def _legend(
    rations: Sequence[PlanRation], amounts: Mapping[str, list[float]], fills: Mapping[str, str]
) -> Iterator[tuple[str, str]]:
    titles = {amount.offer: amount.name for ration in rations for amount in ration.amounts}
    for offer, kg in amounts.items():
        words = range_words(kg, kg_decimals(max(kg)))
        yield fills.get(offer, GRAZED), f"{titles[offer]} {words} kg DM"


def range_words(figures: Iterable[float], decimals: int) -> str:
    """The least to the most of some figures, as one where they print alike."""
    texts = [f"{figure:.{decimals}f}" for figure in figures]
    return from_to(min(texts, key=float), max(texts, key=float))


def _columns(
    plan: WinterPlan,
    rations: Sequence[PlanRation],
    amounts: Mapping[str, list[float]],
    fills: Mapping[str, str],
) -> Iterator[Column]:
    """A column a period; periods that follow one another and eat the same are one column."""
    last: Column | None = None
    for number, ration in enumerate(rations):
        parts = tuple(
            (round(kg[number], 3), fills.get(offer, GRAZED))
            for offer, kg in amounts.items()
            if kg[number] >= SEEN_KG_DM
        )
        period = plan.periods[ration.period]
        if last is not None and last.parts == parts and last.last == period.first:
            last = Column(last.first, period.last, parts)
            continue
        if last is not None:
            yield last
        last = Column(period.first, period.last, parts)
    if last is not None:
        yield last


def switch_chart(switch: Switch, group: GroupSwitch, says: str) -> Chart:
    """Least cost a head a day by the share of the second forage [%], what is proved to lie below
    it, and circles where the ration changes."""
    points = group.points
    turns = tuple(Mark(100.0 * point.share, point.cost) for point in points if point.turn)
    return Chart(
        f"{group.name}: cost by the share of {switch.second.name}",
        says,
        Axis("share of the two forages, %", 0.0, 100.0),
        Axis(f"{switch.farm.currency} a head a day", min(point.lower_bound for point in points)),
        (
            Curve("least cost", tuple((100.0 * point.share, point.cost) for point in points)),
            Curve(
                "nothing costs less (proved)",
                tuple((100.0 * point.share, point.lower_bound) for point in points),
                BELOW,
            ),
            Marks("the ration changes", turns),
        ),
    )
