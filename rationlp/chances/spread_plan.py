"""The plan made for the spread, beside the cheapest plan of the mean winter: what to buy now, what
can wait and until when, what it costs, and what knowing earlier would be worth.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from datetime import date
from math import inf

from rationlp.chances.course import Course, Wish, solve_course
from rationlp.chances.data import ChanceRow, chance_rows
from rationlp.chances.layout import TreeLayout
from rationlp.chances.market import make_market
from rationlp.chances.template import Template, make_template
from rationlp.chances.tree import Node, make_tree
from rationlp.chances.winters import (
    PRICE,
    STOCK,
    TURNOUT,
    ListedWinter,
    farm_spreads,
    held_share,
    listed_winters,
    stage_days,
)
from rationlp.chances.without_late import WithoutLate, without_late
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.farm.store import StoreStock
from rationlp.model.lp import Key
from rationlp.records import dataclass
from rationlp.stock.dry_matter import farm_stocks
from rationlp.wintering.links import KG_PER_T

WORTH_MONEY, WORTH_SHARE = 25.0, 0.002
"""Waiting that costs less than the larger of so much [currency] and this share of the winter's cost
is no loss worth a word; own choice, no source (c)."""
LIGHT_Z = -1.0
SOME_T_DM = 0.5
"""What counts as bought at all [t DM]."""
ONLY_LEFT = 1e-3
"""A price within this share of what forage counts for at turnout is no price of need [-]."""


@dataclass(frozen=True)
class SpreadAsked:
    """How the plan for the spread is made.

    most_late: share of winters with forage bought late at most [-], None for no limit. tail: weight
    of the dearest tenth [0 to 1]. points: of stock, turnout and prices, whose product is the number
    of winters. width: of all spreads, as a multiple of theirs. bales_per_t_dm: of bought big bales
    in autumn [currency/t DM], None for our default.
    """

    most_late: float | None = None
    tail: float = 0.0
    points: tuple[int, int, int] = (5, 3, 1)
    width: float = 1.0
    bales_per_t_dm: float | None = None


@dataclass(frozen=True)
class Costs:
    """A difference of costs in a mean winter: money, and what priced shortages and excess make of
    it, which nobody pays [currency].
    """

    money: float
    priced: float

    @property
    def compared(self) -> float:
        """Both together: what a plan makes least [currency]."""
        return self.money + self.priced


@dataclass(frozen=True)
class ForageNow:
    """A bought forage in autumn [t DM]: by the cheapest plan, by the plan for the spread; price in
    autumn [currency/t DM], and as it is delivered [currency/t fresh]; whether it is our default.
    turns_per_t_dm: price in autumn above which none is bought then, later prices as they are.
    waits: what shutting it in autumn would add to the cost of a mean winter, and until late winter
    [currency].
    """

    offer: str
    name: str
    cheapest_t_dm: float
    spread_t_dm: float
    price_per_t_dm: float
    price_per_t_fresh: float
    ours: bool
    turns_per_t_dm: float
    waits: tuple[Costs, Costs]


@dataclass(frozen=True)
class StoreKept:
    """What is left of a store when autumn ends [t DM], at the stock that is thought to be there, by
    the cheapest plan and by the plan for the spread; put_out_t_dm: what that feeds of it by then.
    """

    store: str
    name: str
    held_t_dm: float
    cheapest_t_dm: float
    spread_t_dm: float
    put_out_t_dm: float


@dataclass(frozen=True)
class AtTheMark:
    """What to do at the turn of the year by what the stores show. light: share by which the clamps
    hold less than thought [-], below 0 for more. bought_t_dm: forage to buy then [t DM].
    held_share: what each store holds as a share of what is thought, by id [-]. buy_t_dm: forage to
    buy then, lying_t_dm: what lies ready, by id; put_out_t_dm: of each store from then until late
    winter, by id [t DM]. price_per_t_fresh: of forage then, by id [currency/t fresh].
    """

    light: float
    bought_t_dm: float
    held_share: dict[str, float]
    buy_t_dm: dict[str, float]
    lying_t_dm: dict[str, float]
    put_out_t_dm: dict[str, float]
    price_per_t_fresh: dict[str, float]


@dataclass(frozen=True)
class AutumnChoice:
    """What an autumn costs by what the winter turns out to be, in money [currency]."""

    autumn: str
    ordinary: float
    light: float
    late: float
    both: float


@dataclass(frozen=True)
class SpreadPlan:
    """The plan for the spread. mean_cost: of the mean winter's cheapest plan [currency]. wait_see:
    WS, had each winter been known. course: RP, the plan for the spread; planned again: EEV, the
    autumn of the cheapest plan with the rest planned again. asked_for: as `course`, but with the
    share or the weight that was asked for. know_stock, know_turnout: what knowing the one in
    autumn, the other at the turn of the year would save in a mean winter [currency]. without_late:
    what can be fed after this autumn with no forage bought late, counted on fresh draws.
    """

    farm: Farm
    stages: tuple[date, ...]
    asked: SpreadAsked
    mean_cost: float
    wait_see: Course
    course: Course
    again: Course
    asked_for: Course | None
    forages: tuple[ForageNow, ...]
    stores: tuple[StoreKept, ...]
    marks: tuple[AtTheMark, ...]
    choices: tuple[AutumnChoice, ...]
    light_share: float
    late_days: int
    know_stock: Costs
    know_turnout: Costs
    without_late: WithoutLate
    figures: tuple[ChanceRow, ...] = field(default_factory=tuple)

    @property
    def chosen(self) -> Course:
        """The course that keeps what was asked for."""
        return self.asked_for or self.course

    @property
    def worth_a_word(self) -> float:
        """Differences of cost below this are none [currency]."""
        return max(WORTH_MONEY, WORTH_SHARE * abs(self.course.mean))

    @property
    def asks_for_nothing(self) -> bool:
        """Whether the cheapest plan's autumn is as good, and no forage has to be bought now; or no
        money is spared by anything else: what only spares priced shortages is no advice.
        """
        kept, again = self.chosen, self.again
        differences = (again.mean - kept.mean, again.dearest_tenth - kept.dearest_tenth)
        alike = all(abs(difference) <= self.worth_a_word for difference in differences)
        fewer = again.late_share - kept.late_share > 0.005
        waits = all(forage.waits[0].compared <= self.worth_a_word for forage in self.forages)
        spares_money = kept.money < again.money or kept.dearest_money < again.dearest_money
        return not fewer and ((alike and waits) or not spares_money)


def plan_for_spread(
    farm: Farm,
    asked: SpreadAsked | None = None,
    stocks: Mapping[str, StoreStock] | None = None,
    start: date | None = None,
) -> SpreadPlan | None:
    """The plan for the spread from a day on; None where the mean winter cannot be fed, or no course
    keeps the share that was asked for. Raises InputError as the winter's plan does.
    """
    wish = asked or SpreadAsked()
    held = farm_stocks(farm) if stocks is None else stocks
    spreads = farm_spreads(farm, held).times(wish.width)
    stages = stage_days(farm, start or farm.start)
    market = make_market(farm, stages, spreads, wish.bales_per_t_dm)
    template = make_template(market, held)
    if template is None:
        return None
    winters = listed_winters(spreads, *wish.points)
    courses = _Courses(template, winters)
    course, mean = courses.of(), courses.mean
    chosen: Course | None = None
    limited = wish.most_late is not None or wish.tail > 0.0
    if limited and course is not None:
        chosen = courses.of(Wish(wish.most_late, wish.tail))
    again = courses.of(Wish(held=courses.autumn(mean)))
    wait_see = courses.of(seen={STOCK: 0, TURNOUT: 0, PRICE: 0})
    if course is None or wait_see is None or again is None or (limited and chosen is None):
        return None
    kept = chosen or course
    stock_known, turnout_known = courses.of(seen={STOCK: 0}), courses.of(seen={TURNOUT: 1})
    light, late = _nearest(winters)
    return SpreadPlan(
        farm, stages, wish, mean.mean, wait_see, course, again, chosen,
        tuple(_forage(courses, offer.id, (mean, course, kept)) for offer in courses.layout.forages),
        tuple(_store(courses, store.id, mean, kept) for store in farm.stores),
        _marks(courses, kept),
        tuple(
            _choice(name, one, light, late)
            for name, one in (("cheapest plan", again), ("planned for the spread", kept))
        ),
        1.0 - min(held_share(spreads, store.id, light) for store in farm.stores),
        late.late_days,
        _dearer(course, stock_known),
        _dearer(course, turnout_known),
        without_late(template, courses.autumn(kept)),
        tuple(chance_rows().values()),
    )  # fmt: skip


def _dearer(course: Course | None, than: Course | None) -> Costs:
    """What a course costs more than another; without the one more than any price, without the
    other nothing is known to be saved.
    """
    if course is None:
        return Costs(inf, 0.0)
    if than is None:
        return Costs(0.0, 0.0)
    return Costs(course.money - than.money, course.priced - than.priced)


class _Courses:
    """Courses of one template through the same winters."""

    def __init__(self, template: Template, winters: tuple[ListedWinter, ...]) -> None:
        self.template, self.winters = template, winters
        self.layout = TreeLayout(template, make_tree(winters))
        single = (ListedWinter(0, 1.0, 0.0, 0, 0.0),)
        self.alone = TreeLayout(template, make_tree(single))
        mean = solve_course(self.alone)
        assert mean is not None  # the template was settled on this very winter
        self.mean = mean

    def of(
        self,
        wish: Wish | None = None,
        seen: Mapping[str, int] | None = None,
        shut: frozenset[tuple[str, int]] = frozenset(),
    ) -> Course | None:
        """A course, with factors known earlier or purchases shut."""
        if seen is None and not shut:
            return solve_course(self.layout, wish)
        return solve_course(TreeLayout(self.template, make_tree(self.winters, seen), shut), wish)

    def autumn(self, course: Course) -> dict[Key, float]:
        """What a course feeds and buys in autumn, by column."""
        first = self.layout.tree.nodes[0].mark
        kinds = ("feed", "buy", "sold")
        return {
            key: value
            for key, value in course.values.items()
            if key[-1] == first and key[0] in kinds
        }


def _forage(courses: _Courses, offer_id: str, plans: tuple[Course, Course, Course]) -> ForageNow:
    """What of a forage is bought in autumn, and what shutting it would cost. plans: the cheapest,
    that for the spread, and that which keeps what was asked for.
    """
    mean, base, kept = plans
    layout = courses.layout
    offer = next(forage for forage in layout.forages if forage.id == offer_id)
    dm = offer.feed.dm_g_per_kg / KG_PER_T
    key = ("buy", offer_id, layout.tree.nodes[0].mark)
    shut = [
        courses.of(shut=frozenset((offer_id, stage) for stage in range(last + 1)))
        for last in (0, 1)
    ]
    # What cannot be fed without it cannot wait at any price.
    waits = [_dearer(one, base) for one in shut]
    return ForageNow(
        offer_id, offer.name, mean.values[key] * dm, kept.values[key] * dm,
        offer.price_per_t_fresh / dm, offer.price_per_t_fresh,
        offer_id in courses.template.market.ours,
        turns_at(layout, offer) / dm, (waits[0], waits[1]),
    )  # fmt: skip


def turns_at(layout: TreeLayout, offer: Offer) -> float:
    """The price in autumn above which less than half a tonne of DM of a forage is bought then, at
    later prices as they are [currency/t fresh]; 0 where none is bought for this winter at any, inf
    where it is at every one. Cost is convex in what is bought, so its slope there says it; at
    nothing bought the slope would not be one figure.
    """
    key = ("buy", offer.id, layout.tree.nodes[0].mark)
    some = solve_course(layout, Wish(held={key: SOME_T_DM * KG_PER_T / offer.feed.dm_g_per_kg}))
    if some is None:
        return inf
    turns = offer.price_per_t_fresh - some.reduced[key]
    only_left = layout.market.left * offer.price_per_t_fresh * (1.0 + ONLY_LEFT)
    return turns if turns > only_left else 0.0


def _store(courses: _Courses, store: str, mean: Course, kept: Course) -> StoreKept:
    stock = courses.template.yard.stocks[store].edible_t_dm.typical
    name = next(one.name for one in courses.template.yard.farm.stores if one.id == store)
    left = [
        stock - courses.alone.autumn_t_dm(store, mean.values),
        stock - courses.layout.autumn_t_dm(store, kept.values),
    ]
    put_out = courses.layout.put_out_t_dm(store, kept.values, courses.layout.tree.nodes[0])
    return StoreKept(store, name, stock, left[0], left[1], put_out)


def _marks(courses: _Courses, kept: Course) -> tuple[AtTheMark, ...]:
    """What is bought at the turn of the year, by what the stores then show; ordinary prices."""
    layout = courses.layout
    marks = {}
    for node in layout.tree.nodes:
        winter = layout.winter_of(node)
        if node.stage == 1 and abs(winter.price) < 1e-9:
            marks[winter.stock] = _mark(layout, node, kept.values)
    return tuple(marks[z] for z in sorted(marks))


def _mark(layout: TreeLayout, node: Node, values: Mapping[Key, float]) -> AtTheMark:
    first, winter = layout.tree.nodes[0], layout.winter_of(node)
    stores = [store.id for store in layout.yard.farm.stores]
    held = {store: held_share(layout.market.spreads, store, winter) for store in stores}
    furthest = max(held.values(), key=lambda share: abs(1.0 - share), default=1.0)
    buy, lying = {}, {}
    for offer in layout.forages:
        dm = offer.feed.dm_g_per_kg / KG_PER_T
        buy[offer.id] = values["buy", offer.id, node.mark] * dm
        bought = values["buy", offer.id, first.mark] * dm
        lying[offer.id] = max(bought - layout.put_out_t_dm(offer.id, values, first), 0.0)
    put_out = {store: layout.put_out_t_dm(store, values, node) for store in stores}
    prices = {offer.id: layout.price(offer, node) for offer in layout.forages}
    return AtTheMark(1.0 - furthest, sum(buy.values()), held, buy, lying, put_out, prices)


def _nearest(winters: tuple[ListedWinter, ...]) -> tuple[ListedWinter, ListedWinter]:
    """The listed winter with light clamps, and that with a late spring."""
    ordinary = [winter for winter in winters if abs(winter.price) < 1e-9]
    light = min(ordinary, key=lambda one: (abs(one.stock - LIGHT_Z), abs(one.late_days)))
    late = max(ordinary, key=lambda one: (one.late_days, -abs(one.stock)))
    return light, late


def _choice(autumn: str, course: Course, light: ListedWinter, late: ListedWinter) -> AutumnChoice:
    costs = {
        (winter.winter.stock, winter.winter.late_days): winter.money
        for winter in course.winters
        if abs(winter.winter.price) < 1e-9
    }
    return AutumnChoice(
        autumn, costs[0.0, 0], costs[light.stock, 0], costs[0.0, late.late_days],
        costs[light.stock, late.late_days],
    )  # fmt: skip
