"""What the rules of a yard cost, one by one, in the order in which a plan is made to keep them."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import replace

from rationlp.farm.farm import Farm
from rationlp.planned import RuleCost, WinterPlan
from rationlp.read.yard_rules import hold_days, most_bought_feeds, shut_days

NOTHING = 0.005
"""Costs below this are nothing [currency]."""


def rule_costs(farm: Farm, costs: Mapping[str, float], unheld: list[str]) -> tuple[RuleCost, ...]:
    """A cost a rule. costs: of the plan by the rule that was kept last, the cheapest plan first
    [currency]. unheld: names of groups whose forages are not held.
    """
    weeks = f"Forages held for {hold_days(farm.yard_rules)} days"
    if unheld:
        weeks += f" (not for {', '.join(unheld)}: changing sooner saves too much)"
    what = {
        "steady": "Rations kept from changing without need",
        "held_weeks": weeks,
        "least_amounts": "No amount below its least by head and by load",
        "bought_feeds": f"At most {most_bought_feeds(farm.yard_rules)} bought feeds",
        "orders": "No order below its least",
    }
    return tuple(
        _rule_cost(farm, rule, what[rule], costs[rule] - costs[before])
        for before, rule in itertools.pairwise(costs)
    )


def shut_for(farm: Farm, days: int) -> Farm:
    """The farm with stores that stay shut for so many days after filling."""
    return replace(farm, yard_rules=replace(farm.yard_rules, shut_days=days))


def with_shut_stores(plan: WinterPlan, opened: WinterPlan) -> WinterPlan:
    """A practical plan with the cost of stores that are shut at first. opened: the cheapest plan
    that feeds from them at once.
    """
    if plan.tidy is None or plan.proof is None or opened.proof is None:
        return plan
    what = f"Stores shut for {shut_days(plan.farm.yard_rules)} days after filling"
    rule = _rule_cost(plan.farm, "shut_stores", what, plan.proof.cost - opened.proof.cost)
    return replace(plan, tidy=replace(plan.tidy, rules=(rule, *plan.tidy.rules)))


def _rule_cost(farm: Farm, rule: str, what: str, cost: float) -> RuleCost:
    money = f"{farm.currency} {abs(cost):,.2f}"
    if abs(cost) < NOTHING:
        money = "nothing"
    elif cost < 0.0:
        money += " less"
    return RuleCost(rule, cost, f"{what}: {money}.")
