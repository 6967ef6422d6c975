"""The first page of a winter: have I enough, what comes next, what each group gets, what can kill.

Everything else of the plan is in its folds (`stories/winter.py`).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from datetime import date

from rationlp.after.cautions import DEFER_LINE
from rationlp.after.plan_changes import PlanChange
from rationlp.after.stock import StoreLife
from rationlp.after.winter_facts import WinterFacts
from rationlp.planned import Period, PlanRation, WinterPlan
from rationlp.report.glance import (
    Cards,
    GraveLine,
    GroupCard,
    Headline,
    MixPart,
    Signpost,
    Signposts,
    StoreBar,
    StoreBars,
    Warnings,
)
from rationlp.report.held import crop_words
from rationlp.report.plan_words import cost_parts, short_heads, withheld_lines
from rationlp.report.story import Part, on_page
from rationlp.report.tables.ration import LEAST_SHOWN_KG
from rationlp.report.tables.table import shown, small_decimals
from rationlp.report.winter_charts import GRAZED, plan_fills
from rationlp.report.wording import day_and_year, day_words, span_words
from rationlp.result import Caution

QUESTION = "Have I enough?"
MOST_MOVES = 3
"""Feeds of a change that are named on the first page; the table names all."""


def first_page(
    facts: WinterFacts, day: date, cautions: Sequence[Caution], beside: Iterable[str] = ()
) -> Iterator[Part]:
    """The parts of the first page on a day of the winter. cautions: that hold on it; beside:
    sentences of forage left and minerals short."""
    plan = facts.plan
    yield from on_page(_headline(facts, tuple(line for line in beside if line)))
    if facts.stores:
        span = plan.periods[0].first, plan.periods[-1].last
        yield from on_page(StoreBars(*span, tuple(_bars(facts))))
        yield from on_page(Signposts(tuple(_signposts(facts, day))))
    period = _period(plan, day)
    cards = tuple(_cards(facts, period))
    if cards:
        yield from on_page(Cards("What they get", _span(period), cards))
    yield from on_page(_warnings(cautions))


def _period(plan: WinterPlan, day: date) -> Period:
    """The period of a day; the first one for a day in none."""
    inside = (period for period in plan.periods if period.first <= day < period.last)
    return next(inside, plan.periods[0])


def _span(period: Period) -> str:
    return f"{day_words(period.first)} to {day_words(period.last)}"


def _headline(facts: WinterFacts, beside: tuple[str, ...]) -> Headline:
    plan = facts.plan
    turnout = day_words(plan.periods[-1].last)
    early = [store.name for store in facts.stores if store.short_t_dm.low > 0.0]
    if plan.proof is None:
        answer = "No plan feeds every group."
    elif not plan.feeds_all:
        answer = "Not every need can be met."
    elif early:
        answer = f"Enough to turnout on {turnout}, if the stores hold what they seem to."
    else:
        answer = f"Enough to turnout on {turnout}, with low stock too."
    lines = [*plan.carried, *short_heads(plan)]
    if plan.cost is not None:
        cost = f"{plan.farm.currency}\u00a0{plan.cost:,.0f}"
        lines.append(f"The plan costs {cost}: {cost_parts(plan)}.")
    if plan.feeds_all and early:
        lines.append(f"With the low stock these run short: {'; '.join(early)}.")
    lines += [*beside, *withheld_lines(plan)]
    days = span_words(plan.periods[0].first, plan.periods[-1].last)
    return Headline(plan.farm.name, days, QUESTION, answer, tuple(lines))


def _bars(facts: WinterFacts) -> Iterator[StoreBar]:
    for crop in facts.crops:
        rank = ""
        if crop.whole is not None:
            rank = "part"
            name = f"All {crop_words(crop.crop)}"
            yield _bar(crop.whole, name, "sum", crop.whole_opened)
        for store, opened in crop.stores:
            yield _bar(store, store.name, rank, opened)


def _bar(store: StoreLife, name: str, rank: str, opened: date | None) -> StoreBar:
    out = store.runs_out
    short = store.short_t_dm.typical > 0.0
    verdict, remainder = _store_words(store, opened, short)
    low_words = ""
    if store.short_t_dm.low > 0.0 and out.low is not None and not short:
        low_words = f"Low stock: to {day_words(out.low)}"
    return StoreBar(
        name, rank, opened, out.typical, out.low, out.high, short, verdict, remainder, low_words
    )


def _store_words(store: StoreLife, opened: date | None, short: bool) -> tuple[str, str]:
    """The answer on a store in a few words, and what goes with it."""
    empty, at_turnout = store.runs_out.typical, store.left[-1].t_dm.typical
    if opened is None:
        return "Not used", f"{_tonnes(at_turnout)} left"
    if short and empty is not None:
        days = (store.turnout - empty).days
        lacking = _tonnes(store.short_t_dm.typical)
        return f"Runs out {day_words(empty)}", f"{days} days early, {lacking} short"
    if empty is not None and empty < store.turnout:
        return f"To {day_words(empty)}", "used up as planned"
    if empty == store.turnout:
        return "Only just lasts", "nothing left"
    return "Lasts", f"{_tonnes(at_turnout)} left"


def _tonnes(t_dm: float) -> str:
    decimals = 1
    if t_dm >= 10.0:
        decimals = 0
    return f"{shown(t_dm, decimals)}\u00a0t\u00a0DM"


def _signposts(facts: WinterFacts, day: date) -> Iterator[Signpost]:
    plan = facts.plan
    yield Signpost("Next change", (_next_change(facts.changes, day),))
    yield Signpost("Next load to order", tuple(_next_load(facts, day)))
    if plan.cost is not None:
        days = (plan.periods[-1].last - plan.periods[0].first).days
        a_day = f"{plan.farm.currency}\u00a0{plan.cost / days:,.0f}"
        bought = f"{plan.farm.currency}\u00a0{plan.bought_cost or 0.0:,.0f}"
        yield Signpost("Cost", (f"{a_day} a day on average; bought feed {bought} to turnout.",))


def _next_change(changes: Iterable[PlanChange], day: date) -> str:
    coming = sorted(
        (change for change in changes if change.begin >= day), key=lambda one: one.begin
    )
    if not coming:
        return "None before turnout."
    begin = coming[0].begin
    names = list(dict.fromkeys(one.name for one in coming if one.begin == begin))
    first = coming[0]
    sentence = f"{day_words(begin)}: {'; '.join(names)}."
    if len(names) > 1:
        return f"{sentence} See each group."
    return f"{sentence} {_moves(first)}, over {first.change.days} days."


def _moves(change: PlanChange) -> str:
    moves = (
        f"{move.name} {_kg(move.from_kg_fresh)} to {_kg(move.to_kg_fresh)}\u00a0kg"
        for move in change.moves[:MOST_MOVES]
    )
    return "; ".join(moves)


def _kg(kg: float) -> str:
    if kg > 0.0:
        return shown(kg, small_decimals(kg, 1))
    return "0"


def _next_load(facts: WinterFacts, day: date) -> Iterator[str]:
    """The first bought feeds that have to be there from a day on, and what of each the month
    needs; minerals by weight in all."""
    plan = facts.plan
    minerals = {offer.id for offer in plan.farm.offers if offer.feed.kind == "mineral"}
    for period in plan.periods:
        orders = {
            purchase.offer
            for purchase in plan.purchases
            if period.first >= day and purchase.t_fresh[period.number] >= _LEAST_ORDER_T
        }
        month = period.first.isoformat()[:7]
        buys = [buy for buy in facts.buying if buy.month == month and buy.offer in orders]
        if not buys:
            continue
        loads = [
            f"{buy.name} {_load_words(buy.t_fresh, buy.loads)}"
            for buy in buys
            if buy.offer not in minerals
        ]
        mineral_t = sum(buy.t_fresh for buy in buys if buy.offer in minerals)
        if mineral_t > 0.0:
            loads.append(f"minerals {_load_words(mineral_t, None)}")
        yield f"To be there on {day_and_year(period.first)}, for the month: {'; '.join(loads)}."
        return
    yield "Nothing more to order before turnout."


_LEAST_ORDER_T = 0.001


def _load_words(t_fresh: float, loads: float | None) -> str:
    tonnes = f"{shown(t_fresh, 1)}\u00a0t"
    if t_fresh < 1.0:
        tonnes = f"{shown(1000.0 * t_fresh, 0)}\u00a0kg"
    if not loads:
        return tonnes
    if loads == 1.0:
        return f"{tonnes} (1 load)"
    return f"{tonnes} ({shown(loads, 0)} loads)"


def _cards(facts: WinterFacts, period: Period) -> Iterator[GroupCard]:
    plan = facts.plan
    fills = plan_fills(plan)
    short = {shortfall.group for shortfall in plan.shortfalls if shortfall.period == period.number}
    for ration in plan.rations:
        if ration.period != period.number:
            continue
        sentence, warns = _card_sentence(facts, ration, period, short)
        total = sum(amount.kg_fresh for amount in ration.amounts)
        sums: tuple[tuple[str, str], ...] = ()
        if ration.amounts:
            sums = (
                ("kg a head", _kg(total)),
                ("kg in all", shown(total * ration.head, 0)),
                (f"{plan.farm.currency} a head", shown(ration.feed_cost, 2)),
            )
        yield GroupCard(
            ration.name,
            f"{ration.head} head",
            tuple(_mix(ration, total, fills)),
            sums,
            sentence,
            warns,
        )


def _mix(ration: PlanRation, total: float, fills: dict[str, str]) -> Iterator[MixPart]:
    """The feeds of a ration: grown here first, most first within each kind."""
    amounts = [amount for amount in ration.amounts if amount.kg_fresh >= LEAST_SHOWN_KG]
    order = sorted(
        amounts, key=lambda one: (fills.get(one.offer, GRAZED).startswith("bought"), -one.kg_fresh)
    )
    for amount in order:
        fill = fills.get(amount.offer, GRAZED)
        yield MixPart(amount.name, _kg(amount.kg_fresh), amount.kg_fresh / total, fill)


def _card_sentence(
    facts: WinterFacts, ration: PlanRation, period: Period, short: Collection[str]
) -> tuple[str, bool]:
    """What is short, else the next change of the group; and whether it is a warning."""
    if ration.withheld:
        return f"{ration.withheld[:1].upper()}{ration.withheld[1:]}.", True
    if ration.group in short:
        return "Short of what they need: see Why.", True
    coming = [
        change
        for change in facts.changes
        if change.group == ration.group and change.begin >= period.first
    ]
    if not coming:
        return "No sharp change before turnout.", False
    change = min(coming, key=lambda one: one.begin)
    return f"From {day_words(change.begin)}: {_moves(change)}.", False


def _warnings(cautions: Sequence[Caution]) -> Warnings:
    grave: dict[str, GraveLine] = {}
    others: dict[str, str] = {}
    for caution in cautions:
        if caution.harm:
            new = caution.new or (caution.id in grave and grave[caution.id].new)
            grave[caution.id] = GraveLine(caution.title, caution.action, new)
        elif caution.new:
            others[caution.id] = caution.title
    ordered = sorted(grave.values(), key=lambda one: not one.new)
    return Warnings(tuple(ordered), tuple(others.values()), DEFER_LINE)
