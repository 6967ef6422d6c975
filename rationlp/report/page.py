"""The page of a winter: one HTML file that needs nothing else, for screen, phone and A4. A section
stands where its data are.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from rationlp import __version__
from rationlp.after.cautions import DEFER_LINE
from rationlp.after.money import money
from rationlp.after.plan_cautions import plan_cautions
from rationlp.after.plan_changes import plan_changes
from rationlp.after.stock import StoreLife, each_lasting, plan_uses
from rationlp.farm.store import StoreStock
from rationlp.planned import PlanRation, WinterPlan
from rationlp.report.cautions import about_words
from rationlp.report.charts import (
    Alt,
    Bar,
    RunDown,
    Style,
    bars_svg,
    run_down_svg,
    sample_svg,
    spread_words,
    styles,
)
from rationlp.report.dates import span_words
from rationlp.report.html import filled
from rationlp.report.page_parts import Besides, Card, GroupPart, Legend, SaidCaution, StorePart
from rationlp.report.plan_words import (
    buy_items,
    cost_parts,
    lasting_line,
    plan_proof_line,
    plan_tidy_line,
    ration_remarks,
    short_heads,
    withheld_lines,
)
from rationlp.report.stories.winter import shortage_tables
from rationlp.report.tables.lasting import balance_table, run_down_table, run_out_table
from rationlp.report.tables.plan_changes import plan_changes_table
from rationlp.report.tables.table import Table, shown
from rationlp.report.tables.winter_page import (
    MARKS_SAID,
    by_part,
    feed_sources_table,
    need_sources_table,
    proof_table,
    standing_table,
    stock_sources_table,
    supply_over_winter_table,
    worth_of_stores_table,
)
from rationlp.report.tables.winter_plan import buying_table, money_table, part_tables, sales_table
from rationlp.report.terminal import CLOSING_LINE, with_sources_below
from rationlp.result import Caution

_SAMPLE_IDS = "sample-"
_SEEN_KG_DM = 0.01
"""A part of a bar below this could not be seen [kg DM]; it stands in the table."""


def winter_page(plan: WinterPlan, besides: Besides | None = None) -> str:
    """The page of a plan as HTML; of a winter that cannot be fed too, with who is short of what.

    Raises InputError (IN610) where jinja2 or matplotlib is missing.
    """
    more = besides or Besides()
    facts = _common(plan, more)
    facts |= _planned(plan) if plan.proof is not None else _unplanned(plan)
    return filled("winter.html.j2", facts, "page")


def _common(plan: WinterPlan, more: Besides) -> dict[str, Any]:
    """What every page holds, with or without a plan; nothing in the rest."""
    return {
        "farm": plan.farm.name,
        "version": __version__,
        "days": span_words(plan.periods[0].first, plan.periods[-1].last),
        "heads": (),
        "stores": (),
        "groups": (),
        "changes": None,
        "buying": None,
        "sales": None,
        "store_tables": (),
        "money": None,
        "why": (),
        "switches": more.switches,
        "reasons": more.reasons,
        "reasons_on": more.reasons_on,
        "tidy": "",
        "proof": "",
        "proof_table": None,
        "remarks": (),
        "marks_said": MARKS_SAID,
        "cautions": tuple(_said_cautions(plan)),
        "defer": DEFER_LINE,
        "closing": CLOSING_LINE,
        "sources": _sources(plan, more.stocks),
    }


def _sources(plan: WinterPlan, stocks: Mapping[str, StoreStock]) -> tuple[Table, ...]:
    others = (stock_sources_table(plan, stocks), need_sources_table(plan))
    return _filled(feed_sources_table(plan), *map(with_sources_below, others))


def _filled(*tables: Table) -> tuple[Table, ...]:
    return tuple(table for table in tables if table.rows)


def _planned(plan: WinterPlan) -> dict[str, Any]:
    stores = each_lasting(plan_uses(plan))
    return {
        "heads": tuple(_cards(plan, stores)),
        "stores": tuple(_store_part(number, one) for number, one in enumerate(stores)),
        "store_tables": _filled(run_out_table(stores), run_down_table(stores), balance_table(plan)),
        "groups": tuple(_group_parts(plan)),
        "changes": plan_changes_table(plan_changes(plan)),
        "buying": buying_table(plan),
        "sales": sales_table(plan) if plan.sales else None,
        "money": money_table(money(plan), plan.farm.currency),
        "why": _filled(*shortage_tables(plan), worth_of_stores_table(plan), standing_table(plan)),
        "tidy": plan_tidy_line(plan),
        "proof": plan_proof_line(plan),
        "proof_table": proof_table(plan),
        "remarks": (*withheld_lines(plan), *plan.remarks, *ration_remarks(plan)),
    }


def _cards(plan: WinterPlan, stores: Iterable[StoreLife]) -> Iterator[Card]:
    """The answer in a glance: what it costs, how long stores last, what to buy."""
    if plan.carried:
        yield Card("Stores not measured again", "", plan.carried)
    if not plan.feeds_all:
        yield Card("Not every need can be met", "", tuple(short_heads(plan)))
    cost = f"{plan.farm.currency} {plan.cost or 0.0:,.0f}"
    yield Card(
        "Cost of the winter", cost, (f"{cost_parts(plan)[:1].upper()}{cost_parts(plan)[1:]}.",)
    )
    yield Card("Stores", "", tuple(map(lasting_line, stores)))
    yield Card("To buy", "", tuple(buy_items(plan)) or ("Nothing.",))


def _said_cautions(plan: WinterPlan) -> Iterator[SaidCaution]:
    """The cautions of a plan, gravest first, each once, with whom, which weeks and what they are
    about.
    """
    winter = (plan.periods[0].first, plan.periods[-1].last)
    found: dict[str, list[Caution]] = {}
    for caution in plan_cautions(plan):
        found.setdefault(caution.id, []).append(caution)
    for same in found.values():
        first = same[0]
        about = tuple(dict.fromkeys(about_words(one, winter) for one in same))
        source = f"Source: {first.source}; status {first.status}; rationlp meaning {first.id}"
        when = "" if first.threshold == "any" else f"warns {first.threshold}"
        yield SaidCaution(
            first.title, about, when, first.says, source, first.action, bool(first.harm)
        )


def _unplanned(plan: WinterPlan) -> dict[str, Any]:
    return {
        "heads": (Card("No plan", "", tuple(short_heads(plan))),),
        "why": _filled(*shortage_tables(plan)),
        "remarks": plan.remarks,
    }


def _store_part(number: int, one: StoreLife) -> StorePart:
    run = RunDown(
        days=tuple(left.on for left in one.left),
        low=tuple(left.t_dm.low for left in one.left),
        typical=tuple(left.t_dm.typical for left in one.left),
        high=tuple(left.t_dm.high for left in one.left),
        reserve=one.reserve_t_dm,
    )
    first, last = one.left[0].t_dm, one.left[-1].t_dm
    said = (
        f"From {_spread(first.low, first.typical, first.high)} t DM on {run.days[0]} to"
        f" {_spread(last.low, last.typical, last.high)} t DM on {run.days[-1]}; to be kept:"
        f" {shown(run.reserve, 1)} t DM."
    )
    chart = run_down_svg(run, Alt(f"store-{number}", f"What is left of {one.name}", said))
    return StorePart(one.name, lasting_line(one), chart)


def _spread(low: float, typical: float, high: float) -> str:
    return f"{shown(typical, 1)} ({shown(low, 1)} to {shown(high, 1)})"


def _group_parts(plan: WinterPlan) -> Iterator[GroupPart]:
    drawn = _styles_of(plan)
    samples = {style: sample_svg(style) for style in drawn.values()}
    span = (plan.periods[0].first, plan.periods[-1].last)
    feeding = part_tables(plan)
    for number, (rations, table) in enumerate(zip(by_part(plan).values(), feeding, strict=True)):
        name = rations[0].name
        mine = {
            style: sample.replace(_SAMPLE_IDS, f"{_SAMPLE_IDS}{number}-")
            for style, sample in samples.items()
        }
        legend = tuple(_legend(rations, drawn, mine))
        said = "; ".join(f"{one.name} {one.amount}" for one in legend)
        alt = Alt(
            f"group-{number}",
            f"What {name} eat, by period",
            f"kg DM a head a day, from the bottom up: {said}.",
        )
        yield GroupPart(
            name=name,
            head=f"{spread_words((one.head for one in rations), 0)} head",
            chart=bars_svg(tuple(_bars(plan, rations, drawn)), span, alt),
            legend=legend,
            feeding=table,
            supply=supply_over_winter_table(plan, rations),
        )


def _styles_of(plan: WinterPlan) -> dict[str, Style]:
    """A style a feed, the plainest for what is eaten most."""
    kg: dict[str, float] = {}
    for ration in plan.rations:
        for one in ration.amounts:
            kg[one.offer] = (
                kg.get(one.offer, 0.0) + one.kg_dm * ration.head * plan.periods[ration.period].days
            )
    ordered = sorted(kg, key=lambda offer: (-kg[offer], offer))
    return dict(zip(ordered, styles(len(ordered)), strict=True))


def _in_order(amounts: Iterable[str], drawn: Mapping[str, Style]) -> list[str]:
    wanted = set(amounts)
    return [offer for offer in drawn if offer in wanted]


def _legend(
    rations: Sequence[PlanRation], drawn: Mapping[str, Style], samples: Mapping[Style, str]
) -> Iterator[Legend]:
    names = {one.offer: one.name for ration in rations for one in ration.amounts}
    for offer in _in_order(names, drawn):
        kg = [sum(one.kg_dm for one in ration.amounts if one.offer == offer) for ration in rations]
        if max(kg) >= _SEEN_KG_DM:
            decimals = 1 if max(kg) >= 1.0 else 2
            yield Legend(samples[drawn[offer]], names[offer], f"{spread_words(kg, decimals)} kg DM")


def _bars(
    plan: WinterPlan, rations: Sequence[PlanRation], drawn: Mapping[str, Style]
) -> Iterator[Bar]:
    """A bar a period; periods that follow one another and eat the same are one bar."""
    held: Bar | None = None
    for ration in rations:
        kg = {one.offer: one.kg_dm for one in ration.amounts if one.kg_dm >= _SEEN_KG_DM}
        parts = tuple((round(kg[offer], 3), drawn[offer]) for offer in _in_order(kg, drawn))
        period = plan.periods[ration.period]
        if held is not None and held.parts == parts and held.last == period.first:
            held = Bar(held.first, period.last, parts)
            continue
        if held is not None:
            yield held
        held = Bar(period.first, period.last, parts)
    if held is not None:
        yield held
