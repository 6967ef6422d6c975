"""The story of a winter's plan: cost and stores, kg fresh by group, what to buy; the rest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from rationlp.after.drift import SoFarThisWinter
from rationlp.after.plan_changes import PlanChange
from rationlp.after.sofar import StoreSoFar
from rationlp.after.stock import StoreLife
from rationlp.after.winter_facts import WinterFacts
from rationlp.ask.enough import SingleChange
from rationlp.ask.lying import LyingForage
from rationlp.ask.why_short import ShortAlone
from rationlp.ask.why_winter import WinterWhy
from rationlp.chances.risk import HeldRisk
from rationlp.chances.spread_answer import SpreadPlan
from rationlp.chances.unfed import UnfedWinter
from rationlp.planned import PlanRation, WinterPlan
from rationlp.records import dataclass
from rationlp.report.cautions import cautions_of
from rationlp.report.chances import chances_parts, held_hint
from rationlp.report.chart import Chart
from rationlp.report.plan_words import (
    buy_line,
    cost_line,
    lasting_line,
    plan_feed_lines,
    plan_proof_line,
    plan_tidy_line,
    proved_line,
    ration_remarks,
    short_heads,
    shortfall_lines,
    stores_line,
    withheld_lines,
)
from rationlp.report.ration_words import minerals_line
from rationlp.report.story import (
    Part,
    Story,
    Words,
    always,
    brief,
    full,
    in_workbook,
    on_page,
    on_screen,
    placed,
)
from rationlp.report.tables.changeover import change_remarks, plan_changes_table, plan_ramps_table
from rationlp.report.tables.ration import weights_table
from rationlp.report.tables.stock import balance_table, run_down_table, run_out_table, so_far_table
from rationlp.report.tables.winter_plan import (
    buying_table,
    first_buys_table,
    money_table,
    part_tables,
    plan_shortfalls_table,
    rations_by_part,
    sales_table,
    winter_table,
)
from rationlp.report.why import binding_table, enough_words, short_lines, winter_why_words
from rationlp.report.winter_charts import group_chart, run_down_chart, store_chart, store_fan
from rationlp.report.winter_so_far import (
    lying_line,
    lying_sentences,
    so_far_lines,
    so_far_sentences,
    stores_now_table,
)
from rationlp.report.wording import counted, day_words

WINTER = "the winter"
MOST_DAYS = 4
"""Days of changes that are told by default."""
MOST_LATER = 2
"""Groups fed later than the first day that are named by default; more are counted."""


@dataclass(frozen=True)
class Beside:
    """What is told with a plan where it is at hand.

    so_far: where the winter stands by its log. lying: forage left while feed is bought. eaten: what
    was eaten against an earlier plan. why: reasons of the plan, where asked for. alone: of each
    group that is short. enough: single changes for a winter that cannot be fed, None where not
    looked for. held: what holding the plan as it is risks, None where it cannot be fed. spread: the
    plan for the spread, where safe: it was asked for; unfed: where there is none, winters that
    cannot be fed.
    """

    so_far: SoFarThisWinter | None = None
    lying: tuple[LyingForage, ...] = ()
    eaten: tuple[StoreSoFar, ...] = ()
    why: WinterWhy | None = None
    alone: tuple[ShortAlone, ...] = ()
    enough: tuple[SingleChange, ...] | None = None
    spread: SpreadPlan | None = None
    held: HeldRisk | None = None
    safe: bool = False
    unfed: tuple[UnfedWinter, ...] = ()


STORES, GROUPS, BUYING = "Stores", "Each group through the winter", "Buying and selling"
MONEY, WHY, CAUTIONS, PROOF = "Money", "Why", "Cautions", "Proof"
"""Headings under which a page folds a winter."""


def winter_story(facts: WinterFacts, beside: Beside | None = None) -> Story:
    """The story of a plan; of a winter that cannot be fed, who is short of what."""
    extras, plan = beside or Beside(), facts.plan
    if plan.proof is not None:
        parts, table = _planned(facts, extras), winter_table
    else:
        parts, table = _unplanned(facts, extras), plan_shortfalls_table
    return Story(
        "winter",
        tuple(parts),
        lambda: table(plan),
        days=(plan.farm.start, plan.farm.turnout),
        exit_code=plan.exit_code,
        hint="Every period, what to buy by month, money, remarks and proof: `--full`.",
    )


def _planned(facts: WinterFacts, extras: Beside) -> Iterator[Part]:
    plan, stores, changes = facts.plan, facts.stores, facts.changes
    yield from _heads(facts, extras)
    yield from chances_parts(extras.spread, extras.held, extras.safe, extras.unfed)
    yield from _first_rations(plan, changes)
    yield from _beside(plan, extras)
    yield from on_screen(always(run_down_chart(stores)))
    yield from placed(WHY, full(*shortage_tables(plan)))
    yield from placed(GROUPS, _groups(plan, changes))
    yield from brief(first_buys_table(plan, facts.buying))
    yield from placed(BUYING, full(buying_table(plan, facts.buying), sales_table(plan)))
    yield from brief(run_out_table([store for store in stores if ends_early(store)]))
    yield from placed(STORES, on_page(*map(store_chart, stores), *store_fans(stores, extras.held)))
    yield from placed(
        STORES, full(run_out_table(stores), run_down_table(stores), balance_table(plan))
    )
    yield from placed(MONEY, full(money_table(facts.money, plan.farm.currency)))
    yield from in_workbook(plan_ramps_table(plan, changes), winter_table(plan))
    yield from placed(PROOF, full(_said("made fit to mix", plan_tidy_line(plan))))
    yield from placed(PROOF, full(_said("proof", plan_proof_line(plan))))
    yield from placed(WHY, _reasons(plan, extras))
    yield from brief(Words((proved_line(plan),)))
    yield from brief(Words(tuple(withheld_lines(plan)), dashes=True))
    yield from in_workbook(
        _said("stores", *plan.carried),
        _said("short", *shortfall_lines(plan), *withheld_lines(plan)),
        _said("remark", *plan.remarks, *change_remarks(changes)),
    )
    remarks = (*withheld_lines(plan), *plan.remarks, *change_remarks(changes))
    every = Words((*remarks, *ration_remarks(plan)), dashes=True)
    yield from on_screen(full(every))
    yield from placed(WHY, on_page(replace(every, title="Remarks")))
    yield from _cautions(facts)


def _groups(plan: WinterPlan, changes: Sequence[PlanChange]) -> Iterator[Part]:
    """What each part of a group eats through the winter, drawn on a page and in a table."""
    for rations, table in zip(rations_by_part(plan), part_tables(plan), strict=True):
        if any(ration.amounts for ration in rations):
            yield from on_page(group_chart(plan, rations))
        yield from full(table)
    yield from full(plan_changes_table(changes))


def _said(what: str, *lines: str) -> Words:
    return Words(lines, what=what, about=WINTER)


def _heads(facts: WinterFacts, extras: Beside) -> Iterator[Part]:
    plan, stores = facts.plan, facts.stores
    last = stores_line(stores)
    if not extras.safe:
        last = f"{last} {held_hint(extras.held)}".rstrip()
    sentences = (*plan.carried, *short_heads(plan), cost_line(plan), buy_line(facts.buying), last)
    beside = (
        facts.bales,
        lying_line(extras.lying, plan.farm.currency),
        minerals_line(plan.rations),
    )
    yield from brief(Words((*sentences, " ".join(line for line in beside if line))))
    yield from on_screen(full(Words((*sentences, *plan_feed_lines(plan)))))
    yield from on_screen(full(Words(tuple(map(lasting_line, stores)))))


def _beside(plan: WinterPlan, extras: Beside) -> Iterator[Part]:
    """Where the winter stands, forage left lying, what was eaten against an earlier plan."""
    yield from on_screen(full(Words(tuple(lying_sentences(extras.lying, plan.farm.currency)))))
    yield from on_screen(always(Words(tuple(so_far_lines(extras.so_far)))))
    if extras.so_far is not None:
        yield from always(stores_now_table(extras.so_far))
    yield from always(so_far_table(extras.eaten))
    yield from on_screen(always(Words(tuple(so_far_sentences(extras.eaten)), dashes=True)))


def store_fans(stores: Sequence[StoreLife], held: HeldRisk | None) -> Iterator[Chart]:
    """Each store that is fed from in many winters, where what holding the plan risks is known."""
    if held is None:
        return
    of = {store.store: store.spread for store in held.stores}
    for store in stores:
        if of.get(store.store, 0.0) > 0.0:
            yield store_fan(store, of[store.store], held.looks)


def ends_early(store: StoreLife) -> bool:
    """Whether a store may run out before turnout, with the low stock at least."""
    day = store.runs_out.low
    return day is not None and day < store.turnout


def _first_rations(plan: WinterPlan, changes: Sequence[PlanChange]) -> Iterator[Part]:
    """What each group is fed on the first day planned, and when its ration changes."""
    fed = [ration for ration in plan.rations if ration.amounts]
    if not fed:
        return
    number = min(ration.period for ration in fed)
    day = day_words(plan.periods[number].first)
    first = [ration for ration in fed if ration.period == number]
    title = f"Feed from {day}, kg fresh a head a day"
    minerals = {offer.id for offer in plan.farm.offers if offer.feed.kind == "mineral"}
    yield from brief(weights_table(first, plan.farm.currency, title, minerals))
    yield from brief(Words((_later_days(plan, first, changes),)))


def _later_days(
    plan: WinterPlan, first: Sequence[PlanRation], changes: Sequence[PlanChange]
) -> str:
    """When a change that takes days begins, which groups are fed later, how to ask for days."""
    sentences = []
    days = sorted({change.begin for change in changes})
    if days:
        begin = ", ".join(map(day_words, days[:MOST_DAYS]))
        further = ""
        if days[MOST_DAYS:]:
            further = f" and on {counted(len(days) - MOST_DAYS, 'more day')}"
        sentences.append(f"Begin a change of ration on {begin}{further}.")
    groups = {ration.group for ration in first}
    fed = (ration.name for ration in plan.rations if ration.amounts and ration.group not in groups)
    later = list(dict.fromkeys(fed))
    if later:
        names = "; ".join(later)
        if len(later) > MOST_LATER:
            names = f"{len(later)} more groups"
        sentences.append(f"Fed later in the winter: {names}.")
    sentences.append("Any other day: `rationlp sheet FARM --on DATE`.")
    return " ".join(sentences)


def shortage_tables(plan: WinterPlan) -> list[Any]:
    """What is short in which period; nothing where nobody is."""
    if plan.feeds_all:
        return []
    return [plan_shortfalls_table(plan)]


def _reasons(plan: WinterPlan, extras: Beside) -> Iterator[Part]:
    """Why the plan is what it is; without one, what is the matter and what would be enough."""
    currency = plan.farm.currency
    if extras.why is not None:
        yield from always(binding_table(extras.why, currency))
        sentences = tuple(winter_why_words(extras.why, currency))
        yield from on_screen(always(Words(sentences, dashes=True)))
        return
    for group in extras.alone:
        yield from on_screen(always(Words(tuple(short_lines(group)))))
    if extras.enough is not None:
        yield from on_screen(always(enough_words(extras.enough, currency)))


def _cautions(facts: WinterFacts) -> tuple[Part, ...]:
    periods = facts.plan.periods
    winter = (periods[0].first, periods[-1].last)
    cautions = replace(cautions_of(facts.cautions, winter), about=WINTER)
    return placed(CAUTIONS, always(cautions))


def _unplanned(facts: WinterFacts, extras: Beside) -> Iterator[Part]:
    """A winter without any plan: who is short of what, and what would be enough."""
    plan = facts.plan
    yield from on_screen(always(Words((*plan.carried, *short_heads(plan)))))
    yield from chances_parts(None, None, extras.safe)
    yield from placed(WHY, full(*shortage_tables(plan)))
    yield from placed(WHY, _reasons(plan, extras))
    yield from in_workbook(_said("stores", *plan.carried), _said("short", *shortfall_lines(plan)))
    yield from placed(WHY, full(Words(plan.remarks, "", True, "remark", WINTER)))
    yield from _cautions(facts)
