"""A winter's plan in sentences: who is short, cost, how long stores last, what is proved."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from math import isfinite

from rationlp.after.money import MonthBuy
from rationlp.after.stock import StoreLife
from rationlp.farm.farm import Farm
from rationlp.needs.standards import ENERGY_TITLES
from rationlp.planned import PlanProof, PlanRation, PlanShortfall, SmallOrder, WinterPlan
from rationlp.read.loading import loading_figure
from rationlp.read.yard_rules import bag_t, hold_days, hold_saving, least_load_kg, most_bought_feeds
from rationlp.report.tables.table import shown, tonnes_words
from rationlp.report.wording import day_words, kg_decimals, span_words
from rationlp.result import Shortfall

_NUMBERS = re.compile(r"\d+(\.\d+)?")
METABOLISABLE_PROTEIN = "metabolisable protein"
LITTLE_SHORT = 0.01
"""Share of a need below which what is short of it is not told beside other needs [-]."""
"""Needs of a shortfall by name: short of energy, nobody is told of hunger besides."""
LEAST_TOLD_KG = 0.01
"""Concentrates below this do not show in a first line [kg fresh a head a day]."""
PROVED_SHARE = 1e-3
"""Gap at every level of feeding that is still called proved, as a share of the cost [-]."""
_PRICED = {
    "nothing": "home-grown feed not charged",
    "cost": "home-grown feed at what it cost",
    "would_fetch": "home-grown feed at what it would fetch",
}


def short_heads(plan: WinterPlan) -> list[str]:
    """What comes first where not every need can be met: whether proved, who is short of what."""
    if plan.feeds_all:
        return []
    return [_of_farm(plan, unfed_words(plan)), *short_lines(plan)]


def short_lines(plan: WinterPlan) -> list[str]:
    """Who is short of what in a plan that does not feed all."""
    lines = shortfall_lines(plan)
    if plan.rations:
        return ["This plan has the least shortage found.", *lines]
    return lines


def withheld_lines(plan: WinterPlan) -> list[str]:
    """Who gets no amounts, when and why: a line a part of a group and reason."""
    spells: dict[tuple[str, str], list[int]] = {}
    for ration in plan.rations:
        if ration.withheld:
            spells.setdefault((ration.name, ration.withheld), []).append(ration.period)
    lines = []
    for (name, why), numbers in spells.items():
        first, last = plan.periods[min(numbers)].first, plan.periods[max(numbers)].last
        lines.append(f"{name}, {day_words(first)} to {day_words(last)}: {why}.")
    return lines


def _days(plan: WinterPlan) -> str:
    return span_words(plan.periods[0].first, plan.periods[-1].last)


def cost_line(plan: WinterPlan) -> str:
    """What the plan costs, in all and by its parts, in one sentence."""
    return _of_farm(plan, cost_words(plan))


def cost_words(plan: WinterPlan) -> str:
    """What the plan costs, in all and by its parts."""
    return f"{plan.farm.currency} {plan.cost or 0.0:,.0f} in all ({cost_parts(plan)})."


def _of_farm(plan: WinterPlan, words: str) -> str:
    """Words about a plan behind its farm and its days."""
    return f"{plan.farm.name}, {_days(plan)}: {words}"


def cost_parts(plan: WinterPlan) -> str:
    """What the cost of a plan is made of [currency]."""
    parts = [f"bought feed {plan.bought_cost or 0.0:,.0f}"]
    priced = _PRICED[plan.farm.home_grown_price]
    if plan.farm.home_grown_price != "nothing" or plan.own_cost != 0.0:
        priced += f" {plan.own_cost or 0.0:,.0f}"
    parts.append(priced)
    if plan.sold_income:
        parts.append(f"less {plan.sold_income:,.0f} for what is sold")
    return ", ".join(parts)


def buy_items(buying: Iterable[MonthBuy]) -> list[str]:
    """What is bought over the winter: a feed an item, with its tonnes fresh."""
    totals: dict[str, float] = {}
    for item in buying:
        totals[item.name] = totals.get(item.name, 0.0) + item.t_fresh
    return [f"{tonnes_words(t)} {name}" for name, t in totals.items()]


def buy_line(buying: Iterable[MonthBuy]) -> str:
    """What is bought over the winter in one sentence."""
    items = buy_items(buying)
    if items:
        return f"Buy: {'; '.join(items)}."
    return "Nothing is bought."


def lasting_line(life: StoreLife) -> str:
    """How long a store lasts in one sentence, with the low stock where that changes the answer."""
    day, low = life.runs_out.typical, life.runs_out.low
    remainder = f"{shown(life.left[-1].t_dm.typical, 1)} t DM left at turnout"
    if life.short_t_dm.typical > 0.0 and day is not None:
        lost = f"{shown(life.head_days_lost.typical, 0)} head-days without it"
        return (
            f"{life.name}: runs out on {day_words(day)}, {shown(life.short_t_dm.typical, 1)} t DM"
            f" short to turnout, {lost}."
        )
    if day is not None and day < life.turnout:
        sentence = f"{life.name}: used up by {day_words(day)}, as planned"
    elif day == life.turnout:
        sentence = f"{life.name}: only just lasts to turnout"
    else:
        sentence = f"{life.name}: lasts to turnout, {remainder}"
    if life.short_t_dm.low > 0.0 and low is not None:
        sentence += (
            f"; with the low stock it runs out on {day_words(low)}, {shown(life.short_t_dm.low, 1)}"
            " t DM short"
        )
    return f"{sentence}."


def proved_line(plan: WinterPlan) -> str:
    """One sentence on what is proved, the gap rounded up; empty without a plan."""
    proof = plan.proof
    if proof is None:
        return ""
    currency = plan.farm.currency
    gap = f"{currency} {shown(max(proof.gap, 0.01), 2, 'up')} over the winter"
    if not proof.passed:
        line = f"This plan failed its own check: {proof.verdict}."
    elif not isfinite(proof.gap):
        line = (
            "Every need is met in every period; how far the plan is from the cheapest was not"
            " worked out."
        )
    elif plan.status == "proven":
        line = _proved(plan, proof)
    else:
        line = (
            f"Every need is met in every period, but a plan at most {gap} cheaper is not ruled out."
        )
    if plan.shortfalls and proof.passed:
        line = _short_proof(plan, gap)
    return line


def plan_proof_line(plan: WinterPlan) -> str:
    """What is proved, what of the cost is no money, how the balance closes; empty: no plan."""
    proof, line = plan.proof, proved_line(plan)
    if proof is None:
        return ""
    if proof.whole_numbers and proof.passed:
        line += " Whole loads or clamp faces were decided, so no tonne has a value of its own."
    if plan.penalty:
        money = f"{plan.farm.currency} {shown(plan.penalty, 2)}"
        put = f"{money} put on energy above need and minerals short"
        line += f" The cost compared includes {put}, which is a penalty, not money."
    return (
        f"{line} Every store's balance closes to {shown(max(proof.balance_kg, 0.001), 3, 'up')}"
        " kg DM."
    )


def _proved(plan: WinterPlan, proof: PlanProof) -> str:
    """How near the plan is to the cheapest: at every level of feeding, or only its own."""
    gap, start = proof.gap, "At the plan's own levels of feeding, proved"
    if (
        proof.bound_any_level is not None
        and proof.cost - proof.bound_any_level <= PROVED_SHARE * abs(proof.cost)
    ):
        gap, start = proof.cost - proof.bound_any_level, "Proved"
    money = f"{plan.farm.currency} {shown(max(gap, 0.01), 2, 'up')} over the winter"
    share = shown(max(100.0 * gap / max(abs(proof.cost), 1e-3), 0.001), 3, "up")
    return f"{start} cheapest to within {money} ({share} %)."


def _short_proof(plan: WinterPlan, gap: str) -> str:
    """What is proved of a plan that leaves somebody short."""
    what = "With the shortage held as it is, every other need is met"
    if plan.proof is None or not isfinite(plan.proof.gap):
        return f"{what}."
    return (
        f"{what}, and a plan at most {gap} cheaper is not ruled out. That no plan is less short is"
        " not proved."
    )


def ration_remarks(plan: WinterPlan) -> Iterator[str]:
    """What is remarked of single rations: each kind of remark once for a group, from the first
    period that calls for it; what is remarked of several groups in the same words once, with all of
    their names.
    """
    kinds: set[str] = set()
    names: dict[str, dict[date, list[str]]] = {}
    for ration in plan.rations:
        for remark in ration.remarks:
            kind = _NUMBERS.sub("", f"{ration.group} {remark}")
            if kind not in kinds:
                kinds.add(kind)
                days = names.setdefault(remark, {})
                days.setdefault(plan.periods[ration.period].first, []).append(ration.name)
    for remark, days in names.items():
        groups = "; ".join(
            f"{'; '.join(those)} (from {day_words(day)})" for day, those in days.items()
        )
        yield f"{groups}: {remark}"


def plan_tidy_line(plan: WinterPlan) -> str:
    """What was done so that a yard can mix the plan, and what that costs; empty for nothing."""
    tidy = plan.tidy
    if tidy is None:
        return ""
    changes = [
        (tidy.dropped, "tiny amounts dropped"),
        (tidy.raised, "raised to a useful amount"),
        (tidy.left, "left as they were"),
    ]
    counts = ", ".join(f"{number} {change}" for number, change in changes if number)
    extra = f"{plan.farm.currency} {shown(max(tidy.extra_cost, 0.01), 2, 'up')}"
    what = "Rations are kept steady from period to period."
    if counts:
        what = f"Made practical to weigh: {counts}."
    line = f"{what} That costs {extra} more than the cheapest plan, to which the proof belongs."
    if tidy.above_least is not None:
        share = shown(max(100.0 * tidy.above_least, 0.01), 2, "up")
        line += f" So it is at most {share} % above the best plan that keeps the same rules."
    line = f"{line} {yard_rules_line(plan.farm)}"
    line += "".join(f" {rule.words}" for rule in tidy.rules)
    for stay in tidy.stays:
        line += (
            f" {stay.feed} of {stay.name} stays ({stay.why}): no plan was found without it or with"
            " more of it."
        )
    line += "".join(
        f" {small_order_line(small_order, plan.farm.currency)}" for small_order in tidy.small_orders
    )
    if tidy.too_many:
        line += (
            f" {tidy.too_many} more bought feeds than that are in the plan: none was found without"
            " them."
        )
    if tidy.passed:
        return line
    return f"{line} The tidied plan failed its own check against the need."


def yard_rules_line(farm: Farm) -> str:
    """The rules that a plan keeps so that a yard can feed it, in one sentence."""
    rules = farm.yard_rules
    tote = rules.least_order_t
    if tote is None:
        tote = loading_figure("least_order")
    rules_told = []
    if any((group.feeding or farm.feeding).wagon != "none" for group in farm.groups):
        rules_told.append(f"no straight below {shown(least_load_kg(rules), 0)} kg in a load")
    rules_told += [
        (
            f"no order below {shown(1000.0 * tote, 0)} kg of a straight or a bag of"
            f" {shown(1000.0 * bag_t(rules), 0)} kg of minerals"
        ),
        f"at most {most_bought_feeds(rules)} bought feeds besides minerals",
        (
            f"forages held for {hold_days(rules)} days unless changing sooner saves more than "
            f"{shown(100.0 * hold_saving(rules), 0)} % of the group's feed"
        ),
    ]
    return f"Rules of the yard: {', '.join(rules_told)} ([yard] in farm.toml changes them)."


def small_order_line(order: SmallOrder, currency: str) -> str:
    """What is bought below its least order, and why it is."""
    kg, least_kg = shown(1000.0 * order.t_fresh, 0), shown(1000.0 * order.least_t, 0)
    money = f"{currency} {shown(max(order.extra_cost, 0.01), 2, 'up')}"
    start = f"{order.name}: {kg} kg are needed, below the least order of {least_kg} kg;"
    if order.way == "bags":
        return (
            f"{start} buy it in bags, about {money} dearer than in bulk: no cheaper way was found."
        )
    return f"{start} order that, the rest left over is {money}: no cheaper way was found."


def unfed_words(plan: WinterPlan) -> str:
    """That there is no plan that feeds all, and whether that is proved."""
    proved = "no plan was found that feeds every group"
    if plan.status == "none_exists":
        proved = "no plan feeds every group"
    return f"{proved} with these stores and what may be bought."


def shortfall_lines(plan: WinterPlan) -> list[str]:
    """Who is short of what, from when to when and of how many tonnes, a line a group. Where energy
    is short, of all else only protein is told, if it is short by more than a hair: the rest is
    short with it, and its table has it.
    """
    names = {group.id: group.name for group in plan.farm.groups}
    names |= {shortfall.group: shortfall.name for shortfall in plan.shortfalls if shortfall.name}
    by_group: dict[str, dict[str, list[PlanShortfall]]] = {}
    for lack in plan.shortfalls:
        needs = by_group.setdefault(lack.group, {})
        needs.setdefault(lack.shortfall.need, []).append(lack)
    return [_short_line(plan, names.get(group, group), by_group[group]) for group in by_group]


def _short_line(plan: WinterPlan, name: str, lacking: Mapping[str, list[PlanShortfall]]) -> str:
    """What a group is short of at most, by need, and between which days."""
    deepest = {
        need: max((lack.shortfall for lack in lacks), key=lambda short: short.short)
        for need, lacks in lacking.items()
    }
    if not ENERGY_TITLES.isdisjoint(deepest):
        deepest = {need: short for need, short in deepest.items() if _is_told(short)}
    told = [lack for need in deepest for lack in lacking[need]]
    numbers = [lack.period for lack in told]
    first, last = plan.periods[min(numbers)].first, plan.periods[max(numbers)].last
    amounts = (f"{shown(one.short, 2)} {one.unit} of {need}" for need, one in deepest.items())
    line = f"{name}, {day_words(first)} to {day_words(last)}: up to {' and '.join(amounts)}"
    tonnes = max(sum(lack.t_dm for lack in lacking[need]) for need in deepest)
    if tonnes > 0.0:
        return f"{line} short a head a day; {tonnes_words(tonnes)} DM would do."
    return f"{line} short a head a day."


def _is_told(short: Shortfall) -> bool:
    """Whether it is told beside energy that is short."""
    is_much = short.short > LITTLE_SHORT * short.needed
    return short.need in ENERGY_TITLES or (short.need == METABOLISABLE_PROTEIN and is_much)


def stores_line(stores: Sequence[StoreLife]) -> str:
    """Which stores run out before turnout and which do not; empty without a store."""
    if not stores:
        return ""
    turnout = stores[0].turnout
    out, barely, lasting = [], [], []
    for store in stores:
        day = store.runs_out.typical
        if day is not None and day < turnout:
            out.append(f"{store.name} {day_words(day)}")
        elif day == turnout:
            barely.append(store.name)
        else:
            lasting.append(store.name)
    sentences = [f"Runs out before turnout ({day_words(turnout)}): {'; '.join(out) or 'no store'}."]
    if barely:
        sentences.append(f"Only just lasts: {'; '.join(barely)}.")
    if lasting:
        sentences.append(f"Lasts: {'; '.join(lasting)}.")
    return " ".join(sentences)


def plan_feed_lines(plan: WinterPlan) -> Iterator[str]:
    """What each group eats on the first day of a plan, in kg fresh a head, forages by name."""
    first = min((ration.period for ration in plan.rations), default=0)
    fed = [ration for ration in plan.rations if ration.period == first and ration.amounts]
    if not fed:
        return
    day = day_words(plan.periods[first].first)
    yield f"Feed from {day}, kg fresh a head a day (every feed and later period: tables below):"
    for ration in fed:
        yield f"  {ration.name}: {_feed_words(plan.farm, ration)}."


def _feed_words(farm: Farm, ration: PlanRation) -> str:
    feeds = {offer.id: offer.feed for offer in farm.offers}
    named, concentrates = [], 0.0
    for amount in sorted(ration.amounts, key=lambda amount: -amount.kg_fresh):
        feed = feeds[amount.offer]
        if feed.is_concentrate:
            concentrates += amount.kg_fresh
        elif feed.kind != "mineral":
            named.append(f"{shown(amount.kg_fresh, kg_decimals(amount.kg_fresh))} {amount.name}")
    if concentrates >= LEAST_TOLD_KG:
        named.append(f"{shown(concentrates, kg_decimals(concentrates))} concentrates")
    return "; ".join(named) or "minerals only"
