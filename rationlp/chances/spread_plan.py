"""The plan made for the spread, beside the cheapest plan of the mean winter: what to buy now, what
can wait and until when, what it costs, and what knowing earlier would be worth.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from math import inf

from rationlp.chances.actions import contracts
from rationlp.chances.course import Course, Wish, solve_course
from rationlp.chances.courses import Courses, costs_more
from rationlp.chances.data import chance_rows
from rationlp.chances.done_later import contract_now, forage_sold, grass_use, sale_now
from rationlp.chances.fresh import fresh_cost
from rationlp.chances.layout import TreeLayout
from rationlp.chances.market import make_market
from rationlp.chances.spread_answer import (
    SOME_T_DM,
    AtTheMark,
    AutumnChoice,
    ForageNow,
    LaterPrices,
    SpreadAsked,
    SpreadPlan,
    StoreKept,
)
from rationlp.chances.template import make_template
from rationlp.chances.tree import Node
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
from rationlp.chances.without_late import without_late
from rationlp.farm.farm import Farm
from rationlp.farm.feed import Offer
from rationlp.farm.store import StoreStock
from rationlp.halving import halve
from rationlp.model.lp import Key
from rationlp.stock.dry_matter import farm_stocks
from rationlp.wintering.links import KG_PER_T

LIGHT_Z = -1.0
USUAL_POINTS, CONTRACT_POINTS = (5, 3, 1), (3, 3, 3)
CLOSE_SHARE, LEAST_SHARE = 0.05, 1e-3
ONLY_LEFT = 1e-3
"""A price within this share of what forage counts for at turnout is no price of need [-]."""


def _as_asked(courses: Courses, asked: SpreadAsked) -> Course | None:
    """The cheapest course within the share asked for on the listed winters after whose autumn as
    many of the first fresh draws can be fed with no forage bought late: where too few can, the
    share of listed winters is lowered step by step. Where none reaches it, the nearest to it.
    """
    best = courses.of(Wish(asked.most_late, asked.tail))
    if best is None or asked.most_late is None:
        return best
    course, reached = best, without_late(courses.template, courses.autumn(best)).tuned
    while reached < 1.0 - asked.most_late and course.late_share > LEAST_SHARE:
        tighter = courses.of(Wish(0.5 * course.late_share, asked.tail))
        if tighter is None:
            break
        course = tighter
        counted = without_late(courses.template, courses.autumn(course)).tuned
        if counted > reached:
            best, reached = course, counted
    return best


def points_of(farm: Farm, asked: SpreadAsked) -> tuple[int, int, int]:
    """Points of stock, turnout and prices: three of prices where feed may be had on contract."""
    if asked.points is not None:
        return asked.points
    if contracts(farm):
        return CONTRACT_POINTS
    return USUAL_POINTS


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
    winters = listed_winters(spreads, *points_of(farm, wish))
    courses = Courses(template, winters)
    course, mean = courses.of(), courses.mean
    chosen: Course | None = None
    limited = wish.most_late is not None or wish.tail > 0.0
    if limited and course is not None:
        chosen = _as_asked(courses, wish)
    again = courses.of(Wish(held=courses.autumn(mean)))
    wait_see = courses.of(seen={STOCK: 0, TURNOUT: 0, PRICE: 0})
    if course is None or wait_see is None or again is None or (limited and chosen is None):
        return None
    return _answer(courses, wish, (course, again, wait_see, chosen), farm)


def _answer(
    courses: Courses,
    wish: SpreadAsked,
    ways: tuple[Course, Course, Course, Course | None],
    farm: Farm,
) -> SpreadPlan:
    """All that is told. ways: for the spread, the cheapest planned again, all known, as asked."""
    course, again, wait_see, chosen = ways
    market, template, mean = courses.layout.market, courses.template, courses.mean
    spreads, stages = market.spreads, market.stages
    kept = chosen or course
    stock_known, turnout_known = courses.of(seen={STOCK: 0}), courses.of(seen={TURNOUT: 1})
    light, late = _nearest(courses.winters)
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
        costs_more(course, stock_known),
        costs_more(course, turnout_known),
        costs_more(courses.of(seen={STOCK: 2}), course),
        without_late(template, courses.autumn(kept)),
        fresh_cost(template, (again, courses.autumn(again)), (kept, courses.autumn(kept))),
        tuple(chance_rows().values()),
        tuple(contract_now(courses, price, course, kept) for price in contracts(farm)),
        tuple(sale_now(courses, sale, course, kept) for sale in farm.later.sales),
        tuple(grass_use(courses, name, kept) for name in market.grass),
        forage_sold(courses, kept),
    )  # fmt: skip


def _forage(courses: Courses, offer_id: str, plans: tuple[Course, Course, Course]) -> ForageNow:
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
    waits = [costs_more(one, base) for one in shut]
    return ForageNow(
        offer_id, offer.name, mean.values[key] * dm, kept.values[key] * dm,
        offer.price_per_t_fresh / dm, offer.price_per_t_fresh,
        offer_id in courses.template.market.ours,
        turns_at(layout, offer) / dm, (waits[0], waits[1]),
        _later_prices(courses, offer, base),
        layout.yard.farm.later.price(offer_id).lead_days,
    )  # fmt: skip


def _later_prices(courses: Courses, offer: Offer, base: Course) -> LaterPrices:
    """What a forage costs after autumn, whose price that is, and where it is ours the price at the
    turn of the year below which nothing is bought in autumn.
    """
    market = courses.layout.market
    dm = offer.feed.dm_g_per_kg / KG_PER_T
    prices = [market.expected(offer, stage) / dm for stage in (1, 2)]
    key = ("buy", offer.id, courses.layout.tree.nodes[0].mark)
    ours, turns = market.later_is_ours(offer), None
    if ours and base.values[key] * dm >= SOME_T_DM:

        def is_bought(share: float) -> bool:
            course = courses.at_later_prices(share)
            return course is not None and course.values[key] * dm >= SOME_T_DM

        if not is_bought(0.0):
            share, _ = halve(is_bought, 1.0, 0.0, CLOSE_SHARE)
            now = offer.price_per_t_fresh / dm
            turns = now + share * (prices[0] - now)
    return LaterPrices(prices[0], prices[1], ours, turns)


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
    only_left = layout.market.left_price(offer) * (1.0 + ONLY_LEFT)
    return turns if turns > only_left else 0.0


def _store(courses: Courses, store: str, mean: Course, kept: Course) -> StoreKept:
    stock = courses.template.yard.stocks[store].edible_t_dm.typical
    name = next(one.name for one in courses.template.yard.farm.stores if one.id == store)
    left = [
        stock - courses.alone.autumn_t_dm(store, mean.values),
        stock - courses.layout.autumn_t_dm(store, kept.values),
    ]
    put_out = courses.layout.put_out_t_dm(store, kept.values, courses.layout.tree.nodes[0])
    return StoreKept(store, name, stock, left[0], left[1], put_out)


def _marks(courses: Courses, kept: Course) -> tuple[AtTheMark, ...]:
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
    sell = {
        sale.group: layout.yard.farm.group(sale.group).head * values["sell", sale.group, node.mark]
        for sale in layout.yard.farm.later.sales
    }
    left = {offer.id: layout.market.left_price(offer) for offer in layout.forages}
    return AtTheMark(
        1.0 - furthest, sum(buy.values()), held, buy, lying, put_out, prices, sell, left
    )


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
