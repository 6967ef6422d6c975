"""The plan made for the spread in sentences: what to do today, what can wait, what to look for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import timedelta
from math import ceil, isinf

from rationlp.chances.risk import HeldRisk
from rationlp.chances.spread_answer import SOME_T_DM, AtTheMark, ForageNow, SpreadPlan
from rationlp.chances.unfed import UnfedWinter
from rationlp.planned import WayOn
from rationlp.report.chances_actions import (
    LEAST_MONEY,
    NO_SHARE,
    action_lines,
    apart,
    lost,
    more,
    worth,
)
from rationlp.report.story import Part, Words, always, full, on_screen
from rationlp.report.tables.chances import (
    choices_table,
    courses_table,
    held_table,
    kept_table,
    practice_table,
    spreads_table,
)
from rationlp.report.tables.table import shown
from rationlp.report.wording import counted, day_words

OTHER_SHARE = 0.02
"""Of what a store holds: less than this is no other plan [share]."""
WORTH_A_HINT = 0.05
"""From this share of winters with a store short on a plan points to the plan for the spread [-]:
below one in twenty nobody acts on it; own choice (c).
"""
NOT_ENOUGH = (
    "There is not enough to insure: first find what feeds all animals to turnout; then ask"
    " `--safe` again."
)


def chances_parts(
    plan: SpreadPlan | None, risk: HeldRisk | None, asked: bool, unfed: Sequence[UnfedWinter] = ()
) -> Iterator[Part]:
    """All that is told of the spread beside a winter's plan where it was asked for; risk: None for
    a winter that cannot be fed. unfed: listed winters for the sake of which there is no plan.
    """
    if asked and risk is None:
        yield from on_screen(always(Words((NOT_ENOUGH,))))
    if risk is None or not asked:
        return
    if plan is None:
        yield from on_screen(always(Words((held_line(risk), *unfed_lines(unfed)))))
        yield from full(held_table(risk), practice_table(risk, None), spreads_table())
        return
    yield from on_screen(
        always(Words((*chances_lines(plan, risk), proved_line(plan), fresh_line(plan))))
    )
    yield from full(courses_table(plan))
    yield from always(choices_table(plan))
    tables = kept_table(plan), held_table(risk), practice_table(risk, plan), spreads_table()
    yield from full(*tables)


def unfed_lines(unfed: Sequence[UnfedWinter]) -> Iterator[str]:
    """Why there is no plan for the spread: winters that cannot be fed, or the share asked for."""
    if not unfed:
        yield "No plan for the spread keeps what was asked for: allow late buying in more winters."
        return
    share = 100.0 * sum(winter.share for winter in unfed)
    winters = "; ".join(_unfed_words(winter) for winter in unfed)
    yield (
        f"No plan for the spread: {share:.0f} of 100 winters could not be fed whatever is done now"
        f" ({winters}). Find more forage, or fewer animals to feed, for those."
    )


def _unfed_words(winter: UnfedWinter) -> str:
    stores = "stores as thought"
    if winter.light >= NO_SHARE:
        stores = f"stores {100.0 * winter.light:.0f} % lighter than thought"
    elif winter.light <= -NO_SHARE:
        stores = f"stores {-100.0 * winter.light:.0f} % fuller than thought"
    if winter.late_days > 0:
        return f"{stores}, turnout {winter.late_days} days late"
    if winter.late_days < 0:
        return f"{stores}, turnout {-winter.late_days} days early"
    return f"{stores}, turnout as thought"


def held_line(risk: HeldRisk) -> str:
    """What the plan risks if it is held as it is."""
    sentence = (
        f"Held as it is, a store runs short before turnout in {100.0 * risk.runs_out:.0f} of 100"
        f" winters (± {max(100.0 * risk.error, 1.0):.0f}, {risk.draws:,} draws; common practice's"
        " spreads)."
    )
    if risk.reserve_t_dm < SOME_T_DM:
        return sentence
    return (
        f"{sentence} Without ever changing it, 9 of 10 would take {risk.reserve_t_dm:.0f} t"
        " DM more in"
        " hand."
    )


def held_hint(risk: HeldRisk | None) -> str:
    """What the plan risks if it is held as it is, in few words, and where more is told of it."""
    if risk is None or risk.runs_out < WORTH_A_HINT:
        return ""
    return f"In {100.0 * risk.runs_out:.0f} of 100 winters one is short: `--safe mean`."


def chances_lines(plan: SpreadPlan, risk: HeldRisk) -> Iterator[str]:
    """First what to do today, then what can wait, then what to look for."""
    yield held_line(risk)
    if plan.asks_for_nothing:
        turn = day_words(plan.stages[1])
        yield (
            "Today nothing has to be done otherwise: light stores and a late spring are met as"
            f" cheaply by planning again on {turn} ({len(plan.course.winters)} listed winters)."
            " Forage that the plan does not buy now can wait until then."
        )
        for forage in plan.forages:
            if forage.ours or forage.later.ours:
                yield from _buy_lines(plan, forage)
        yield from _mark_lines(plan)
        return
    for forage in plan.forages:
        yield from _buy_lines(plan, forage)
        yield from _waiting_lines(plan, forage)
    yield from action_lines(plan)
    yield from _store_lines(plan)
    yield _cost_line(plan)
    yield from _mark_lines(plan)
    yield (
        f"Measuring now what is in store (cores) is worth {worth(plan, plan.know_stock)},"
        f" looking at the stores on {day_words(plan.stages[1])} and not later"
        f" {worth(plan, plan.read_marks)}, knowing turnout by then"
        f" {worth(plan, plan.know_turnout)}."
    )


def proved_line(plan: SpreadPlan) -> str:
    """What is proved, and on what; what is estimated."""
    gap = 100.0 * max(course.gap for course in (plan.wait_see, plan.chosen, plan.again))
    fresh = plan.without_late
    error = max(100.0 * fresh.error, 1.0)
    sentence = (
        f"Proved on the {len(plan.course.winters)} listed winters (gap {shown(gap, 3, 'up')} %); of"
        f" real winters it is an estimate. After this autumn {int(100.0 * fresh.share)} of 100"
        f" (± {error:.0f}, {fresh.draws:,} fresh draws) can still be fed with no forage bought"
        " late, more concentrate fed in its place"
    )
    late_share = plan.asked.most_late
    if late_share is not None:
        sentence += f" ({int(100.0 * fresh.tuned)} on the draws that it was chosen by)"
    if late_share is not None and fresh.share < 1.0 - late_share:
        sentence += f": fewer than the {100.0 * (1.0 - late_share):.0f} asked for"
    return f"{sentence}."


def fresh_line(plan: SpreadPlan) -> str:
    """What a real winter costs, estimated on fresh draws, with its error."""
    fresh, money = plan.fresh, plan.farm.currency
    if fresh is None:
        return (
            "What a real winter costs is not estimated: some of the fresh draws could not be fed"
            " after one of the two autumns."
        )
    less = f"{more(plan, -fresh.less)} (± {max(fresh.error[2], 1.0):,.0f}) than"
    if abs(fresh.less) < LEAST_MONEY:
        less = "the same as"
    return (
        f"Estimated for a real winter ({fresh.draws:,} fresh draws, each store light or full for"
        f" itself): {money} {fresh.spread:,.0f} (± {max(fresh.error[1], 1.0):,.0f}), {less} the"
        " cheapest plan's autumn planned again."
    )


def _buy_lines(plan: SpreadPlan, today: ForageNow) -> Iterator[str]:
    cheapest = "none"
    if today.cheapest_t_dm >= SOME_T_DM:
        cheapest = f"{today.cheapest_t_dm:.0f} t"
    price = f"{plan.farm.currency} {today.price_per_t_dm:,.0f} a tonne of DM"
    turns = _turn_words(plan, today)
    whose = "your price"
    if today.ours:
        whose = "our price, not yours: give your own in [[bought]]"
    if today.spread_t_dm >= SOME_T_DM:
        yield (
            f"{today.name}: buy {today.spread_t_dm:.0f} t DM now at {price}"
            f" ({whose}){_load_words(plan, today)}{turns}; for"
            f" the winter as thought alone {cheapest}."
        )
    else:
        yield f"{today.name}: buy none now at {price} ({whose}){turns}."
    yield from _later_lines(plan, today)


def _load_words(plan: SpreadPlan, today: ForageNow) -> str:
    """How many loads that is, where the farm gives the size of one."""
    offer = next((offer for offer in plan.farm.offers if offer.id == today.offer), None)
    if offer is None or not offer.load_t:
        return ""
    t_fresh = today.spread_t_dm * today.price_per_t_dm / max(today.price_per_t_fresh, 1e-9)
    return f", {counted(ceil(t_fresh / offer.load_t - 1e-6), 'load')} of {offer.load_t:g} t"


def _later_lines(plan: SpreadPlan, today: ForageNow) -> Iterator[str]:
    """Whose prices after autumn are, and at which of them the advice turns."""
    later, money = today.later, plan.farm.currency
    if not later.ours:
        return
    words = (
        f"Its prices after autumn are ours too, {money} {later.turn_of_year:,.0f} and"
        f" {later.late_winter:,.0f} a tonne of DM"
    )
    if later.turns is not None and today.spread_t_dm >= SOME_T_DM:
        words += f": if it costs below {money} {later.turns:,.0f} then, buy none now"
    yield f"{words}; give yours in [[later]]."


def _waiting_lines(plan: SpreadPlan, today: ForageNow) -> Iterator[str]:
    """Until when a purchase can wait, by what waiting costs on average."""
    ordered = [max(day - timedelta(days=today.lead_days), plan.stages[0]) for day in plan.stages]
    turn, late = map(day_words, ordered[1:])
    waits, loses = today.waits
    if waits.compared > plan.worth_a_word:
        yield f"That cannot wait: waiting until {turn} costs {lost(plan, waits)} on average."
        return
    counts = ""
    if plan.asked.most_late is not None and today.spread_t_dm >= SOME_T_DM:
        counts = f" But for no more late buying than you asked for, buy before {turn}."
    if today.lead_days:
        counts += f" These are days of ordering, {today.lead_days} days before delivery."
    if loses.compared > plan.worth_a_word:
        yield f"It can wait until {turn}; until {late} it would cost {lost(plan, loses)}.{counts}"
    else:
        yield f"It can wait: until {late} that costs {lost(plan, loses)} on average.{counts}"


def _turn_words(plan: SpreadPlan, today: ForageNow) -> str:
    """The price in autumn at which the advice turns, later prices as they are."""
    if isinf(today.turns_per_t_dm) or today.turns_per_t_dm <= 0.0:
        return ""
    at = f"{plan.farm.currency} {today.turns_per_t_dm:,.0f}"
    bought, dearer = today.spread_t_dm >= SOME_T_DM, today.turns_per_t_dm < today.price_per_t_dm
    if bought and dearer:
        return f", for what was asked; for the least mean cost some below {at}"
    if bought:
        return f", none above {at}"
    if dearer:
        return f", some below {at}"
    return ""


def _store_lines(plan: SpreadPlan) -> Iterator[str]:
    """What is left of stores at the turn of the year where the cheapest plan leaves others."""
    others = [
        f"{store.name} {store.spread_t_dm:.0f} t DM, not {store.cheapest_t_dm:.0f}"
        for store in plan.stores
        if abs(store.spread_t_dm - store.cheapest_t_dm)
        > max(SOME_T_DM, OTHER_SHARE * store.held_t_dm)
    ]
    if others:
        yield f"Leave by {day_words(plan.stages[1])}: {'; '.join(others)}."


def _cost_line(plan: SpreadPlan) -> str:
    chosen, again = plan.chosen, plan.again
    ordinary = plan.choices[1].ordinary - plan.choices[0].ordinary
    dearer, tenth = chosen.money - again.money, chosen.dearest_money - again.dearest_money
    return (
        f"Over {len(chosen.winters)} listed winters (light to full stores, early to late"
        " springs) the"
        " plan for the spread costs"
        f" {more(plan, ordinary)} in the winter as thought, {more(plan, dearer)} on average"
        f"{apart(plan, chosen.priced - again.priced)} and {more(plan, tenth)} in the"
        " dearest tenth"
        f" than the cheapest plan's autumn; {late_words(chosen.late_share, again.late_share)}."
    )


def late_words(spread: float, cheapest: float) -> str:
    """In how many winters forage is bought late, by either plan for the autumn [shares]."""
    of_spread, of_cheapest = f"{100.0 * spread:.0f}", f"{100.0 * cheapest:.0f}"
    if of_spread != of_cheapest:
        return f"forage is bought late in {of_spread} % of them, not {of_cheapest} %"
    if of_spread == "0":
        return "either way no forage is bought late in any of them"
    return f"either way forage is bought late in {of_spread} % of them"


def _mark_lines(plan: SpreadPlan) -> Iterator[str]:
    """Look on a day; by how light the stores are then, buy so much."""
    needed = [mark for mark in plan.marks if mark.light > 0.0 and mark.bought_t_dm >= SOME_T_DM]
    day = day_words(plan.stages[1])
    if not needed:
        yield f"Look at the stores on {day}: even light ones need no forage bought then."
        return
    marks = "; ".join(
        f"{100.0 * one.light:.0f} % less than thought ({_left_then(plan, one):.0f} t DM in all),"
        f" buy {one.bought_t_dm:.0f} t DM of forage"
        for one in sorted(needed, key=lambda one: one.light)
    )
    yield f"Look at the stores on {day}. If they hold {marks}."


def _left_then(plan: SpreadPlan, mark: AtTheMark) -> float:
    """What all stores hold at a mark when the autumn was fed as planned [t DM]."""
    return sum(
        max(store.spread_t_dm - (1.0 - mark.held_share[store.store]) * store.held_t_dm, 0.0)
        for store in plan.stores
    )


def way_on_lines(ways: Sequence[WayOn]) -> Iterator[str]:
    """What is kept beside the plan for stores that turn out light or fuller."""
    if not ways:
        return
    light = (f"{100.0 * way.light:.0f} % light" for way in ways if way.light > 0.0)
    fuller = (f"{-100.0 * way.light:.0f} % fuller" for way in ways if way.light < 0.0)
    ways_told = ", ".join((*light, *fuller))
    day = day_words(ways[0].first)
    yield (
        f"Kept with it: the way on from {day} for stores {ways_told}. What the log shows then"
        " decides which of them the sheets follow."
    )
    without = [f"{100.0 * way.light:.0f} % light" for way in ways if way.plan is None]
    if without:
        yield (
            f"For stores {', '.join(without)} no plan of the farm's own feeds feeds all: plan again"
            f" on {day}."
        )
