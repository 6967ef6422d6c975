"""The plan for the spread as a winter's plan that can be kept in force: at the turn of the year it
leaves of each store what the plan for the spread leaves; from then on it is the cheapest way on in
a winter as thought, to be planned again once the stores have been looked at.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from rationlp.after.stock import stocks_of
from rationlp.chances.spread_answer import SOME_HEAD, SOME_T_DM, SpreadPlan
from rationlp.chances.ways_on import room
from rationlp.errors import InputError
from rationlp.planned import WinterPlan
from rationlp.wintering.links import KeptBack
from rationlp.wintering.plan import solve_winter
from rationlp.wintering.yard import WinterOptions


def plan_to_keep(plan: WinterPlan, spread: SpreadPlan) -> WinterPlan | None:
    """The winter's plan that goes with a plan for the spread; the plan itself where nothing has to
    be done otherwise, None where no plan of the farm's own feeds leaves so much, where it rests on
    forage that the farm has given no price for, or on animals that are to be sold now and are not
    yet.
    """
    if spread.asks_for_nothing:
        return plan
    if at_our_price(spread) or sold_now(spread):
        return None
    most = {store.store: room(store.put_out_t_dm) for store in spread.stores}
    options = WinterOptions(
        start=plan.periods[0].first, ceilings=True, kept_back=KeptBack(spread.stages[1], most)
    )
    try:
        made = solve_winter(plan.farm, options, stocks_of(plan))
    except InputError:
        return None
    if not made.feeds_all:
        return None
    remarks = (*keep_remarks(spread), *made.remarks)
    return replace(made, remarks=remarks, stocks=plan.stocks, carried=plan.carried)


def at_our_price(spread: SpreadPlan) -> bool:
    """Whether a plan for the spread buys forage that the farm has given no price for."""
    return any(forage.ours and forage.spread_t_dm >= SOME_T_DM for forage in spread.forages)


def sold_now(spread: SpreadPlan) -> dict[str, float]:
    """Animals that a plan for the spread sells in autumn, by the name of their group [head]."""
    return {sale.name: sale.now for sale in spread.sales if sale.now >= SOME_HEAD}


def keep_remarks(spread: SpreadPlan) -> Iterator[str]:
    """What the plan keeps back and until when; what is bought besides, to lie ready."""
    day = spread.stages[1].isoformat()
    kept = "; ".join(
        f"{store.name} {store.spread_t_dm:.0f} t DM"
        for store in spread.stores
        if store.put_out_t_dm >= SOME_T_DM and store.spread_t_dm >= SOME_T_DM
    )
    if kept:
        yield f"Planned for the spread of stock and spring: to be left on {day}: {kept}."
    for forage in spread.forages:
        if forage.spread_t_dm >= SOME_T_DM:
            yield (
                f"Planned for the spread: buy {forage.spread_t_dm:.0f} t DM of {forage.name} before"
                f" {day}, what the rations take of it included, and keep the rest."
            )
    yield f"On {day} measure what is in store and log it: the sheets go on by what that shows."
