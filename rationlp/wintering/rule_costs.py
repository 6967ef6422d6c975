"""What the rules of a yard cost, one by one, in the order in which a plan is made to keep them; and
what is solved again for it.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import replace
from math import inf

from rationlp.farm.farm import Farm
from rationlp.model.bales import without_bale_words
from rationlp.planned import RuleCost, WinterPlan
from rationlp.read.yard_rules import hold_days, most_bought_feeds, shut_days, shut_days_in_need
from rationlp.wintering.parts import opening_days
from rationlp.wintering.remarks import open_bales
from rationlp.wintering.tidy import TidyPlan

Planned = Callable[[Farm], WinterPlan]
NOBODY = ""
LESS_SHORT = 0.95
"""Stores are opened sooner where that leaves at most so much of what is short [-]."""
NOTHING = 0.005
"""Costs below this are nothing [currency]."""


def rule_costs(farm: Farm, tidied: TidyPlan) -> tuple[RuleCost, ...]:
    """A cost a rule, in the order in which the plan was made to keep them."""
    costs = tidied.costs
    weeks = f"Forages held for {hold_days(farm.yard_rules)} days"
    one_way = "No concentrate that comes and goes while forages and needs stay alike"
    if tidied.unheld:
        unheld = ", ".join(tidied.unheld)
        weeks += f" (not for {unheld}: changing sooner saves more, or no plan does)"
    if tidied.come_and_go:
        left = ", ".join(tidied.come_and_go)
        one_way += f" (not for {left}: letting it saves more, or no plan does)"
    what = {
        "steady": "Rations kept from changing without need",
        "held_weeks": weeks,
        "least_amounts": "No amount below its least by head and by load",
        "one_way": one_way,
        "bought_feeds": f"At most {most_bought_feeds(farm.yard_rules)} bought feeds",
        "orders": "No order below its least",
    }
    return tuple(
        _rule_cost(farm, rule, what[rule], costs[rule] - costs[before])
        for before, rule in itertools.pairwise(costs)
    )


def opened_if_short(farm: Farm, planned: Planned) -> WinterPlan:
    """The plan with stores shut for the farm's days after filling; where not every need is met so,
    with fewer of them if that is enough, or leaves less short.
    """
    plan = planned(farm)
    if plan.feeds_all or not opening_days(farm):
        return plan
    best, short = plan, _short_t(plan)
    for days in shut_days_in_need(farm.yard_rules):
        sooner = planned(_shut_for(farm, days))
        words = f"Stores stay shut for {days} days in place of {shut_days(farm.yard_rules)}"
        if sooner.feeds_all:
            remark = f"{words}: else not every need is met."
            return replace(sooner, remarks=(remark, *sooner.remarks))
        if _short_t(sooner) < LESS_SHORT * short:
            remark = f"{words}: else more is short."
            best, short = replace(sooner, remarks=(remark, *sooner.remarks)), _short_t(sooner)
    return best


def _short_t(plan: WinterPlan) -> float:
    """What would do for all that is short in a plan [t DM]; inf without a plan."""
    if plan.proof is None:
        return inf
    return sum(one.t_dm for one in plan.shortfalls)


def with_costs_beside(plan: WinterPlan, cheapest: Planned) -> WinterPlan:
    """A practical plan with what it costs that stores are shut at first, and what it would cost to
    do without bales that lie open too long.
    """
    if plan.tidy is None or plan.proof is None:
        return plan
    rules, words = plan.tidy.rules, []
    if opening_days(plan.farm) and plan.feeds_all:
        cost = _dearer(plan, cheapest(_shut_for(plan.farm, 0)), -1.0)
        what = f"Stores shut for {shut_days(plan.farm.yard_rules)} days after filling"
        rules = (_rule_cost(plan.farm, "shut_stores", what, cost or 0.0), *rules)
    for store in open_bales(plan.farm, plan.periods, plan.rations):
        extra = _dearer(plan, cheapest(_not_fed(plan.farm, store)))
        money = f"{plan.farm.currency} {extra or 0.0:,.0f} over the winter"
        name = next(one.name for one in plan.farm.stores if one.id == store)
        words.append(without_bale_words(name, "plan", money, extra))
    return replace(plan, tidy=replace(plan.tidy, rules=rules), remarks=(*plan.remarks, *words))


def _dearer(plan: WinterPlan, other: WinterPlan, sign: float = 1.0) -> float | None:
    """How much dearer the cheapest plan of another farm is [currency], 0 where it is not; None
    where it does not feed all. sign: -1 for how much cheaper.
    """
    if plan.proof is None or other.proof is None or not other.feeds_all:
        return None
    return max(0.0, sign * (other.proof.cost - plan.proof.cost))


def _shut_for(farm: Farm, days: int) -> Farm:
    """The farm with stores that stay shut for so many days after filling."""
    return replace(farm, yard_rules=replace(farm.yard_rules, shut_days=days))


def _not_fed(farm: Farm, store: str) -> Farm:
    """The farm with a store that nobody is fed from."""
    stores = tuple(
        replace(one, kept_for=(NOBODY,)) if one.id == store else one for one in farm.stores
    )
    return replace(farm, stores=stores)


def _rule_cost(farm: Farm, rule: str, what: str, cost: float) -> RuleCost:
    money = f"{farm.currency} {abs(cost):,.2f}"
    if abs(cost) < NOTHING:
        money = "nothing"
    elif cost < 0.0:
        money += " less"
    return RuleCost(rule, cost, f"{what}: {money}.")
