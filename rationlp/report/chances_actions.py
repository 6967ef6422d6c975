"""The farm's own actions later in the winter in sentences, and how costs are told."""

from __future__ import annotations

from collections.abc import Iterator
from math import isinf

from rationlp.chances.spread_answer import (
    SOME_HEAD,
    SOME_T_DM,
    ContractNow,
    Costs,
    ForageSold,
    GrassUse,
    SaleNow,
    SoldAt,
    SpreadPlan,
)
from rationlp.report.wording import day_words, more_or_less

LEAST_MONEY = 0.5
"""Less than this is told as no money [currency]."""
NO_SHARE, LEAST_PERCENT = 0.005, 0.5
"""A share of winters below this is told as none [-]; a difference below this, as none [%]."""


def action_lines(plan: SpreadPlan) -> Iterator[str]:
    """Forward or month by month, which animals to sell and by when, what to graze early."""
    for contract in plan.contracts:
        yield _contract_line(plan, contract)
    for sale in plan.sales:
        yield from _sale_lines(plan, sale)
    for grass in plan.grass:
        yield _grass_line(plan, grass)
    for sold in plan.sold:
        yield _forage_line(plan, sold)


def _contract_line(plan: SpreadPlan, contract: ContractNow) -> str:
    money = plan.farm.currency
    price = (
        f"{money} {contract.price:,.0f} a tonne (your price; {contract.spot:,.0f} as bought now)"
    )
    if contract.signed_t < SOME_T_DM:
        words = f"{contract.name}: buy month by month, nothing forward at {price}"
        if 0.0 < contract.turns < contract.price:
            words += f"; some forward below {money} {contract.turns:,.0f}"
        return f"{words}."
    words = f"{contract.name}: sign {contract.signed_t:,.0f} t forward now at {price}"
    if contract.by_month is None:
        return f"{words}: month by month some winter could not be fed."
    if contract.turns > contract.price:
        words += f", none above {money} {contract.turns:,.0f}"
    saved, tenth = (contract.forward[n] - contract.by_month[n] for n in (0, 1))
    return (
        f"{words}. Against month by month that costs {more(plan, saved)} on average,"
        f" {more(plan, tenth)} in the dearest tenth."
    )


def _sale_lines(plan: SpreadPlan, sale: SaleNow) -> Iterator[str]:
    now = "sell none now"
    if sale.now >= SOME_HEAD:
        now = f"sell {sale.now:.0f} of {sale.head} now"
    later = [
        f"{sold.head:.0f} on {day_words(plan.stages[1])} if {_stores_words(sold)}"
        for sold in sale.later
        if sold.stage == 1
    ]
    later += _late_words(plan, sale)
    if later:
        yield f"{sale.name}, at your prices: {now}; then sell {'; '.join(later)}."
    else:
        yield f"{sale.name}, at your prices: {now}, and none later in any listed winter."
    yield from _until_when(plan, sale)


def _stores_words(sold: SoldAt) -> str:
    share = 100.0 * abs(sold.light)
    if share < LEAST_PERCENT:
        return "stores are as thought"
    return f"stores hold {share:.0f} % {more_or_less(-sold.light)} than thought"


def _late_words(plan: SpreadPlan, sale: SaleNow) -> Iterator[str]:
    """The most that are sold in late winter by when turnout is seen to be."""
    most: dict[int, float] = {}
    for sold in sale.later:
        if sold.stage > 1:
            most[sold.late_days] = max(most.get(sold.late_days, 0.0), sold.head)
    for days, head in sorted(most.items(), reverse=True):
        spring = "as thought"
        if days > 0:
            spring = f"{days} days late"
        elif days < 0:
            spring = f"{-days} days early"
        yield f"up to {head:.0f} on {day_words(plan.stages[2])} if turnout is {spring}"


def _until_when(plan: SpreadPlan, sale: SaleNow) -> Iterator[str]:
    """By when animals must be sold, by what waiting costs on average."""
    turn, late = map(day_words, plan.stages[1:])
    waits, loses = sale.waits
    if waits.compared > plan.worth_a_word:
        yield f"Selling cannot wait: until {turn} that costs {lost(plan, waits)} on average."
    elif loses.compared > plan.worth_a_word:
        yield f"Selling can wait until {turn}; until {late} it would cost {lost(plan, loses)}."
    elif sale.now >= SOME_HEAD or sale.later:
        yield f"Selling can wait until {late}: that costs {lost(plan, loses)} on average."


def _grass_line(plan: SpreadPlan, grass: GrassUse) -> str:
    day = day_words(plan.stages[2])
    if grass.share < NO_SHARE:
        return f"{grass.name}: at your cost graze none from {day} in any listed winter."
    return (
        f"{grass.name}: at your cost graze up to {grass.most_grazed_t_dm:.0f} of"
        f" {grass.most_t_dm:.0f} t DM from {day}, in {100.0 * grass.share:.0f} of 100 winters."
    )


def _forage_line(plan: SpreadPlan, sold: ForageSold) -> str:
    now = "none now"
    if sold.now_t_dm >= SOME_T_DM:
        now = f"{sold.now_t_dm:.0f} t DM now"
    words = (
        f"{sold.store} for {sold.outlet}, {plan.farm.currency} {sold.price:,.0f} a tonne of DM"
        f" (your price): sell {now}"
    )
    if sold.share < NO_SHARE:
        return f"{words}, and none later in any listed winter."
    return (
        f"{words}; once you have looked on {day_words(plan.stages[1])} up to"
        f" {sold.later_t_dm:.0f}, in {100.0 * sold.share:.0f} of 100 winters."
    )


def lost(plan: SpreadPlan, costs: Costs) -> str:
    """What is lost, in money; what is no money apart from it."""
    if isinf(costs.money):
        return "more than any price, as some winter could not be fed"
    if costs.money >= LEAST_MONEY:
        return f"{plan.farm.currency} {costs.money:,.0f}{apart(plan, costs.priced)}"
    return _no_money(apart(plan, costs.priced))


def worth(plan: SpreadPlan, costs: Costs) -> str:
    """What knowing is worth at most."""
    if isinf(costs.money):
        return "more than any price, as without it some winter could not be fed"
    # What not knowing adds to them, knowing takes away.
    beside = apart(plan, -costs.priced)
    if costs.money >= LEAST_MONEY:
        return f"up to {plan.farm.currency} {costs.money:,.0f}{beside}"
    return _no_money(beside)


def _no_money(beside: str) -> str:
    if not beside:
        return "nothing"
    return f"no money{beside}"


def apart(plan: SpreadPlan, priced: float) -> str:
    """What priced shortages and excess come to, where that is worth a word."""
    if abs(priced) < plan.worth_a_word:
        return ""
    change = more(plan, priced)
    return f" (minerals short and energy above need count {change}, which nobody pays)"


def more(plan: SpreadPlan, amount: float) -> str:
    """An amount, and whether it is more or less [currency]."""
    return f"{plan.farm.currency} {abs(amount):,.0f} {more_or_less(amount)}"
