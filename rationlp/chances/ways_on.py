"""How a plan kept for the spread goes on from the turn of the year by what the stores then show:
the cheapest way on for each listed stock, that leaves for late winter what the plan for the spread
leaves, at the prices that bought forage then has. Each is certified; how near it is to the best is
not proved.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from rationlp.after.sofar import used_until
from rationlp.after.stock import stocks_of
from rationlp.chances.spread_answer import SOME_T_DM, AtTheMark, SpreadPlan
from rationlp.errors import InputError
from rationlp.farm.farm import Farm
from rationlp.farm.store import StoreStock
from rationlp.planned import WayOn, WinterPlan
from rationlp.read.changed import held
from rationlp.wintering.links import KG_PER_T, KeptBack
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions

AS_THOUGHT = 1e-6
ROUNDING_T_DM, ROUNDING = 0.01, 1e-3
"""What may be put out beyond what the plan for the spread does [t DM], and as a share of it."""


def room(t_dm: float) -> float:
    """What may be put out where a plan for the spread puts out so much [t DM]."""
    return t_dm * (1.0 + ROUNDING) + ROUNDING_T_DM


def ways_on(plan: WinterPlan, spread: SpreadPlan) -> Iterator[WayOn]:
    """The ways on of a plan that is kept for the spread, but for the middle one, which is the plan
    itself. A way that feeds not all with the farm's own feeds has no plan.
    """
    first = spread.stages[1]
    stocks = stocks_of(plan)
    for mark in spread.marks:
        if abs(mark.light) < AS_THOUGHT:
            continue
        left: dict[str, StoreStock] = {}
        for store in plan.stores:
            stock = stocks[store.store]
            there = stock.edible_t_dm.typical * mark.held_share[store.store]
            there -= used_until(plan.periods, store.used_t_dm, first)
            left[store.store] = held(stock, max(there, 0.0))
        # Forage at a price of ours is none that the farm has on offer.
        names = {offer.id: offer.name for offer in plan.farm.offers if offer.bought}
        yield WayOn(
            mark.light,
            first,
            {store: stock.edible_t_dm.typical for store, stock in left.items()},
            {
                names[offer]: t
                for offer, t in mark.buy_t_dm.items()
                if t >= SOME_T_DM and offer in names
            },
            _rest(_sold(_later(plan.farm, mark), mark), spread, mark, left),
            {plan.farm.group(name).name: n for name, n in _sold_heads(mark).items()},
        )


def _sold_heads(mark: AtTheMark) -> dict[str, int]:
    """Whole animals that are sold at a mark, by group id."""
    return {name: n for name, head in mark.sell_head.items() if (n := round(head)) > 0}


def _sold(farm: Farm, mark: AtTheMark) -> Farm:
    """The farm without the animals that are sold at a mark."""
    sold = _sold_heads(mark)
    groups = [
        replace(group, head=group.head - sold.get(group.id, 0))
        for group in farm.groups
        if group.head > sold.get(group.id, 0)
    ]
    return replace(farm, groups=tuple(groups))


def _rest(
    farm: Farm, spread: SpreadPlan, mark: AtTheMark, left: dict[str, StoreStock]
) -> WinterPlan | None:
    """The rest of the winter from a mark; None where none feeds all."""
    most = {store: room(t) for store, t in mark.put_out_t_dm.items()}
    for kept_back in (KeptBack(spread.stages[2], most), None):
        options = WinterOptions(
            start=spread.stages[1], kept_back=kept_back, shortage=False, prove=False
        )
        try:
            plan = solve_winter(farm, options, left)
        except InputError:
            return None
        if plan.feeds_all:
            return replace(plan, stocks=left)
    return None


def _later(farm: Farm, mark: AtTheMark) -> Farm:
    """The farm with its forage at the price of the turn of the year; where none has to be bought
    then, what lies ready at what it counts for.
    """
    offers = []
    for offer in farm.offers:
        lying = mark.lying_t_dm.get(offer.id, 0.0)
        if offer.id not in mark.buy_t_dm:
            offers.append(offer)
        elif mark.buy_t_dm[offer.id] < SOME_T_DM <= lying:
            most = lying * KG_PER_T / offer.feed.dm_g_per_kg
            price = mark.left_per_t_fresh[offer.id]
            offers.append(
                replace(offer, price_per_t_fresh=price, least_t=None, most_t=most, load_t=None)
            )
        else:
            price = mark.price_per_t_fresh[offer.id]
            offers.append(replace(offer, price_per_t_fresh=price, least_t=None))
    return replace(farm, offers=tuple(offers))
