"""What the farm's own actions come to: feed on contract, animals sold, grass grazed early."""

from __future__ import annotations

from rationlp.chances.actions import SIGNED, sale_name
from rationlp.chances.course import Course, Wish, solve_course
from rationlp.chances.courses import Courses, costs_more
from rationlp.chances.spread_answer import (
    SOME_HEAD,
    SOME_T_DM,
    ContractNow,
    ForageSold,
    GrassUse,
    SaleNow,
    SoldAt,
)
from rationlp.chances.winters import held_share
from rationlp.farm.later import EarlySale, LaterPrice
from rationlp.wintering.links import sale_price_per_t_dm


def contract_now(courses: Courses, priced: LaterPrice, base: Course, kept: Course) -> ContractNow:
    """Forward or month by month, and the price at which that turns."""
    layout = courses.layout
    offer = layout.yard.farm.offer(priced.offer)
    assert priced.contract is not None
    key = ("contract", priced.offer, layout.tree.nodes[0].mark)
    by_month = courses.of(shut=frozenset({(priced.offer, SIGNED)}))
    some = SOME_T_DM
    if priced.most_t is not None:
        some = min(some, priced.most_t)
    held = solve_course(layout, Wish(held={key: some}))
    turns = 0.0
    if held is not None:
        turns = max(priced.contract - held.reduced[key], 0.0)
    money = None
    if by_month is not None:
        money = (by_month.money, by_month.dearest_money)
    return ContractNow(
        priced.offer, offer.name, kept.values[key], priced.contract, offer.price_per_t_fresh,
        turns, (base.money, base.dearest_money), money,
    )  # fmt: skip


def sale_now(courses: Courses, sale: EarlySale, base: Course, kept: Course) -> SaleNow:
    """Which animals to sell, when and by what is seen; what waiting adds."""
    layout = courses.layout
    group = layout.yard.farm.group(sale.group)
    first = layout.tree.nodes[0].mark
    later = {}
    for node in layout.tree.nodes[1:]:
        winter = layout.winter_of(node)
        if abs(winter.price) > 1e-9:
            continue
        late_days = 0
        if node.stage > 1:
            late_days = winter.late_days
        shares = (
            held_share(layout.market.spreads, store.id, winter) for store in layout.yard.farm.stores
        )
        furthest = max(shares, key=lambda share: abs(1.0 - share), default=1.0)
        head = group.head * kept.values["sell", sale.group, node.mark]
        if head >= SOME_HEAD:
            later[node.number] = SoldAt(node.stage, 1.0 - furthest, late_days, head)
    name = sale_name(sale.group)
    waits = [
        costs_more(courses.of(shut=frozenset((name, stage) for stage in range(last + 1))), base)
        for last in (0, 1)
    ]
    now = group.head * kept.values["sell", sale.group, first]
    return SaleNow(
        sale.group, group.name, group.head, now, tuple(later.values()), (waits[0], waits[1])
    )


def grass_use(courses: Courses, name: str, kept: Course) -> GrassUse:
    """In which winters grass is grazed early, and how much of it."""
    layout = courses.layout
    offer = layout.yard.farm.offer(name)
    grazed = [
        (node.weight, layout.put_out_t_dm(name, kept.values, node))
        for node in layout.tree.nodes
        if node.stage == 2
    ]
    tonnes = [t_dm for _, t_dm in grazed]
    share = sum(weight for weight, t_dm in grazed if t_dm >= SOME_T_DM)
    most = (offer.most_t or 0.0) * offer.feed.dm_g_per_kg / 1000.0
    return GrassUse(offer.name, most, max(tonnes), share)


def forage_sold(courses: Courses, kept: Course) -> tuple[ForageSold, ...]:
    """What forage to sell now and what after the stores have been looked at."""
    layout = courses.layout
    farm, tree = layout.yard.farm, layout.tree
    sales = []
    for outlet in farm.outlets:
        for store in outlet.stores:
            sold = {
                node.number: kept.values["sold", outlet.id, store, node.mark] for node in tree.nodes
            }
            later = [
                (winter.weight, sum(sold[node.number] for node in tree.way(winter)[1:]))
                for winter in tree.winters
            ]
            sales.append(
                ForageSold(
                    outlet.name, farm.store(store).name, sold[0],
                    max(t_dm for _, t_dm in later),
                    sale_price_per_t_dm(layout.yard, outlet, store),
                    sum(weight for weight, t_dm in later if t_dm >= SOME_T_DM),
                )
            )  # fmt: skip
    return tuple(sales)
