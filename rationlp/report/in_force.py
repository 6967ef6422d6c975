"""What a plan in force is, what changed since it was kept and by how much it is out, in
sentences."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from typing import Any

from rationlp.after.since import ChangedFigure, FarmChanges, StoreOut
from rationlp.after.stock import StoreLife
from rationlp.after.ways import WayFollowed
from rationlp.ask.in_force import MADE_NOW, FollowedPlan
from rationlp.farm.values import shown as as_typed
from rationlp.quantities import by_sign
from rationlp.report.tables.table import shown
from rationlp.report.wording import day_and_year, day_words

MOST_FIGURES = 5
AGAIN = "Plan again and keep it: `rationlp winter FARM --keep`."
_CHEAPEST = (
    "Cheapest ration of this day, not the winter's plan: it shares out no store, so one may run out"
    " early. What the plan feeds is usually different: leave out --cheapest-today."
)
_OTHER = "The cheapest ration of this day is usually different: --cheapest-today."


def made_from_lines(plan: FollowedPlan | None) -> tuple[str, ...]:
    """What amounts of a day come from, in sentences: a plan, or (None) the day alone."""
    if plan is None:
        return (_CHEAPEST,)
    if plan.how == MADE_NOW:
        first = (
            "The winter's plan, made just now; none is kept yet (`rationlp winter FARM --keep`)."
        )
        return (f"{first} {_OTHER}",)
    first_day = day_and_year(plan.plan.periods[0].first)
    sentence = f"The plan in force, from {first_day} ({plan.name}). {_OTHER}"
    return (sentence, *way_lines(plan.way), *since_lines(plan.since, plan.plan.farm.currency))


def plan_lines(plan: FollowedPlan) -> tuple[str, ...]:
    """Which plan in force an answer about the whole winter goes by, and what changed since it
    was kept."""
    first = (
        f"This is the plan in force, from {day_and_year(plan.plan.periods[0].first)} ({plan.name})."
    )
    return (first, *way_lines(plan.way), *since_lines(plan.since, plan.plan.farm.currency))


def way_lines(way: WayFollowed | None) -> Iterator[str]:
    """Which way on of a plan for the spread is followed, and why."""
    if way is None:
        return
    parted = day_words(way.first)
    if not way.measured:
        yield (
            f"From {parted} the plan goes on by what the stores hold, and none has been measured"
            " since it began: the middle way is followed, stores as thought. Measure:"
            " `rationlp log FARM left ID TONNES`."
        )
        return
    shown_t, thought = shown(way.shown_t_dm, 0), shown(way.thought_t_dm, 0)
    words = f"{', '.join(way.measured)}: {shown_t} t DM measured, {thought} as thought"
    if way.light > 0.0 and way.above_t_dm is not None:
        words += (
            f"; less than {shown(way.above_t_dm, 0)}, so feed the way for stores"
            f" {100.0 * way.light:.0f} % light{_buy_words(way)}"
        )
    elif way.light < 0.0 and way.below_t_dm is not None:
        words += (
            f"; more than {shown(way.below_t_dm, 0)}, so feed the way for stores"
            f" {-100.0 * way.light:.0f} % fuller{_buy_words(way)}"
        )
    else:
        words += f"; nearest to the middle way, so go on as planned{_buy_words(way)}"
    if not way.planned:
        words += (
            ". That way feeds not all with the farm's own feeds: these amounts are for stores as"
            " thought. Plan again: `rationlp winter FARM --from DATE`"
        )
    yield f"{words}."


def _buy_words(way: WayFollowed) -> str:
    bought = [f"buy {t_dm:.0f} t DM of {name}" for name, t_dm in way.buy.items()]
    sold = [f"sell {head} of {name}" for name, head in way.sell.items()]
    if not bought and not sold:
        return ""
    return f", and on {day_words(way.first)} {', '.join((*bought, *sold))}"


def fed_on_day_lines(plan: FollowedPlan) -> Iterator[str]:
    """What the plan in force feeds on the day, a group a line."""
    feeding = plan.rations()
    if feeding is None:
        return
    yield (
        f"These are the cheapest rations of the day. The plan in force ({plan.name}) feeds, kg"
        " fresh a head:"
    )
    for group in feeding.rations.groups:
        amounts = ", ".join(
            f"{shown(amount.kg_fresh, 1)} {amount.name}"
            for amount in group.amounts
            if amount.kg_fresh >= 0.05
        )
        yield f"  {group.name}: {amounts}."


def rate_line(stores: Iterable[StoreLife], day: date) -> str:
    """How long each store would last if rations of a day were fed on, all groups together."""
    parts = []
    for store in stores:
        out = store.runs_out.typical
        if out is None or out > store.turnout:
            parts.append(f"{store.name} past turnout")
        else:
            parts.append(f"{store.name} {(out - day).days} days, to {day_words(out)}")
    if not parts:
        return ""
    sentence = "; ".join(parts)
    return (
        f"At these rations, all groups together from {day_and_year(day)}, the stores last:"
        f" {sentence}. "
        "`rationlp winter` shares them out."
    )


def shut_line(left: Mapping[str, date], fed: Mapping[str, date]) -> str:
    """Stores still shut on the day of the rations, and what is fed from them because somebody has
    no ration else. left, fed: opening day by name."""
    parts = [
        f"{name} is shut until {day_words(opening)} and not fed before."
        for name, opening in left.items()
    ]
    parts += [
        f"{name} is fed although it should stay shut until {day_words(opening)}: without it"
        " somebody has no ration."
        for name, opening in fed.items()
    ]
    return " ".join(parts)


def since_lines(changed: FarmChanges | None, currency: str) -> Iterator[str]:
    """What changed since a plan was kept, and by how much the plan is out; nothing where nothing
    changed."""
    if changed is None:
        return
    changes = [figure_words(figure) for figure in changed.figures[:MOST_FIGURES]]
    if len(changed.figures) > MOST_FIGURES:
        changes.append(f"and {len(changed.figures) - MOST_FIGURES} more")
    yield f"Changed since this plan was kept: {'; '.join(changes)}."
    out = [_store_words(store) for store in changed.stores]
    if abs(changed.cost) >= 0.5:
        word = by_sign(changed.cost, "dearer", "cheaper")
        out.append(f"bought feed {currency} {shown(abs(changed.cost), 0)} {word}")
    if changed.strangers:
        out.append(f"no ration for {', '.join(changed.strangers)}")
    outcome = "; ".join(out) or "no store is out by a tenth of a tonne"
    yield f"Fed on as it is: {outcome}. {AGAIN}"


def figure_words(figure: ChangedFigure) -> str:
    """A figure from what it was to what it is."""
    return f"{figure.path} {_value_words(figure.before)} → {_value_words(figure.now)}"


def _value_words(value: Any) -> str:
    if value is None:
        return "none"
    return as_typed(value)


def _store_words(store: StoreOut) -> str:
    if store.short_from is not None:
        return (
            f"{store.name} runs out on {day_and_year(store.short_from)},"
            f" {shown(-store.now_left_t_dm, 1)} t DM short"
        )
    planned, measured = (
        shown(max(store.planned_left_t_dm, 0.0), 1),
        shown(max(store.now_left_t_dm, 0.0), 1),
    )
    return f"{store.name} {measured} t DM left at turnout instead of {planned}"
