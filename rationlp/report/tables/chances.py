"""Tables of the plan made for the spread of stock and spring."""

from __future__ import annotations

from rationlp.chances.course import Course
from rationlp.chances.data import ChanceRow, chance_rows
from rationlp.chances.risk import HeldRisk
from rationlp.chances.spread_answer import SpreadPlan
from rationlp.report.tables.table import Column, Table, table_of

PRACTICE = "practice_"
"""Rows whose id begins so are published practice; no plan rests on them."""


def courses_table(plan: SpreadPlan) -> Table:
    """What each way of planning comes to on the listed winters: mean, late buying, the tail."""
    money = plan.farm.currency
    columns = (
        Column("planned", "Planned", of=lambda way: way[0]),
        Column("mean_cost", "Mean winter", money, 0, of=lambda way: way[1].money),
        Column("priced", "Penalties", money, 0, of=lambda way: way[1].priced),
        Column("late_share", "Winters with late buying", "%", 0, of="1.late_share", share=True),
        Column("dearest_tenth", "Dearest tenth", money, 0, of=lambda way: way[1].dearest_money),
        Column("compared", "Compared", money, 0, full=True, of=lambda way: way[1].mean),
        Column("gap", "Gap", "%", 4, full=True, of=lambda way: 100.0 * way[1].gap),
    )
    ways: list[tuple[str, Course]] = [
        ("as if each winter were known", plan.wait_see),
        ("for the spread", plan.course),
        ("for the mean winter, the rest planned again", plan.again),
    ]
    if plan.asked_for is not None:
        ways.insert(2, ("for the spread, as asked", plan.asked_for))
    count = len(plan.course.winters)
    notes = (
        "Late: forage bought after autumn. Money counts home-grown forage at the price it carries,"
        " and what animals sold early lose against turnout."
        " Penalties on minerals short and energy above need are no money; both together are made"
        " least.",
    )
    return table_of("courses", f"Cost over {count} winters", ways, columns, notes)


def choices_table(plan: SpreadPlan) -> Table:
    """Each autumn against a light clamp, a late spring, and both [currency]."""
    money = plan.farm.currency
    light = f"Clamps {100.0 * plan.light_share:.0f} % light"
    late = f"Turnout {plan.late_days} days late"
    columns = (
        Column("autumn", "Autumn"),
        Column("ordinary", "As thought", money, 0),
        Column("light", light, money, 0),
        Column("late", late, money, 0),
        Column("both", "Both", money, 0),
    )
    return table_of("autumn_choices", "What each autumn costs", plan.choices, columns)


def kept_table(plan: SpreadPlan) -> Table:
    """What is left of each store when autumn ends [t DM]."""
    columns = (
        Column("store", "Store", of="name"),
        Column("in_store", "In store", "t DM", 1, of="held_t_dm"),
        Column("cheapest", "Left, cheapest plan", "t DM", 1, of="cheapest_t_dm"),
        Column("spread", "Left, for the spread", "t DM", 1, of="spread_t_dm"),
    )
    title = f"Left of each store on {plan.stages[1].isoformat()}"
    return table_of("left_after_autumn", title, plan.stores, columns)


def held_table(risk: HeldRisk) -> Table:
    """Stores of a plan held as it is: how often each runs out, and the reserve for nine of ten."""
    columns = (
        Column("store", "Store", of="name"),
        Column("runs_out", "Runs out before turnout", "% of draws", 0, share=True),
        Column("reserve", "More in hand for 9 in 10", "t DM", 1, of="reserve_t_dm"),
    )
    notes = (
        f"Found on {risk.draws} draws; on others {100.0 * risk.lasts_with:.0f} % last with it.",
    )
    return table_of("held_plan", "The plan held unchanged", risk.stores, columns, notes)


def spreads_table() -> Table:
    """The figures that stand behind it, with source and status."""
    columns = (
        Column("figure", "Figure"),
        Column("value", "Value", "", 2),
        Column("unit", "Unit"),
        Column("remark", "Remark"),
        Column("source", "Source", of=lambda row: _source(row)),
    )
    return table_of(
        "chances",
        "Spreads and prices behind it",
        (row for row in chance_rows().values() if not row.id.startswith(PRACTICE)),
        columns,
    )


def practice_table(risk: HeldRisk, plan: SpreadPlan | None) -> Table:
    """Published practice beside what is counted for this farm, with source and status."""
    columns = (
        Column("practice", "Practice"),
        Column("asks", "Asks for"),
        Column("here", "Here"),
        Column("source", "Source"),
    )
    known = chance_rows()
    month = known["practice_days"].value / max(risk.days, 1)
    unchanged = f"{risk.reserve_t_dm:.0f} t DM to hold the plan unchanged in 9 of 10"
    later, forage = "turnout not varied", "no forage on offer"
    if plan is not None:
        later = f"turnout up to {plan.late_days} days later"
        forage = _forage_words(plan)
    cells = (
        ("practice_share", f"{known['practice_share'].value * risk.used_t_dm:.0f} t DM", unchanged),
        ("practice_days", f"{month * risk.used_t_dm:.0f} t DM", unchanged),
        ("practice_longer", _value(known["practice_longer"]), later),
        ("practice_bales", _value(known["practice_bales"]), forage),
        (
            "practice_straw",
            _value(known["practice_straw"]),
            f"bought forage {_value(known['late_winter_price'])} in late winter",
        ),
    )
    rows = tuple(
        (f"{known[name].figure}: {known[name].remark}", asks, planned, _source(known[name]))
        for name, asks, planned in cells
    )
    return Table("published_practice", "Published practice beside it", columns, rows)


def _source(row: ChanceRow) -> str:
    return f"({row.status}) {row.source}"


def _value(row: ChanceRow) -> str:
    return f"{row.value:g} {row.unit}"


def _forage_words(plan: SpreadPlan) -> str:
    """Forages on offer with their price in autumn, fresh and dry."""
    offers = [
        f"{forage.name} {plan.farm.currency} {forage.price_per_t_fresh:,.0f}/t fresh"
        f" ({forage.price_per_t_dm:,.0f}/t DM) in autumn"
        for forage in plan.forages
    ]
    return "; ".join(offers) or "no forage on offer"
